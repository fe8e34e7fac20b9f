"""What the weeks left over: put where there is room, made room for, or given the place of what is less
urgent.

The weeks are shared out one by one, and count minutes alone. Here the whole span is looked at, and the class
of a job decides: something more urgent is never left while something less urgent is done by somebody who
could have taken it.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Sequence

from scheduler.care import LEAST_URGENT, urgency
from scheduler.rota.capacity import Capacity
from scheduler.rota.model import Assignment, Item, Slot

DEPTH = 2
"""So many others in a row may move so that one more finds a place."""

TRIES = 20_000
"""So many places are looked at for one item, so that it ends; alike on every machine."""

MOST_TURNS = 50
"""So often the span is looked at anew: a stop that is never needed, since each turn leaves it better than
before."""


Loads = Callable[[], Sequence[float]]


class Repair:
    """The slots of a span, and what is left; `loads` tells the minutes of each keeper over the share."""

    def __init__(self, capacity: Capacity, loads: Loads) -> None:
        """Take what is settled."""
        self.capacity, self._loads, self._tries = capacity, loads, 0

    def run(self, some: Sequence[Item], left: Iterable[Item]) -> list[Item]:
        """Repair the span until nothing changes; return what is left then.

        Each turn brings something more urgent forward, or in: it ends, and what comes out of it is what goes
        into it the next time, so that a rota that is published stays as it is.
        """
        overdue = sorted((i for i in some if i.occurrence.state == "overdue"), key=self._order)
        undone = list(left)
        for _ in range(MOST_TURNS):
            before = dict(self.capacity.slots)
            undone = self._fill(undone)
            undone = self._fill([*undone, *self._advance(overdue)])
            undone = self._use_room(overdue, undone)
            if self.capacity.slots == before:
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
            displaced = self._displace(item)
            if displaced is None:
                undone.append(item)
                continue
            for other in displaced:
                heapq.heappush(waiting, (self._order(other), other))
        # What was displaced may have left more room than was needed.
        return [item for item in undone if not self._place(item)]

    def _use_room(self, overdue: Sequence[Item], left: Iterable[Item]) -> list[Item]:
        """Use the room that is there now, as long as that helps: for what is left, and for what is overdue to
        come sooner.

        Nothing is displaced for it. Return what is left then.
        """
        undone = sorted(left, key=self._order)
        while True:
            undone = [item for item in undone if not self._place(item)]
            here = [item for item in overdue if item.number in self.capacity.slots]
            if not sum(self._move_earlier(item) for item in here):
                return undone

    def _move_earlier(self, item: Item) -> bool:
        was = self.capacity.leave(item)
        sooner = (slot for slot in self.capacity.possible(item) if slot[0] < was[0])
        slot = next((slot for slot in sooner if self.capacity.fits(item, slot)), None)
        self.capacity.take(item, slot or was)
        return slot is not None

    def _advance(self, overdue: Sequence[Item]) -> list[Item]:
        """Give what is overdue the first day on which it can have a place, before what is less urgent.

        Return what has no place any more: something else that is open, and waits.
        """
        return [other for item in overdue for other in self._advance_one(item)]

    def _advance_one(self, item: Item) -> list[Item]:
        was = self.capacity.slots.get(item.number)
        if was is None:
            return []
        earlier = (slot for slot in self.capacity.possible(item) if slot[0] < was[0])
        tried = (self._advance_to(item, slot) for slot in earlier)
        return next((displaced for displaced in tried if displaced is not None), [])

    @staticmethod
    def _order(item: Item) -> tuple[int, int, int, int]:
        return *item.rank, -item.job.minutes, item.number

    def _place(self, item: Item) -> bool:
        slot = self.capacity.find(item, self._loads())
        if slot is None:
            return False
        self.capacity.take(item, slot)
        return True

    # --- others move ---

    def _make_room(self, item: Item) -> bool:
        """Let others move within their windows so that an item finds a place; tell whether it did."""
        self._tries = TRIES
        moves = self._chain(item, DEPTH, {item.number}, list(self.capacity.possible(item)), item)
        if moves is None:
            return False
        for one, _ in moves[1:]:
            self.capacity.leave(one)
        for one, slot in moves:
            self.capacity.take(one, slot)
        return True

    def _chain(
        self, item: Item, depth: int, moving: set[int], slots: Sequence[Slot], whose: Item
    ) -> list[Assignment] | None:
        """Return an item and its place, then each that makes way for the one before; None where there is no
        such chain.

        `whose` is the item for which all of them move: what is overdue waits longer only for what is more
        urgent.
        """
        capacity = self.capacity
        direct = next((slot for slot in slots if capacity.fits(item, slot)), None)
        if direct is not None:
            return [(item, direct)]
        if not depth:
            return None
        for slot in slots:
            refusal = capacity.refusal(item, slot)
            if refusal is None or refusal.kind != "minutes":
                continue
            lacks = refusal.needs - refusal.has
            for other in sorted(capacity.items.get(slot, ()), key=lambda i: (i.job.minutes, i.number)):
                self._tries -= 1
                if self._tries < 0:
                    return None
                if other.job.minutes < lacks or other.number in moving:
                    continue
                capacity.leave(other)
                capacity.take(item, slot)
                places = [
                    place
                    for place in capacity.possible(other)
                    if place[0] <= slot[0]
                    or other.occurrence.state != "overdue"
                    or _may_displace(whose, other)
                ]
                chain = self._chain(other, depth - 1, {*moving, other.number}, places, whose)
                capacity.leave(item)
                capacity.take(other, slot)
                if chain is not None:
                    return [(item, slot), *chain]
        return None

    # --- others are displaced ---

    def _displace(self, item: Item) -> list[Item] | None:
        """Give an item the place of what is less urgent, and return that; None where nothing less urgent
        makes room."""
        choices = []
        for slot in self.capacity.possible(item):
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
            self.capacity.leave(other)
        self.capacity.take(item, slot)
        return others

    def _less_urgent(self, item: Item, slot: Slot) -> Iterable[list[Item]]:
        """Yield what could be displaced so that a slot has room for an item: of that day; or another round of
        the week."""
        refusal = self.capacity.refusal(item, slot)
        if refusal is None:
            return
        if refusal.kind == "minutes":
            lower = [o for o in self.capacity.items.get(slot, ()) if _may_displace(item, o)]
            chosen = _enough(lower, refusal.needs - refusal.has)
            if chosen:
                yield chosen
        elif refusal.kind == "rounds":
            for day in sorted(self.capacity.rounds(slot) - {slot[0]}):
                own = self.capacity.items.get((day, slot[1]), [])
                if own and all(_may_displace(item, o) for o in own):
                    yield list(own)

    def _advance_to(self, item: Item, slot: Slot) -> list[Item] | None:
        """Bring an item forward to a slot where that has room, or what is displaced finds another place, or
        can wait.

        Return what waits then; None where the item stays where it was.
        """
        capacity = self.capacity
        was = capacity.leave(item)
        if capacity.fits(item, slot):
            capacity.take(item, slot)
            return []
        refusal = capacity.refusal(item, slot)
        others: list[Item] = []
        if refusal is not None and refusal.kind == "minutes":
            lower = [o for o in capacity.items.get(slot, ()) if _may_displace(item, o)]
            others = _enough(lower, refusal.needs - refusal.has)
        if not others:
            capacity.take(item, was)
            return None
        for other in others:
            capacity.leave(other)
        capacity.take(item, slot)
        placed: list[Item] = []
        for other in sorted(others, key=self._order):
            place = capacity.find(other, self._loads())
            if place is not None:
                capacity.take(other, place)
                placed.append(other)
            elif not other.waited:
                break
        else:
            return [other for other in others if other.number not in capacity.slots]
        for other in placed:
            capacity.leave(other)
        capacity.leave(item)
        for other in others:
            capacity.take(other, slot)
        capacity.take(item, was)
        return None


def _may_displace(item: Item, other: Item) -> bool:
    """Tell whether an item may displace another, of a lower class, or of the same and open for fewer days."""
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
    """Return the minutes that are left of each class, the most urgent first: what is left is compared by
    it."""
    minutes = [0] * LEAST_URGENT
    for item in left:
        minutes[urgency(item.job) - 1] += item.job.minutes
    return tuple(minutes)
