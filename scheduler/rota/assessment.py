"""How fair a rota is, and how near to the best."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from scheduler.care import LEAST_URGENT, urgency
from scheduler.rota.fairness import gini, jain, spread
from scheduler.rota.model import Assignment, Fairness, Item
from scheduler.rota.problem import RotaProblem, minutes_of
from scheduler.rota.targets import UNFILLED, cost


def assess(
    problem: RotaProblem, loads: Sequence[float], unfilled: Sequence[Item], left_by_class: Collection[int]
) -> Fairness:
    """Return how fair the loads of keepers are, those of lending a hand counted in, and what no rota can go
    below.

    Where the class of a job decided what is left, the bound is that of all rotas which leave the same items.
    """
    shares = problem.shares
    sharing = [n for n, share in enumerate(shares.own) if share > 0.0]
    together = [load + credit for load, credit in zip(loads, shares.credit, strict=True)]
    over_share = [together[n] / shares.own[n] for n in sharing] + [0.0] * len(shares.resting)
    objective = cost(together, shares.fair, minutes_of(unfilled))
    bound = _least_cost(problem, frozenset())
    if left_by_class:
        bound = max(bound, _least_cost(problem, left_by_class))
    return Fairness(
        objective=objective,
        bound=min(objective, bound),
        jain=jain(over_share),
        gini=gini(over_share),
        spread=spread([*(loads[n] / shares.own[n] for n in sharing), *[0.0] * len(shares.resting)]),
        coarse=_coarse(problem),
        by_class=bool(left_by_class),
    )


def left_by_class(assignments: Sequence[Assignment], left: Sequence[Item]) -> frozenset[int]:
    """Return the numbers of what is left, where the class decided it: something less urgent than what is
    done."""
    done = min((urgency(item.job) for item, _ in assignments), default=LEAST_URGENT)
    if any(urgency(item.job) > done for item in left):
        return frozenset(item.number for item in left)
    return frozenset()


def _least_cost(problem: RotaProblem, left: Collection[int]) -> float:
    """Return what no rota costs less than, of those that leave these items."""
    undone = [*problem.infeasible, *(item for item in problem.items if item.number in left)]
    return problem.least_load(left) + UNFILLED * minutes_of(undone)


def _coarse(problem: RotaProblem) -> tuple[str, ...]:
    """Return the keepers of whose fair minutes a single job is more than the whole."""
    longest = max((item.job.minutes for item in problem.items), default=0)
    keepers = problem.availability.keepers
    return tuple(k.id for k, fair in zip(keepers, problem.shares.fair, strict=True) if fair < longest)
