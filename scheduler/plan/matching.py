"""Which days of a series were met by which day on which the job was done, and how early doing counts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from itertools import pairwise

from scheduler.care import Job, On

ONE_OFF_EARLY_DAYS = 28
"""A job that comes once is taken as done when it was done so many days before its day. House value."""


def early_days(job: Job, days: Sequence[dt.date]) -> int:
    """Return how many days ahead of one of its `days` (in order) a job counts as done for it.

    Its window, and never half way to the next; what follows from a reading is not met by what was done before
    it.
    """
    if job.recorded_as is not None:
        return 0
    if isinstance(job.cadence, On) and len(job.cadence.days) == 1:
        return max(job.window, ONE_OFF_EARLY_DAYS)
    gap = min(((b - a).days for a, b in pairwise(days)), default=2 * job.window + 1)
    return min(job.window, (gap - 1) // 2)


def met(days: Sequence[dt.date], done: Iterable[dt.date], early: int) -> dict[dt.date, dt.date]:
    """Return for each day on which a job was done the day of the series that it met; both are in order.

    It meets that day itself; else the next day, up to `early` days ahead, which is nearer than any before
    where `early` is less than half the time between two; else the latest day before it that is still open.
    What lies open before the day that it meets is settled with it. What meets nothing was done over and
    above.
    """
    found: dict[dt.date, dt.date] = {}
    open_days = list(days)
    for day in sorted(set(done)):
        past = [d for d in open_days if d <= day]
        ahead = [d for d in open_days if day < d <= day + dt.timedelta(days=early)]
        if ahead and (not past or past[-1] != day):
            past.append(ahead[0])
        if past:
            found[day] = past[-1]
            open_days = open_days[len(past) :]
    return found


def missed(days: Iterable[dt.date], since: dt.date, last: dt.date | None, early: int) -> list[dt.date]:
    """Return the days from `since` on that were not met, given the day on which the job was last done."""
    settled = None if last is None else last + dt.timedelta(days=early)
    return [day for day in days if day >= since and (settled is None or day > settled)]
