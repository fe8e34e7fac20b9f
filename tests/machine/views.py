"""What the rota, a page, a feed and a calendar server say that each keeper does on each day: in the words of a round."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache

from icalendar import Calendar, Component

from scheduler.care import Job
from scheduler.rota import Round
from scheduler.workflow.tending import AHEAD_DAYS, Tended

Slot = tuple[dt.date, str, str]
"""(day, keeper's id, what is done)"""

View = Counter[Slot]

TASK = re.compile(r"\d+\. (?P<what>.*) \(\d+ min\)(, with .*)?")
DONE = re.compile(r"Done on ")


def words(job: Job) -> str:
    """Return a job as a round names it."""
    room = f"{job.enclosure.room}, " if job.enclosure.room else ""
    return f"{room}{job.enclosure.name}: {job.title}"


def near(view: Iterable[Slot], today: dt.date) -> View:
    """Return what is of the days that a page shows."""
    return Counter(slot for slot in view if today <= slot[0] <= today + dt.timedelta(days=AHEAD_DAYS))


def of_rota(rounds: Iterable[Round], today: dt.date) -> View:
    """Return what rounds say."""
    return near(((o.day, o.keeper.id, words(t.item.job)) for o in rounds for t in o.tasks), today)


def of_page(tended: Tended) -> View:
    """Return what the pages of all keepers say."""
    found: View = Counter()
    for day in tended.turns:
        for keeper in tended.site.keepers:
            found.update((day, keeper.id, words(turn.occurrence.job)) for turn in tended.mine(keeper, day))
    return near(found.elements(), tended.today)


def of_feeds(feeds: dict[str, bytes], today: dt.date) -> View:
    """Return what the calendars of rounds say, by the ids of their keepers."""
    slots = ((day, keeper, what) for keeper, body in feeds.items() for day, what in _tasks(entries(body)))
    return near(slots, today)


@lru_cache(maxsize=64)
def entries(body: bytes) -> list[Component]:
    """Return the entries of a feed as icalendar reads them, the same feed once; each has to be without a fault."""
    calendar = Calendar.from_ical(body)
    found = [part for part in calendar.walk() if part.name in ("VEVENT", "VTODO")]
    faults = [(part.name, part.errors) for part in calendar.walk() if part.errors]
    assert not faults, f"icalendar refuses {faults}"
    return found


def _tasks(some: Iterable[Component]) -> Iterator[tuple[dt.date, str]]:
    for entry in some:
        start = entry["DTSTART"].dt
        day = start.date() if isinstance(start, dt.datetime) else start
        lines = str(entry.get("DESCRIPTION", "")).splitlines()
        if str(entry.get("STATUS", "")) == "CANCELLED" or any(map(DONE.match, lines)):
            continue
        for line in lines:
            task = TASK.fullmatch(line)
            if task is not None:
                yield day, task["what"]


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
