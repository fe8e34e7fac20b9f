"""Trends: a straight line through dated readings, and the fading of a lamp; with intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.handbook.regression import enough, least_squares


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """A straight line: slope a day with its interval, the value at day 0, the scatter about it, the number of
    points."""

    slope: float
    low: float
    high: float
    intercept: float
    residual_sd: float
    n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Decay:
    """A fading: share lost an hour (as a rate of the logarithm) with its interval, the value at hour 0, the
    points."""

    rate_per_hour: float
    low: float
    high: float
    at_zero: float
    n: int

    def hours_to(self, level: float) -> float:
        """Return the hours, counted from hour 0, until only `level` is left; inf when it does not fall to it.

        0 when there was not even as much at hour 0. ValueError for a level that is not above 0.
        """
        if not 0.0 < level < math.inf:
            raise ValueError(f"the level to fall to must be above 0, not {level:g}")
        if level >= self.at_zero:
            return 0.0
        return math.log(self.at_zero / level) / self.rate_per_hour if self.rate_per_hour > 0.0 else math.inf


# --- A straight line
# --------------------------------------------------------------------------------------------


def line(days: Sequence[float], values: Sequence[float], confidence: float = 0.95) -> Trend:
    """Return the straight line through values by day: value = intercept + slope x day, ordinary least
    squares.

    The interval of the slope holds the true one with the confidence wanted, by Student's t with n - 2 degrees
    of freedom, when the errors are independent and alike (Draper & Smith; from memory). NotEnoughError under
    3 points or when all are of one day; ValueError for what is not finite.
    """
    _finite("a day", days)
    _finite("a value", values)
    if len(days) != len(values):
        raise ValueError(f"each value has its day, not {len(days)} days for {len(values)} values")
    enough(len(days))
    middle = math.fsum(days) / len(days)
    fit = least_squares([(1.0, day - middle) for day in days], values)
    half = fit.half(confidence)
    return Trend(
        slope=fit.second,
        low=fit.second - half,
        high=fit.second + half,
        intercept=fit.first - fit.second * middle,
        residual_sd=fit.residual_sd,
        n=len(days),
    )


# --- The fading of a lamp
# ---------------------------------------------------------------------------------------


def decay(hours: Sequence[float], uvi: Sequence[float], confidence: float = 0.95) -> Decay:
    """Return the fading of a lamp from its UVI by hours of burning: a straight line through the logarithm of
    the UVI.

    UVI = at_zero x exp(-rate x hours), so that errors are alike as shares of the value. Interval and
    NotEnoughError as in `line`; ValueError for a UVI that is not above 0.
    """
    _finite("a UV Index", uvi)
    if any(value <= 0.0 for value in uvi):
        raise ValueError("a fading is told from UV Indices above 0")
    trend = line(hours, [math.log(value) for value in uvi], confidence)
    # 0 - x, so that an even level has the rate 0 and not -0.
    return Decay(
        rate_per_hour=0.0 - trend.slope,
        low=0.0 - trend.high,
        high=0.0 - trend.low,
        at_zero=math.exp(trend.intercept),
        n=trend.n,
    )


# --- What is taken
# ----------------------------------------------------------------------------------------------


def _finite(what: str, numbers: Sequence[float]) -> None:
    for number in numbers:
        if not math.isfinite(number):
            raise ValueError(f"{what} must be a finite number, not {number:g}")
