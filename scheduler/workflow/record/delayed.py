"""What was done or measured without a network and is sent later: recorded for its own day, once, whoever did
it meanwhile."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from scheduler.errors import UsageError
from scheduler.history import Entry, JobRef
from scheduler.log import Log
from scheduler.workflow.live.page_record import PageRecorder, Ticked, Written
from scheduler.workflow.live.round_page import RoundPage
from scheduler.workflow.record.done import standing_entry
from scheduler.workflow.record.readings import record_reading
from scheduler.workflow.record.value_sheets import Filled, Stored, store_values

MOST_DAYS = 14
"""So many days after its own day something is still taken.

House value: who was away longer writes it down with `did --on`.
"""


@dataclass(frozen=True, slots=True)
class Late:
    """What became of something that was sent later, and the entry that stands for it (None where none
    does)."""

    became: Ticked
    entry: Entry | None


def check_day(day: dt.date, today: dt.date) -> None:
    """Raise UsageError for a day that is still to come, or too long ago."""
    if day > today:
        raise UsageError(f"this is of {day}, and today is {today} here")
    if (today - day).days > MOST_DAYS:
        raise UsageError(
            f"this is of {day}, more than {MOST_DAYS} days ago; whoever keeps the record can write it "
            "down for that day"
        )


def tick_late(
    log: Log,
    tended: RoundPage,
    tending: PageRecorder,
    name: JobRef,
    seen: int,
    *,
    day: dt.date,
    note: str = "",
) -> Late:
    """Record a job as done on a day, without an hour, as `PageRecorder.tick` does; sent twice it counts once.

    UsageError for a job that is no longer in the plan, and for a day on which it cannot have been done.
    """
    became = tending.tick(log, tended, name, seen, note=note, on=day)
    return Late(became, standing_entry(log, tending.site, tended.job(name), day))


def measure_late(
    log: Log,
    tended: RoundPage,
    tending: PageRecorder,
    reading: Written,
    seen: int,
    *,
    day: dt.date,
    sure: bool = False,
) -> Late:
    """Record a reading of a day, without an hour, as `PageRecorder.measure` does; sent twice it counts once.

    UsageError for what is no reading; DoubtError for a value that looks mistyped, unless it is `sure`.
    """
    place = next((e for e in tended.site.enclosures if e.id == reading.enclosure), None)
    if place is None:
        raise UsageError("this enclosure is no longer in the description")
    entry, is_new = record_reading(
        log,
        tended.known,
        place,
        f"{reading.name}={reading.value}",
        tending.who("", day),
        seen=seen,
        of=reading.whose or None,
        sure=sure,
    )
    if entry.voided:
        return Late("taken back", None)
    return Late("recorded" if is_new else "known", entry)


def store_late(
    log: Log, tended: RoundPage, tending: PageRecorder, filled: Filled, seen: int, *, day: dt.date
) -> Stored:
    """Record the values of a sheet for a day, and the jobs that are done by them, as `store_values` does."""
    return store_values(log, tended.known, filled, tending.who("", day), seen)
