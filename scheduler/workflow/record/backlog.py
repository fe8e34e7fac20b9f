"""The backlog after a gap: what fell due and nobody wrote down, tank by tank, and how it is caught up on in
one go."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from scheduler.care import ByRule, Job, On
from scheduler.description import Enclosure
from scheduler.errors import UsageError
from scheduler.history import Entry, OccurrenceRef
from scheduler.log import Log
from scheduler.workflow.live.round_page import RoundPage
from scheduler.workflow.record.done import done_entries, said_done
from scheduler.workflow.record.standing import Who

MOST_DAYS = 28
"""A job that comes often is caught up on for so many days at most. House value."""


@dataclass(frozen=True, slots=True)
class Missed:
    """A job that fell due before today and is open: since when, and the days on which it fell due, the first
    one first."""

    job: Job
    since: dt.date
    days: tuple[dt.date, ...]

    @property
    def ref(self) -> OccurrenceRef:
        """Return its identity."""
        return OccurrenceRef(*self.job.ref, self.since)


Choice = Literal["due", "other"]
"""When a job was done: on the days on which it fell due, or on another one."""


@dataclass(frozen=True, slots=True)
class CaughtUp:
    """What is said of a job of the backlog: when it was done, and on which day where that is another one, as
    it was typed."""

    choice: Choice
    day: str = ""


class WrongDaysError(UsageError):
    """Days that cannot be, by job; nothing was recorded."""

    def __init__(self, wrong: Mapping[OccurrenceRef, str]) -> None:
        """Take what is wrong of each."""
        super().__init__("some days are not right yet")
        self.wrong = dict(wrong)


def backlog_of(tended: RoundPage) -> list[tuple[Enclosure, list[Missed]]]:
    """Return what is open of days before today, by tank in walking order, in a tank what fell due first."""
    found: dict[str, list[Missed]] = {}
    for series in tended.planned.series:
        open_ = series.open
        if open_ is None or open_.since >= tended.today:
            continue
        days = _days_since(series.job, open_.since, tended.today - dt.timedelta(days=1))
        found.setdefault(series.job.enclosure.id, []).append(Missed(series.job, open_.since, days))
    places = sorted(tended.site.enclosures, key=lambda e: (e.room or "", e.name, e.id))
    return [
        (place, sorted(found[place.id], key=lambda m: (m.since, m.job.rank, m.job.variant)))
        for place in places
        if place.id in found
    ]


def _days_since(job: Job, since: dt.date, last: dt.date) -> tuple[dt.date, ...]:
    """Return the days on which a job fell due from the first one that was missed: of an interval that day
    alone."""
    match job.cadence:
        case ByRule(rule=rule, until=until):
            # The first one is an instance, so that the rule goes on from there.
            end = last if until is None else min(last, until)
            days = tuple(replace(rule, count=None).dates(since, end))
        case On(days=some):
            days = tuple(day for day in some if since <= day <= last)
        case _:
            days = ()
    return days[-MOST_DAYS:] or (since,)


def catch_up(
    log: Log, tended: RoundPage, said: Mapping[OccurrenceRef, CaughtUp], who: Who, seen: int
) -> list[Entry]:
    """Record what was done but not written down, all of it or nothing; return the entries that are new.

    What was recorded or taken back for its day after the entry number `seen` is passed over, and so is what
    is no longer open. WrongDaysError for a day that is none, or has not come; UsageError where nothing is
    said of any job.
    """
    if not said:
        raise UsageError("say of a job when it was done")
    known, missed = tended.known, {m.ref: m for _, some in backlog_of(tended) for m in some}
    wrong: dict[OccurrenceRef, str] = {}
    entries: list[Entry] = []
    for ref, one in said.items():
        if ref not in missed:
            continue
        try:
            days = _days(missed[ref], one, tended)
        except UsageError as error:
            wrong[ref] = str(error)
            continue
        job = tended.job(ref.job)
        for day in days:
            entries += done_entries(known, [job], replace(who, on=day, at=None))
    if wrong:
        raise WrongDaysError(wrong)
    if not entries:
        return []
    first = min(entry.day for entry in entries)
    touched = said_done(log, tended.site, (first, tended.today), seen)
    left: Sequence[Entry] = [e for e in entries if (e.job, e.day) not in touched]
    done = log.record(tended.site.settings.id, left) if left else []
    return [entry for entry, is_new in done if is_new]


def _days(missed: Missed, said: CaughtUp, tended: RoundPage) -> tuple[dt.date, ...]:
    if said.choice == "due":
        return missed.days
    if not said.day.strip():
        raise UsageError("choose the day on which it was done")
    try:
        day = dt.date.fromisoformat(said.day.strip())
    except ValueError:
        raise UsageError("this is no day; write one such as 2026-12-19") from None
    formats = tended.site.settings.formats
    if day > tended.today:
        raise UsageError(f"{formats.date(day)} has not come yet")
    if day < missed.since - dt.timedelta(days=MOST_DAYS):
        raise UsageError(f"{formats.date(day)} is long before it fell due")
    return (day,)
