"""Occurrences to items: the days on which each may be done, so that intervals and services keep their
distance.

An occurrence may be done within its window, before or after the day on which it falls due. What is due next
must not be overdue by it, so each takes half of the window to either side, and all of it only where nobody
has a day in that half. What is open waits for the first day on which anybody can do it, up to half way to the
next of its kind.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise

from scheduler.history import JobRef
from scheduler.plan import Occurrence
from scheduler.plan.spacing import APART_DAYS
from scheduler.rota.availability import Availability
from scheduler.rota.eligibility import can_anybody, first_day, on_weekday
from scheduler.rota.model import Assigned, Item

Quarantined = Callable[[str, dt.date], bool]
"""Whether an enclosure is in quarantine on a day."""

Reach = tuple[dt.date, dt.date]
DAY = dt.timedelta(days=1)


def items(
    occurrences: Iterable[Occurrence],
    availability: Availability,
    first: dt.date,
    last: dt.date,
    quarantined: Quarantined,
    *,
    published: Iterable[Assigned] = (),
) -> list[Item]:
    """Return what falls due from `first` to `last` and is not done, each with its days, in the order of the
    plan.

    Occurrences that are done, or that fall due outside, tell how far others may move. Where a day on which a
    job was `published` lies in the window it is among the days. What falls due in the span and was published
    for a day after it is not of the span, and what was published for a day of it and falls due later is.
    """
    work = _without_covered(list(occurrences), availability, first, last)
    reaches = _reaches(work, first, last, whole=False)
    wide = _reaches(work, first, last, whole=True)
    held: dict[JobRef, list[Assigned]] = {}
    for one in published:
        held.setdefault(one.ref.job, []).append(one)
    days_held = {one.ref: one.day for some in held.values() for one in some}
    made: list[Item] = []
    for number, o in enumerate(work):
        if o.state == "done":
            continue
        own = held.get(o.job.ref, ())
        at = days_held.get(o.ref, o.day)
        if at < first or (o.since is None and abs((at - o.day).days) > o.job.window):
            at = o.day
        if not first <= at <= last:
            continue
        if not first <= o.day <= last:
            made.append(_due_after_span(Item(o, number, (at,)), (wide[number][0], last), quarantined))
            continue
        # Whatever others choose of theirs, days of the whole window keep their distance; those of the half
        # need not.
        begin, end = wide[number]
        near = reaches[number]
        days = _days(o, (max(begin, near[0]), min(end, near[1])))
        outer = _days(o, (begin, end))
        if not can_anybody(availability, o.job, days):
            soonest = first_day(availability, o.job, outer) if o.since is not None else None
            days = outer if soonest is None else tuple(day for day in outer if day <= soonest)
        extra = {a.day for a in own if begin <= a.day <= end and on_weekday(o.job, a.day)}
        days = tuple(sorted({*days, *extra}))
        # A day that it may be done on decides, not the one on which it falls due.
        apart = any(quarantined(o.job.enclosure.id, day) for day in {*days, *outer})
        made.append(Item(o, number, days, apart, outer))
    return made


def _due_after_span(item: Item, reach: Reach, quarantined: Quarantined) -> Item:
    """Return an item that falls due after the span and was published for a day of it, with its days in the
    span."""
    outer = tuple(sorted({*item.days, *(d for d in _days(item.occurrence, reach) if d <= reach[1])}))
    apart = any(quarantined(item.job.enclosure.id, day) for day in outer)
    return replace(item, quarantine=apart, outer=outer)


def _without_covered(
    work: list[Occurrence], availability: Availability, first: dt.date, last: dt.date
) -> list[Occurrence]:
    """Leave out what is covered by an open one for which nobody comes until then.

    An interval that counts from when it was done goes on from there: whoever does on Saturday what is open
    since the Saturday before has done this Saturday's, too, and the next comes at least half an interval
    later.
    """
    by_series: dict[int, list[Occurrence]] = {}
    for o in work:
        if o.series.moves and o.state != "done":
            by_series.setdefault(id(o.series), []).append(o)
    covered: set[int] = set()
    for own in by_series.values():
        open_, later = own[0], own[1:]
        if open_.since is None or not later:
            continue
        span = [open_.day + n * DAY for n in range((last - open_.day).days + 1)]
        soonest = first_day(availability, open_.job, [day for day in span if on_weekday(open_.job, day)])
        half_way = open_.day + (((later[0].day - open_.day).days - 1) // 2) * DAY
        if soonest is None or soonest <= half_way:
            continue
        period = min((b.day - a.day).days for a, b in pairwise(later)) if len(later) > 1 else 0
        covered |= {id(o) for o in later if o.day < soonest + (period + 1) // 2 * DAY or o.day <= soonest}
    return [o for o in work if id(o) not in covered]


def _days(o: Occurrence, reach: Reach) -> tuple[dt.date, ...]:
    begin, end = reach
    count = (end - begin).days + 1
    days = tuple(day for day in (begin + n * DAY for n in range(count)) if on_weekday(o.job, day))
    return days or (o.day,)


def _reaches(work: list[Occurrence], first: dt.date, last: dt.date, *, whole: bool) -> list[Reach]:
    """Return the first and the last day of each occurrence, in their order."""
    reaches: list[Reach] = [(o.day, o.day) for o in work]
    series: dict[int, list[int]] = {}
    heavy: dict[str, list[int]] = {}
    for number, o in enumerate(work):
        series.setdefault(id(o.series), []).append(number)
        if o.job.heavy:
            heavy.setdefault(o.job.enclosure.id, []).append(number)
    for numbers in series.values():
        own = [work[number] for number in numbers]
        gaps = [None, *((b.day - a.day).days for a, b in pairwise(own)), None]
        for number, o, before, after in zip(numbers, own, gaps[:-1], gaps[1:], strict=True):
            if o.state != "done":
                reaches[number] = _reach(o, before, after, first, last, whole=whole)
    for numbers in heavy.values():
        for earlier, later in pairwise(numbers):
            _keep_apart(work, reaches, earlier, later)
    if not whole:
        _keep_before(work, reaches)
    return reaches


def _reach(
    o: Occurrence, before: int | None, after: int | None, first: dt.date, last: dt.date, *, whole: bool
) -> Reach:
    """Return the first and the last day of an occurrence, `before` and `after` so many days another of its
    kind falls due."""
    early, late = _window(o, last, whole=whole)
    # Never half way to another of its kind, or the log would take it for that one.
    if before is not None:
        early = min(early, (before - 1) // 2)
    if after is not None:
        late = min(late, (after - 1) // 2)
    begin = max(first, o.day - max(0, early) * DAY)
    return min(begin, o.day), max(o.day, min(last, o.day + max(0, late) * DAY))


def _window(o: Occurrence, last: dt.date, *, whole: bool) -> tuple[int, int]:
    """Return how many days an occurrence may be done early and late: in half of its window to either side, or
    in all."""
    window = o.job.window
    if o.put_off is not None:
        # Somebody said that it waits until then.
        return 0, window if whole else window - window // 2
    if o.since is None:
        return (window, window) if whole else (window // 2, window - window // 2)
    # It is open: its window counts from the day on which it fell due, and it waits no longer than it must.
    late = max(0, (o.since + window * DAY - o.day).days, window // 2)
    return 0, max(late, (last - o.day).days) if whole else late


def _keep_before(work: list[Occurrence], reaches: list[Reach]) -> None:
    """Shorten reaches so that what likes to fall on the eve of another comes before it, whatever days are
    chosen.

    Of the days in the whole window this is not asked: water that is tested a day late is better than none.
    """
    by_key: dict[tuple[str, str], list[int]] = {}
    for number, o in enumerate(work):
        if o.state != "done":
            by_key.setdefault((o.job.enclosure.id, o.job.key), []).append(number)
    for number, o in enumerate(work):
        if not o.job.eve_of or o.state == "done":
            continue
        others = by_key.get((o.job.enclosure.id, o.job.eve_of), ())
        after = next((n for n in others if work[n].day >= o.day), None)
        if after is None:
            continue
        begin, end = reaches[after]
        begin = min(work[after].day, max(begin, o.day + DAY))
        reaches[after] = (begin, end)
        reaches[number] = (reaches[number][0], max(o.day, min(reaches[number][1], begin - DAY)))


def _keep_apart(work: list[Occurrence], reaches: list[Reach], before: int, after: int) -> None:
    """Shorten the reaches of two services of one enclosure until no choice of days brings them too near."""
    least = min(APART_DAYS, (work[after].day - work[before].day).days)
    while (reaches[after][0] - reaches[before][1]).days < least:
        begin, end = reaches[after]
        if begin < work[after].day:
            reaches[after] = (begin + DAY, end)
        else:
            start, stop = reaches[before]
            reaches[before] = (start, stop - DAY)
