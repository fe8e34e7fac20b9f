"""Trends: a straight line through dated readings, a tank's own rate of nitrate, the fading of a lamp; with intervals."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from scheduler.handbook.regression import NotEnoughError, enough, least_squares

CHART_ERROR = math.log(2.0) / math.sqrt(12.0)
"""Standard error, as a share, of one colour of a chart whose colours double: the true value lies evenly (in its
logarithm) over a factor of 2. Computed; that a whole series of readings shares it is a house value, on the safe side."""

CHART_STEP = 1.5
"""Colours of a chart are at least this factor apart. House value."""

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """A straight line: slope a day with its interval, the value at day 0, the scatter about it, the number of points."""

    slope: float
    low: float
    high: float
    intercept: float
    residual_sd: float
    n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """A tank's own rise of nitrate in mg/L a day with its interval, from n readings over so many days; scatter in mg/L."""

    rate: float
    low: float
    high: float
    n: int
    days: float
    residual_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Decay:
    """A fading: share lost an hour (as a rate of the logarithm) with its interval, the value at hour 0, the points."""

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


# --- A straight line --------------------------------------------------------------------------------------------


def line(days: Sequence[float], values: Sequence[float], confidence: float = 0.95) -> Trend:
    """Return the straight line through values by day: value = intercept + slope x day, ordinary least squares.

    The interval of the slope holds the true one with the confidence wanted, by Student's t with n - 2 degrees of
    freedom, when the errors are independent and alike (Draper & Smith; from memory). NotEnoughError under 3 points or
    when all are of one day; ValueError for what is not finite.
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


# --- A tank's own rate of nitrate -------------------------------------------------------------------------------


def nitrate_rate(
    readings: Sequence[tuple[float, float]],
    changes: Sequence[tuple[float, float]],
    tap: float,
    confidence: float = 0.95,
    common_error: float | None = None,
) -> Rate:
    """Return the rise of nitrate in mg/L a day of a mixed tank, from dated readings and the changes between them.

    Readings are (day, mg/L), changes (day, share of the water), the tap brings `tap` mg/L, all as NO3. Between changes
    nitrate rises by r a day; a change of share f maps C to (1 - f) C + f tap. So each level is linear in the first
    level and in r, and both are found by least squares; readings count alike, since weighing them by their level gained
    nothing on simulated tanks. A reading and a change of the same day: THE READING WAS TAKEN BEFORE THE CHANGE.

    The interval is that of `line` (n - 2 degrees of freedom), widened by the standard error, a share, that all readings
    of the kit have in common; by default that of `kit_error`. NotEnoughError under 3 readings, when all are of one day,
    or when none found any nitrate; ValueError for what cannot be. Computed: the mass balance of `nitrogen`.
    """
    levels = _levels(readings)
    enough(len(levels))
    if not any(mg_l for _, mg_l in levels):
        raise NotEnoughError("no reading found any nitrate: how fast it rises cannot be told")
    rows, brought = _carried([day for day, _ in levels], _changes(changes), _tap(tap))
    fit = least_squares(rows, [mg_l - extra for (_, mg_l), extra in zip(levels, brought, strict=True)])
    shared = kit_error([mg_l for _, mg_l in levels]) if common_error is None else _error(common_error)
    # If every reading is too high by a share e, the rate is so by e times what the readings alone would make it.
    moved = shared * fit.moved_by([mg_l for _, mg_l in levels])
    half = math.hypot(fit.half(confidence), _normal(confidence) * moved)
    return Rate(
        rate=fit.second,
        low=fit.second - half,
        high=fit.second + half,
        n=len(levels),
        days=levels[-1][0] - levels[0][0],
        residual_sd=fit.residual_sd,
    )


def kit_error(values: Sequence[float]) -> float:
    """Return the standard error, a share, that readings have in common: CHART_ERROR off a colour chart, otherwise 0.

    They look like a chart's when some repeat and those that differ are at least CHART_STEP apart. Such readings do not
    scatter by what they are wrong: a tank that always reads 40 may be at 30 or at 55. House value.
    """
    colours = sorted(set(values))
    apart = all(high >= CHART_STEP * low for low, high in itertools.pairwise(colours))
    return CHART_ERROR if apart and len(colours) < len(values) else 0.0


def holds_without_any(
    readings: Sequence[tuple[float, float]],
    changes: Sequence[tuple[float, float]],
    tap: float,
    verdict: Callable[[Rate], Answer],
    confidence: float = 0.95,
) -> Answer | None:
    """Return what `verdict` says of the tank's rate if it says the same whichever single reading is left out.

    None otherwise, so that no single noisy reading decides; also None where the rate cannot be told without one of
    them. Arguments and errors are those of `nitrate_rate`.
    """
    shared = kit_error([mg_l for _, mg_l in readings])
    try:
        said = verdict(nitrate_rate(readings, changes, tap, confidence, shared))
        for i in range(len(readings)):
            others = [*readings[:i], *readings[i + 1 :]]
            if verdict(nitrate_rate(others, changes, tap, confidence, shared)) != said:
                return None
    except NotEnoughError:
        return None
    return said


def _carried(
    days: Sequence[float], changes: Sequence[tuple[float, float]], tap: float
) -> tuple[list[tuple[float, float]], list[float]]:
    """Return for each reading what the first level and the rate count for in it, and what the tap has brought."""
    rows, brought = [], []
    first, rate, extra, now = 1.0, 0.0, 0.0, days[0]
    # What was changed before the first reading is in that reading.
    waiting = [change for change in changes if change[0] >= now]
    for day in days:
        while waiting and waiting[0][0] < day:
            changed, share = waiting.pop(0)
            rate += changed - now
            first, rate, extra = (
                (1.0 - share) * first,
                (1.0 - share) * rate,
                (1.0 - share) * extra + share * tap,
            )
            now = changed
        rate += day - now
        now = day
        rows.append((first, rate))
        brought.append(extra)
    return rows, brought


# --- The fading of a lamp ---------------------------------------------------------------------------------------


def decay(hours: Sequence[float], uvi: Sequence[float], confidence: float = 0.95) -> Decay:
    """Return the fading of a lamp from its UVI by hours of burning: a straight line through the logarithm of the UVI.

    UVI = at_zero x exp(-rate x hours), so that errors are alike as shares of the value. Interval and NotEnoughError as in
    `line`; ValueError for a UVI that is not above 0.
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


def _normal(confidence: float) -> float:
    from statistics import NormalDist

    return NormalDist().inv_cdf((1.0 + confidence) / 2.0)


# --- What is taken ----------------------------------------------------------------------------------------------


def _finite(what: str, numbers: Sequence[float]) -> None:
    for number in numbers:
        if not math.isfinite(number):
            raise ValueError(f"{what} must be a finite number, not {number:g}")


def _levels(readings: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    _finite("the day of a reading", [day for day, _ in readings])
    _finite("nitrate", [mg_l for _, mg_l in readings])
    if any(mg_l < 0.0 for _, mg_l in readings):
        raise ValueError("nitrate is 0 mg/L or more")
    return sorted(readings)


def _changes(changes: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    _finite("the day of a change", [day for day, _ in changes])
    for _, share in changes:
        if not 0.0 < share <= 1.0:
            raise ValueError(
                f"a change replaces more than none and at most all of the water, not a share of {share:g}"
            )
    return sorted(changes)


def _tap(tap: float) -> float:
    if not 0.0 <= tap < math.inf:
        raise ValueError(f"nitrate in tap water must be 0 or more, not {tap:g}")
    return tap


def _error(share: float) -> float:
    if not 0.0 <= share < 1.0:
        raise ValueError(f"an error that readings share is 0 or more and under 1, not {share:g}")
    return share
