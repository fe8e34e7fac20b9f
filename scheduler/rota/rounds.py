"""Tasks to rounds: in walking order, quarantine last, and with a second pair of hands where one is not enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from scheduler.description.site import Keeper, can_do
from scheduler.rota.model import Item, Round, Task
from scheduler.rota.roster import Roster


def walking_order(item: Item) -> tuple[object, ...]:
    """Return what a round is ordered by: quarantine last, then the part of the day, room by room, tank by tank."""
    enclosure = item.job.enclosure
    return (
        item.quarantine,
        item.job.part == "evening",
        enclosure.room or "",
        enclosure.name,
        enclosure.id,
        item.job.rank,
        item.job.variant,
        item.number,
    )


def rounds(
    roster: Roster, taken: Iterable[tuple[Item, dt.date, int]]
) -> tuple[tuple[Round, ...], tuple[Task, ...]]:
    """Return the rounds in the order of days and keepers, and the tasks for which no second person was found."""
    batches: dict[tuple[dt.date, int], list[Item]] = {}
    for item, day, keeper in taken:
        batches.setdefault((day, keeper), []).append(item)
    used = {place: sum(i.job.minutes for i in some) for place, some in batches.items()}
    helpers: dict[int, Keeper] = {}
    helps: dict[tuple[dt.date, int], list[Task]] = {}
    alone: list[Task] = []
    for (day, keeper), some in sorted(batches.items()):
        for item in sorted(some, key=walking_order):
            if not item.job.needs_two:
                continue
            helper = _helper(roster, item, day, keeper, used)
            task = Task(item, day, roster.keepers[keeper], None if helper is None else roster.keepers[helper])
            if helper is None:
                alone.append(task)
                continue
            used[day, helper] = used.get((day, helper), 0) + item.job.minutes
            helpers[item.number] = roster.keepers[helper]
            helps.setdefault((day, helper), []).append(task)
    made = []
    for day, keeper in sorted({*batches, *helps}):
        who = roster.keepers[keeper]
        own = sorted(batches.get((day, keeper), []), key=walking_order)
        tasks = tuple(Task(item, day, who, helpers.get(item.number)) for item in own)
        made.append(Round(day, who, tasks, tuple(helps.get((day, keeper), ()))))
    return tuple(made), tuple(alone)


def _helper(
    roster: Roster, item: Item, day: dt.date, keeper: int, used: dict[tuple[dt.date, int], int]
) -> int | None:
    """Return who lends a hand: somebody who lifts, has the minutes, and is there anyway if anybody is."""
    able: Sequence[int] = [
        n
        for n, other in enumerate(roster.keepers)
        if n != keeper
        and can_do(roster.site, other, ("lifting",))
        and used.get((day, n), 0) + item.job.minutes <= roster.minutes(other, day)
    ]
    return min(able, key=lambda n: ((day, n) not in used, used.get((day, n), 0), n), default=None)
