"""What the weeks left over: put where there is room, made room for, or given the place of what is less urgent.

The weeks are shared out one by one, and count minutes alone. Here the whole span is looked at, and the class of a job
decides: something more urgent is never left while something less urgent is done by somebody who could have taken it.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Sequence

from scheduler.care import LEAST_URGENT, urgency
from scheduler.rota.capacity import Gaps
from scheduler.rota.matching import Slot
from scheduler.rota.model import Item

DEPTH = 2
"""So many others in a row may move so that one more finds a place."""

TRIES = 20_000
"""So many places are looked at for one item, so that it ends; alike on every machine."""

MOST_TURNS = 50
"""So often the span is looked at anew: a stop that is never needed, since each turn leaves it better than before."""

Move = tuple[Item, Slot]
Loads = Callable[[], Sequence[float]]


class Repair:
    """The slots of a span, and what is left; `loads` tells the minutes of each keeper over the share."""

    def __init__(self, gaps: Gaps, loads: Loads) -> None:
        """Take what is settled."""
        self.gaps, self._loads, self._tries = gaps, loads, 0

    def run(self, some: Sequence[Item], left: Iterable[Item]) -> list[Item]:
        """Repair the span until nothing changes; return what is left then.

        Each turn brings something more urgent forward, or in: it ends, and what comes out of it is what goes into it the
        next time, so that a rota that is published stays as it is.
        """
        overdue = sorted((i for i in some if i.occurrence.state == "overdue"), key=self._order)
        undone = list(left)
        for _ in range(MOST_TURNS):
            before = dict(self.gaps.slots)
            undone = self._fill(undone)
            undone = self._fill([*undone, *self._hasten(overdue)])
            undone = self._use_room(overdue, undone)
            if self.gaps.slots == before:
                break
        return undone

    def _fill(self, left: Iterable[Item]) -> list[Item]:
        """Give what is left a slot, the most urgent first, and return what is left then."""
        waiting = [(self._order(item), item) for item in left]
        heapq.heapify(waiting)
        undone: list[Item] = []
        while waiting:
            _, item = heapq.heappop(waiting)
            if self._place(item) or self._make_room(item):
                continue
            given_up = self._displace(item)
            if given_up is None:
                undone.append(item)
                continue
            for other in given_up:
                heapq.heappush(waiting, (self._order(other), other))
        # What was given up may have left more room than was needed.
        return [item for item in undone if not self._place(item)]

    def _use_room(self, overdue: Sequence[Item], left: Iterable[Item]) -> list[Item]:
        """Use the room that is there now, as long as that helps: for what is left, and for what is overdue to come sooner.

        Nothing gives way for it. Return what is left then.
        """
        undone = sorted(left, key=self._order)
        while True:
            undone = [item for item in undone if not self._place(item)]
            here = [item for item in overdue if item.number in self.gaps.slots]
            if not sum(self._come_sooner(item) for item in here):
                return undone

    def _come_sooner(self, item: Item) -> bool:
        was = self.gaps.leave(item)
        sooner = (slot for slot in self.gaps.possible(item) if slot[0] < was[0])
        slot = next((slot for slot in sooner if self.gaps.fits(item, slot)), None)
        self.gaps.take(item, slot or was)
        return slot is not None

    def _hasten(self, overdue: Sequence[Item]) -> list[Item]:
        """Give what is overdue the first day on which it can have a place, before what is less urgent.

        Return what has no place any more: something else that is open, and waits.
        """
        self._waits: list[Item] = []
        for item in overdue:
            was = self.gaps.slots.get(item.number)
            if was is not None:
                earlier = (slot for slot in self.gaps.possible(item) if slot[0] < was[0])
                any(self._hasten_to(item, slot) for slot in earlier)
        return self._waits

    @staticmethod
    def _order(item: Item) -> tuple[int, int, int, int]:
        return *item.rank, -item.job.minutes, item.number

    def _place(self, item: Item) -> bool:
        slot = self.gaps.find(item, self._loads())
        if slot is None:
            return False
        self.gaps.take(item, slot)
        return True

    # --- others move ---

    def _make_room(self, item: Item) -> bool:
        """Let others move within their windows so that an item finds a place; tell whether it did."""
        self._tries = TRIES
        moves = self._chain(item, DEPTH, {item.number}, list(self.gaps.possible(item)), item)
        if moves is None:
            return False
        for one, _ in moves[1:]:
            self.gaps.leave(one)
        for one, slot in moves:
            self.gaps.take(one, slot)
        return True

    def _chain(
        self, item: Item, depth: int, moving: set[int], slots: Sequence[Slot], whose: Item
    ) -> list[Move] | None:
        """Return an item and its place, then each that makes way for the one before; None where there is no such chain.

        `whose` is the item for which all of them move: what is overdue waits longer only for what is more urgent.
        """
        gaps = self.gaps
        direct = next((slot for slot in slots if gaps.fits(item, slot)), None)
        if direct is not None:
            return [(item, direct)]
        if not depth:
            return None
        for slot in slots:
            refusal = gaps.refusal(item, slot)
            if refusal is None or refusal.kind != "minutes":
                continue
            lacks = refusal.needs - refusal.has
            for other in sorted(gaps.items.get(slot, ()), key=lambda i: (i.job.minutes, i.number)):
                self._tries -= 1
                if self._tries < 0:
                    return None
                if other.job.minutes < lacks or other.number in moving:
                    continue
                gaps.leave(other)
                gaps.take(item, slot)
                places = [
                    place
                    for place in gaps.possible(other)
                    if place[0] <= slot[0] or other.occurrence.state != "overdue" or _gives_way(other, whose)
                ]
                found = self._chain(other, depth - 1, {*moving, other.number}, places, whose)
                gaps.leave(item)
                gaps.take(other, slot)
                if found is not None:
                    return [(item, slot), *found]
        return None

    # --- others give way ---

    def _displace(self, item: Item) -> list[Item] | None:
        """Give an item the place of what is less urgent, and return that; None where nothing less urgent makes room."""
        choices = []
        for slot in self.gaps.possible(item):
            for others in self._less_urgent(item, slot):
                lost = tuple(
                    sum(o.job.minutes for o in others if urgency(o.job) == cls)
                    for cls in range(1, LEAST_URGENT + 1)
                )
                choices.append((lost, slot, [o.number for o in others], others))
        if not choices:
            return None
        _, slot, _, others = min(choices, key=lambda c: c[:3])
        for other in others:
            self.gaps.leave(other)
        self.gaps.take(item, slot)
        return others

    def _less_urgent(self, item: Item, slot: Slot) -> Iterable[list[Item]]:
        """Yield what could be given up so that a slot has room for an item: of that day; or another round of the week."""
        refusal = self.gaps.refusal(item, slot)
        if refusal is None:
            return
        if refusal.kind == "minutes":
            lower = [o for o in self.gaps.items.get(slot, ()) if _gives_way(o, item)]
            chosen = _enough(lower, refusal.needs - refusal.has)
            if chosen:
                yield chosen
        elif refusal.kind == "rounds":
            for day in sorted(self.gaps.rounds(slot) - {slot[0]}):
                own = self.gaps.items.get((day, slot[1]), [])
                if own and all(_gives_way(o, item) for o in own):
                    yield list(own)

    def _hasten_to(self, item: Item, slot: Slot) -> bool:
        """Bring an item forward to a slot where that has room, or those who give way find another place; tell whether."""
        gaps = self.gaps
        was = gaps.leave(item)
        if gaps.fits(item, slot):
            gaps.take(item, slot)
            return True
        refusal = gaps.refusal(item, slot)
        others: list[Item] = []
        if refusal is not None and refusal.kind == "minutes":
            lower = [o for o in gaps.items.get(slot, ()) if _gives_way(o, item)]
            others = _enough(lower, refusal.needs - refusal.has)
        if not others:
            gaps.take(item, was)
            return False
        for other in others:
            gaps.leave(other)
        gaps.take(item, slot)
        placed: list[Item] = []
        for other in sorted(others, key=self._order):
            found = gaps.find(other, self._loads())
            if found is not None:
                gaps.take(other, found)
                placed.append(other)
            elif not other.waited:
                break
        else:
            self._waits += [other for other in others if other.number not in gaps.slots]
            return True
        for other in placed:
            gaps.leave(other)
        gaps.leave(item)
        for other in others:
            gaps.take(other, slot)
        gaps.take(item, was)
        return False


def _gives_way(other: Item, item: Item) -> bool:
    """Tell whether an item gives way to another: it is of a lower class, or of the same and open for fewer days."""
    return item.rank < other.rank


def _enough(lower: Sequence[Item], minutes: int) -> list[Item]:
    """Return of items, the least urgent first, as many as free the minutes; none where all of them do not."""
    chosen: list[Item] = []
    freed = 0
    for other in sorted(lower, key=lambda o: (*o.rank, -o.job.minutes, o.number), reverse=True):
        if freed >= minutes:
            break
        chosen.append(other)
        freed += other.job.minutes
    if freed < minutes:
        return []
    for other in reversed(list(chosen)):
        # The most urgent of them stays where the others are enough.
        if freed - other.job.minutes >= minutes:
            chosen.remove(other)
            freed -= other.job.minutes
    return chosen


def by_class(left: Iterable[Item]) -> tuple[int, ...]:
    """Return the minutes that are left of each class, the most urgent first: what is left is compared by it."""
    minutes = [0] * LEAST_URGENT
    for item in left:
        minutes[urgency(item.job) - 1] += item.job.minutes
    return tuple(minutes)
