"""What differs between a published rota and another one, for the people who do it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.history import JobRef, OccurrenceRef

if TYPE_CHECKING:
    from scheduler.log import Published
    from scheduler.rota import Rota


NEAR = dt.timedelta(days=7)
"""What falls due so near to a published day of the same job is taken for that, moved. House value."""


@dataclass(frozen=True, slots=True)
class RotaChange:
    """What differs from the published rota for one occurrence: (day, keeper's id) before and now; None is
    nobody.

    It is `gone` where the job is no longer described.
    """

    enclosure: str
    job: str
    variant: str
    due: dt.date
    before: tuple[dt.date, str] | None
    now: tuple[dt.date, str] | None
    gone: bool = False


def changes_since(
    published: Published | None, made: Rota, jobs: Collection[JobRef]
) -> tuple[RotaChange, ...]:
    """Return what differs from a published rota in the span of another, for those who were to do it or are
    now.

    What is done is nobody's any more and is no change; nor is what falls due on another day and keeps its own
    day and keeper, or is left of an earlier day to the same keeper. What falls due after the published days
    is new, and no change. `jobs` are those of the plan.
    """
    if published is None or not published.assigned:
        return ()
    was = {a.ref: (a.day, a.keeper) for a in published.assigned}
    now = {a.ref: (a.day, a.keeper) for a in made.assigned()}
    due = {*now, *(left.item.ref for left in made.unfilled)}
    moved: dict[JobRef, list[OccurrenceRef]] = {}
    found: list[RotaChange] = []
    for ref, slot in was.items():
        if ref not in due and made.first <= slot[0] <= made.last:
            moved.setdefault(ref.job, []).append(ref)
            if ref.job not in jobs:
                found.append(RotaChange(*ref, slot, None, gone=True))
    for ref in sorted(due):
        before, after = was.get(ref), now.get(ref)
        near = [n for n in moved.get(ref.job, ()) if abs(n.due - ref.due) <= NEAR]
        if before is None and near:
            # It fell due on another day when it was published.
            nearest = min(near, key=lambda n: (was[n] != after, abs((n.due - ref.due).days)))
            moved[ref.job].remove(nearest)
            before = was[nearest]
        if before is not None and before[0] < made.first:
            before = (made.first, before[1])
        inside = any(slot and made.first <= slot[0] <= made.last for slot in (before, after))
        if before != after and inside and ref.due <= published.last:
            found.append(RotaChange(*ref, before, after))
    return tuple(sorted(found, key=lambda c: (c.due, c.enclosure, c.job, c.variant)))
