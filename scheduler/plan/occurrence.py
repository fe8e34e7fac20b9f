"""Series to occurrences in the order of days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.care import Job
from scheduler.description.site import Site
from scheduler.plan.series import Series


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One dated instance of a job."""

    day: dt.date
    time: dt.time
    job: Job
    series: Series


AT_ONCE = dt.timedelta(days=28)
"""Days whose occurrences are held at a time: a year of thousands of enclosures has millions."""


def occurrences(site: Site, series: Iterable[Series], first: dt.date, last: dt.date) -> Iterator[Occurrence]:
    """Yield the occurrences from `first` to `last`, both included: by day and time, then in the order of the series.

    Series come enclosure by enclosure and in the order of a round, and so do the occurrences of one hour.
    """
    held = tuple(series)
    while first <= last:
        end = min(last, first + AT_ONCE)
        found: dict[tuple[dt.date, dt.time], list[Occurrence]] = {}
        for one in held:
            time = site.place.time_of(one.job.part)
            for day in one.between(first, end):
                found.setdefault((day, time), []).append(Occurrence(day, time, one.job, one))
        for moment in sorted(found):
            yield from found.pop(moment)
        first = end + dt.timedelta(days=1)


def by_day(found: Iterable[Occurrence]) -> Iterator[tuple[dt.date, list[Occurrence]]]:
    """Yield each day with its occurrences."""
    day: dt.date | None = None
    batch: list[Occurrence] = []
    for occurrence in found:
        if day is not None and occurrence.day != day:
            yield day, batch
            batch = []
        day = occurrence.day
        batch.append(occurrence)
    if day is not None:
        yield day, batch
