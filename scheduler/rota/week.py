"""One week of a rota: takes what the weeks before it settled, and returns what is settled with it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from scheduler.rota.consolidation import Consolidation, whole_items
from scheduler.rota.grouping import Groups, grouped
from scheduler.rota.matching import Matching
from scheduler.rota.model import Assignment, Item, Slot
from scheduler.rota.problem import RotaProblem, minutes_of
from scheduler.rota.repair import by_class
from scheduler.rota.week_program import Key, WeekParameters, WeekProgram
from scheduler.rota.weeks import days_of_week, inside, monday_of, widened

NODES = 100
"""How far the search for whole items goes in a week; alike on every machine."""

FULL = 0.95
"""How full a keeper's days can be made with whole jobs; who needs more of them later does more before.

House value.
"""


@dataclass(frozen=True, slots=True)
class Settled:
    """What the weeks so far have settled: who takes what, what waits for the next week, and what is left
    undone."""

    assignments: Sequence[Assignment] = ()
    carried_over: Sequence[Item] = ()
    unfilled: Sequence[Item] = ()


class Solution(NamedTuple):
    """How many items of each group go where, and which are left."""

    groups: Groups
    left: list[Item]
    counts: Mapping[Key, int]


def settle_week(problem: RotaProblem, number: int, before: Settled) -> Settled:
    """Return what is settled when the week of that number has been shared out, too."""
    week = problem.weeks[number]
    skipped = [item for item in week.items if item.number in problem.still_unfilled]
    pending = [*before.carried_over, *(i for i in week.items if i.number not in problem.still_unfilled)]
    assignments, left = _WeekProblem(problem, number, before).share_out(pending)
    following = week.monday + dt.timedelta(days=7)
    return Settled(
        [*before.assignments, *assignments],
        [item for item in left if item.days[-1] >= following],
        [*before.unfilled, *skipped, *(item for item in left if item.days[-1] < following)],
    )


@dataclass(frozen=True)
class _WeekProblem:
    """One week of the whole problem, after the weeks before it."""

    whole: RotaProblem
    number: int
    before: Settled

    @property
    def monday(self) -> dt.date:
        """The week's Monday."""
        return self.whole.weeks[self.number].monday

    @cached_property
    def targets(self) -> list[float]:
        """What each should do in this week: what is fair by its end, and no less than the later weeks have no
        room for."""
        whole, passed = self.whole, self.number + 1
        minutes, fairest = whole.minutes_by_week, whole.targets.loads
        done = sum(minutes_of(week.items) for week in whole.weeks[:passed])
        raw = [load * sum(m[:passed]) / (sum(m) or 1.0) for load, m in zip(fairest, minutes, strict=True)]
        scale = done / sum(raw) if sum(raw) > 0.0 else 0.0
        later = [load - FULL * sum(m[passed:]) for load, m in zip(fairest, minutes, strict=True)]
        loads = whole.loads(self.before.assignments)
        return [max(fair * scale, least) - load for fair, least, load in zip(raw, later, loads, strict=True)]

    def share_out(self, pending: Sequence[Item]) -> tuple[list[Assignment], list[Item]]:
        """Return who takes which of the items, and those that are left, with all days of their windows."""
        by_number = {item.number: item for item in pending}
        items = inside(self.monday, pending)
        # What was displaced in the week before, and is carried over into this one, has its published slot no
        # more.
        incumbent = {n: slot for n, slot in self.whole.incumbent.items() if monday_of(slot[0]) == self.monday}
        kept = [(item, incumbent[item.number]) for item in items if item.number in incumbent]
        free = [item for item in items if item.number not in incumbent]
        solution = self._solve(free, kept)
        if solution.left:
            # The rest of its window, for what nobody has the minutes for.
            free = inside(self.monday, [widened(by_number[item.number]) for item in free])
            solution = _better(solution, self._solve(free, kept))
        if solution.left and kept:
            # What was published is displaced where something would be left undone by it, and only there.
            published = {item.number: slot for item, slot in kept}
            anew = self._solve([*free, *(item for item, _ in kept)], [], published)
            if _better(solution, anew) is anew:
                solution, kept = anew, []
        matching = Matching(
            self.whole.availability, self.whole.past, self.whole.published, [*self.before.assignments, *kept]
        )
        assignments = [*kept, *matching.assign(solution.groups, solution.counts)]
        given = {item.number for item, _ in assignments}
        assert len(given) == len(items) - len(solution.left)
        return (
            [(by_number[item.number], slot) for item, slot in assignments],
            [widened(item) for item in pending if item.number not in given],
        )

    def _solve(
        self, free: list[Item], kept: Sequence[Assignment], published: Mapping[int, Slot] | None = None
    ) -> Solution:
        """Share out the free items beside those that are kept; of those that were `published` few should
        move."""
        if not free:
            return Solution({}, [], {})
        whole = self.whole
        # The most urgent of those that are alike come first, and those that were published: what is left is
        # of the end.
        groups = {
            kind: sorted(some, key=lambda i: (i.rank, i.number not in whole.published, i.number))
            for kind, some in grouped(whole.availability, free).items()
        }
        built = WeekProgram(groups, self._parameters(kept, _counts(groups, published or {})))
        consolidation = Consolidation(built)
        consolidation.run()
        solved = whole_items(built, consolidation, seconds=whole.seconds / len(whole.weeks), nodes=NODES)
        counts = {} if solved is None else dict(built.counts(solved.values))
        given: dict[int, int] = {}
        for (number, _, _), count in counts.items():
            given[number] = given.get(number, 0) + count
        left = [i for n, some in enumerate(groups.values()) for i in some[given.get(n, 0) :]]
        return Solution(groups, left, counts)

    def _parameters(self, kept: Sequence[Assignment], published: Mapping[Key, int]) -> WeekParameters:
        availability, shares = self.whole.availability, self.whole.shares.own
        used: dict[tuple[int, dt.date], int] = {}
        targets = list(self.targets)
        for item, (day, keeper) in kept:
            used[keeper, day] = used.get((keeper, day), 0) + item.job.minutes
            targets[keeper] -= item.job.minutes
        minutes = {
            (n, day): availability.minutes(keeper, day) - used.get((n, day), 0)
            for n, keeper in enumerate(availability.keepers)
            for day in days_of_week(self.monday, self.whole.first, self.whole.last)
            if availability.comes(keeper, day)
        }
        mean = sum(shares) / len(shares)
        existing = frozenset((keeper, day, item.quarantine) for item, (day, keeper) in kept)
        return WeekParameters(
            minutes,
            targets,
            [share / mean for share in shares],
            existing,
            published,
            self._rounds_left({(keeper, day) for keeper, day, _ in existing}),
        )

    def _rounds_left(self, existing: set[tuple[int, dt.date]]) -> dict[int, int]:
        """Return how many more rounds those keepers may have who want only so many in a week."""
        most: dict[int, int] = {}
        current = self.monday == monday_of(self.whole.first)
        for n, keeper in enumerate(self.whole.availability.keepers):
            if keeper.rounds_a_week is not None:
                over = self.whole.past.out.get(keeper.id, 0) if current else 0
                most[n] = max(0, keeper.rounds_a_week - over - sum(k == n for k, _ in existing))
        return most


def _better(one: Solution, other: Solution) -> Solution:
    """Return the solution that leaves less undone, class by class; the first where both leave the same."""
    return other if by_class(other.left) < by_class(one.left) else one


def _counts(groups: Groups, slots: Mapping[int, Slot]) -> dict[Key, int]:
    """Return how many items of each group have which slot."""
    counts: dict[Key, int] = {}
    for number, some in enumerate(groups.values()):
        for slot in _slots_of(some, slots):
            counts[number, *slot] = counts.get((number, *slot), 0) + 1
    return counts


def _slots_of(items: Iterable[Item], slots: Mapping[int, Slot]) -> list[Slot]:
    return [slots[item.number] for item in items if item.number in slots]
