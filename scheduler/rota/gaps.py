"""The minutes that rounds leave: for what the weeks left over, and for lending a hand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from scheduler.rota.assigning import Slot
from scheduler.rota.model import Item
from scheduler.rota.roster import Roster


class Gaps:
    """Which keepers have how many minutes left on which day."""

    def __init__(
        self, roster: Roster, taken: Iterable[tuple[Item, Slot]], out: Mapping[str, int], first: dt.date
    ) -> None:
        """Take what is settled. `out` are rounds of the week of `first` that are over, by the keeper's id."""
        self._roster, self._out, self._week = roster, out, first.isocalendar()[:2]
        self.used: dict[Slot, int] = {}
        for item, slot in taken:
            self.take(item, slot)

    def take(self, item: Item, slot: Slot) -> None:
        """Use up the minutes of an item."""
        self.used[slot] = self.used.get(slot, 0) + item.job.minutes

    def fits(self, item: Item, slot: Slot) -> bool:
        """Tell whether a keeper has the minutes for an item on a day, and the round where it is a new one."""
        day, number = slot
        keeper = self._roster.keepers[number]
        if self.used.get(slot, 0) + item.job.minutes > self._roster.minutes(keeper, day):
            return False
        if slot in self.used or keeper.rounds_a_week is None:
            return True
        week = day.isocalendar()[:2]
        gone = self._out.get(keeper.id, 0) if week == self._week else 0
        planned = sum(n == number and d.isocalendar()[:2] == week for d, n in self.used)
        return planned + gone < keeper.rounds_a_week

    def find(self, item: Item, loads: Sequence[float]) -> Slot | None:
        """Return a slot for an item in its window: in a round that there is already, of whoever has the least load."""
        slots = [
            (day, number)
            for day in sorted({*item.days, *item.outer})
            for number in self._roster.able(item.job.skills)
            if self.fits(item, (day, number))
        ]
        return min(slots, key=lambda s: (s not in self.used, loads[s[1]], s), default=None)
