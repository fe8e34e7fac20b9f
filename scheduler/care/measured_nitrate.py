"""The tank's own nitrate: how fast it rises by the keeper's readings, and whether that is sure enough to plan by.

One noisy reading moves nothing. The measured rate is planned by only where its whole interval of confidence asks for
another cadence than the food does, and where that stays so without any single one of the readings.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
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

MEASURED = Source(
    "your own readings: least squares on a mixed tank with its changes, 95 % interval of confidence",
    "computed",
)

Direction = Literal["more often", "less often", "as it is"]


@dataclass(frozen=True, slots=True)
class Measured:
    """What the readings say: the rate with its interval in mg/L a day, the direction they ask for, and whether it is sure."""

    rate: Rate
    direction: Direction
    sure: bool

    @property
    def rise(self) -> float | None:
        """Return the rise to plan by, mg/L a day: the rate itself, or where changes become rarer its upper bound."""
        if not self.sure or self.direction == "as it is":
            return None
        return self.rate.rate if self.direction == "more often" else self.rate.high


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
    the one that follows from the food, None where the food is not known: then the readings alone decide.
    """
    found = points(case)
    if len(found) < LEAST_READINGS or (found[-1][0] - found[0][0]).days < LEAST_DAYS:
        return None
    from scheduler.handbook import trend

    zero = found[0][0]
    readings = [(float((day - zero).days), value) for day, value in found]
    changes = _changes(case, zero)

    def direction(rate: trend.Rate) -> Direction:
        most, least = days_at(max(0.0, rate.low)), days_at(max(0.0, rate.high))
        if planned is None or most < planned:
            return "more often"
        return "less often" if least > planned else "as it is"

    try:
        rate = trend.nitrate_rate(readings, changes, tap)
        sure = trend.holds_without_any(readings, changes, tap, direction)
    except ValueError:
        return None
    if not math.isfinite(rate.rate):
        return None
    return Measured(rate, direction(rate), sure is not None and sure == direction(rate))


def _changes(case: Case, zero: dt.date) -> Sequence[tuple[float, float]]:
    """Return the recorded changes of water since a day: days after it, and the share that was changed."""
    return [
        (float((e.day - zero).days), e.value if e.value is not None else case.change_share)
        for e in case.done("water-change")
        if e.day >= zero
    ]
