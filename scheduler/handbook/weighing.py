"""Weighings: the level that an animal's weights scatter about, how far they scatter, and whether the level
falls.

A weight is a level times an error: water drunk, a meal, the scale. The level moves slowly. What it is now,
and what it was, is told by a local-level model of the logarithms (Kalman 1960; Rauch, Tung and Striebel 1965;
from memory). What no publication gives for turtles are house values, chosen on simulated animals
(tests/benchmarks/bench_weights.py).
"""

from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

USUAL_SCATTER = 0.02
"""Standard deviation of a weighing, as a share, before an animal's own is known. House value."""

SCATTER_WEIGHS = 6.0
"""The usual scatter counts like so many of the animal's own weighings. House value."""

DRIFT = 0.0035
"""How far the level moves in a day, as a share: the standard deviation of a random walk. House value."""

OUTLIER = 0.08
"""A single difference tells no more scatter than this share. House value."""

LEAST_FOR_A_FALL = 4
FALL_DAYS = 120.0
"""A fall is looked for in so many days, with so many weighings at least. House values."""

SURE = 2.0
"""Standard errors by which a slope has to be under 0: about 95 of 100 times it is one. House value."""


@dataclass(frozen=True, slots=True)
class Level:
    """The logarithm of a weight in g without its scatter, and its standard error."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class Fall:
    """A straight line through the logarithms of the last weighings that falls for sure: where it begins, and
    where it is now."""

    begins: float
    now: float


def own_scatter(days: Sequence[float], logs: Sequence[float]) -> float:
    """Return the standard deviation of one weighing, as a share, of an animal whose weights in g have these
    logarithms.

    By the differences of weighings in a row, less their middle slope and what the level may have moved; the
    usual scatter counts as SCATTER_WEIGHS weighings more. `days` are in order.
    """
    if len(logs) < 3:
        return USUAL_SCATTER
    gaps = [max(1.0, b - a) for a, b in itertools.pairwise(days)]
    steps = [b - a for a, b in itertools.pairwise(logs)]
    slope = statistics.median(step / gap for step, gap in zip(steps, gaps, strict=True))
    squares = (
        max(0.0, (step - slope * gap) ** 2 - DRIFT**2 * gap) / 2.0
        for step, gap in zip(steps, gaps, strict=True)
    )
    own = math.fsum(min(square, OUTLIER**2) for square in squares)
    return math.sqrt((SCATTER_WEIGHS * USUAL_SCATTER**2 + own) / (SCATTER_WEIGHS + len(steps)))


def levels(days: Sequence[float], logs: Sequence[float], scatter: float) -> list[Level]:
    """Return the level at each weighing, by it and those before it."""
    value, variance = logs[0], scatter**2
    found = [Level(value, math.sqrt(variance))]
    for (before, day), log in zip(itertools.pairwise(days), logs[1:], strict=True):
        variance += DRIFT**2 * (day - before)
        gain = variance / (variance + scatter**2)
        value += gain * (log - value)
        variance *= 1.0 - gain
        found.append(Level(value, math.sqrt(variance)))
    return found


def smoothed(days: Sequence[float], by_then: Sequence[Level]) -> list[float]:
    """Return the level at each weighing by all of them, those after it too, from the levels `by_then`."""
    found = [by_then[-1].value]
    for n in range(len(by_then) - 2, -1, -1):
        variance = by_then[n].error ** 2
        gain = variance / (variance + DRIFT**2 * max(days[n + 1] - days[n], 1e-9))
        found.append(by_then[n].value + gain * (found[-1] - by_then[n].value))
    return found[::-1]


def fall(days: Sequence[float], logs: Sequence[float], scatter: float) -> Fall | None:
    """Return the line through the weighings of the last FALL_DAYS, where it falls for sure; else None.

    Ordinary least squares; the scatter about it is that of the line and, like SCATTER_WEIGHS weighings more,
    the animal's.
    """
    near = [(day - days[-1], log) for day, log in zip(days, logs, strict=True) if days[-1] - day <= FALL_DAYS]
    if len(near) < LEAST_FOR_A_FALL or near[0][0] == near[-1][0]:
        return None
    slope, now = statistics.linear_regression([x for x, _ in near], [y for _, y in near])
    middle = statistics.fmean(x for x, _ in near)
    squares = math.fsum((y - now - slope * x) ** 2 for x, y in near)
    variance = (SCATTER_WEIGHS * scatter**2 + squares) / (SCATTER_WEIGHS + len(near) - 2)
    error = math.sqrt(variance / math.fsum((x - middle) ** 2 for x, _ in near))
    return Fall(now + slope * near[0][0], now) if slope + SURE * error < 0.0 else None
