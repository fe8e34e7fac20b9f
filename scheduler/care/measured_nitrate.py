"""The tank's own nitrate: how fast it rises by the keeper's readings, and whether that is sure enough to plan by.

One noisy reading moves nothing. The measured rate is planned by only where its whole interval of confidence asks for
another cadence than the food does, and where that stays so without any single one of the readings; and one that does
not fit to the others is left out, so that it does not undo what they say.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from scheduler.care.case import Case
from scheduler.care.watch.registry import once
from scheduler.sources import Source

if TYPE_CHECKING:
    from scheduler.handbook.trend import Rate

LEAST_READINGS = 5
"""Fewer readings decide nothing: without any one of them there would be too few to tell their error from. House value."""

LEAST_DAYS = 14
"""Readings have to span so many days. House value."""

SEEN_DAYS = 120
"""Only readings of so many days before the last one count: animals grow. House value."""

LEAST_RISE = 0.01
"""mg/L a day: less cannot be told from none. House value."""

DOUBT = 0.05
"""A reading is left out where chance alone would leave any of them so far off in fewer records than this. House value."""

MEASURED = Source(
    "your own readings: least squares on a mixed tank with its changes, 95 % interval of confidence",
    "computed",
)

Direction = Literal["more often", "less often", "as it is"]
Reading = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Measured:
    """What the readings say: the rate with its interval in mg/L a day, the direction they ask for, and what it lacks.

    `lacks` is "" where it can be planned by; `odd` is the day of a reading that was left out.
    """

    rate: Rate
    direction: Direction
    lacks: str
    odd: dt.date | None = None

    @property
    def rise(self) -> float | None:
        """Return the rise to plan by, mg/L a day: the rate itself, or where changes become rarer its upper bound."""
        if self.lacks or self.direction == "as it is":
            return None
        return self.rate.rate if self.direction == "more often" else max(LEAST_RISE, self.rate.high)


@once
def points(case: Case) -> list[tuple[dt.date, float]]:
    """Return the nitrate readings that count, in mg/L as NO3."""
    found = [(e.day, e.value) for e in case.readings("nitrate") if e.value is not None]
    if not found:
        return []
    since = found[-1][0] - dt.timedelta(days=SEEN_DAYS)
    return [(day, value) for day, value in found if day >= since]


def measured(case: Case, tap: float, days_at: Callable[[float], int], planned: int | None) -> Measured | None:
    """Return what the readings say; None where they are too few, or cannot tell a rate.

    `tap` is the nitrate of new water. `days_at` returns the interval to plan at a rise in mg/L a day, and `planned` is
    the one that follows from the food, None where the food is not known: then it is the longest one.
    """
    found = points(case)
    if not found:
        return None
    zero = found[0][0]
    readings = [(float((day - zero).days), value) for day, value in found]
    changes = _changes(case, zero)
    by_food = days_at(0.0) if planned is None else planned

    def direction(rate: Rate) -> Direction:
        if days_at(max(0.0, rate.low)) < by_food:
            return "more often"
        return "less often" if days_at(max(0.0, rate.high)) > by_food else "as it is"

    try:
        odd = _odd(readings, changes, tap)
        if odd is None:
            return _told(readings, changes, tap, direction)
        told = _told([*readings[:odd], *readings[odd + 1 :]], changes, tap, direction)
    except ValueError:
        return None
    return replace(told, odd=found[odd][0]) if told is not None else None


def _told(
    readings: Sequence[Reading],
    changes: Sequence[Reading],
    tap: float,
    direction: Callable[[Rate], Direction],
) -> Measured | None:
    if len(readings) < LEAST_READINGS or readings[-1][0] - readings[0][0] < LEAST_DAYS:
        return None
    from scheduler.handbook import trend

    rate = trend.nitrate_rate(readings, changes, tap)
    asked = direction(rate)
    lacks = ""
    if rate.high < 0.0:
        lacks = "between changes it cannot fall: a change is not on record, or plants take it up"
    elif asked == "less often" and not any(day < readings[-1][0] for day, _ in changes):
        # Changes that nobody wrote down would look like a tank in which nothing rises.
        lacks = "no water change is on record between them"
    elif trend.holds_without_any(readings, changes, tap, direction) != asked:
        lacks = "not without every one of the readings"
    return Measured(rate, asked, lacks)


def _odd(readings: Sequence[Reading], changes: Sequence[Reading], tap: float) -> int | None:
    """Return the place of a reading that does not fit to the others; None without one, or where they would be too few.

    Student's t of the residual that it leaves to the others, with Bonferroni's bound (Weisberg, Applied Linear
    Regression, on outliers; from memory).
    """
    n = len(readings)
    if n <= LEAST_READINGS or readings[-1][0] == readings[0][0]:
        return None
    from scheduler.handbook import trend
    from scheduler.handbook.regression import student_t

    def scatter(some: Sequence[Reading]) -> float:
        return trend.nitrate_rate(some, changes, tap).residual_sd ** 2 * (len(some) - 2)

    rest, worst = min((scatter([*readings[:i], *readings[i + 1 :]]), i) for i in range(n))
    its_own = scatter(readings) - rest
    return worst if its_own > student_t(1.0 - DOUBT / n, n - 3) ** 2 * max(rest / (n - 3), 1e-6) else None


def _changes(case: Case, zero: dt.date) -> list[Reading]:
    """Return the recorded changes of water since a day: days after it, and the share that was changed."""
    return [
        (float((e.day - zero).days), e.value if e.value is not None else case.usual_share)
        for e in case.done("water-change")
        if e.day >= zero
    ]
