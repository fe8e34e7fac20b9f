"""Series to occurrences in the order of days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from scheduler.care import ROUTINE_KEYS, Job, Notes, On
from scheduler.description.site import Site
from scheduler.history import Amendment, Entry, JobRef, OccurrenceRef
from scheduler.plan.series import Series

State = Literal["due", "overdue", "done"]


@dataclass(frozen=True, slots=True, repr=False)
class Occurrence:
    """One dated instance of a job.

    `since` is the day on which an open one fell due; `entry` says who did a done one.
    """

    day: dt.date
    time: dt.time
    job: Job
    series: Series
    state: State = "due"
    since: dt.date | None = None
    entry: Entry | None = None

    def __repr__(self) -> str:
        """Return its job, its day and how it stands, on one line."""
        return (
            f"<Occurrence {self.job.enclosure.id}/{self.job.word}, {self.day} {self.time:%H:%M}, "
            f"{self.state}>"
        )

    @property
    def due(self) -> dt.date:
        """Return the day on which it falls due, or fell due where it is open since."""
        return self.since or self.day

    @property
    def put_off(self) -> Amendment | None:
        """Return what was said of it where it comes on its day because of that."""
        return None if self.since is not None else self.series.chosen.get(self.day)

    @property
    def ref(self) -> OccurrenceRef:
        """Return its identity, whatever day it is shown on."""
        return OccurrenceRef(*self.job.ref, self.due)


AT_ONCE = dt.timedelta(days=28)
"""Days whose occurrences are held at a time: a year of thousands of enclosures has millions."""


def occurrences(
    site: Site,
    series: Iterable[Series],
    first: dt.date,
    last: dt.date,
    done: Iterable[Occurrence] = (),
) -> Iterator[Occurrence]:
    """Yield the occurrences from `first` to `last`, both included: by day and time, then in the order of the
    series.

    Series come enclosure by enclosure and in the order of a round, and so do the occurrences of one hour.
    Those that are `done` come before what is still to be done in their hour.
    """
    held = tuple(series)
    over: dict[dt.date, list[Occurrence]] = {}
    for one_done in done:
        over.setdefault(one_done.day, []).append(one_done)
    while first <= last:
        end = min(last, first + AT_ONCE)
        found: dict[tuple[dt.date, dt.time], list[Occurrence]] = {}
        for day in [day for day in over if first <= day <= end]:
            for past in over.pop(day):
                found.setdefault((day, past.time), []).append(past)
        for one in held:
            time = site.settings.time_of(one.job.part)
            for day in one.between(first, end):
                found.setdefault((day, time), []).append(_on(day, time, one))
        for moment in sorted(found):
            yield from found.pop(moment)
        first = end + dt.timedelta(days=1)


def _on(day: dt.date, time: dt.time, series: Series) -> Occurrence:
    if series.open is None or day != series.open.day:
        return Occurrence(day, time, series.job, series)
    state: State = "overdue" if series.open.overdue else "due"
    return Occurrence(day, time, series.job, series, state, series.open.since)


def done_occurrences(
    site: Site, series: Iterable[Series], entries: Iterable[Entry], first: dt.date, last: dt.date
) -> Iterator[Occurrence]:
    """Yield what was done from `first` to `last` as occurrences, whether the job is still in the plan or not.

    Entries of enclosures that are no longer described are passed over.
    """
    enclosures = {e.id: e for e in site.enclosures}
    known: dict[JobRef, Series] = {}
    for one in series:
        if one.job.recorded_as is None:
            known.setdefault(one.job.log_name, one)
    for entry in entries:
        if not first <= entry.day <= last or entry.enclosure not in enclosures:
            continue
        own = known.get(entry.job)
        if own is None:
            job = Job(
                enclosure=enclosures[entry.enclosure],
                key=entry.name,
                variant=entry.of,
                title=entry.title or entry.name,
                short=entry.title or entry.name,
                routine=entry.name in ROUTINE_KEYS,
                cadence=On(days=(entry.day,)),
                minutes=entry.minutes or 5,
                notes=_nothing_more,
            )
            own = Series(job=job, dates=(entry.day,))
        time = entry.time or site.settings.time_of(own.job.part)
        yield Occurrence(entry.day, time, own.job, own, "done", entry=entry)


def _nothing_more() -> Notes:
    return Notes(steps=("This job is no longer in the plan.",))


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
