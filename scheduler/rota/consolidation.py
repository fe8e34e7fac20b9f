"""Fewer rounds: those that can be left out without making anything worse are solved by trying, the emptiest
first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from scheduler.rota.solver import Solved
from scheduler.rota.targets import UNFILLED
from scheduler.rota.week_program import RoundSide, WeekProgram

WORSE = 4.0
"""How much worse one round fewer may make a week, in minutes of cost. House value."""

GAP = 0.005
"""A week's program is left when what is not undone costs so little more than the best."""

SMALL = 700
"""With so few variables that count a week is shared out anew where its first solution is not near its
bound."""


PARTED = 20.0
"""How much worse it may become so that somebody does not tend quarantine and others on one day.

House value.
"""


class Consolidation:
    """The rounds of a week that are left, while others are tried without."""

    def __init__(self, built: WeekProgram) -> None:
        """Begin with all rounds that there could be."""
        self._built = built
        self._relaxed = built.program.relaxed()
        self.now = self._relaxed.run()
        self._allowed = self.now.objective + 1e-6
        self.left = set(built.sides)
        self._kept = {(k, day) for k, day, _ in built.parameters.existing}

    def run(self) -> None:
        """Leave out what can be."""
        self._empty()
        self._part()
        tried: set[tuple[int, dt.date]] = set()
        while True:
            rounds = {(k, day) for k, day, _ in self.left} - tried - self._kept
            if not rounds:
                return
            whole_round = min(rounds, key=lambda p: (self._minutes(p), p[1], p[0]))
            tried.add(whole_round)
            if self._try(self._sides(whole_round), WORSE):
                self._empty()

    def _empty(self) -> None:
        """Leave out what the solution does not use: it stays a solution."""
        unused = [side for side in self.left if self._built.minutes(self.now.values, side) < 1e-6]
        self.left.difference_update(unused)
        self._relaxed.limit(self._built.without(unused))

    def _part(self) -> None:
        """Leave out one side where somebody would tend quarantine and others on one day."""
        mixed = sorted({(day, k) for k, day, _ in self.left})
        for day, k in mixed:
            sides = self._sides((k, day))
            if len(sides) == 2:
                sides.sort(key=lambda p: self._built.minutes(self.now.values, p))
                for side in sides:
                    if self._try([side], PARTED):
                        break

    def _try(self, sides: Iterable[RoundSide], worse: float) -> bool:
        """Leave out sides of rounds if that makes nothing worse; tell whether it did not."""
        sides = list(sides)
        self._leave(sides)
        solved = self._relaxed.run()
        if solved.objective <= self._allowed + worse:
            self.now = solved
            self._allowed = max(self._allowed, solved.objective)
            return True
        self.left.update(sides)
        program = self._built.program
        back = self._built.without(sides)
        self._relaxed.limit({one: program.upper[one] for one in back})
        return False

    def _leave(self, sides: Iterable[RoundSide]) -> None:
        sides = list(sides)
        self.left.difference_update(sides)
        self._relaxed.limit(self._built.without(sides))

    def _sides(self, whole_round: tuple[int, dt.date]) -> list[RoundSide]:
        return [(*whole_round, side) for side in (True, False) if (*whole_round, side) in self.left]

    def _minutes(self, whole_round: tuple[int, dt.date]) -> float:
        return sum(self._built.minutes(self.now.values, side) for side in self._sides(whole_round))


def whole_items(
    built: WeekProgram, consolidation: Consolidation, *, seconds: float, nodes: int
) -> Solved | None:
    """Return a solution in whole items, near the trimmed one in fractions, which is whole in most of it
    already.

    What is whole there is kept at first. Where that leaves work undone, or costs much in a week that is small
    enough, the rounds that are left are shared out anew; and where work is undone even so, those that were
    left out as well.
    """
    program, now = built.program, consolidation.now
    undone = built.undone(now.values)
    within = max(1.0, GAP * (now.objective - UNFILLED * undone))
    closed = built.without(set(built.sides) - consolidation.left)
    near = {one: float(int(now.values[one] + 1e-6)) for one in built.items.values()}
    best = program.solve(upper=closed, lower=near, within=within, seconds=seconds, nodes=nodes)
    small = len(built.items) <= SMALL
    if _good(built, best, undone, now.objective + within if small else None):
        return best
    best = _better(best, program.solve(upper=closed, within=within, seconds=seconds, nodes=nodes))
    if _good(built, best, undone, None):
        return best
    return _better(best, program.solve(within=within, seconds=seconds, nodes=nodes))


def _good(built: WeekProgram, solved: Solved | None, undone: float, most: float | None) -> bool:
    if solved is None or built.undone(solved.values) > undone + 1e-6:
        return False
    return most is None or solved.objective <= most


def _better(one: Solved | None, other: Solved | None) -> Solved | None:
    if one is None or other is None:
        return one or other
    return other if other.objective < one.objective - 1e-9 else one
