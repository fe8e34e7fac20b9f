"""The incumbent, what was published and still holds: the rota stays as it is wherever it can."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from scheduler.history import JobRef
from scheduler.rota.availability import Availability
from scheduler.rota.eligibility import Workload, refuse
from scheduler.rota.model import Assigned, Item, Slot


def published_slots(
    items: Iterable[Item], published: Iterable[Assigned], availability: Availability
) -> dict[int, Slot]:
    """Return the published slot of each item, by its number, where it is one of the item's days and the
    keeper is known.

    The same due day goes before; where a job has moved, the nearest of its published days does.
    """
    numbers = {keeper.id: number for number, keeper in enumerate(availability.keepers)}
    by_job: dict[JobRef, list[Assigned]] = {}
    for one in published:
        if one.keeper in numbers:
            by_job.setdefault(one.ref.job, []).append(one)
    left: list[Item] = []
    slots: dict[int, Slot] = {}
    for item in items:
        own = by_job.get(item.ref.job, [])
        today = item.occurrence.day
        if item.waited and today in item.days:
            # What is left of an earlier day is the same keeper's today.
            before = next((a for a in own if a.due == item.due and a.day < today), None)
            if before is not None:
                own.remove(before)
                slots[item.number] = today, numbers[before.keeper]
                continue
        same = next((a for a in own if a.due == item.due and a.day in item.days), None)
        if same is None:
            left.append(item)
            continue
        own.remove(same)
        slots[item.number] = same.day, numbers[same.keeper]
    for item in left:
        own = by_job.get(item.ref.job, [])
        near = [a for a in own if a.day in item.days]
        if near:
            best = min(near, key=lambda a: (abs((a.due - item.due).days), a.day))
            own.remove(best)
            slots[item.number] = best.day, numbers[best.keeper]
    return slots


def valid_slots(
    items: Iterable[Item],
    published: Mapping[int, Slot],
    availability: Availability,
    over: Mapping[str, int],
    first: dt.date,
) -> dict[int, Slot]:
    """Return the slots that no rule forbids: who is there, has the skill, the minutes for all of the day, and
    the rounds.

    `over` are rounds of the week of `first` that are over, by the keeper's id.
    """
    used: dict[tuple[int, dt.date], int] = {}
    days: dict[tuple[int, tuple[int, int]], set[dt.date]] = {}
    valid: dict[int, Slot] = {}
    for item in sorted(items, key=lambda i: (-i.job.minutes, i.number)):
        slot = published.get(item.number)
        if slot is None:
            continue
        day, keeper = slot
        who, week = availability.keepers[keeper], day.isocalendar()[:2]
        rounds = days.setdefault((keeper, week), set())
        gone = over.get(who.id, 0) if week == first.isocalendar()[:2] else 0
        minutes = used.get((keeper, day), 0)
        workload = Workload(minutes, day in rounds, len(rounds) + gone)
        if (
            refuse(availability, who, item.job, day, workload, own_weekdays=day != item.occurrence.day)
            is None
        ):
            rounds.add(day)
            used[keeper, day] = minutes + item.job.minutes
            valid[item.number] = slot
    return valid
