"""When the jobs that come back after an interval begin: apart inside an enclosure, spread over the days of
the site.

A regular job keeps its interval exactly, so its whole future is decided by its first day. That day is chosen
once, from the description alone: never from today's date, or the calendar would shift with every export.
"""

from __future__ import annotations

import bisect
import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from scheduler.care import ByRule, Every, Job
from scheduler.history import JobRef
from scheduler.plan.days import ALL_DAYS, Days, weekday_of
from scheduler.plan.entries import COUNTED, LONG_CYCLE, Entries

EPOCH = dt.date(2024, 1, 1)
"""Where intervals count from when the description has no date to count from: a Monday that never moves."""

APART_DAYS = 3
"""Least days between two heavy services (large water change, filter service) of one enclosure.

House value: the biofilter gets over one disturbance before the next.
"""


CYCLE = 56
"""Days over which loads are compared: eight weeks, the common multiple of the usual intervals."""


@dataclass(slots=True)
class Phase:
    """Where a job begins. Regular: `first`. Irregular: `days`, computed to the horizon, and why.

    With `second` it comes twice a week: on the weekday of `first`, and so many days after it.
    """

    first: int = 0
    second: int = 0
    days: Sequence[int] = ()
    why: str = ""


@dataclass(slots=True)
class Loads:
    """The minutes planned so far on each day of the cycle, over the minutes that there are."""

    days: Days
    fullness: list[float] = field(default_factory=lambda: [0.0] * CYCLE)

    def costs(self, period: int) -> list[float]:
        """Return the mean fullness of the days on which a job would fall, for each phase that its period
        tells apart."""
        step = math.gcd(period, CYCLE)
        turns = CYCLE // step
        return [sum(self.fullness[phase::step]) / turns for phase in range(step)]

    def add(self, first: int, period: int, minutes: int) -> None:
        """Plan a job."""
        cells = _cells(first, period)
        each = _weight(minutes) * CYCLE / period / len(cells)
        for cell in cells:
            self.fullness[cell] += each / self.days.minutes[weekday_of(cell)]


@dataclass(frozen=True, slots=True)
class Taken:
    """What is placed so far: the minutes, and the entries while they are counted."""

    loads: Loads
    entries: Entries | None

    def add(self, wish: Wish, first: int) -> None:
        """Take the days of a job."""
        self.loads.add(first, wish.period, wish.job.minutes)
        if self.entries is not None and not wish.job.routine:
            self.entries.add(first, wish.period, wish.job.part)

    def best(self, options: Sequence[int], wish: Wish) -> int:
        """Return the day on which a job meets the fewest entries, and of those the latest that is least
        loaded."""
        if self.entries is not None and not wish.job.routine:
            options = self.entries.fewest(options, wish.period, wish.job.part)
        costs = self.loads.costs(wish.period)
        least = min(costs[day % len(costs)] for day in options)
        # The latest: nothing is done earlier than needed. Sums of the same minutes in another order differ in
        # their last digits.
        return max(day for day in options if costs[day % len(costs)] <= least + 1e-9)


def _weight(minutes: int) -> float:
    """Return the minutes in steps of doubling: five minutes more must not move other jobs to other days."""
    return 5.0 * 2.0 ** round(math.log2(minutes / 5.0))


def _cells(first: int, period: int) -> range:
    step = math.gcd(period, CYCLE)
    return range(first % step, CYCLE, step)


def place(jobs: Iterable[Job], days: Days, horizon: dt.date) -> dict[JobRef, Phase]:
    """Return the phase of each interval job counted in days, by its identity.

    Enclosures are placed in the order in which they were set up, so that a new one finds its place among the
    others and moves none of them. Inside an enclosure heavy jobs come first; each job takes, of the phases
    that its enclosure allows, the one on which it meets the fewest entries, and of those the least loaded.
    """
    loads, entries = Loads(days), Entries()
    batches: dict[str, list[Job]] = {}
    for job in jobs:
        if isinstance(job.cadence, Every) or _is_counted(job):
            batches.setdefault(job.enclosure.id, []).append(job)
    found: dict[JobRef, Phase] = {}
    in_order = sorted(
        batches.values(), key=lambda b: (b[0].enclosure.set_up or dt.date.min, b[0].enclosure.id)
    )
    for number, batch in enumerate(in_order):
        found |= _enclosure(batch, Taken(loads, entries if number < COUNTED else None), horizon)
    return found


def _is_counted(job: Job) -> bool:
    """Tell whether a job by calendar stands in the way of others for ever; a course is over some day."""
    if job.routine or not isinstance(job.cadence, ByRule):
        return False
    rule = job.cadence.rule
    return job.cadence.until is None and rule.until is None and rule.count is None


Heavy = list[tuple[int, Phase]]
"""The heavy services of an enclosure that are placed already: period in days, and phase."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A job to be placed: its period, the days on which somebody can do it, and what it has to keep away
    from."""

    job: Job
    period: int
    anchor: dt.date | None
    lasts: bool
    allowed: tuple[int, ...]
    heavy: Heavy


def _enclosure(jobs: list[Job], taken: Taken, horizon: dt.date) -> dict[JobRef, Phase]:
    found: dict[JobRef, Phase] = {}
    heavy: Heavy = []
    by_key: dict[str, tuple[int, Phase]] = {}
    if taken.entries is not None:
        for job in jobs:
            if isinstance(job.cadence, ByRule):
                taken.entries.add_rule(job)
    wishes = [_wish(job, taken.loads.days, heavy) for job in jobs if isinstance(job.cadence, Every)]
    # That on whose eve another one likes to fall is placed before it.
    has_eve = {w.job.eve_of for w in wishes}
    wishes.sort(
        key=lambda w: (not w.job.heavy, w.period, w.job.key not in has_eve, w.job.rank, w.job.variant)
    )
    # The walks of heavy jobs go on beyond the horizon: which day is clear of which is then decided as under a
    # later one.
    end = horizon.toordinal() + sum(w.period + 2 * w.job.window + APART_DAYS for w in wishes if w.job.heavy)
    for wish in wishes:
        job = wish.job
        phase = _regular(wish, taken, by_key.get(job.eve_of)) if not (why := why_irregular(wish)) else None
        if phase is None:
            phase = walk(wish, end, why or "the interval does not keep clear of the other services")
        if job.heavy:
            heavy.append((wish.period, phase))
        by_key[job.key] = (wish.period, phase)
        found[job.ref] = phase
    return found


def _wish(job: Job, days: Days, heavy: Heavy) -> Wish:
    assert isinstance(job.cadence, Every)
    period = job.cadence.span.interval_days
    allowed = days.allowed(job) if period >= 7 or job.weekdays is not None else ALL_DAYS
    return Wish(job, period, job.cadence.anchor, job.cadence.lasts, allowed, heavy if job.heavy else [])


def may_be_irregular(jobs: Iterable[Job], days: Days) -> bool:
    """Tell whether any interval job may have no rule: else the jobs' places need not be found to know that
    none has.

    Of whole weeks, with no weekdays named, heavy services always find places apart as long as at most one of
    an enclosure comes more often than, or out of step with, every four weeks.
    """
    out_of_step: set[str] = set()
    for job in jobs:
        assert isinstance(job.cadence, Every)
        period = job.cadence.span.interval_days
        if period % 7 and (job.heavy or len(_wish(job, days, []).allowed) < len(ALL_DAYS)):
            return True
        if job.heavy and job.weekdays is not None:
            return True
        if job.heavy and period % 28:
            if job.enclosure.id in out_of_step:
                return True
            out_of_step.add(job.enclosure.id)
    return False


def why_irregular(wish: Wish) -> str:
    """Return why a job can be no rule whatever day it begins on; nothing when it can."""
    return "the interval does not fit the weekdays" if len(wish.allowed) < 7 and wish.period % 7 else ""


def _regular(wish: Wish, taken: Taken, after: tuple[int, Phase] | None) -> Phase | None:
    """Return the phase that keeps clear of the other services and meets least; None when there is none.

    `after` is the job, with its period, on whose eve this one likes to fall.
    """
    if twice_a_week(wish.job):
        return _twice(wish, taken)
    first_days = _candidates(wish)
    if not wish.heavy:
        # Of days that fall on the same days of the cycle the latest is taken: the earlier ones need not be
        # looked at.
        first_days = first_days[-math.gcd(wish.period, LONG_CYCLE if taken.entries is not None else CYCLE) :]
    options = [d for d in first_days if weekday_of(d) in wish.allowed] or list(first_days)
    if wish.heavy:
        apart = [d for d in options if _apart(d, wish)]
        if not apart and wish.job.weekdays is None:
            # A day that nobody has named, but that leaves the biofilter alone, beats a disturbed biofilter.
            apart = [d for d in first_days if _apart(d, wish)]
        if not apart:
            return None
        options = apart
    if after is not None and not after[1].why and after[0] % 7 == 0:
        # Where nobody has the eve, the day itself: it comes first there.
        for days_before in (1, 0):
            near = [d for d in options if (after[1].first - d) % 7 == days_before]
            if near:
                options = near
                break
    first = taken.best(options, wish)
    taken.add(wish, first)
    return Phase(first=first)


TWICE_A_WEEK = (3, 4)
"""The days between two weekdays that come as evenly as a week allows."""


def twice_a_week(job: Job) -> bool:
    """Tell whether a job of 3 or 4 days falls on two weekdays: 3 and 4 days apart are within its window."""
    cadence = job.cadence
    return (
        isinstance(cadence, Every)
        and cadence.by_weekdays
        and cadence.span.interval_days in TWICE_A_WEEK
        and job.window >= 1
        and job.weekdays is None
    )


def _twice(wish: Wish, taken: Taken) -> Phase:
    """Return two weekdays, 3 and 4 days apart, that meet least: each like a weekly job."""
    if wish.anchor is None:
        first_days = range(EPOCH.toordinal(), EPOCH.toordinal() + 7)
    else:
        last = wish.anchor.toordinal() + wish.period
        first_days = range(last - min(wish.job.window, wish.period - 1), last + 1)
    costs, weekly, part = taken.loads.costs(7), replace(wish, period=7), wish.job.part

    def cost(both: tuple[int, int]) -> tuple[float, float, int, int]:
        first, second = both
        met = 0.0
        if taken.entries is not None:
            met = taken.entries.met(first, 7, part) + taken.entries.met(first + second, 7, part)
        return round(met, 6), round(costs[first % 7] + costs[(first + second) % 7], 9), -first, -second

    first, second = min(((day, gap) for day in first_days for gap in TWICE_A_WEEK), key=cost)
    taken.add(weekly, first)
    taken.add(weekly, first + second)
    return Phase(first=first, second=second)


def _candidates(wish: Wish) -> range:
    """Return the days on which the first occurrence may fall: all of a short first interval, else its later
    part.

    Of a heavy job, and of what comes less often than every eight weeks, the later half; else the later three
    quarters.
    """
    period = wish.period
    if wish.anchor is None:
        return range(EPOCH.toordinal(), EPOCH.toordinal() + period)
    last = wish.anchor.toordinal() + period
    if period < 7:
        return range(last, last + 1)
    half = wish.job.heavy or period > CYCLE
    early = period - 1 if period < 14 else period // 2 if half else period * 3 // 4
    if wish.lasts:
        early = min(early, wish.job.window)
    return range(last - early, last + 1)


def _apart(first: int, wish: Wish) -> bool:
    return all(
        not phase.why and _distance(first, wish.period, phase.first, other) >= APART_DAYS
        for other, phase in wish.heavy
    )


def _distance(first: int, period: int, other_first: int, other_period: int) -> int:
    """Return the least days that two endless regular series ever come near each other."""
    step = math.gcd(period, other_period)
    gap = (first - other_first) % step
    return min(gap, step - gap)


def walk(wish: Wish, end: int, why: str) -> Phase:
    """Walk from one occurrence to the next: as near to the interval as weekdays and the other services let
    it.

    The gap never exceeds interval + window. Where nothing in the window keeps clear of the other services,
    the day that keeps furthest away is taken. What lies far in the past does not show, but the walk has to
    pass through it to arrive at the same days whatever the view.
    """
    window = wish.job.window
    before = (wish.anchor or EPOCH).toordinal()
    found: list[int] = []
    while before <= end:
        due = before + wish.period
        reach = range(max(before + 1, due - window), due + window + 1)
        options = [d for d in reach if weekday_of(d) in wish.allowed]
        if not options:
            options = [d for d in range(before + 1, due + window + 1) if weekday_of(d) in wish.allowed][
                -1:
            ] or [due]
        clear = {d: min((_nearest(d, p, phase) for p, phase in wish.heavy), default=CYCLE) for d in options}
        before = min(options, key=lambda d: (-min(clear[d], APART_DAYS), abs(d - due), d))
        found.append(before)
    return Phase(days=found, why=why)


def _nearest(day: int, period: int, phase: Phase) -> int:
    """Return the days between a day and the nearest occurrence of another service."""
    if not phase.why:
        gap = (day - phase.first) % period
        return min(gap, period - gap)
    at = bisect.bisect_left(phase.days, day)
    return min((abs(day - other) for other in phase.days[max(0, at - 1) : at + 1]), default=CYCLE)
