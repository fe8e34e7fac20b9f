"""Tasks to rounds: in walking order, quarantine last, and with a second pair of hands where one is not enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

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
    roster: Roster, taken: Iterable[tuple[Item, dt.date, int]], out: Mapping[str, int], first: dt.date
) -> tuple[tuple[Round, ...], tuple[Task, ...]]:
    """Return the rounds in the order of days and keepers, and the tasks for which no second person was found.

    `out` are rounds of the week of `first` that are over.
    """
    batches: dict[tuple[dt.date, int], list[Item]] = {}
    for item, day, keeper in taken:
        batches.setdefault((day, keeper), []).append(item)
    hands = _Hands(roster, batches, out, first)
    helpers: dict[int, Keeper] = {}
    helps: dict[tuple[dt.date, int], list[Task]] = {}
    alone: list[Task] = []
    for (day, keeper), some in sorted(batches.items()):
        for item in sorted(some, key=walking_order):
            if not item.job.needs_two:
                continue
            helper = hands.lend(item, day, keeper)
            who = None if helper is None else roster.keepers[helper]
            task = Task(item, day, roster.keepers[keeper], who)
            if helper is None or who is None:
                alone.append(task)
                continue
            helpers[item.number] = who
            helps.setdefault((day, helper), []).append(task)
    made = []
    for day, keeper in sorted({*batches, *helps}):
        who = roster.keepers[keeper]
        own = sorted(batches.get((day, keeper), []), key=walking_order)
        tasks = tuple(Task(item, day, who, helpers.get(item.number)) for item in own)
        made.append(Round(day, who, tasks, tuple(helps.get((day, keeper), ()))))
    made.sort(key=lambda one: (one.day, one.keeper.id))
    alone.sort(key=lambda task: (task.day, task.keeper.id))
    return tuple(made), tuple(alone)


class _Hands:
    """Who can lend a hand, as minutes are used up."""

    def __init__(
        self,
        roster: Roster,
        batches: Mapping[tuple[dt.date, int], Sequence[Item]],
        out: Mapping[str, int],
        first: dt.date,
    ) -> None:
        self._roster, self._out, self._week = roster, out, first.isocalendar()[:2]
        self._used = {place: sum(i.job.minutes for i in some) for place, some in batches.items()}

    def lend(self, item: Item, day: dt.date, keeper: int) -> int | None:
        """Return who lends a hand: somebody who lifts, has the minutes, and is there anyway if anybody is."""
        used, roster = self._used, self._roster
        able = [
            n
            for n, other in enumerate(roster.keepers)
            if n != keeper
            and can_do(roster.site, other, ("lifting",))
            and used.get((day, n), 0) + item.job.minutes <= roster.minutes(other, day)
            and ((day, n) in used or self._may_come(n, day))
        ]
        found = min(able, key=lambda n: ((day, n) not in used, used.get((day, n), 0), n), default=None)
        if found is not None:
            used[day, found] = used.get((day, found), 0) + item.job.minutes
        return found

    def _may_come(self, number: int, day: dt.date) -> bool:
        """Tell whether a keeper may have one round more in the week of a day."""
        keeper = self._roster.keepers[number]
        if keeper.rounds_a_week is None:
            return True
        week = day.isocalendar()[:2]
        gone = self._out.get(keeper.id, 0) if week == self._week else 0
        planned = sum(n == number and d.isocalendar()[:2] == week for d, n in self._used)
        return planned + gone < keeper.rounds_a_week
