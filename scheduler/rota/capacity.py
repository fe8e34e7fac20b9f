"""The minutes that rounds leave: for what the weeks left over, and for lending a hand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.rota.availability import Availability
from scheduler.rota.eligibility import Workload, refuse, workload_of
from scheduler.rota.model import Assignment, Item, Slot
from scheduler.rota.refusal import Refusal


class Capacity:
    """Which keepers have what on which day, and how many minutes they have left."""

    def __init__(
        self,
        availability: Availability,
        assignments: Iterable[Assignment],
        out: Mapping[str, int],
        first: dt.date,
    ) -> None:
        """Take what is settled. `out` are rounds of the week of `first` that are over, by the keeper's id."""
        self.availability, self._out, self._first = availability, out, first
        self.used: dict[Slot, int] = {}
        self.items: dict[Slot, list[Item]] = {}
        self.slots: dict[int, Slot] = {}
        self._rounds: dict[tuple[int, tuple[int, int]], set[dt.date]] = {}
        for item, slot in assignments:
            self.take(item, slot)

    def take(self, item: Item, slot: Slot) -> None:
        """Use up the minutes of an item."""
        self.slots[item.number] = slot
        self.lend(item, slot)
        self.items.setdefault(slot, []).append(item)

    def lend(self, item: Item, slot: Slot) -> None:
        """Use up the minutes of an item in which somebody lends a hand."""
        self.used[slot] = self.used.get(slot, 0) + item.job.minutes
        self.rounds(slot).add(slot[0])

    def leave(self, item: Item) -> Slot:
        """Take an item out again; return where it was."""
        slot = self.slots.pop(item.number)
        self.items[slot] = [other for other in self.items[slot] if other.number != item.number]
        self.used[slot] -= item.job.minutes
        if not self.items[slot] and not self.used[slot]:
            del self.items[slot], self.used[slot]
            self.rounds(slot).discard(slot[0])
        return slot

    def rounds(self, slot: Slot) -> set[dt.date]:
        """Return the days of rounds of a slot's keeper in its week."""
        return self._rounds.setdefault((slot[1], slot[0].isocalendar()[:2]), set())

    def workload(self, slot: Slot) -> Workload:
        """Return what a keeper has on a day and in its week."""
        day, number = slot
        work = ((on, self.used.get((on, number), 0)) for on in self.rounds(slot))
        return workload_of(day, work, self._first, self._out.get(self.availability.keepers[number].id, 0))

    def refusal(self, item: Item, slot: Slot) -> Refusal | None:
        """Return why a keeper may not take an item on a day beside what he or she has; None where that may
        be."""
        day, number = slot
        keeper = self.availability.keepers[number]
        return refuse(self.availability, keeper, item.job, day, self.workload(slot), own_weekdays=False)

    def fits(self, item: Item, slot: Slot) -> bool:
        """Tell whether a keeper may take an item on a day beside what he or she has."""
        return self.refusal(item, slot) is None

    def possible(self, item: Item) -> Iterator[Slot]:
        """Yield the slots in the whole window of an item, day by day, of those who can do it."""
        able = self.availability.able(item.job.skills)
        for day in sorted({*item.days, *item.outer}):
            for number in able:
                if self.availability.minutes(self.availability.keepers[number], day) >= item.job.minutes:
                    yield day, number

    def find(self, item: Item, loads: Sequence[float]) -> Slot | None:
        """Return a slot for an item in its window: in a round that there is already, of whoever has the least
        load.

        What is open goes to the first day on which somebody has the minutes.
        """
        fitting = [slot for slot in self.possible(item) if self.fits(item, slot)]
        if item.waited:
            fitting = [slot for slot in fitting if slot[0] == fitting[0][0]]
        return min(fitting, key=lambda s: (s not in self.used, loads[s[1]], s), default=None)
