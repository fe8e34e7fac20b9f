"""The rota: week after week, what was published first, then the rest as fairly as it can be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from functools import partial, reduce

from scheduler.description.site import Site
from scheduler.errors import UsageError
from scheduler.history import OccurrenceRef
from scheduler.plan import Occurrence
from scheduler.progress import Tell, nobody, told
from scheduler.rota.assessment import assess, left_by_class
from scheduler.rota.availability import Absences, Availability
from scheduler.rota.capacity import Capacity
from scheduler.rota.incumbent import published_slots, valid_slots
from scheduler.rota.items import Quarantined, items
from scheduler.rota.model import Assigned, Assignment, Item, Past, Rota
from scheduler.rota.problem import RotaProblem, state_problem
from scheduler.rota.repair import Repair
from scheduler.rota.rounds import on_day, rounds
from scheduler.rota.unfilled import explain
from scheduler.rota.week import Settled, settle_week
from scheduler.rota.weeks import widened

MOST_KEEPERS = 300
"""With more, those take part to whom most is due, of each set of days and skills, so that it ends in time."""


def assign(
    site: Site,
    occurrences: Iterable[Occurrence],
    first: dt.date,
    last: dt.date,
    *,
    quarantined: Quarantined,
    past: Past | None = None,
    published: Sequence[Assigned] = (),
    absent: Absences | None = None,
    left: Collection[OccurrenceRef] = (),
    seconds: float = 60.0,
    judged: bool = True,
    tell: Tell = nobody,
) -> Rota:
    """Return who does what of the occurrences that fall due from `first` to `last`, both included.

    Occurrences before and after, and those that are done, tell how far others may move. What was `published`
    stays wherever no rule forbids it; `absent` are days on which keepers cannot come besides those of the
    description; what was published as `left` is taken by nobody as long as nobody has room for it. After
    `seconds` each week is taken as far as it was. Unless it is to be `judged` nothing is said of how fair it
    is, which is most of the time where nothing is new. It tells how many weeks
    are settled. UsageError where there is no keeper.
    """
    if not site.keepers:
        raise UsageError(
            "the description has no keepers, so that everything is yours; write [[keeper]] with a name "
            "for each person"
        )
    past = past or Past()
    availability = Availability(site, absent, first, past, most=MOST_KEEPERS)
    work = items(occurrences, availability, first, last, quarantined, published=published)
    slots = published_slots(work, published, availability)
    incumbent = valid_slots(work, slots, availability, past.out, first)
    problem = state_problem(
        availability,
        work,
        first,
        last,
        past=past,
        published=slots,
        incumbent=incumbent,
        still_unfilled={item.number for item in work if item.number not in incumbent and item.ref in left},
        seconds=seconds,
    )
    settled = reduce(partial(_settle, problem), told(range(len(problem.weeks)), tell), Settled())
    assignments, rest = _repair(problem, settled)
    dated = [(on_day(item, slot[0], quarantined), slot) for item, slot in assignments]
    return _rota(problem, dated, rest, judged=judged)


def _settle(problem: RotaProblem, before: Settled, number: int) -> Settled:
    return settle_week(problem, number, before)


def _repair(problem: RotaProblem, settled: Settled) -> tuple[list[Assignment], list[Item]]:
    """Look at the span as a whole: what is left, what is more urgent than what is done, and what is overdue.

    Return who takes what, and what is left then of what somebody could do.
    """
    capacity = _capacity(problem, settled.assignments)
    repair = Repair(capacity, partial(_loads_over_share, problem, capacity))
    left = repair.run(problem.items, [*settled.unfilled, *settled.carried_over])
    slots = capacity.slots
    return [(item, slots[item.number]) for item in problem.items if item.number in slots], left


def _loads_over_share(problem: RotaProblem, capacity: Capacity) -> list[float]:
    loads = [0] * len(problem.shares.own)
    for (_, keeper), minutes in capacity.used.items():
        loads[keeper] += minutes
    return [load / (share or 0.01) for load, share in zip(loads, problem.shares.own, strict=True)]


def _capacity(problem: RotaProblem, assignments: Iterable[Assignment]) -> Capacity:
    return Capacity(problem.availability, assignments, problem.past.out, problem.first)


def _rota(
    problem: RotaProblem, assignments: Sequence[Assignment], left: Sequence[Item], *, judged: bool
) -> Rota:
    """Return the rota of assignments, with what is left and how fair it is."""
    availability = problem.availability
    made, alone = rounds(availability, assignments, problem.past.out, problem.first)
    loads = {k.id: 0 for k in availability.site.keepers}
    for one in made:
        loads[one.keeper.id] += one.minutes
    capacity = _capacity(problem, assignments)
    unfilled = sorted([*problem.infeasible, *left], key=lambda i: i.number)
    possible: dict[str, float] = {}
    fairness = None
    if judged:
        possible = {k.id: load for k, load in zip(availability.keepers, problem.targets.loads, strict=True)}
        of_keepers = [float(loads[k.id]) for k in availability.keepers]
        fairness = assess(problem, of_keepers, unfilled, left_by_class(assignments, left))
    return Rota(
        first=problem.first,
        last=problem.last,
        rounds=made,
        unfilled=tuple(explain(capacity, widened(item)) for item in unfilled),
        alone=alone,
        loads=loads,
        possible=possible,
        fairness=fairness,
    )
