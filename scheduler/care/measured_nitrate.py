"""The tank's own nitrate: how fast it rises by the keeper's readings, and whether that is sure enough to plan
by.

One noisy reading moves nothing: a plan moves where what is believed of the rate asks for it after two
readings in a row, and a reading that does not fit counts for next to nothing.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Literal

from scheduler.care.change_interval import usual_share
from scheduler.care.engine.case import Case
from scheduler.care.watch.registry import once
from scheduler.sources import Source

if TYPE_CHECKING:
    from scheduler.handbook.nitrate_rate import Belief, WaterChange

LEAST_READINGS, LEAST_DAYS = 3, 14
"""Fewer readings, or readings that span fewer days, move nothing. House values."""

HALF_YEAR = 180
"""Readings count from the beginning of the half-year before that of the last one: animals grow.

A beginning that moved along with every reading would move plans. Days; house value.
"""


MORE, PLANNED_BY = 0.3, 0.88
"""Which quantiles of the rate ask for changes more often, and are planned by, also where they allow
changes less often. House values, chosen on 96 tanks as those of tests/benchmarks/bench_nitrate.py: little
more than a tenth of days stands over the limit where the food says too little, and few tanks leave a plan
that is right.

What is planned by lies well above the middle, since a kit that reads a tenth low is not told from a good one:
with changes in whole days, 0.5, 0.75, 0.85 and 0.95 leave 19, 17, 11 and 8 % of days over the limit at 2.2
times the food's rate. At 0.95 fewer tanks change more rarely: 39 times a year instead of 52 at 0.58 times the
food's rate, with 0.88 36 times. To ask for more often at 0.05, 0.15, 0.3, 0.4 and 0.5 leaves 21, 18, 8, 5 and
6 % of days over the limit at 1.5 times; but in whole weeks 0, 2, 6, 10 and 19 % of tanks leave a plan that is
right.
"""


ODD = 0.5
"""Chance from which a reading counts as wild: it asks for nothing. House value."""

DUE = 0.5
"""Chance that a change was made which was due by the rhythm of the others and is not on record.

House value.
"""


LEAST_RISE = 0.01
"""mg/L a day: less cannot be told from none. House value."""

MEASURED = Source(
    (
        "your own readings, one after the other: filtering on a grid of levels and rates of a mixed tank "
        "with its changes, 95 % interval"
    ),
    "computed",
)

Direction = Literal["more often", "less often", "as it is"]
Reading = tuple[int, float]
Quantiles = tuple[float, float]
"""That which asks for more often, and that which is planned by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """A tank's own rise of nitrate in mg/L a day with its 95 % interval, from n readings over so many
    days."""

    rate: float
    low: float
    high: float
    n: int
    days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRate:
    """What the readings say: the rate with its interval in mg/L a day, the direction they ask for, and what
    it lacks.

    `rise` is the one to plan by, None where the plan stays; `lacks` then says why, "" where there is nothing
    to ask for. `odd` is the day of the last reading that does not fit.
    """

    rate: Rate
    direction: Direction
    rise: float | None
    lacks: str = ""
    odd: dt.date | None = None


@once
def points(case: Case) -> list[tuple[dt.date, float]]:
    """Return the nitrate readings that count, in mg/L as NO3."""
    found = [(e.day, e.value) for e in case.readings("nitrate") if e.value is not None]
    if not found:
        return []
    since = seen_since(found[-1][0])
    return [(day, value) for day, value in found if day >= since]


def seen_since(last: dt.date) -> dt.date:
    """Return from which day on readings count, by the day of the last one."""
    return dt.date.fromordinal((last.toordinal() // HALF_YEAR - 1) * HALF_YEAR)


def are_few(days: Sequence[dt.date]) -> bool:
    """Tell whether readings of these days are too few, or of too few days, to move a plan."""
    return len(days) < LEAST_READINGS or (days[-1] - days[0]).days < LEAST_DAYS


def measured(
    case: Case, tap: float, days_at: Callable[[float], int], by_food: float | None, planned: int | None
) -> MeasuredRate | None:
    """Return what the readings say; None where they are too few, or none found any nitrate.

    `tap` is the nitrate of new water. `days_at` returns the interval to plan at a rise in mg/L a day, and
    `by_food` is the rise that follows from the food, None where the food is not known: then the longest
    interval is planned. `planned` are the days that are planned without readings, None for those of
    `days_at`.
    """
    found = points(case)
    if are_few([day for day, _ in found]) or not any(value for _, value in found):
        return None
    zero = found[0][0]
    changes = [
        ((e.day - zero).days, e.value if e.value is not None else usual_share(case))
        for e in case.done("water-change")
    ]
    return judge(
        [((day - zero).days, value) for day, value in found],
        changes,
        tap,
        by_food,
        days_at,
        zero=zero,
        planned=planned,
    )


def judge(
    readings: Sequence[Reading],
    changes: Sequence[tuple[int, float]],
    tap: float,
    by_food: float | None,
    days_at: Callable[[float], int],
    *,
    zero: dt.date,
    planned: int | None = None,
    by: Quantiles = (MORE, PLANNED_BY),
) -> MeasuredRate:
    """Return what readings and changes, by days after `zero`, say: as `measured`, by other quantiles if need
    be."""
    from scheduler.handbook import nitrate_rate

    kit = nitrate_rate.kit_of([value for _, value in readings])
    beliefs = nitrate_rate.follow(
        readings, _with_unwritten(changes, readings[-1][0]), tap, nitrate_rate.prior_of(by_food), kit
    )
    last, odd = beliefs[-1], [belief.day for belief in beliefs if belief.odd > ODD]
    rate = Rate(
        rate=last.quantile(0.5),
        low=last.quantile(0.025),
        high=last.quantile(0.975),
        n=len(readings) - len(odd),
        days=readings[-1][0] - readings[0][0],
    )
    if planned is None:
        planned = days_at(by_food or 0.0)
    rise, days, asks = _settled(beliefs, by_food or 0.0, planned, days_at, by)
    moved = planned - days or asks
    direction: Direction = "as it is"
    lacks = ""
    if moved:
        direction = "more often" if moved > 0 else "less often"
        lacks = _lacks(direction, readings, changes, max(kit.scatters))
    if not lacks and days == planned and asks:
        lacks = "only the last reading does so far"
    settled = None if lacks or direction == "as it is" else max(LEAST_RISE, rise)
    return MeasuredRate(
        rate=rate,
        direction=direction,
        rise=settled,
        lacks=lacks,
        odd=zero + dt.timedelta(days=odd[-1]) if odd else None,
    )


def _settled(
    beliefs: Sequence[Belief],
    by_food: float,
    planned: int,
    days_at: Callable[[float], int],
    by: Quantiles,
) -> tuple[float, int, int]:
    """Return the rise and the days that the plan has come to, reading after reading, and what the last one
    asks for beyond it.

    The plan stays while the days that it has lie between those that MORE and PLANNED_BY of the rate ask for,
    so that it does not swing; else, by two readings in a row, it goes to those of PLANNED_BY. 1 asks for more
    often, -1 for less.
    """
    more, planned_by = by
    rise, days, before, asks = by_food, planned, 0, 0
    for n, belief in enumerate(beliefs, start=1):
        if belief.odd > ODD:
            continue
        if days_at(belief.quantile(more)) < days:
            asks = 1
        else:
            asks = -1 if days_at(belief.quantile(planned_by)) > days else 0
        many = n >= LEAST_READINGS and belief.day - beliefs[0].day >= LEAST_DAYS
        if many and asks and asks == before:
            rise, asks = belief.quantile(planned_by), 0
            days = days_at(rise)
        before = asks
    return rise, days, asks


def _lacks(
    direction: Direction, readings: Sequence[Reading], changes: Sequence[tuple[int, float]], scatter: float
) -> str:
    """Return why a plan does not move to where the readings ask, or ""."""
    if _falls(readings, changes, scatter):
        return "between changes it cannot fall: a change is not on record, or plants take it up"
    on_record = any(readings[0][0] <= day < readings[-1][0] for day, _ in changes)
    if direction == "less often" and not on_record:
        # Changes that nobody wrote down would look like a tank in which nothing rises.
        return "no water change is on record between them"
    return ""


def _falls(readings: Sequence[Reading], changes: Sequence[tuple[int, float]], scatter: float) -> bool:
    """Tell whether nitrate fell between changes, all in all, by more than twice what the readings scatter."""
    fell = spread = 0.0
    for _, some in itertools.groupby(readings, key=lambda r: sum(day < r[0] for day, _ in changes)):
        values = [value for _, value in some]
        fell += values[0] - values[-1]
        if len(values) > 1:
            spread += scatter**2 * (values[0] ** 2 + values[-1] ** 2)
    return fell > 2.0 * math.sqrt(spread)


def _with_unwritten(changes: Sequence[tuple[int, float]], until: int) -> list[WaterChange]:
    """Return the changes on record, and where the rhythm of those around has gaps, those that may have been
    made too."""
    from scheduler.handbook.nitrate_rate import WaterChange

    found = [WaterChange(day=day, share=share) for day, share in changes]
    days = [day for day, _ in changes]
    gaps = [b - a for a, b in itertools.pairwise(days)]
    for n, (day, share) in enumerate(changes):
        near = gaps[max(0, n - 3) : n + 3]
        usual = median(near) if near else 0
        if usual <= 0:
            continue
        if n < len(gaps):
            missed = max(0, round(gaps[n] / usual) - 1)
            usual = gaps[n] / (missed + 1)
        else:
            missed = math.ceil((until - day) / usual) - 1
        found += [
            WaterChange(day=round(day + k * usual), share=share, chance=DUE) for k in range(1, missed + 1)
        ]
    return found
