"""What was ticked in a calendar becomes entries of the log, and a tick that was taken away takes its entry
back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.fields import FIRST_DAY
from scheduler.description.site import Keeper
from scheduler.history import Entry, JobRef
from scheduler.workflow.record.done import value_of
from scheduler.workflow.record.standing import (
    BEFORE_SET_UP,
    Recorded,
    Standing,
    Who,
    opened,
    standing_after,
    standing_before,
    what_follows,
)
from scheduler.workflow.record.undo import undo
from scheduler.workflow.site_log import now_as_of, open_to_read
from scheduler.workflow.workspace import Workspace


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A job that was ticked as done: on which day and at what hour of the site, where that was said, and with
    which note.

    `of` is the variant under which the log knows it. `title` and `minutes` are as they stood in the calendar,
    for a job that is no longer in the plan.
    """

    job: JobRef
    of: str
    day: dt.date | None
    time: dt.time | None
    keeper: Keeper | None
    note: str
    title: str
    minutes: int


@dataclass(frozen=True, slots=True)
class BeforeSetUp:
    """Why a tick is no entry: on its day there was no such enclosure yet."""

    enclosure: str
    set_up: dt.date
    day: dt.date


@dataclass(frozen=True, slots=True)
class Ticked:
    """What became of ticks: for each its entry, or why there is none; and what follows from those that are
    new."""

    entries: tuple[Entry | BeforeSetUp, ...]
    recorded: Recorded | None


class StillDone(Enum):
    """Why what was unticked stays done."""

    UNKNOWN = "the log has nothing of it"
    DONE_AGAIN = "it was done again since; `pondround undo --entry` takes back what is wrong"
    NOT_FROM_THERE = "it was not recorded from there; `pondround undo --entry` takes it back"


def record_ticks(space: Workspace, ticks: Sequence[Tick]) -> Ticked:
    """Record what was ticked, all at once; a job counts once for a day, so that the same tick twice is
    harmless.

    A day that is still to come, or none that could be meant, is taken as today: a clock that is wrong loses
    no tick.
    """
    before = standing_before(space)
    jobs = {job.ref: job for job in before.jobs}
    found = [_entry(space.site, before, jobs, tick, space.as_of) for tick in ticks]
    entries = [one for one in found if isinstance(one, Entry)]
    if not entries:
        return Ticked(tuple(found), None)
    with opened(space.file, space.site) as log:
        done = log.record(space.site.settings.id, entries)
        after = standing_after(log, space.site, space.today)
    stored = iter(entry for entry, _ in done)
    kept = tuple(next(stored) if isinstance(one, Entry) else one for one in found)
    new = [(entry, is_new) for entry, is_new in done if is_new]
    follows = what_follows(before, new, after, {entry.enclosure for entry, _ in new}) if new else None
    return Ticked(kept, follows)


def _entry(
    site: Site,
    before: Standing,
    jobs: dict[JobRef, Job],
    tick: Tick,
    as_of: dt.date | None,
) -> Entry | BeforeSetUp:
    day, time, today = tick.day, tick.time, before.today
    if day is None or not FIRST_DAY <= day <= today:
        day, time = today, None
    place = next((e for e in site.enclosures if e.id == tick.job.enclosure), None)
    if (
        place is not None
        and place.set_up is not None
        and day < place.set_up
        and tick.job.key not in BEFORE_SET_UP
    ):
        return BeforeSetUp(place.name, place.set_up, day)
    # An extra change is recorded as the change that it is.
    ticked = jobs.get(tick.job)
    job = jobs.get(tick.job._replace(variant=tick.of)) or ticked
    return Entry(
        kind="done",
        enclosure=tick.job.enclosure,
        name=tick.job.key,
        of=tick.of,
        day=day,
        time=time,
        value=None if job is None else value_of(before.known, ticked or job, None, None),
        keeper=tick.keeper.id if tick.keeper is not None else "",
        title=tick.title if job is None else job.title,
        minutes=tick.minutes if job is None else job.minutes,
        note=tick.note,
        recorded=now_as_of(site, as_of),
    )


def take_back(
    space: Workspace, done: tuple[JobRef, dt.date], *, keeper: Keeper | None
) -> Recorded | StillDone:
    """Take back what was done on a day, because its tick was taken away; or return why it stays done.

    What was done later rests on it, and would be left in the air.
    """
    (enclosure, key, of), day = done
    log = open_to_read(space.file, space.site)
    if log is None:
        return StillDone.UNKNOWN
    with log:
        entries = log.entries(
            space.site.settings.id, since=day, enclosure=enclosure, names=[key], kind="done", voided=False
        )
        own = [entry for entry in entries if entry.of == of]
    if any(entry.day > day for entry in own):
        return StillDone.DONE_AGAIN
    target = next((entry for entry in reversed(own) if entry.day == day), None)
    if target is None:
        return StillDone.UNKNOWN
    who = Who(
        by=keeper.name if keeper is not None else None, note="unticked in the calendar", as_of=space.as_of
    )
    return undo(space, who, target.number)
