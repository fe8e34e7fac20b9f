"""How long tanks stand over the nitrate limit, and how often their plan moves: simulated tanks over a year, with seeds.

Run by hand: python tests/benchmarks/bench_nitrate.py [seeds] [curve]. 10 seeds of 24 tanks are the whole count, 2 the
default; `curve` varies the quantiles that are asked, on a third of the tanks. Everything about the tanks is invented:
even rates, half of the water changed to the plan, read weekly before a change, 15 % scatter to the nearest colour of a
chart, a kit that is 10 % wrong throughout, 15 % of readings missed, 10 % of changes made but not written down. Plans are
drawn in whole weeks, and in whole days.
"""

from __future__ import annotations

import datetime as dt
import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from multiprocessing import get_context
from time import perf_counter

import nitrate_regression
import numpy as np

from scheduler.care.measured_nitrate import (
    LEAST_DAYS,
    LEAST_READINGS,
    MORE,
    PLANNED_BY,
    MeasuredRate,
    judge,
    seen_since,
)
from scheduler.handbook.nitrate_rate import CHART

DAYS, TANKS, LIMIT, TAP, SHARE, LONGEST = 365, 24, 40.0, 5.0, 0.5, 14
ZERO = dt.date(2026, 1, 1)
Pairs = list[tuple[int, float]]
DaysAt = Callable[[float], int]
Rule = Callable[[Pairs, Pairs, float, DaysAt], float]
"""The rise to plan by, mg/L a day, by readings, changes, the food's rise, and the days that follow from a rise."""


@dataclass
class Run:
    """What became of a tank in a year: its record, days over the limit, changes, and moves of its plan."""

    by_food: float
    rate: float
    readings: Pairs = field(default_factory=list)
    changes: Pairs = field(default_factory=list)
    over: int = 0
    changed: int = 0
    moves: int = 0
    planned: int = 0
    ended: int = 0


def weeks(rise: float) -> int:
    """Return the days between changes at a rise: from a week on whole weeks, two at most."""
    days = any_days(rise)
    return days // 7 * 7 if days >= 7 else days


def any_days(rise: float) -> int:
    """Return the days between changes at a rise, two weeks at most."""
    return max(1, min(LONGEST, math.floor(SHARE * (LIMIT - TAP) / max(rise, 1e-6) + 1e-9)))


def said(readings: Pairs, changes: Pairs, by_food: float, days_at: DaysAt, by: tuple[float, float]) -> MeasuredRate | None:  # fmt: skip
    """Return what the package says of a record."""
    since = (seen_since(ZERO + dt.timedelta(days=readings[-1][0])) - ZERO).days
    some = [r for r in readings if r[0] >= since]
    if len(some) < LEAST_READINGS or some[-1][0] - some[0][0] < LEAST_DAYS or not any(v for _, v in some):
        return None
    return judge(some, changes, TAP, by_food, days_at, zero=ZERO, by=by)


def now(by: tuple[float, float] = (MORE, PLANNED_BY)) -> Rule:
    """Return what the plan does, by some quantiles."""

    def rule(readings: Pairs, changes: Pairs, by_food: float, days_at: DaysAt) -> float:
        found = said(readings, changes, by_food, days_at, by)
        return by_food if found is None or found.rise is None else found.rise

    return rule


def before(readings: Pairs, changes: Pairs, by_food: float, days_at: DaysAt) -> float:
    """Return what the plan did before."""
    return nitrate_regression.rise_before(readings, changes, TAP, by_food, days_at)


def by_food_alone(_readings: Pairs, _changes: Pairs, by_food: float, _days_at: DaysAt) -> float:
    """Return what a plan does that no reading moves."""
    return by_food


def year(rule: Rule, ratio: float, food_days: float, rng: np.random.Generator, days_at: DaysAt, *, chart: bool = True,
         scatter: float = 0.15, then: float = 1.0, at: int = DAYS) -> Run:  # fmt: skip
    """Return the year of a tank whose rate is `ratio` times the food's, and `then` times that from a day on."""
    by_food = SHARE * (LIMIT - TAP) / food_days
    run = Run(by_food, ratio * by_food)
    run.planned = run.ended = days_at(by_food)
    kit, level, last = 1.0 + 0.10 * rng.standard_normal(), TAP, 0
    for day in range(1, DAYS + 1):
        run.rate *= then if day == at else 1.0
        level += run.rate
        run.over += level > LIMIT
        if day % 7 == 0 and rng.random() > 0.15:
            value = max(0.0, level * kit * (1.0 + scatter * rng.standard_normal()))
            run.readings.append((day, min(CHART, key=lambda c: abs(c - value)) if chart else round(value, 1)))
            days = days_at(rule(run.readings, run.changes, by_food, days_at))
            run.moves += days != run.ended
            run.ended = days
        if day - last >= run.ended:
            level += SHARE * (TAP - level)
            last = day
            run.changed += 1
            if rng.random() > 0.10:
                run.changes.append((day, SHARE))
    return run


def runs(rule: Rule, ratio: float, between: tuple[float, float], seeds: int, days_at: DaysAt) -> list[Run]:
    """Return the years of tanks whose food asks for a change in so many days, evenly from the least to the most."""
    low, high = between
    found = []
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        found += [
            year(rule, ratio, low + (high - low) * (n + 0.5) / TANKS, rng, days_at) for n in range(TANKS)
        ]
    return found


HEAD = "over the   ends    moves  changes\n" + " " * 52 + "limit  more often a year  a year"

SCENES = [
    ("2.2 times the food's rate, which asks for 14 days", 2.2, (14.0, 21.0)),
    ("1.5 times the food's rate, which asks for 14 days", 1.5, (14.0, 21.0)),
    ("the food's rate, which asks for 7 to 14 days", 1.0, (7.0, 21.0)),
    ("0.58 times the food's rate, where 14 days would do", 0.58, (8.15, 13.95)),
]


def told(some: Sequence[Run]) -> str:
    """Return what became of tanks, on the mean."""
    over = np.mean([run.over for run in some]) / DAYS
    often = np.mean([run.ended < run.planned for run in some])
    changed, moves = np.mean([run.changed for run in some]), np.mean([run.moves for run in some])
    return f"{over:6.1%}{often:9.1%}{moves:8.2f}{changed:8.1f}"


def held(seeds: int, *, chart: bool, then: float) -> str:
    """Return how often the 95 % interval holds the rate, before and now, after a change of it midway."""
    rows: dict[str, list[bool]] = {}
    for seed in range(seeds):
        rng = np.random.default_rng(100 + seed)
        for n in range(TANKS):
            at, factor = int(rng.integers(150, 200)), then if n % 2 else 1.0 / then
            run = year(by_food_alone, 1.0, 10.0 + 10.0 * n / TANKS, rng, weeks, chart=chart,
                       scatter=0.15 if chart else 0.05, then=factor, at=at)  # fmt: skip
            for k, (day, _) in enumerate(run.readings, start=1):
                if day < at:
                    continue
                known = [change for change in run.changes if change[0] < day]
                old = nitrate_regression.rate_before(run.readings[:k], known, TAP)
                new = said(run.readings[:k], known, run.by_food, weeks, (MORE, PLANNED_BY))
                for name, rate in (
                    ("before", old[2] if old else None),
                    ("now", new.rate if new else None),
                ):
                    if rate is not None:
                        inside = rate.low <= run.rate <= rate.high
                        rows.setdefault(f"{name}, all", []).append(inside)
                        if day >= at + 28:
                            rows.setdefault(f"{name}, later", []).append(inside)
                        if k == len(run.readings):
                            rows.setdefault(f"{name}, end", []).append(inside)
    return "   ".join(
        "".join(f"{np.mean(rows[f'{name}, {when}']):8.1%}" for when in ("all", "later", "end"))
        for name in ("before", "now")
    )


CURVE = [(MORE, planned_by) for planned_by in (0.5, 0.65, 0.75, 0.88, 0.95, 0.98)] + [
    (more, PLANNED_BY) for more in (0.05, 0.15, 0.4, 0.5)
]


LINES: list[Callable[[], str]] = []
"""What is printed, line by line: each is worked out by a process of its own."""


def line(n: int) -> str:
    """Work a line out."""
    return LINES[n]()


def tables(seeds: int, *, curve: bool) -> None:
    """Fill in the lines of the tables."""
    for days_at, name in ((weeks, "whole weeks"), (any_days, "whole days")):
        head = f"\n{seeds * TANKS} tanks, {DAYS} days each, changes in {name}".ljust(54) + HEAD
        LINES.append(lambda head=head: head)
        for title, ratio, between in SCENES:
            LINES.append(lambda title=title: title)
            for rule_name, rule in (
                ("by the food alone", by_food_alone),
                ("before", before),
                ("now", now()),
            ):
                LINES.append(
                    lambda r=rule, n=rule_name, q=ratio, b=between, d=days_at: (
                        f"    {n:48}{told(runs(r, q, b, seeds, d))}"
                    )
                )
        for by in CURVE if curve else []:
            for title, ratio, between in SCENES:
                LINES.append(
                    lambda by=by, t=title, q=ratio, b=between, d=days_at: (
                        f"    {by!s:20} {t.split(',')[0]:26} {told(runs(now(by), q, b, math.ceil(seeds / 3), d))}"
                    )
                )
    LINES.append(
        lambda: (
            "\nhow often the 95 % interval holds the rate        before                     now\n"
            + " " * 50
            + "    all   later     end       all   later     end"
        )
    )
    for chart in (True, False):
        for then in (1.0, 1.5, 2.0):
            kind = "colours, 15 %" if chart else "photometer, 5 %"
            title = f"{kind}, rate changes by a factor of {then:g}".ljust(50)
            LINES.append(
                lambda title=title, chart=chart, then=then: title + held(2 * seeds, chart=chart, then=then)
            )


def main() -> None:
    """Print the tables, before and now, in one run, on all cores."""
    words = sys.argv[1:]
    began = perf_counter()
    tables(next((int(word) for word in words if word.isdigit()), 2), curve="curve" in words)
    with get_context("fork").Pool() as pool:
        for text in pool.imap(line, range(len(LINES))):
            print(text, flush=True)
    print(f"{perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
