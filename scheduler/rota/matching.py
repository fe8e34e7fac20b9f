"""Who takes which of the items that are alike: a matching, since how many each takes is settled.

In this order: as it was published; the keeper who is at that enclosure on the day anyway, then the one who
knows it; the day on which it falls due; and jobs that nobody loves to whoever did them least.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from scheduler.rota.availability import Availability
from scheduler.rota.grouping import Groups
from scheduler.rota.model import Assignment, Item, Past, Slot
from scheduler.rota.solver import Program
from scheduler.rota.week_program import Key

PUBLISHED, SAME_DAY, KNOWN, LATE, TURN = 100.0, 10.0, 6.0, 1.0, 2.0
"""What counts how much; house values."""

KNOWN_MINUTES = 120.0
"""After so many minutes in an enclosure a keeper knows it."""

UNLOVED = frozenset({"filter-check", "media-rinse", "water-change", "wipe-down"})
"""Jobs that are shared in turn: wet, heavy or dirty. House value."""


class Matching:
    """Whom the items of a week suit, by who is where on which day, knows which enclosure and had which
    turn."""

    def __init__(
        self,
        availability: Availability,
        past: Past,
        published: Mapping[int, Slot],
        settled: Iterable[Assignment],
    ) -> None:
        """Begin with what the log says and what is settled; `published` are slots of items by their
        number."""
        self._published = published
        ids = {keeper.id: number for number, keeper in enumerate(availability.keepers)}
        self._minutes_in = {(ids[k], e): m for (k, e), m in past.knows.items() if k in ids}
        self._turns: dict[tuple[int, str], float] = {
            (ids[k], key): float(n) for (k, key), n in past.turns.items() if k in ids
        }
        self._shares = [keeper.share or 0.1 for keeper in availability.keepers]
        self._visits: set[tuple[int, dt.date, str]] = set()
        for item, slot in settled:
            self._take(item, slot)

    def _take(self, item: Item, slot: Slot) -> None:
        """Note that an item has its slot."""
        day, keeper = slot
        enclosure = item.job.enclosure.id
        self._visits.add((keeper, day, enclosure))
        self._minutes_in[keeper, enclosure] = (
            self._minutes_in.get((keeper, enclosure), 0.0) + item.job.minutes
        )
        if item.job.key in UNLOVED:
            turn = (keeper, item.job.key)
            self._turns[turn] = self._turns.get(turn, 0.0) + 1.0

    def assign(self, groups: Groups, counts: Mapping[Key, int]) -> list[Assignment]:
        """Return the slot of each item that has one; the others are left."""
        slots: dict[int, list[tuple[Slot, int]]] = {}
        for (number, day, keeper), count in sorted(counts.items()):
            slots.setdefault(number, []).append(((day, keeper), count))
        assignments: list[Assignment] = []
        for number, some in enumerate(groups.values()):
            for item, slot in self._match(some, slots.get(number, [])):
                self._take(item, slot)
                assignments.append((item, slot))
        return assignments

    def _match(self, alike: list[Item], slots: list[tuple[Slot, int]]) -> Iterable[Assignment]:
        places = sum(count for _, count in slots)
        if len(slots) == 1 and places == len(alike):
            return [(item, slots[0][0]) for item in alike]
        if not slots:
            return []
        alike = alike[:places]
        program = Program()
        columns: list[list[int]] = []
        for item in alike:
            own = [program.variable(-1000.0 - self._worth(item, slot), 1.0) for slot, _ in slots]
            program.row(0.0, 1.0, [(one, 1.0) for one in own])
            columns.append(own)
        for at, (_, count) in enumerate(slots):
            program.row(0.0, count, [(own[at], 1.0) for own in columns])
        values = program.relaxed().run().values
        return [
            (item, slot)
            for item, own in zip(alike, columns, strict=True)
            for one, (slot, _) in zip(own, slots, strict=True)
            if values[one] > 0.5
        ]

    def _worth(self, item: Item, slot: Slot) -> float:
        day, keeper = slot
        enclosure = item.job.enclosure.id
        worth = PUBLISHED if self._published.get(item.number) == slot else 0.0
        worth += SAME_DAY if (keeper, day, enclosure) in self._visits else 0.0
        worth += KNOWN * min(1.0, self._minutes_in.get((keeper, enclosure), 0.0) / KNOWN_MINUTES)
        worth -= LATE * abs((day - item.occurrence.day).days)
        if item.job.key in UNLOVED:
            worth -= TURN * min(20.0, self._turns.get((keeper, item.job.key), 0.0) / self._shares[keeper])
        return worth
