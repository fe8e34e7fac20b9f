"""What somebody moved to another day in a calendar: held against the rules of the rota, and kept where they
allow it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.description.site import Keeper
from scheduler.history import OccurrenceRef
from scheduler.workflow.rota.publication import store
from scheduler.workflow.rota.shares import Shares
from scheduler.workflow.rota.site_rota import known_of
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.rota import Item, Task
    from scheduler.rota.availability import Availability
    from scheduler.rota.refusal import Refusal


@dataclass(frozen=True, slots=True)
class Shift:
    """An occurrence that somebody moved to another day."""

    due: OccurrenceRef
    keeper: Keeper | None
    to: dt.date


def shift(
    space: Workspace, shares: Shares, shifts: Sequence[Shift], *, all_or_none: bool = False
) -> list[Refusal | None]:
    """Move what may be moved, and return for each why it may not; None where it was moved.

    With `all_or_none` nothing is moved where anything may not.

    The published rota changes by those days alone. A site without keepers has none: there nothing is stored,
    and the window alone decides.
    """
    items = {item.ref: item for item in shares.items}
    if not space.site.keepers:
        return [_outside(items.get(one.due), one.to, space.today) for one in shifts]
    from scheduler.rota.availability import Availability

    known = known_of(space)
    past = known.past(space.site, space.today)
    moving = _Moving(
        shares.tasks, Availability(space.site, known.not_there, space.today, past), space.today, past.out
    )
    whys = [moving.move(items.get(one.due), one) for one in shifts]
    if all_or_none and any(why is not None for why in whys):
        return whys
    moved = {one.due: one.to for one, why in zip(shifts, whys, strict=True) if why is None}
    if moved and known.published is not None:
        rows = tuple(replace(a, day=moved.get(a.ref, a.day)) for a in known.published.assigned)
        store(space, replace(known.published, assigned=rows))
    return whys


def _outside(item: Item | None, to: dt.date, today: dt.date) -> Refusal | None:
    """Return why an occurrence cannot be done on a day, whoever does it; None where it can."""
    from scheduler.rota.refusal import Refusal

    if item is None:
        return Refusal("gone", None, to)
    if to < today:
        return Refusal("over", None, to)
    days = tuple(sorted({*item.days, *item.outer}))
    return None if to in days else Refusal("window", None, to, days=days)


class _Moving:
    """Moves tasks of a rota one by one, each held against the ones before."""

    def __init__(
        self, tasks: Iterable[Task], availability: Availability, today: dt.date, out: Mapping[str, int]
    ) -> None:
        self._tasks: dict[OccurrenceRef, Task] = {task.item.ref: task for task in tasks}
        self._availability, self._today, self._out = availability, today, out

    def move(self, item: Item | None, one: Shift) -> Refusal | None:
        """Move a task and return None, or return which rule forbids it."""
        from scheduler.rota.eligibility import refuse, workload_of
        from scheduler.rota.refusal import Refusal

        task, keeper, day = self._tasks.get(one.due), one.keeper, one.to
        if task is None or keeper is None or task.keeper.id != keeper.id:
            return Refusal("gone", keeper, day)
        rest = [t for due, t in self._tasks.items() if t.keeper.id == keeper.id and due != one.due]
        work = ((t.day, t.item.job.minutes) for t in rest)
        workload = workload_of(day, work, self._today, self._out.get(keeper.id, 0))
        refusal = _outside(item, day, self._today) or refuse(
            self._availability, keeper, task.item.job, day, workload, own_weekdays=False
        )
        if refusal is None:
            self._tasks[one.due] = replace(task, day=day)
        return refusal
