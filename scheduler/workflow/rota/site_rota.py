"""The rota of a site: made from its plan and its log, and compared with what was published."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.description import Site
from scheduler.errors import UsageError, clip
from scheduler.history import DONE_DAYS, NO_HISTORY, History, JobRef, OccurrenceRef
from scheduler.plan import Occurrence, matching
from scheduler.progress import Tell, nobody
from scheduler.workflow.name_lookup import parse_span, pick_named
from scheduler.workflow.plan import Planned, days_of, make_plan
from scheduler.workflow.rota.differences import RotaChange, changes_since
from scheduler.workflow.site_log import history_in, open_to_read
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Published
    from scheduler.rota import Assigned, Past, Rota

MARGIN_DAYS = 35
"""How far beyond its last day a rota looks, so that what is due later keeps its distance."""

MOST_ROTA_WEEKS = 26

EXPORTED_WEEKS = 4
"""So many weeks of rounds are in the calendars where nothing further was published. House value."""

LEAST_AHEAD = dt.timedelta(days=13)
"""With less than two weeks of a published rota left, calendars show what would follow. House value."""

Absence = tuple[str, dt.date, dt.date]
"""(keeper's id, first day, last day) of somebody who cannot come besides what the description says."""

Absent = dict[str, list[tuple[dt.date, dt.date]]]


@dataclass(frozen=True, slots=True)
class SiteRota:
    """A rota, the plan that it shares out, and what differs from the published one."""

    planned: Planned
    rota: Rota
    published: Published | None
    changes: tuple[RotaChange, ...] = ()
    absent: tuple[Absence, ...] = ()
    away: tuple[Absence, ...] = ()

    @property
    def not_there(self) -> Absent:
        """Return who cannot come when besides what the description says: as published, and as the log
        knows."""
        return spans_of((*self.absent, *self.away))


@dataclass(slots=True)
class RotaContext:
    """What the log knows of a site, for its rota; and the plan of now, where that is made already."""

    history: History = NO_HISTORY
    published: Published | None = None
    by_day: list[tuple[dt.date, str, int]] = field(default_factory=list)
    of_late: list[tuple[str, str, str, int, int]] = field(default_factory=list)
    planned: Planned | None = None
    away: tuple[Absence, ...] = ()
    tell: Tell = nobody

    @property
    def not_there(self) -> Absent:
        """Return who cannot come when besides what the description says: as published, and as the log
        knows."""
        return spans_of((*(self.published.absent if self.published is not None else ()), *self.away))

    def past(self, site: Site, today: dt.date) -> Past:
        from scheduler.rota import past

        return past(site.keepers, self.by_day, self.of_late, today)


def make_rota(
    space: Workspace,
    first: dt.date,
    weeks: int | None,
    *,
    absent: Absent | None = None,
    afresh: bool = False,
    seconds: float = 60.0,
) -> SiteRota:
    """Return the rota of so many weeks from `first` on; with `afresh`, whatever was published.

    UsageError without keepers.

    Where a rota is published it is the one that calendars and pages show, of other weeks; and of what is
    `absent` besides it tells what that alone changes. Without a number of weeks it is the one that calendars
    show.
    """
    known = known_of(space)
    last = _shown_until(known, first) if weeks is None else first + dt.timedelta(days=weeks * 7 - 1)
    if afresh or known.published is None:
        return rota_of(
            space.site, known, space.today, first, last, absent=absent, afresh=afresh, seconds=seconds
        )
    shown = shown_rota(space.site, known, space.today, first, seconds=seconds)
    return (
        shown
        if not absent and shown.rota.last == last
        else further(space.site, known, shown, last, absent=absent, seconds=seconds)
    )


def rota_to_export(space: Workspace, first: dt.date, planned: Planned | None = None) -> SiteRota:
    """Return the rota that holds: to the end of the published one, or of four weeks where that is near.

    What is published stays as it is. What is new, or may not stay, is shared out; whoever shows it to others
    publishes it, by `publication.renew`. A plan of now that is `planned` already is taken where it is of the
    same days.
    """
    return shown_rota(space.site, known_of(space, planned), space.today, first, judged=False)


def shown_rota(
    site: Site,
    known: RotaContext,
    today: dt.date,
    first: dt.date,
    *,
    seconds: float = 60.0,
    judged: bool = True,
) -> SiteRota:
    """Return the rota that holds, given what the log knows."""
    return rota_of(site, known, today, first, _shown_until(known, first), seconds=seconds, judged=judged)


def _shown_until(known: RotaContext, first: dt.date) -> dt.date:
    """Return the last day of the rota that calendars show from a day on."""
    if known.published is not None and known.published.last >= first + LEAST_AHEAD:
        return min(known.published.last, first + dt.timedelta(days=MOST_ROTA_WEEKS * 7 - 1))
    return first + dt.timedelta(days=EXPORTED_WEEKS * 7 - 1)


def further(
    site: Site,
    known: RotaContext,
    shown: SiteRota,
    last: dt.date,
    *,
    absent: Absent | None = None,
    seconds: float = 60.0,
) -> SiteRota:
    """Return a rota that is shown, of the days up to another last one; or with more absences, and what these
    change."""
    stands = to_publish(shown)
    today, first = shown.planned.today, shown.rota.first
    made = rota_of(site, replace(known, published=stands), today, first, last, absent=absent, seconds=seconds)
    since = stands if absent else known.published
    return replace(
        made, published=known.published, changes=changes_since(since, made.rota, jobs_in(made.planned))
    )


def rota_of(
    site: Site,
    known: RotaContext,
    today: dt.date,
    first: dt.date,
    last: dt.date,
    *,
    absent: Absent | None = None,
    afresh: bool = False,
    seconds: float = 60.0,
    judged: bool = True,
) -> SiteRota:
    """Return the rota of a span, given what the log knows; unless it is to be `judged`, not how fair it
    is."""
    from scheduler import rota

    days = (last - first).days + 1 + MARGIN_DAYS
    planned = known.planned
    if planned is None or (planned.first, planned.horizon) != (first, first + dt.timedelta(days=days - 1)):
        planned = make_plan(site, today, first, days, known.history)
    late = [o for o in planned.done if first - dt.timedelta(days=MARGIN_DAYS) <= o.day < first]
    occurrences = [*sorted(late, key=lambda o: o.day), *days_of(planned)]
    before = () if known.published is None else known.published.assigned
    if known.history.begun is None:
        occurrences = list(_not_over(occurrences, before, first))
    occurrences = [*still_to_come(planned, occurrences, {a.ref: a.day for a in before}), *occurrences]
    stands = None if afresh else known.published
    # Who was published as ill is so until that is over.
    gone = [(k, begin, end) for k, spans in (absent or {}).items() for begin, end in spans]
    gone = sorted({*gone, *(a for a in (stands.absent if stands else ()) if a[2] >= today)})
    made = rota.assign(
        planned.site,
        occurrences,
        first,
        last,
        quarantined=quarantined_in(site, known.history),
        past=known.past(site, today),
        published=stands.assigned if stands else (),
        left=frozenset(stands.left) if stands else frozenset(),
        absent=spans_of((*gone, *known.away)),
        seconds=seconds,
        judged=judged,
        tell=known.tell,
    )
    return SiteRota(
        planned,
        made,
        known.published,
        changes_since(known.published, made, jobs_in(planned)),
        tuple(gone),
        known.away,
    )


def jobs_in(planned: Planned) -> set[JobRef]:
    """Return the jobs of a plan."""
    return {series.job.ref for series in planned.series}


def spans_of(absent: Iterable[Absence]) -> Absent:
    """Return absences by the keeper's id."""
    found: Absent = {}
    for keeper, first, last in absent:
        found.setdefault(keeper, []).append((first, last))
    return found


def known_of(space: Workspace, planned: Planned | None = None) -> RotaContext:
    """Return what the log knows of a site; its history is that of the plan of now, where that is `planned`
    already."""
    log = open_to_read(space.file, space.site)
    if log is None:
        return RotaContext(tell=space.tell)
    from scheduler.rota import LATE_DAYS

    site = space.site.settings.id
    with log:
        history = (
            history_in(log, space.site, space.today, space.today - dt.timedelta(days=DONE_DAYS))
            if planned is None
            else planned.history
        )
        by_day, of_late = log.worked(site, space.today - dt.timedelta(days=LATE_DAYS), space.today)
        return RotaContext(
            history,
            log.published(site),
            [(w.day, w.keeper, w.minutes) for w in by_day if w.day is not None],
            [(w.keeper, w.enclosure, w.job, w.minutes, w.times) for w in of_late],
            planned,
            tuple(log.away(site)),
            space.tell,
        )


def not_there(space: Workspace) -> Absent:
    """Return who cannot come when besides what the description says, by the log alone."""
    log = open_to_read(space.file, space.site)
    if log is None:
        return {}
    site = space.site.settings.id
    with log:
        return RotaContext(published=log.published(site), away=tuple(log.away(site))).not_there


def quarantined_in(site: Site, history: History) -> Callable[[str, dt.date], bool]:
    """Return what tells whether an enclosure is in quarantine on a day."""
    spans = care.quarantines(site, history)

    def quarantined(enclosure: str, day: dt.date) -> bool:
        span = spans.get(enclosure)
        return span is not None and span[0] <= day <= span[1]

    return quarantined


def _not_over(
    occurrences: Iterable[Occurrence], before: Iterable[Assigned], first: dt.date
) -> Iterator[Occurrence]:
    """Yield what is not over. Nobody records anything: what was published for the days before counts as
    done."""
    over = {a.ref for a in before if a.day < first}
    return (o for o in occurrences if o.ref not in over)


def still_to_come(
    planned: Planned, to_come: Iterable[Occurrence], held: Mapping[OccurrenceRef, dt.date]
) -> Iterator[Occurrence]:
    """Yield what fell due before the first day of a plan and is held on it or a later one, as open since
    then.

    By a record what is due from its first day on is in the plan as overdue; what fell due before that has its
    day all the same. What falls due again by the day on which it is held is met by that. `held` are the days
    that people were given.
    """
    first, history = planned.first, planned.history
    unrecorded = first if history.begun is None else min(first, history.begun)
    late = {ref for ref, day in held.items() if ref.due < unrecorded and first <= day}
    if not late:
        return
    begin = min(ref.due for ref in late)
    again: dict[JobRef, list[dt.date]] = {}
    for o in to_come:
        again.setdefault(o.job.ref, []).append(o.day)
    fell_due = list(days_of(make_plan(planned.described, planned.today, begin, (first - begin).days)))
    for o in fell_due:
        again.setdefault(o.job.ref, []).append(o.day)
    for o in (o for o in fell_due if o.ref in late):
        if any(o.day < day <= held[o.ref] for day in again[o.job.ref]):
            continue
        early = matching.early_days(o.job, [other.day for other in fell_due if other.series is o.series])
        if matching.missed([o.day], o.day, history.last.get(o.job.log_name), early):
            yield replace(o, day=first, since=o.day)


def to_publish(shown: SiteRota) -> Published:
    """Return a rota as it is published.

    What was published for days after it stays, for as many days before it as a rota looks back, and for today
    what is done already: whoever takes that back has it again. What is left undone today is nobody's, under
    whatever day it was published: it would be held the next time, and the rota would never come to rest.
    """
    from scheduler.log import Published

    rota, earlier = shown.rota, shown.published
    since = rota.first - dt.timedelta(days=MARGIN_DAYS)
    rows = rota.assigned()
    left = [one.item.ref for one in rota.unfilled]
    now = {*(a.ref for a in rows), *left}
    first, last = rota.first, rota.last
    recorded = dt.datetime.combine(rota.first, dt.time())
    if earlier is not None:
        today = shown.planned.today
        open_ = {ref.job for ref in now if ref.due <= today}
        kept = [a for a in earlier.assigned if a.day >= since and a.ref not in now]
        rows += [
            a
            for a in kept
            if (a.day == today and a.ref.job not in open_) or not rota.first <= a.day <= rota.last
        ]
        left += [ref for ref in earlier.left if ref not in now and ref.due > rota.last]
        first, last = min(first, max(since, earlier.first)), max(last, earlier.last)
        recorded = earlier.recorded
    given = earlier.given if earlier is not None else ()
    return Published(first, last, recorded, in_order(rows), tuple(sorted(left)), shown.absent, given)


def in_order(rows: Iterable[Assigned]) -> tuple[Assigned, ...]:
    """Return rows in the order in which they are stored."""
    return tuple(sorted(rows, key=lambda a: (a.day, a.keeper, a.ref)))


def absences(site: Site, today: dt.date, words: Iterable[str]) -> Absent:
    """Return who is absent when: NAME is today, NAME=DATE a day, NAME=DATE/DATE a span.

    UsageError for what is neither.
    """
    found: Absent = {}
    for word in words:
        name, _, when = word.partition("=")
        keeper = pick_named(name, site.keepers, "keeper")
        if "=" in word and not when:
            raise UsageError(
                f"{clip(word)} names no day; write {keeper.name}=2026-12-01, or the name alone for today"
            )
        span = parse_span(when) if when else (today, today)
        if span[1] < today:
            raise UsageError(f"{when} is over; today is {today}")
        found.setdefault(keeper.id, []).append(span)
    return found
