"""What somebody moved to another day in a calendar: held against the rules of the rota, and kept where they allow it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.history import OccurrenceRef
from scheduler.quantities import show_date
from scheduler.workflow.rostering import known_of, store
from scheduler.workflow.syncing import Shares

if TYPE_CHECKING:
    from scheduler.rota import Item, Task
    from scheduler.rota.roster import Roster


@dataclass(frozen=True, slots=True)
class Shift:
    """An occurrence that somebody moved to another day."""

    due: OccurrenceRef
    keeper: Keeper | None
    to: dt.date


def shift(
    file: Path,
    site: Site,
    today: dt.date,
    shares: Shares,
    shifts: Sequence[Shift],
    *,
    as_of: dt.date | None,
) -> list[str]:
    """Move what may be moved, and return for each why it may not; nothing where it was moved.

    The published rota changes by those days alone. A site without keepers has none: there nothing is stored, and the window
    alone decides.
    """
    items = {item.ref: item for item in shares.items}
    if not site.keepers:
        return [_outside(items.get(one.due), one.to, today) for one in shifts]
    from scheduler.rota.roster import Roster

    known = known_of(file, site, today)
    past = known.past(site, today)
    moving = _Moving(shares.tasks, Roster(site, None, today, past), today, past.out)
    whys = [moving.move(items.get(one.due), one) for one in shifts]
    moved = {one.due: one.to for one, why in zip(shifts, whys, strict=True) if not why}
    if moved and known.published is not None:
        rows = [replace(a, day=moved.get(a.ref, a.day)) for a in known.published.assigned]
        store(file, site, (known.published.first, known.published.last), rows, as_of)
    return whys


def _outside(item: Item | None, to: dt.date, today: dt.date) -> str:
    """Return why an occurrence cannot be done on a day, whoever does it; nothing where it can."""
    if item is None:
        return "it is no longer in the plan"
    if to < today:
        return f"{show_date(to)} is over"
    days = sorted({*item.days, *item.outer})
    if to in days:
        return ""
    if len(days) == 1:
        return "it has no window: it is for that day alone"
    return f"its window is {show_date(days[0])} to {show_date(days[-1])}"


class _Moving:
    """Moves tasks of a rota one by one, each held against the ones before."""

    def __init__(self, tasks: Iterable[Task], roster: Roster, today: dt.date, out: Mapping[str, int]) -> None:
        self._tasks: dict[OccurrenceRef, Task] = {task.item.ref: task for task in tasks}
        self._roster, self._today, self._out = roster, today, out

    def move(self, item: Item | None, one: Shift) -> str:
        """Move a task and return nothing, or return which rule forbids it."""
        task, keeper, day = self._tasks.get(one.due), one.keeper, one.to
        if task is None or keeper is None or task.keeper.id != keeper.id:
            return "the rota no longer has it for this keeper"
        why = _outside(item, day, self._today)
        if why:
            return why
        if not self._roster.comes(keeper, day):
            away = self._roster.away(keeper, day)
            return f"{keeper.name} {'is away' if away else f'does not come on a {day:%A}'} ({show_date(day)})"
        rest = [t for due, t in self._tasks.items() if t.keeper.id == keeper.id and due != one.due]
        minutes = task.item.job.minutes + sum(t.item.job.minutes for t in rest if t.day == day)
        most = self._roster.minutes(keeper, day)
        if minutes > most:
            return f"{keeper.name} has {most} min on {show_date(day)} and would need {minutes}"
        week = day.isocalendar()[:2]
        rounds = {t.day for t in rest if t.day.isocalendar()[:2] == week} | {day}
        out = self._out.get(keeper.id, 0) if week == self._today.isocalendar()[:2] else 0
        if keeper.rounds_a_week is not None and len(rounds) + out > keeper.rounds_a_week:
            return (
                f"{keeper.name} has {len(rounds) - 1 + out} of {keeper.rounds_a_week} rounds in the week of {show_date(day)} "
                "already"
            )
        self._tasks[one.due] = replace(task, day=day)
        return ""
