"""Who is away, as an event of the log: what that changes in the rota is told first, then recorded and
published."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from scheduler.description.site import Keeper
from scheduler.errors import UsageError
from scheduler.history import Entry, parse_away
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.record.standing import Who, keeper_id, opened
from scheduler.workflow.rota.publication import renew, store
from scheduler.workflow.rota.site_rota import (
    Absence,
    RotaContext,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayPlan:
    """What somebody says of when a keeper is away, thought through and not recorded yet.

    `entries` say it, `ended` are taken back for it; `back` is the day on which the keeper comes again, None
    where nothing ends. `shown` is the rota as it is with it, and what that changes.
    """

    keeper: Keeper
    entries: tuple[Entry, ...]
    shown: SiteRota
    ended: tuple[Entry, ...] = ()
    back: dt.date | None = None


def plan_absence(space: Workspace, name: str, span: tuple[dt.date, dt.date], who: Who) -> AwayPlan:
    """Return what it is that a keeper is away on the days of a span.

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
    known = known_of(space)
    shown = shown_rota(space.site, known, space.today, space.today, judged=False)
    made = further(space.site, known, shown, shown.rota.last, absent={keeper.id: [span]})
    return AwayPlan(keeper=keeper, entries=(_entry(space, keeper, first, last, who),), shown=made)


def plan_return(space: Workspace, name: str, day: dt.date, who: Who) -> AwayPlan:
    """Return what it is that a keeper is back on a day, whatever was said before.

    UsageError where the log does not know the keeper as away on that day or later.
    """
    keeper, formats = _keeper(space, name), space.site.settings.formats
    if day < space.today:
        raise UsageError(f"{formats.date(day)} is over; today is {formats.date(space.today)}")
    ended = [entry for entry in _standing(space, keeper) if parse_away(entry)[1] >= day]
    known = known_of(space)
    absent = known.published.absent if known.published is not None else ()
    if not ended and _until(absent, keeper, day) == tuple(absent):
        if any(span.first <= day <= span.last for span in keeper.away):
            raise UsageError(f"{keeper.name} is away by the description; change it there")
        raise UsageError(f"{keeper.name} is not away on {formats.date(day)} or later")
    firsts = (parse_away(entry)[0] for entry in ended)
    return AwayPlan(
        keeper=keeper,
        entries=tuple(_entry(space, keeper, first, day - DAY, who) for first in firsts if first < day),
        shown=_shown_with_return(space, known, keeper, day),
        ended=tuple(ended),
        back=day,
    )


def keep_absence(space: Workspace, planned: AwayPlan, who: Who) -> list[tuple[Entry, bool]]:
    """Record what was planned, and publish what it changes where a rota is published.

    Return the entries, each with whether it is new.
    """
    site = space.site.settings.id
    with opened(space.file, space.site) as log:
        if planned.ended:
            uids = [entry.uid(site) for entry in planned.ended]
            by, now = keeper_id(space.site, who.by), now_as_of(space.site, who.as_of)
            kept = [(e, True) for e in log.exchange(site, uids, planned.entries, keeper=by, recorded=now)]
        else:
            kept = log.record(site, planned.entries)
        published = log.published(site)
    if published is None:
        return kept
    if planned.back is not None:
        absent = _until(published.absent, planned.keeper, planned.back)
        if absent != published.absent:
            store(space, replace(published, absent=absent))
    renew(space, rota_to_export(space, space.today))
    return kept


def _keeper(space: Workspace, name: str) -> Keeper:
    keeper: Keeper = pick_named(name, space.site.keepers, "keeper")
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
        return list(log.entries(space.site.settings.id, names=[keeper.id], kind="away", voided=False))


def _shown_with_return(space: Workspace, known: RotaContext, keeper: Keeper, day: dt.date) -> SiteRota:
    """Return the rota that is shown, as it is with a keeper back on a day."""
    published = known.published
    if published is not None:
        published = replace(published, absent=_until(published.absent, keeper, day))
    back = replace(known, away=_until(known.away, keeper, day), published=published)
    return shown_rota(space.site, back, space.today, space.today, judged=False)


def _until(absent: Sequence[Absence], keeper: Keeper, day: dt.date) -> tuple[Absence, ...]:
    """Return absences of which a keeper's end on the eve of a day."""
    cut = ((k, first, min(last, day - DAY) if k == keeper.id else last) for k, first, last in absent)
    return tuple(one for one in cut if one[1] <= one[2])
