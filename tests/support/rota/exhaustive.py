"""Every rota that there could be of a few jobs in one week: all ways to give each to somebody on one of its days, or leave it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scheduler.description.site import Keeper
from scheduler.plan import Occurrence
from support.rota.measures import cost_of_one
from support.rota.small_sites import DAY, Case

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
UNFILLED = 1000.0
"""Minutes that one minute of undone work counts as."""

Used = tuple[tuple[tuple[str, dt.date], int], ...]


@dataclass(frozen=True)
class Best:
    """The least minutes that stay undone, the least cost of all rotas, and the fewest rounds where least is undone."""

    undone: int
    cost: float
    rounds: int


def best(case: Case) -> Best:
    """Return the best of every rota. The span is one week, and each job falls due in it once."""
    rotas = list(_every(case))
    undone = min(left for _, left in rotas)
    return Best(
        undone,
        min(_cost(case, used, left) for used, left in rotas),
        min(len(used) for used, left in rotas if left == undone),
    )


def cost_of(case: Case, loads: Mapping[str, int], undone: int) -> float:
    """Return what loads cost: each one squared over the fair one, and what is undone. In minutes."""
    keepers = case.site.keepers
    shares = (
        {k.id: k.share for k in keepers} if any(k.share for k in keepers) else {k.id: 1.0 for k in keepers}
    )
    total = sum(o.job.minutes for o in _due(case))
    cost = UNFILLED * undone
    for keeper, share in shares.items():
        fair, load = total * share / sum(shares.values()), loads.get(keeper, 0)
        cost += cost_of_one(load, fair)
    return cost


def _due(case: Case) -> list[Occurrence]:
    return [o for o in case.occurrences if case.first <= o.day <= case.last]


def _every(case: Case) -> Iterator[tuple[Used, int]]:
    """Yield (minutes of each round, minutes that stay undone) of every rota; those of the same minutes once."""
    found: set[tuple[Used, int]] = {((), 0)}
    for o in _due(case):
        slots = list(_slots(case, o))
        following: set[tuple[Used, int]] = set()
        for used, left in found:
            following.add((used, left + o.job.minutes))
            for keeper, day in slots:
                minutes = dict(used)
                there = minutes.get((keeper.id, day), 0) + o.job.minutes
                if keeper.minutes is None or there <= keeper.minutes:
                    minutes[keeper.id, day] = there
                    following.add((tuple(sorted(minutes.items())), left))
        found = following
    most = {k.id: k.rounds_a_week or 7 for k in case.site.keepers}
    for used, left in found:
        rounds = [keeper for (keeper, _), _ in used]
        if all(rounds.count(keeper) <= limit for keeper, limit in most.items()):
            yield used, left


def _slots(case: Case, o: Occurrence) -> Iterator[tuple[Keeper, dt.date]]:
    skilled = any(k.can is not None for k in case.site.keepers)
    for n in range(-o.job.window, o.job.window + 1):
        day = o.day + n * DAY
        if not case.first <= day <= case.last:
            continue
        if o.job.weekdays is not None and day.weekday() not in o.job.weekdays and n:
            continue
        for k in case.site.keepers:
            own = not k.weekdays or WEEKDAYS[day.weekday()] in k.weekdays
            away = any(span.first <= day <= span.last for span in k.away)
            if own and not away and (not skilled or set(o.job.skills) <= set(k.can or ())):
                yield k, day


def _cost(case: Case, used: Used, left: int) -> float:
    loads: dict[str, int] = {}
    for (keeper, _), minutes in used:
        loads[keeper] = loads.get(keeper, 0) + minutes
    return cost_of(case, loads, left)
