"""Who is away, as an event of the log: what that changes in the rota is told first, then recorded and
published."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from scheduler.description.site import Keeper
from scheduler.errors import UsageError
from scheduler.history import Entry, parse_away
from scheduler.workflow.name_lookup import by_names, pick
from scheduler.workflow.record.standing import Who, keeper_id, opened
from scheduler.workflow.rota.publication import renew, store
from scheduler.workflow.rota.site_rota import (
    SiteRota,
    further,
    known_of,
    rota_to_export,
    shown_rota,
)
from scheduler.workflow.site_log import now_as_of, open_to_read
from scheduler.workflow.workspace import Workspace

MOST_DAYS = 366
"""So long at most somebody is away by one entry. House value."""

DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class AwaySaid:
    """What was said of who is away, each entry with whether it is new; and the rota as it is with it, with
    what that changes."""

    entries: tuple[tuple[Entry, bool], ...]
    shown: SiteRota


def go_away(
    space: Workspace, name: str, span: tuple[dt.date, dt.date], who: Who, *, dry: bool = False
) -> AwaySaid:
    """Record that a keeper is away on the days of a span, and publish what that changes; with `dry` say it
    alone.

    UsageError for no keeper of that name, and for days that are over.
    """
    keeper, (first, last) = _keeper(space, name), span
    formats = space.site.settings.formats
    if last < space.today:
        raise UsageError(f"{formats.date(last)} is over; today is {formats.date(space.today)}")
    if last - first >= MOST_DAYS * DAY:
        raise UsageError(
            f"that is more than {MOST_DAYS} days; take {keeper.name} out of the description instead"
        )
    entry = _entry(space, keeper, first, last, who)
    made = _with_absence(space, {keeper.id: [span]})
    if dry:
        return AwaySaid(((entry, True),), made)
    with opened(space.file, space.site) as log:
        kept = log.record(space.site.settings.id, [entry])
    _publish(space)
    return AwaySaid(tuple(kept), made)


def come_back(space: Workspace, name: str, day: dt.date, who: Who, *, dry: bool = False) -> AwaySaid:
    """Record that a keeper is back on a day, whatever was said before; publish what that changes.

    UsageError where the log does not know the keeper as away on that day or later.
    """
    keeper, formats = _keeper(space, name), space.site.settings.formats
    if day < space.today:
        raise UsageError(f"{formats.date(day)} is over; today is {formats.date(space.today)}")
    standing = _standing(space, keeper)
    gone = [entry for entry in standing if parse_away(entry)[1] >= day]
    known = known_of(space)
    ill = [one for one in (known.published.absent if known.published else ()) if one[0] == keeper.id]
    if not gone and not any(last >= day for _, _, last in ill):
        if any(span.first <= day <= span.last for span in keeper.away):
            raise UsageError(f"{keeper.name} is away by the description; change it there")
        raise UsageError(f"{keeper.name} is not away on {formats.date(day)} or later")
    shorter = [
        _entry(space, keeper, parse_away(entry)[0], day - DAY, who)
        for entry in gone
        if parse_away(entry)[0] < day
    ]
    if dry:
        return AwaySaid(tuple((entry, True) for entry in shorter), _without(space, gone, keeper, day))
    made = _without(space, gone, keeper, day)
    site = space.site.settings.id
    with opened(space.file, space.site) as log:
        kept = log.exchange(
            site,
            [entry.uid(site) for entry in gone],
            shorter,
            keeper=keeper_id(space.site, who.by),
            recorded=now_as_of(space.site, who.as_of),
        )
    if known.published is not None and ill:
        store(space, replace(known.published, absent=_until(known.published.absent, keeper, day)))
    _publish(space)
    return AwaySaid(tuple((entry, True) for entry in kept), made)


def _keeper(space: Workspace, name: str) -> Keeper:
    keeper: Keeper = pick(name, by_names(space.site.keepers), "keeper")
    return keeper


def _entry(space: Workspace, keeper: Keeper, first: dt.date, last: dt.date, who: Who) -> Entry:
    return Entry(
        kind="away",
        enclosure="",
        name=keeper.id,
        day=space.today,
        given=f"{first}/{last}",
        keeper=keeper_id(space.site, who.by),
        title=keeper.name,
        note=who.note,
        recorded=now_as_of(space.site, who.as_of),
    )


def _standing(space: Workspace, keeper: Keeper) -> list[Entry]:
    log = open_to_read(space.file, space.site)
    if log is None:
        return []
    with log:
        said = log.entries(space.site.settings.id, names=[keeper.id], kind="away", voided=False)
        return list(said)


def _with_absence(space: Workspace, absent: dict[str, list[tuple[dt.date, dt.date]]]) -> SiteRota:
    """Return the rota that is shown, as it is with somebody away besides."""
    known = known_of(space)
    shown = shown_rota(space.site, known, space.today, space.today, judged=False)
    return further(space.site, known, shown, shown.rota.last, absent=absent)


def _without(space: Workspace, gone: Sequence[Entry], keeper: Keeper, day: dt.date) -> SiteRota:
    """Return the rota that is shown, as it is with a keeper back on a day."""
    known = known_of(space)
    spans = {(e.name, *parse_away(e)) for e in gone}
    away = [one for one in known.away if one not in spans]
    away += [(k, first, day - DAY) for k, first, _ in spans if first < day]
    published = known.published
    if published is not None:
        published = replace(published, absent=_until(published.absent, keeper, day))
    back = replace(known, away=tuple(sorted(away)), published=published)
    return shown_rota(space.site, back, space.today, space.today, judged=False)


def _until(
    absent: Sequence[tuple[str, dt.date, dt.date]], keeper: Keeper, day: dt.date
) -> tuple[tuple[str, dt.date, dt.date], ...]:
    """Return absences of which a keeper's end on the eve of a day."""
    cut = ((k, first, min(last, day - DAY) if k == keeper.id else last) for k, first, last in absent)
    return tuple(one for one in cut if one[1] <= one[2])


def _publish(space: Workspace) -> None:
    if known_of(space).published is not None:
        renew(space, rota_to_export(space, space.today))
