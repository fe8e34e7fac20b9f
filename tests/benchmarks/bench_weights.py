"""How often healthy animals are sent to the vet, and how soon those that lose weight: simulated weighings, with seeds.

Run by hand: python tests/benchmarks/bench_weights.py [animals]. Scatter, growth, loss and eggs are invented; each animal is
weighed as the plan says: by its interval, a second time within days, and every week while it is watched.
"""

from __future__ import annotations

import datetime as dt
import math
import sys
from collections.abc import Callable, Sequence

import numpy as np

from scheduler.care.watch.weight import (
    AGAIN_DAYS,
    SECOND_DAYS,
    WATCHED_FROM,
    Weighing,
    called_since,
    judge,
)

START = dt.date(2026, 1, 1)
MONTH = 365.25 / 12
Rule = Callable[[Sequence[Weighing], float, bool], int]
"""What follows from the weighings: 0 nothing, -1 the vet, else in how many days it is weighed again."""


def now(weighings: Sequence[Weighing], limit: float, swings: bool) -> int:
    """Return what the plan does."""
    if len(weighings) < 2:
        return 0
    if called_since(weighings, limit, swings=swings) is not None:
        return -1
    judged = judge(weighings, limit, swings=swings)
    best = max(g for _, g in weighings)
    if judged.asks_for_another:
        return SECOND_DAYS - 1
    return AGAIN_DAYS if judged.is_near or 1.0 - weighings[-1][1] / best > limit / 2 else 0


def of_before(weighings: Sequence[Weighing], limit: float, _swings: bool) -> int:
    """Return what followed before: one weighing against the best of a year."""
    lost = 1.0 - weighings[-1][1] / max(g for _, g in weighings)
    return -1 if lost >= limit else AGAIN_DAYS if lost > limit / 2 else 0


def called(rule: Rule, level: Callable[[float], float], *, every: int, days: int, limit: float, scatter: float,
           rng: np.random.Generator, swings: bool = False, known: int = 0) -> int | None:  # fmt: skip
    """Return the day on which an animal is sent to the vet, of so many; None where it is not. `known` days come before."""
    weighings: list[Weighing] = []

    def weigh(day: int) -> None:
        grams = 500.0 * level(day) * math.exp(scatter * rng.standard_normal())
        weighings.append((START + dt.timedelta(days=day), grams))

    for day in range(-known, 0, every):
        weigh(day)
    day = regular = 0
    while day <= days:
        weigh(day)
        again = rule(weighings, limit, swings)
        if again < 0:
            return day
        if day >= regular:
            regular += every
        day = (
            min(day + again, max(regular, day + 1)) if again > SECOND_DAYS else day + (again or regular - day)
        )
    return None


def eggs(day: float) -> float:
    """Return the level of a female that gains 12 % in 75 days and lays."""
    since = (day - 60.0) % 365.0
    return 1.0 + 0.12 * since / 75.0 if since < 75.0 else 1.0


def losing(day: float) -> float:
    """Return the level of an animal that loses 3 % a month."""
    return 0.97 ** (max(day, 0.0) / MONTH)


def main() -> None:
    """Print the table, before and now, in one run."""
    animals = int(sys.argv[1]) if sys.argv[1:] else 200
    print(f"{animals} animals each; watched from {WATCHED_FROM:.0%} of the limit\n{'':52}before    now")
    false = [
        ("healthy adult, monthly, a year", lambda _: 1.0, 30, 365, 0.10, False),
        ("hatchling that grows 1.4 % a week, weekly, 16 weeks", lambda d: math.exp(0.002 * d), 7, 112, 0.05, False),
        ("hatchling that does not grow, weekly, 16 weeks", lambda _: 1.0, 7, 112, 0.05, False),
        ("female with eggs, monthly, a year", eggs, 30, 365, 0.10, True),
    ]  # fmt: skip
    for title, level, every, days, limit, swings in false:
        for scatter in (0.01, 0.02, 0.03):
            shares = []
            for rule in (of_before, now):
                rng = np.random.default_rng(1)
                found = [
                    called(rule, level, every=every, days=days, limit=limit, scatter=scatter, rng=rng, swings=swings)
                    for _ in range(animals)
                ]  # fmt: skip
                shares.append(sum(one is not None for one in found) / animals)
            print(f"{title}, scatter {scatter:.0%}".ljust(66) + "   ".join(f"{one:5.1%}" for one in shares))
    for known in (180, 0):
        for scatter in (0.01, 0.02, 0.03):
            told = []
            for rule in (of_before, now):
                rng = np.random.default_rng(2)
                found = [
                    called(rule, losing, every=30, days=365, limit=0.10, scatter=scatter, rng=rng, known=known)
                    for _ in range(animals)
                ]  # fmt: skip
                days_ = [one if one is not None else 999 for one in found]
                by = sum(day <= 115 for day in days_) / animals
                most = max(1.0 - losing(day) for day in days_)
                told.append(f"{by:5.1%} by day 115, at most {most:.1%} lost")
            print(
                f"loses 3 % a month, {known} days known, scatter {scatter:.0%}".ljust(48) + "   ".join(told)
            )


if __name__ == "__main__":
    main()
