"""The rota of a site: made from its plan and its log, compared with what was published, published, handed over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.description import Site
from scheduler.errors import UsageError, clip
from scheduler.history import NO_HISTORY, History, OccurrenceRef
from scheduler.plan import Occurrence
from scheduler.workflow.naming import by_names, parse_span, pick
from scheduler.workflow.planning import Planned, days_of, make_plan
from scheduler.workflow.remembering import history_in, now_as_of, open_to_read, open_to_record

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

Absent = dict[str, list[tuple[dt.date, dt.date]]]


@dataclass(frozen=True, slots=True)
class Change:
    """What differs from the published rota for one occurrence: (day, keeper's id) before and now; None is not there."""

    enclosure: str
    job: str
    variant: str
    due: dt.date
    before: tuple[dt.date, str] | None
    now: tuple[dt.date, str] | None


@dataclass(frozen=True, slots=True)
class Rostered:
    """A rota, the plan that it shares out, and what differs from the published one."""

    planned: Planned
    rota: Rota
    published: Published | None
    changes: tuple[Change, ...] = ()


@dataclass(slots=True)
class Known:
    """What the log knows of a site, for its rota."""

    history: History = NO_HISTORY
    published: Published | None = None
    by_day: list[tuple[dt.date, str, int]] = field(default_factory=list)
    of_late: list[tuple[str, str, str, int, int]] = field(default_factory=list)

    def past(self, site: Site, today: dt.date) -> Past:
        from scheduler.rota import past

        return past(site.keepers, self.by_day, self.of_late, today)


def make_rota(
    file: Path,
    site: Site,
    today: dt.date,
    first: dt.date,
    weeks: int,
    *,
    absent: Mapping[str, Sequence[tuple[dt.date, dt.date]]] | None = None,
    afresh: bool = False,
    seconds: float = 60.0,
) -> Rostered:
    """Return the rota of so many weeks from `first` on; with `afresh`, whatever was published. UsageError without keepers."""
    known = known_of(file, site, today)
    last = first + dt.timedelta(days=weeks * 7 - 1)
    return rota_of(site, known, today, first, last, absent=absent, afresh=afresh, seconds=seconds)


def rota_of(
    site: Site,
    known: Known,
    today: dt.date,
    first: dt.date,
    last: dt.date,
    *,
    absent: Mapping[str, Sequence[tuple[dt.date, dt.date]]] | None = None,
    afresh: bool = False,
    seconds: float = 60.0,
) -> Rostered:
    """Return the rota of a span, given what the log knows."""
    from scheduler import rota

    planned = make_plan(site, today, first, (last - first).days + 1 + MARGIN_DAYS, known.history)
    late = [o for o in planned.done if first - dt.timedelta(days=MARGIN_DAYS) <= o.day < first]
    occurrences = [*sorted(late, key=lambda o: o.day), *days_of(planned)]
    before = () if known.published is None else known.published.assigned
    if known.history.begun is None:
        occurrences = [*_still_to_come(site, today, first, before), *_not_over(occurrences, before, first)]
    held = () if afresh else [a for a in before if first <= a.day]
    made = rota.assign(
        planned.site,
        occurrences,
        first,
        last,
        quarantined=quarantined_in(site, known.history),
        past=known.past(site, today),
        published=held,
        absent=absent,
        seconds=seconds,
    )
    return Rostered(planned, made, known.published, _changes(before, made))


def rota_to_export(file: Path, site: Site, today: dt.date, first: dt.date) -> Rostered:
    """Return the rota that calendars show: to the end of the published one, or of four weeks where that is near."""
    known = known_of(file, site, today)
    last = first + dt.timedelta(days=EXPORTED_WEEKS * 7 - 1)
    if known.published is not None and known.published.last >= first + LEAST_AHEAD:
        last = min(known.published.last, first + dt.timedelta(days=MOST_ROTA_WEEKS * 7 - 1))
    return rota_of(site, known, today, first, last)


def known_of(file: Path, site: Site, today: dt.date) -> Known:
    """Return what the log knows of a site."""
    log = open_to_read(site, file)
    if log is None:
        return Known()
    from scheduler.rota import LATE_DAYS

    with log:
        by_day, of_late = log.worked(site.place.id, today - dt.timedelta(days=LATE_DAYS), today)
        return Known(
            history_in(log, site, today, today - dt.timedelta(days=MARGIN_DAYS)),
            log.published(site.place.id),
            [(w.day, w.keeper, w.minutes) for w in by_day if w.day is not None],
            [(w.keeper, w.enclosure, w.job, w.minutes, w.times) for w in of_late],
        )


def takers_of(file: Path, site: Site) -> dict[OccurrenceRef, str]:
    """Return who takes what by the published rota: a keeper's id by occurrence."""
    log = open_to_read(site, file) if len(site.keepers) > 1 else None
    if log is None:
        return {}
    with log:
        found = log.published(site.place.id)
    return {a.ref: a.keeper for a in found.assigned} if found else {}


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
    """Yield what is not over. Nobody records anything: what was published for the days before counts as done."""
    over = {a.ref for a in before if a.day < first}
    return (o for o in occurrences if o.ref not in over)


def _still_to_come(
    site: Site, today: dt.date, first: dt.date, before: Iterable[Assigned]
) -> Iterator[Occurrence]:
    """Yield what fell due before the first day and was published for it or later, as open since then."""
    late = {a.ref for a in before if a.due < first <= a.day}
    if not late:
        return
    begin = min(due for *_, due in late)
    planned = make_plan(site, today, begin, (first - begin).days)
    for o in days_of(planned):
        if o.ref in late:
            yield replace(o, day=first, since=o.day)


def _changes(before: Iterable[Assigned], made: Rota) -> tuple[Change, ...]:
    """Return what differs in the days that were published. What falls due after them is new, and no change."""
    was = {a.ref: (a.day, a.keeper) for a in before}
    if not was:
        return ()
    end = max(day for day, _ in was.values())
    now = {a.ref: (a.day, a.keeper) for a in made.assigned()}
    refs = {n for n, (day, _) in was.items() if made.first <= day <= made.last}
    refs |= {n for n in now if n in was or n.due <= end}
    ordered = sorted(refs, key=lambda n: (n.due, n))
    return tuple(Change(*n, was.get(n), now.get(n)) for n in ordered if was.get(n) != now.get(n))


def publish(file: Path, site: Site, rostered: Rostered, as_of: dt.date | None) -> None:
    """Store a rota in the log, so that later ones change little.

    What was published for days after it stays, and for as many days before it as a rota looks back.
    """
    rota = rostered.rota
    earlier = rostered.published
    since = rota.first - dt.timedelta(days=MARGIN_DAYS)
    before = earlier.assigned if earlier else ()
    kept = [a for a in before if a.day >= since and not rota.first <= a.day <= rota.last]
    first = min(rota.first, max(since, earlier.first)) if earlier else rota.first
    last = max(rota.last, earlier.last) if earlier else rota.last
    store(file, site, (first, last), [*kept, *rota.assigned()], as_of)


def store(
    file: Path, site: Site, span: tuple[dt.date, dt.date], assigned: Iterable[Assigned], as_of: dt.date | None
) -> None:
    """Store who does what in a span as the published rota."""
    from scheduler.log import Published

    first, last = span
    rows = tuple(sorted(assigned, key=lambda a: (a.day, a.keeper, a.ref)))
    with open_to_record(site, file) as log:
        log.publish(site.place.id, Published(first, last, now_as_of(site, as_of), rows))


def absences(site: Site, today: dt.date, words: Iterable[str]) -> Absent:
    """Return who is absent when: NAME is today, NAME=DATE a day, NAME=DATE/DATE a span. UsageError for what is neither."""
    found: Absent = {}
    for word in words:
        name, _, when = word.partition("=")
        keeper = pick(name, by_names(site.keepers), "keeper")
        if "=" in word and not when:
            raise UsageError(
                f"{clip(word)} names no day; write {keeper.name}=2026-12-01, or the name alone for today"
            )
        span = parse_span(when) if when else (today, today)
        if span[1] < today:
            raise UsageError(f"{when} is over; today is {today}")
        found.setdefault(keeper.id, []).append(span)
    return found
