"""One week as an integer program: how many items of each kind each keeper takes on each day.

Everything is done first, then loads are near what is fair. Within that, rounds are left out one after the
other as long as nothing becomes worse, first those in which quarantine would be mixed with other work.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduler.rota.grouping import Groups, ItemKind
from scheduler.rota.solver import Program
from scheduler.rota.targets import UNFILLED

PREFERENCE = 2.0
"""What it costs to give an item to somebody who would rather not; what it saves to give it to one who likes
it. All costs are house values, in minutes."""


MOVED = 60.0
"""What it costs to give away an item that was published."""

SLACK = 10.0
"""Minutes off the fair load, for one full share, that cost nothing: jobs come in pieces."""

TIERS = ((20.0, 2.0), (40.0, 4.0), (80.0, 8.0), (float("inf"), 16.0))
"""(so many minutes further off, cost of each): what is far off costs more, so that it is shared."""

LEAST_SHARE = 1.0 / 20.0
"""A share counts as at least so much of the mean, for the steps in which its costs rise."""

MOST_WEIGHT = 1.0 / LEAST_SHARE
"""How much more a minute of somebody with next to no share counts."""

Key = tuple[int, dt.date, int]
"""(number of the kind, day, number of the keeper)"""


RoundSide = tuple[int, dt.date, bool]
"""(number of a keeper, day, whether in quarantine): the part of a round in quarantine, or the rest of it."""


@dataclass(frozen=True, slots=True)
class WeekParameters:
    """What is known before a week is shared out.

    `minutes` are those that each keeper still has on each day (none where absent), `targets` the fair minutes
    of each in this week, `shares` the shares over their mean. `existing` are the sides of rounds that
    somebody has already. `published` counts what was. `rounds` are the most new rounds of those keepers who
    want only so many in a week.
    """

    minutes: Mapping[tuple[int, dt.date], int]
    targets: Sequence[float]
    shares: Sequence[float]
    existing: frozenset[RoundSide]
    published: Mapping[Key, int]
    rounds: Mapping[int, int]


class WeekProgram:
    """The program of a week: `items` are the variables that count, `sides` those of each side of each
    round."""

    def __init__(self, groups: Groups, parameters: WeekParameters) -> None:
        """Build it."""
        self.program = Program()
        self.parameters = parameters
        self.kinds = list(groups)
        self.items: dict[Key, int] = {}
        self.sides: dict[RoundSide, list[tuple[ItemKind, int]]] = {}
        self._left: list[tuple[ItemKind, int]] = []
        for number, (kind, some) in enumerate(groups.items()):
            self._take(number, kind, len(some))
        self._limit()
        self._limit_rounds()
        self._share()

    def _take(self, number: int, kind: ItemKind, size: int) -> None:
        """Let each item of a kind be taken once, or left."""
        parameters, program = self.parameters, self.program
        preference = {k: -PREFERENCE * sign for k, sign in kind.preferences}
        left = program.variable(UNFILLED * kind.minutes, size)
        self._left.append((kind, left))
        terms = [(left, 1.0)]
        for day in kind.days:
            for keeper in kind.able:
                fit = parameters.minutes.get((keeper, day), 0) // kind.minutes
                if fit < 1:
                    continue
                one = program.variable(preference.get(keeper, 0.0), min(size, fit), whole=True)
                self.items[number, day, keeper] = one
                self.sides.setdefault((keeper, day, kind.quarantine), []).append((kind, one))
                terms.append((one, 1.0))
                published = parameters.published.get((number, day, keeper), 0)
                if published:
                    moved = program.variable(MOVED, published)
                    program.row(published, float("inf"), [(moved, 1.0), (one, 1.0)])
        program.row(size, size, terms)

    def _limit(self) -> None:
        """Keep each day within the keeper's minutes."""
        days: dict[tuple[int, dt.date], list[tuple[int, float]]] = {}
        for (keeper, day, _), some in self.sides.items():
            days.setdefault((keeper, day), []).extend((one, float(kind.minutes)) for kind, one in some)
        for slot, terms in days.items():
            self.program.row(0.0, self.parameters.minutes[slot], terms)

    def _limit_rounds(self) -> None:
        """Let those who want only so many rounds a week have no more."""
        existing = {(keeper, day) for keeper, day, _ in self.parameters.existing}
        days: dict[int, dict[dt.date, list[tuple[int, float]]]] = {}
        for (keeper, day, _), some in self.sides.items():
            if keeper in self.parameters.rounds and (keeper, day) not in existing:
                own = days.setdefault(keeper, {}).setdefault(day, [])
                own += [(one, float(kind.minutes)) for kind, one in some]
        for keeper, by_day in days.items():
            flags = []
            for day, terms in by_day.items():
                comes = self.program.variable(0.0, 1.0, whole=True)
                most = float(self.parameters.minutes[keeper, day])
                self.program.row(-float("inf"), 0.0, [*terms, (comes, -most)])
                flags.append((comes, 1.0))
            self.program.row(0.0, self.parameters.rounds[keeper], flags)

    def _share(self) -> None:
        """Let each keeper's minutes be near what is fair."""
        program, parameters = self.program, self.parameters
        loads: dict[int, list[tuple[int, float]]] = {}
        for (keeper, _, _), some in self.sides.items():
            loads.setdefault(keeper, []).extend((one, float(kind.minutes)) for kind, one in some)
        for keeper, terms in sorted(loads.items()):
            share = parameters.shares[keeper]
            # Whoever has next to no share is asked only where nobody else is there, but before work is left.
            weight = min(1.0 / share, MOST_WEIGHT) if share > 0.0 else MOST_WEIGHT
            slack, target = SLACK * share, parameters.targets[keeper]
            over, under = [], []
            for width, cost in TIERS:
                over.append(
                    (program.variable(cost * weight, max(width * max(share, LEAST_SHARE), 1.0)), -1.0)
                )
                under.append(
                    (program.variable(cost * weight, max(width * max(share, LEAST_SHARE), 1.0)), 1.0)
                )
            program.row(-float("inf"), target + slack, [*terms, *over])
            program.row(target - slack, float("inf"), [*terms, *under])

    def without(self, sides: Iterable[RoundSide]) -> dict[int, float]:
        """Return the upper bounds of variables where these sides of rounds are left out."""
        return {one: 0.0 for side in sides for _, one in self.sides.get(side, ())}

    def counts(self, values: Sequence[float]) -> Iterator[tuple[Key, int]]:
        """Yield the counts of a solution that are not zero."""
        for key, one in self.items.items():
            count = round(values[one])
            if count:
                yield key, count

    def minutes(self, values: Sequence[float], side: RoundSide) -> float:
        """Return the minutes of one side of a round in a solution."""
        return sum(kind.minutes * values[one] for kind, one in self.sides.get(side, ()))

    def undone(self, values: Sequence[float]) -> float:
        """Return the minutes of work that nobody does in a solution."""
        return sum(kind.minutes * values[one] for kind, one in self._left)
