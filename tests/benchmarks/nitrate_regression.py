"""The rule that nitrate readings went by before: a regression on the mass balance, kept to be measured against.

A copy of what the package had; nothing of the package rests on it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TypeVar

from scheduler.handbook.regression import NotEnoughError, enough, least_squares, student_t

CHART_ERROR = math.log(2.0) / math.sqrt(12.0)
"""Standard error, as a share, of one colour of a chart whose colours double: the true value lies evenly (in its
logarithm) over a factor of 2. Computed; that a whole series of readings shares it is a house value, on the safe side."""

CHART_STEP = 1.5
"""Colours of a chart are at least this factor apart. House value."""

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """A tank's own rise of nitrate in mg/L a day with its interval, from n readings over so many days; scatter in mg/L."""

    rate: float
    low: float
    high: float
    n: int
    days: float
    residual_sd: float


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
    levels = sorted(readings)
    enough(len(levels))
    if not any(mg_l for _, mg_l in levels):
        raise NotEnoughError("no reading found any nitrate: how fast it rises cannot be told")
    rows, brought = _carried([day for day, _ in levels], sorted(changes), tap)
    fit = least_squares(rows, [mg_l - extra for (_, mg_l), extra in zip(levels, brought, strict=True)])
    shared = kit_error([mg_l for _, mg_l in levels]) if common_error is None else common_error
    # If every reading is too high by a share e, the rate is so by e times what the readings alone would make it.
    moved = shared * float(fit.makes_second @ [mg_l for _, mg_l in levels])
    half = math.hypot(fit.half(confidence), NormalDist().inv_cdf((1.0 + confidence) / 2.0) * moved)
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


LEAST_READINGS, LEAST_DAYS, SEEN_DAYS, DOUBT = 5, 14, 120, 0.05


def rate_before(
    readings: Sequence[tuple[float, float]], changes: Sequence[tuple[float, float]], tap: float
) -> tuple[list[tuple[float, float]], list[tuple[float, float]], Rate] | None:
    """Return the readings that counted, the changes, and the rate; None where they were too few."""
    readings = [r for r in readings if r[0] >= readings[-1][0] - SEEN_DAYS]
    changes = [c for c in changes if c[0] >= readings[0][0]]
    try:
        odd = _odd(readings, changes, tap)
        if odd is not None:
            readings = [*readings[:odd], *readings[odd + 1 :]]
        if len(readings) < LEAST_READINGS or readings[-1][0] - readings[0][0] < LEAST_DAYS:
            return None
        return readings, changes, nitrate_rate(readings, changes, tap)
    except ValueError:
        return None


def rise_before(
    readings: Sequence[tuple[float, float]],
    changes: Sequence[tuple[float, float]],
    tap: float,
    by_food: float,
    days_at: Callable[[float], int],
) -> float:
    """Return the rise that was planned by, mg/L a day: the food's unless the readings were sure of another."""
    found = rate_before(readings, changes, tap) if readings else None
    if found is None:
        return by_food
    readings, changes, rate = found
    planned = days_at(by_food)

    def direction(rate: Rate) -> str:
        if days_at(max(0.0, rate.low)) < planned:
            return "more often"
        return "less often" if days_at(max(0.0, rate.high)) > planned else "as it is"

    asked = direction(rate)
    unsure = rate.high < 0.0 or (asked == "less often" and not any(d < readings[-1][0] for d, _ in changes))
    if asked == "as it is" or unsure or holds_without_any(readings, changes, tap, direction) != asked:
        return by_food
    return rate.rate if asked == "more often" else max(0.01, rate.high)


def _odd(
    readings: Sequence[tuple[float, float]], changes: Sequence[tuple[float, float]], tap: float
) -> int | None:
    """Return the place of the reading that did not fit to the others."""
    n = len(readings)
    if n <= LEAST_READINGS or readings[-1][0] == readings[0][0]:
        return None

    def scatter(some: Sequence[tuple[float, float]]) -> float:
        return nitrate_rate(some, changes, tap).residual_sd ** 2 * (len(some) - 2)

    rest, worst = min((scatter([*readings[:i], *readings[i + 1 :]]), i) for i in range(n))
    its_own = scatter(readings) - rest
    return worst if its_own > student_t(1.0 - DOUBT / n, n - 3) ** 2 * max(rest / (n - 3), 1e-6) else None
