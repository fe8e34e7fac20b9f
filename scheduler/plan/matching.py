"""Which days of a series were met by which day on which the job was done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence


def met(days: Sequence[dt.date], done: Iterable[dt.date], early: int) -> dict[dt.date, dt.date]:
    """Return for each day on which a job was done the day of the series that it met; both are in order.

    It meets that day itself; else the next day, up to `early` days ahead, which is nearer than any before where `early`
    is less than half the time between two; else the latest day before it that is still open. What lies open before the
    day that it meets is settled with it. What meets nothing was done over and above.
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
