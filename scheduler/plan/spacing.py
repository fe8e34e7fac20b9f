"""When the jobs that come back after an interval begin: apart inside an enclosure, spread over the days of the site.

A regular job keeps its interval exactly, so its whole future is decided by its first day. That day is chosen once,
from the description alone: never from today's date, or the calendar would shift with every export.
"""

from __future__ import annotations

import bisect
import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from scheduler.care import Every, Job
from scheduler.plan.days import ALL_DAYS, Days

EPOCH = dt.date(2024, 1, 1)
"""Where intervals count from when the description has no date to count from: a Monday that never moves."""

APART_DAYS = 3
"""Least days between two heavy services (large water change, filter service) of one enclosure. House value: the
biofilter gets over one disturbance before the next."""

CYCLE = 56
"""Days over which loads are compared: eight weeks, the common multiple of the usual intervals."""


@dataclass(slots=True)
class Phase:
    """Where a job begins. Regular: `first`. Irregular: `days`, computed to the horizon, and why."""

    first: int = 0
    days: Sequence[int] = ()
    why: str = ""


@dataclass(slots=True)
class Loads:
    """The minutes planned so far on each day of the cycle, over the minutes that there are."""

    days: Days
    planned: list[float] = field(default_factory=lambda: [0.0] * CYCLE)

    def cost(self, first: int, period: int) -> float:
        """Return the mean fullness of the days on which a job of this phase would fall."""
        cells = _cells(first, period)
        return sum(self.planned[c] / self.days.minutes[(c + _SHIFT) % 7] for c in cells) / len(cells)

    def add(self, first: int, period: int, minutes: int) -> None:
        """Plan a job."""
        cells = _cells(first, period)
        each = minutes * CYCLE / period / len(cells)
        for cell in cells:
            self.planned[cell] += each


# Ordinal 0 is a Sunday-like day: (ordinal + 6) % 7 is the weekday with Monday as 0. CYCLE is whole weeks, so the same
# shift turns a cell into its weekday.
_SHIFT = 6


def _weekday(ordinal: int) -> int:
    return (ordinal + _SHIFT) % 7


def _cells(first: int, period: int) -> range:
    step = math.gcd(period, CYCLE)
    return range(first % step, CYCLE, step)


def place(jobs: Iterable[Job], days: Days, horizon: dt.date) -> dict[tuple[str, str, str], Phase]:
    """Return the phase of each interval job counted in days, by (enclosure, key, variant).

    `jobs` come enclosure by enclosure. Heavy jobs are placed first, then long ones; each takes the least loaded phase
    of those that its enclosure allows.
    """
    loads = Loads(days)
    found: dict[tuple[str, str, str], Phase] = {}
    batch: list[Job] = []
    for job in jobs:
        if batch and job.enclosure is not batch[0].enclosure:
            found |= _enclosure(batch, loads, horizon)
            batch = []
        if isinstance(job.cadence, Every) and not job.cadence.span.months:
            batch.append(job)
    return found | _enclosure(batch, loads, horizon)


def _enclosure(jobs: list[Job], loads: Loads, horizon: dt.date) -> dict[tuple[str, str, str], Phase]:
    found: dict[tuple[str, str, str], Phase] = {}
    heavy: list[tuple[int, Phase]] = []
    by_key: dict[str, tuple[int, Phase]] = {}
    for job in sorted(jobs, key=lambda j: (not j.heavy, _period(j), -j.minutes, j.rank, j.variant)):
        period = _period(job)
        phase = _phase(job, period, loads, heavy if job.heavy else [], by_key.get(job.beside), horizon)
        if not phase.why:
            loads.add(phase.first, period, job.minutes)
        if job.heavy:
            heavy.append((period, phase))
        by_key[job.key] = (period, phase)
        found[(job.enclosure.id, job.key, job.variant)] = phase
    return found


def _period(job: Job) -> int:
    assert isinstance(job.cadence, Every)
    return job.cadence.span.days


def _phase(job: Job, period: int, loads: Loads, heavy: list[tuple[int, Phase]], beside: tuple[int, Phase] | None, horizon: dt.date) -> Phase:
    allowed = loads.days.allowed(job) if period >= 7 or job.weekdays is not None else ALL_DAYS
    if len(allowed) < 7 and period % 7:
        return _irregular(job, period, allowed, heavy, horizon, "the interval does not fit the weekdays")
    first_days = _candidates(job, period)
    options = [d for d in first_days if _weekday(d) in allowed] or list(first_days)
    if heavy:
        apart = [d for d in options if _apart(d, period, heavy)]
        if not apart and job.weekdays is None:
            # A day that nobody has named, but that leaves the biofilter alone, beats a disturbed biofilter.
            apart = [d for d in first_days if _apart(d, period, heavy)]
        if not apart:
            return _irregular(job, period, allowed, heavy, horizon, "the interval does not keep clear of the other services")
        options = apart
    if beside is not None and not beside[1].why and beside[0] % 7 == 0:
        options = [d for d in options if (d - beside[1].first) % 7 == 0] or options
    # The latest of the least loaded days: nothing is done earlier than needed.
    first = min(options, key=lambda d: (round(loads.cost(d, period), 9), -d))
    return Phase(first=first)


def _candidates(job: Job, period: int) -> range:
    """Return the days on which the first occurrence may fall: the later half of the first interval, or all of it."""
    assert isinstance(job.cadence, Every)
    anchor = job.cadence.anchor
    if anchor is None:
        return range(EPOCH.toordinal(), EPOCH.toordinal() + period)
    last = anchor.toordinal() + period
    if period < 7:
        return range(last, last + 1)
    return range(last - period + 1 if period < 14 else last - period // 2, last + 1)


def _apart(first: int, period: int, heavy: list[tuple[int, Phase]]) -> bool:
    return all(not phase.why and _distance(first, period, phase.first, other) >= APART_DAYS for other, phase in heavy)


def _distance(first: int, period: int, other_first: int, other_period: int) -> int:
    """Return the least days that two endless regular series ever come near each other."""
    step = math.gcd(period, other_period)
    gap = (first - other_first) % step
    return min(gap, step - gap)


def _irregular(job: Job, period: int, allowed: tuple[int, ...], heavy: list[tuple[int, Phase]], horizon: dt.date, why: str) -> Phase:
    """Walk from one occurrence to the next: as near to the interval as weekdays and the other services let it.

    The gap never exceeds interval + window. Where nothing in the window keeps clear of the other services, the day
    that keeps furthest away is taken.
    """
    assert isinstance(job.cadence, Every)
    before = (job.cadence.anchor or EPOCH).toordinal()
    # What lies far in the past does not show, but the walk has to pass through it to arrive at the same days.
    found: list[int] = []
    while before <= horizon.toordinal():
        due = before + period
        reach = range(max(before + 1, due - job.window), due + job.window + 1)
        options = [d for d in reach if _weekday(d) in allowed]
        if not options:
            options = [d for d in range(before + 1, due + job.window + 1) if _weekday(d) in allowed][-1:] or [due]
        clear = {d: min((_nearest(d, p, phase) for p, phase in heavy), default=CYCLE) for d in options}
        best = min(options, key=lambda d: (-min(clear[d], APART_DAYS), abs(d - due), d))
        found.append(best)
        before = best
    return Phase(days=found, why=why)


def _nearest(day: int, period: int, phase: Phase) -> int:
    """Return the days between a day and the nearest occurrence of another service."""
    if not phase.why:
        gap = (day - phase.first) % period
        return min(gap, period - gap)
    at = bisect.bisect_left(phase.days, day)
    return min((abs(day - other) for other in phase.days[max(0, at - 1) : at + 1]), default=CYCLE)
