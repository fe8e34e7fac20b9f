"""Tasks to rounds: in walking order, quarantine last, and with a second pair of hands where one is not
enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from scheduler.care import Job
from scheduler.description.site import Enclosure, Keeper, can_do
from scheduler.rota.availability import Availability
from scheduler.rota.capacity import Capacity
from scheduler.rota.eligibility import refuse_load
from scheduler.rota.items import Quarantined
from scheduler.rota.model import Assignment, Item, Round, Slot, Task


def place_order(enclosure: Enclosure) -> tuple[str, str, str]:
    """Return what enclosures are ordered by on a walk: room by room, tank by tank."""
    return enclosure.room or "", enclosure.name, enclosure.id


def walking_order(job: Job, *, quarantine: bool) -> tuple[object, ...]:
    """Return what a round is ordered by: quarantine last, then the part of the day, room by room, tank by
    tank."""
    return quarantine, job.part == "evening", *place_order(job.enclosure), job.rank, job.variant


def on_day(item: Item, day: dt.date, quarantined: Quarantined) -> Item:
    """Return an item as it is on the day on which it is done: whether its tank is in quarantine then, and not
    on some day on which it could be done."""
    apart = quarantined(item.job.enclosure.id, day)
    return item if item.quarantine == apart else replace(item, quarantine=apart)


def in_order(some: Iterable[Item]) -> list[Item]:
    """Return the items of a round in walking order: a tank of which one item is in quarantine is so with all
    of them."""
    items = list(some)
    apart = {item.job.enclosure.id for item in items if item.quarantine}

    def order(item: Item) -> tuple[object, ...]:
        return *walking_order(item.job, quarantine=item.job.enclosure.id in apart), item.number

    return sorted(items, key=order)


def rounds(
    availability: Availability, assignments: Sequence[Assignment], out: Mapping[str, int], first: dt.date
) -> tuple[tuple[Round, ...], tuple[Task, ...]]:
    """Return the rounds in the order of days and keepers, and the tasks for which no second person was found.

    `out` are rounds of the week of `first` that are over.
    """
    batches: dict[tuple[dt.date, int], list[Item]] = {}
    for item, (day, keeper) in assignments:
        batches.setdefault((day, keeper), []).append(item)
    capacity = Capacity(availability, assignments, out, first)
    helpers: dict[int, Keeper] = {}
    helps: dict[tuple[dt.date, int], list[Task]] = {}
    alone: list[Task] = []
    for (day, keeper), some in sorted(batches.items()):
        for item in in_order(some):
            if not item.job.needs_two:
                continue
            helper = _helper(availability, capacity, item, (day, keeper))
            who = None if helper is None else availability.keepers[helper]
            task = Task(item, day, availability.keepers[keeper], who)
            if helper is None or who is None:
                alone.append(task)
                continue
            helpers[item.number] = who
            helps.setdefault((day, helper), []).append(task)
    made = []
    for day, keeper in sorted({*batches, *helps}):
        who = availability.keepers[keeper]
        own = in_order(batches.get((day, keeper), []))
        tasks = tuple(Task(item, day, who, helpers.get(item.number)) for item in own)
        made.append(Round(day, who, tasks, tuple(helps.get((day, keeper), ()))))
    made.sort(key=lambda one: (one.day, one.keeper.id))
    alone.sort(key=lambda task: (task.day, task.keeper.id))
    return tuple(made), tuple(alone)


def _helper(availability: Availability, capacity: Capacity, item: Item, slot: Slot) -> int | None:
    """Return who lends a hand: somebody who lifts, has the minutes, and is there anyway if anybody is."""
    day, keeper = slot
    able = []
    for n, other in enumerate(availability.keepers):
        if n == keeper or not can_do(availability.site, other, ("lifting",)):
            continue
        workload = capacity.workload((day, n))
        if refuse_load(availability, other, day, workload.minutes + item.job.minutes, workload) is None:
            able.append(n)
    used = capacity.used
    helper = min(able, key=lambda n: ((day, n) not in used, used.get((day, n), 0), n), default=None)
    if helper is not None:
        capacity.lend(item, (day, helper))
    return helper
