"""What was done or measured without a network and is sent later: recorded for its own day, once, whoever did it meanwhile."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from scheduler.errors import UsageError
from scheduler.history import Entry, JobRef
from scheduler.log import Log
from scheduler.workflow.recording import Known, Who, record_reading
from scheduler.workflow.tending import Tended, Tending, Ticked, Written

MOST_DAYS = 14
"""So many days after its own day something is still taken. House value: who was away longer writes it down with `did --on`."""


@dataclass(frozen=True, slots=True)
class Late:
    """What became of something that was sent later, and the entry that stands for it (None where none does)."""

    became: Ticked
    entry: Entry | None


def check_day(day: dt.date, today: dt.date) -> None:
    """Raise UsageError for a day that is still to come, or too long ago."""
    if day > today:
        raise UsageError(f"this is of {day}, and today is {today} here; nothing was recorded")
    if (today - day).days > MOST_DAYS:
        raise UsageError(
            f"this is of {day}, more than {MOST_DAYS} days ago; nothing was recorded. "
            "Whoever keeps the record can write it down for that day"
        )


def tick_late(
    log: Log, tended: Tended, tending: Tending, name: JobRef, seen: int, *, day: dt.date, note: str = ""
) -> Late:
    """Record a job as done on a day, without an hour, as `Tending.tick` does; sent twice it counts once.

    UsageError for a job that is no longer in the plan, and for a day on which it cannot have been done.
    """
    ref = tended.job(name).log_name
    became = tending.tick(log, tended, name, seen, note=note, on=day)
    found = log.entries(
        tending.site.place.id,
        since=day,
        until=day,
        enclosure=ref.enclosure,
        names=[ref.key],
        kind="done",
        voided=False,
    )
    return Late(became, next((e for e in reversed(list(found)) if e.of == ref.variant), None))


def measure_late(
    log: Log,
    tended: Tended,
    tending: Tending,
    reading: Written,
    seen: int,
    *,
    day: dt.date,
    sure: bool = False,
) -> Late:
    """Record a reading of a day, without an hour, as `Tending.measure` does; sent twice it counts once.

    UsageError for what is no reading; DoubtError for a value that looks mistyped, unless it is `sure`.
    """
    place = next((e for e in tended.site.enclosures if e.id == reading.enclosure), None)
    if place is None:
        raise UsageError("this enclosure is no longer in the description; nothing was recorded")
    by = tending.keeper.id if tending.keeper is not None else None
    entry, is_new = record_reading(
        log,
        Known(tended.site, tended.today, tended.history),
        place,
        f"{reading.name}={reading.value}",
        Who(on=day, by=by, as_of=tending.as_of),
        seen=seen,
        of=reading.whose or None,
        sure=sure,
    )
    if entry.voided:
        return Late("taken back", None)
    return Late("recorded" if is_new else "known", entry)
