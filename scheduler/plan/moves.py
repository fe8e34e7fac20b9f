"""What a change of the record, or of the description, does to a plan: which jobs come on another day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from scheduler.care import Job
from scheduler.history import JobRef
from scheduler.plan.series import Series

AHEAD = dt.timedelta(days=366 * 3)
"""So far the next day of a job is looked for."""


@dataclass(frozen=True, slots=True)
class Next:
    """When a job comes next, and since when it is open where it fell due before."""

    job: Job
    day: dt.date
    since: dt.date | None


@dataclass(frozen=True, slots=True)
class Move:
    """A job whose next day is another one: from None where it is new, to None where it is not planned any
    more.

    It is `open` where that day is over already, so that it is shown today.
    """

    job: Job
    before: dt.date | None
    after: dt.date | None
    open: bool = False


def next_days(series: Iterable[Series], today: dt.date) -> dict[JobRef, Next]:
    """Return when each job comes next."""
    found: dict[JobRef, Next] = {}
    for one in series:
        day = next(one.between(today, today + AHEAD), None)
        if day is not None:
            since = one.open.since if one.open is not None and day == one.open.day else None
            found[one.job.ref] = Next(one.job, day, since)
    return found


def moves(before: Mapping[JobRef, Next], after: Mapping[JobRef, Next]) -> list[Move]:
    """Return the jobs that come on another day, in the order of their new days; those that are gone at the
    end."""
    found = []
    for name in {**before, **after}:
        old, new = before.get(name), after.get(name)
        was = None if old is None else (old.since or old.day)
        is_ = None if new is None else (new.since or new.day)
        if was != is_:
            job = new.job if new is not None else old.job  # type: ignore[union-attr]
            found.append(Move(job, was, is_, new is not None and new.since is not None))
    return sorted(
        found, key=lambda m: (m.after or dt.date.max, m.job.enclosure.id, m.job.rank, m.job.variant)
    )
