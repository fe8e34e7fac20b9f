"""What the rota, a page, a feed and a calendar server say that each keeper does on each day: in the words of a round."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from icalendar import Component

from scheduler.calendar.titles import keeper_names
from scheduler.care import Job
from scheduler.description import Site
from scheduler.rota import Round
from scheduler.workflow.live.round_page import AHEAD_DAYS, RoundPage
from support import told
from support.entries import categories

Slot = tuple[dt.date, str, str]
"""(day, keeper's id, what is done)"""

View = Counter[Slot]


def words(job: Job) -> str:
    """Return a job as it is compared: the id of its enclosure, and its title in a note."""
    return f"{job.enclosure.id}: {told.title_of(job)}"


def near(view: Iterable[Slot], today: dt.date) -> View:
    """Return what is of the days that a page shows."""
    return Counter(slot for slot in view if today <= slot[0] <= today + dt.timedelta(days=AHEAD_DAYS))


def of_rota(rounds: Iterable[Round], today: dt.date) -> View:
    """Return what rounds say."""
    return near(((o.day, o.keeper.id, words(t.item.job)) for o in rounds for t in o.tasks), today)


def of_page(tended: RoundPage) -> View:
    """Return what the pages of all keepers say."""
    found: View = Counter()
    for day in tended.turns:
        for keeper in tended.site.keepers:
            found.update((day, keeper.id, words(turn.occurrence.job)) for turn in tended.mine(keeper, day))
    return near(found.elements(), tended.today)


def of_feeds(feeds: Mapping[str, bytes], site: Site, today: dt.date) -> View:
    """Return what the calendars of rounds say, by the ids of their keepers."""
    return near(
        (
            (told.day_of(entry), keeper, what)
            for keeper, body in feeds.items()
            for entry in entries(body)
            for what in _works(entry, site)
        ),
        today,
    )


def of_named(feeds: Iterable[bytes], site: Site, today: dt.date) -> View:
    """Return what the site's calendar says of its keepers, by the names in front of its titles; or those of all enclosures."""
    ids = {name: own for own, name in keeper_names(site).items()}
    slots: list[Slot] = []
    for body in feeds:
        for entry in entries(body):
            name = str(entry["SUMMARY"]).partition(": ")[0]
            if name in ids and _is_round(entry):
                slots += [(told.day_of(entry), ids[name], what) for what in _works(entry, site)]
    return near(slots, today)


def _works(entry: Component, site: Site) -> Iterator[str]:
    """Yield the keeper's own jobs of a round that are still to be done."""
    if _is_round(entry):
        yield from (f"{one.enclosure}: {one.title}" for one in told.works(entry, site) if not one.lent)


def _is_round(entry: Component) -> bool:
    return categories(entry) == ["Round"]


@lru_cache(maxsize=64)
def entries(body: bytes) -> list[Component]:
    """Return the entries of a feed as icalendar reads them, the same feed once; each has to be without a fault."""
    return [part for part in told.parsed(body).walk() if part.name in ("VEVENT", "VTODO")]


def differences(**views: View) -> str:
    """Return what views do not agree on, a line each; nothing where they do."""
    slots = sorted({slot for view in views.values() for slot in view})
    lines = []
    for slot in slots:
        counts = {name: view[slot] for name, view in views.items()}
        if len(set(counts.values())) > 1:
            said = ", ".join(f"{name} {count}" for name, count in counts.items())
            lines.append(f"{slot[0]:%a %d %b} {slot[1]}: {slot[2]} ({said})")
    return "\n".join(lines)
