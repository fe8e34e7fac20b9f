"""A tank's own rate of nitrate as its readings tell it, one after the other: Bayesian filtering on a grid.

State and observation: nitrate rises at a rate that drifts and at times jumps, changes take a share of it
away, a kit reads it with a scatter, off a colour chart in steps, and now and then wildly. What is believed of
level and rate is a table of weights, which each day, change and reading turns into the next one by sums
(Kitagawa 1987, Non-Gaussian state-space modeling of nonstationary time series, J. Am. Stat. Assoc. 82; from
memory). No sampling: the same record gives the same table.

A kit that reads everything too high by a share makes level and rate too high by that share, and no reading
tells so: the filter runs in the kit's own mg/L, and its error widens the rate at the end.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]

CHART = (0.0, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0)
"""mg/L as NO3 of the colours of a customary test kit. Common practice, no published source."""

CHART_STEP = 1.5
"""Colours of any other chart are at least this factor apart. House value."""

CHART_SCATTER = (0.15,)
OTHER_SCATTER = (0.05, 0.15)
"""Scatter of one reading, a share of the level; where it may be either, the record tells which.

House values.
"""


LEAST_SCATTER = 0.7
"""mg/L that any reading scatters by, also near none. House value."""

KIT_ERROR = 0.10
"""Standard error, a share, that all readings of a kit have in common. House value."""

ODD = 0.04
"""Share of readings that are wild: a slip, another tank's, a vial not shaken. House value."""

WILD = 200.0
"""mg/L over which wild readings spread evenly. House value."""

DRIFT = 0.015
"""Standard deviation by which the logarithm of the rate drifts in a day (in a year 0.29). House value."""

JUMPS, JUMP = 0.006, 0.5
"""Chance in a day that the rate jumps (twice a year), and the standard deviation of its logarithm then.

House values.
"""


SHORT, SHORT_BY = 0.15, 0.75
"""Chance that a change took less than was recorded, and the share of it that it took then. House values."""

UNSEEN = 0.001
"""Chance in a day of a change that nobody wrote down, where none was due. House value."""

FOOD_SPREAD, WIDE_SPREAD = 0.5, 1.2
"""Standard deviation of the logarithm of a tank's rate about the food's (half to twice and a half), and about
WIDE_RATE where the food is not known. House values.
"""


WIDE_RATE = 2.0
"""mg/L a day. House value."""

LEVELS, LEVEL_BEND, LEVEL_TOP = 72, 4.0, 500.0
RATES, RATES_DOWN, RATES_UP = 60, 3.2, 2.2
"""The grid: levels to 500 mg/L, near none even, then by ratio; rates by ratio about the prior's median, from
a 25th to nine times it, wider for a wide prior. A step of either is well under what one reading tells.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class KitAccuracy:
    """How a kit reads: the scatters it may have, shares of the level, and the lowest colour above none of a
    chart.

    `lowest` is 0 for a kit that reads numbers.
    """

    scatters: tuple[float, ...]
    lowest: float = 0.0

    def cell(self, colour: float) -> tuple[float, float]:
        """Return between which mg/L a colour is the nearest one, where colours double."""
        if colour < self.lowest:
            return -math.inf, self.lowest / 2.0
        return colour * (0.5 if colour == self.lowest else 0.75), colour * 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is known of a rate before any reading: its median in mg/L a day, the standard deviation of its
    logarithm."""

    rate: float
    spread: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterChange:
    """A change of water: its day, the share that it took, and the chance that it was made at all."""

    day: int
    share: float
    chance: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """What is believed of the rate after a reading: the chance under each edge of the grid, in the logarithm
    of mg/L a day.

    `odd` is the chance that the reading was wild; where it was doubted, by the next one too.
    """

    day: int
    edges: Table
    below: Table
    odd: float

    def quantile(self, share: float) -> float:
        """Return the rate in mg/L a day under which the true one is with a chance, by the record so far."""
        return math.exp(float(np.interp(share, self.below, self.edges)))


def kit_of(values: Sequence[float]) -> KitAccuracy:
    """Return how the kit seems to read, by the values that it gave.

    Off a chart where three quarters are colours of the customary one, or where some repeat and those that
    differ are at least CHART_STEP apart. House value.
    """
    colours = sorted(set(values))
    if sum(value in CHART for value in values) >= 0.75 * len(values):
        return KitAccuracy(scatters=CHART_SCATTER, lowest=CHART[1])
    apart = all(high >= CHART_STEP * low for low, high in itertools.pairwise(colours))
    if apart and len(colours) < len(values):
        return KitAccuracy(scatters=CHART_SCATTER, lowest=min(value for value in colours if value > 0.0))
    return KitAccuracy(scatters=OTHER_SCATTER)


def prior_of(by_food: float | None) -> Prior:
    """Return what is known of a rate by the food's, mg/L a day; very little where that is not known."""
    return Prior(rate=by_food, spread=FOOD_SPREAD) if by_food else Prior(rate=WIDE_RATE, spread=WIDE_SPREAD)


def follow(
    readings: Sequence[tuple[int, float]],
    changes: Sequence[WaterChange],
    tap: float,
    prior: Prior,
    kit: KitAccuracy,
) -> list[Belief]:
    """Return what is believed of the rate after each reading, in the order of days.

    Readings are (day, mg/L), the tap brings `tap` mg/L, all as NO3. A reading and a change of the same day:
    THE READING WAS TAKEN BEFORE THE CHANGE. What was changed before the first reading is in that reading.
    ValueError for what cannot be.
    """
    _known(readings, changes, tap)
    ordered = sorted(readings)
    if not ordered:
        return []
    grid = _Grid(tap, prior, kit)
    now = ordered[0][0]
    waiting = sorted((c for c in changes if c.day >= now), key=lambda c: c.day)
    table, doubted = grid.start(), None
    found: list[Belief] = []
    for day, value in ordered:
        due = [change for change in waiting if change.day < day]
        waiting = waiting[len(due) :]
        before = grid.carried(table, now, day, due)
        table, odd, seen = grid.read(before, value)
        if doubted is not None:
            # What the record without the last reading makes of this one tells whether that one was wild.
            alone = grid.read(grid.carried(doubted, now, day, due), value)[2]
            found[-1] = replace(found[-1], odd=found[-1].odd * alone / seen)
        doubted, now = before if odd > 0.5 else None, day
        found.append(Belief(day=day, edges=grid.axes.edges, below=grid.below(table), odd=odd))
    return found


@dataclass(frozen=True, slots=True)
class _Axes:
    """The levels of the grid, and the rates between its edges, as logarithms and as they are."""

    levels: Table
    edges: Table
    logs: Table
    rates: Table

    @property
    def step(self) -> float:
        """Return how far apart the edges are."""
        return float(self.edges[1] - self.edges[0])


def _axes(prior: Prior) -> _Axes:
    bends = np.linspace(0.0, math.log1p(LEVEL_TOP / LEVEL_BEND), LEVELS)
    widen = prior.spread / FOOD_SPREAD if prior.spread > FOOD_SPREAD else 1.0
    middle = math.log(prior.rate)
    edges = np.linspace(middle - RATES_DOWN * widen, middle + RATES_UP * widen, RATES + 1)
    logs = (edges[1:] + edges[:-1]) / 2.0
    return _Axes(LEVEL_BEND * np.expm1(bends), edges, logs, np.exp(logs))


class _Grid:
    """The grid, and what days, changes and readings do to a table of weights on it: scatter x rate x
    level."""

    def __init__(self, tap: float, prior: Prior, kit: KitAccuracy) -> None:
        self.tap, self.kit, self.prior = tap, kit, prior
        self.axes = _axes(prior)
        self.a_day = self._a_day()
        self.kit_error = self._spread(KIT_ERROR)
        self._shifts: dict[int, tuple[Table, Table, Table]] = {}
        self._drifts: dict[int, Table] = {}
        self._mixes: dict[float, Table] = {}
        self._seen: dict[float, Table] = {}

    def start(self) -> Table:
        """Return the table before the first reading: any level, the rate as the prior has it."""
        rate = np.exp(-0.5 * ((self.axes.logs - math.log(self.prior.rate)) / self.prior.spread) ** 2)
        level = np.gradient(self.axes.levels)
        one = np.outer(rate / rate.sum(), level / level.sum())
        return np.stack([one] * len(self.kit.scatters)) / len(self.kit.scatters)

    def _spread(self, sd: float) -> Table:
        """Return what each rate becomes when its logarithm moves by a normal error."""
        kernel: Table = np.exp(-0.5 * ((self.axes.logs[:, None] - self.axes.logs[None, :]) / sd) ** 2)
        kernel /= kernel.sum(axis=1, keepdims=True)
        return kernel

    def _a_day(self) -> Table:
        """Return what a day does to the rate: a drift to the neighbours with its variance, and rarely a
        jump."""
        out = DRIFT**2 / (2.0 * self.axes.step**2)
        drift = np.eye(RATES) * (1.0 - 2.0 * out) + out * (np.eye(RATES, k=1) + np.eye(RATES, k=-1))
        drift[0, 0] += out
        drift[-1, -1] += out
        return (1.0 - JUMPS) * drift + JUMPS * self._spread(JUMP)

    def carried(self, table: Table, now: int, day: int, due: Sequence[WaterChange]) -> Table:
        """Return the table of a later day, with the changes between."""
        for change in due:
            table = self.change(self.passed(table, change.day - now), change)
            now = change.day
        return self.passed(table, day - now)

    def passed(self, table: Table, days: int) -> Table:
        """Return the table so many days later: the rate drifts, each level rises by its rate."""
        if not days:
            return table
        if days not in self._shifts:
            self._drifts[days] = np.linalg.matrix_power(self.a_day, days).T.copy()
            place, part = self._places(self.axes.levels[None, :] + self.axes.rates[:, None] * days)
            rows = np.arange(len(self.kit.scatters) * RATES).reshape(len(self.kit.scatters), RATES, 1)
            self._shifts[days] = ((rows * LEVELS + place[None]).ravel(), part, 1.0 - part)
        flat, part, rest = self._shifts[days]
        table = self._drifts[days] @ table
        moved = np.bincount(flat, (table * rest).ravel(), table.size)
        moved += np.bincount(flat + 1, (table * part).ravel(), table.size)
        moved = moved.reshape(table.shape)
        gone = 1.0 - (1.0 - UNSEEN) ** days
        return (1.0 - gone) * moved + gone * (moved @ self._mix(0.5))

    def _places(self, levels: Table) -> tuple[Table, Table]:
        """Return the node under each level, and how far it lies towards the next one."""
        levels = np.minimum(levels, LEVEL_TOP)
        place = np.minimum(np.searchsorted(self.axes.levels, levels, side="right") - 1, LEVELS - 2)
        low = self.axes.levels[place]
        return place, (levels - low) / (self.axes.levels[place + 1] - low)

    def _mix(self, share: float) -> Table:
        """Return where each level goes when a share of the water becomes the tap's."""
        if share not in self._mixes:
            place, part = self._places((1.0 - share) * self.axes.levels + share * self.tap)
            mix = np.zeros((LEVELS, LEVELS))
            at = np.arange(LEVELS)
            mix[at, place] += 1.0 - part
            mix[at, place + 1] += part
            self._mixes[share] = mix
        return self._mixes[share]

    def change(self, table: Table, change: WaterChange) -> Table:
        """Return the table after a change: made or not, as large as recorded or smaller."""
        whole, short = self._mix(change.share), self._mix(change.share * SHORT_BY)
        mix = (1.0 - SHORT) * whole + SHORT * short
        made = table @ mix
        return made if change.chance == 1.0 else change.chance * made + (1.0 - change.chance) * table

    def read(self, table: Table, value: float) -> tuple[Table, float, float]:
        """Return the table after a reading, the chance that the reading was wild, and how likely it was."""
        if value not in self._seen:
            self._seen[value] = np.array([self._likely(value, scatter) for scatter in self.kit.scatters])
        fits = table * ((1.0 - ODD) * self._seen[value])[:, None, :]
        wild = ODD / (len(CHART) if self.kit.lowest else WILD)
        likely = float(fits.sum()) + wild
        return (fits + wild * table) / likely, wild / likely, likely

    def _likely(self, value: float, scatter: float) -> Table:
        """Return how likely a reading is at each level: the density of a number, the chance of a colour."""
        spread = np.hypot(scatter * self.axes.levels, LEAST_SCATTER)
        if not self.kit.lowest:
            return np.exp(-0.5 * ((value - self.axes.levels) / spread) ** 2) / (
                spread * math.sqrt(2.0 * math.pi)
            )
        low, high = (_under((edge - self.axes.levels) / spread) for edge in self.kit.cell(value))
        return high - low

    def below(self, table: Table) -> Table:
        """Return the chance that the true rate lies under each edge: the kit's error in common is in it."""
        marginal = table.sum(axis=(0, 2)) @ self.kit_error
        return np.concatenate([[0.0], np.cumsum(marginal / marginal.sum())])


def _under(deviates: Table) -> Table:
    """Return the chance of the normal law under each deviate."""
    return np.array([0.5 + 0.5 * math.erf(one / math.sqrt(2.0)) for one in deviates.tolist()])


def _known(readings: Sequence[tuple[int, float]], changes: Sequence[WaterChange], tap: float) -> None:
    """Raise ValueError for what cannot be."""
    for _, mg_l in (*readings, (0, tap)):
        if not 0.0 <= mg_l < math.inf:
            raise ValueError(f"nitrate is 0 mg/L or more, not {mg_l:g}")
    for change in changes:
        if not 0.0 < change.share <= 1.0:
            raise ValueError(
                "a change replaces more than none and at most all of the water, not a share of "
                f"{change.share:g}"
            )
