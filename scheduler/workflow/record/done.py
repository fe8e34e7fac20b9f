"""Jobs recorded as done: from words, from a page, from a sheet; and a note put to what is recorded
already."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.care import Job
from scheduler.care.filter import next_half
from scheduler.description import Site
from scheduler.errors import UsageError
from scheduler.history import Entry, JobRef
from scheduler.workflow.record.job_words import Meant, jobs_named
from scheduler.workflow.record.standing import (
    RecordContext,
    Recorded,
    Who,
    day_of,
    keeper_id,
    opened,
    refuse_before_set_up,
    standing_after,
    standing_before,
    unnamed_lines,
    what_follows,
)
from scheduler.workflow.site_log import now_as_of
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log


def did(
    space: Workspace,
    words: Sequence[str],
    who: Who,
    *,
    again: bool = False,
    share: float | None = None,
    half: int | None = None,
    correct: bool = False,
) -> Recorded:
    """Record jobs as done. UsageError for words that name nothing, and for days on which nothing can have
    been done.

    With `correct`, what is recorded already as done by somebody else is said to be done by who is named.
    """
    if correct and (who.by is None or again):
        raise UsageError("--correct says who did what is recorded already: name that keeper with --by")
    day = day_of(who, space.today)
    before = standing_before(space)
    meant = Meant(day=day, today=space.today, next=before.next, history=before.history)
    jobs = jobs_named(before.site, before.jobs, words, meant)
    for job in jobs:
        refuse_before_set_up(job.enclosure, day, job.key)
    if share is not None and any(job.key != "water-change" for job in jobs):
        raise UsageError("--share says how much of the water was changed; it goes with water-change alone")
    if half is not None and any(job.key != "media-rinse" for job in jobs):
        raise UsageError("--half says which half of the media was rinsed; it goes with media-rinse alone")
    whole = replace(who, on=day, by=keeper_id(space.site, who.by))
    recorded = now_as_of(space.site, who.as_of)
    entries = [_entry(job, whole, recorded, value_of(before.known, job, share, half)) for job in jobs]
    with opened(space.file, space.site) as log:
        done = log.record(space.site.settings.id, entries, again=again)
        words = unnamed_lines(space.site, who, done)
        noted: list[Entry] = []
        if correct:
            done, more = _corrected(log, space.site, done, whole)
            words = [*words, *more]
        for n, (job, (entry, new)) in enumerate(zip(jobs, done, strict=True)):
            if new or not who.note:
                continue
            # As on the page: a note on what is recorded already is kept with that.
            with_note = add_note(log, space.site, job, entry, whole)
            if with_note is None:
                words.append(
                    f"{job.enclosure.name}: {job.title} was taken back just now; the note is not kept"
                )
                continue
            done[n] = (with_note, False)
            noted.append(with_note)
        after = standing_after(log, space.site, space.today)
    follows = what_follows(before, done, after, {job.enclosure.id for job in jobs}, words)
    return replace(follows, noted=tuple(noted))


def _corrected(
    log: Log, site: Site, done: Sequence[tuple[Entry, bool]], who: Who
) -> tuple[list[tuple[Entry, bool]], list[str]]:
    """Return entries, of which those of somebody else are taken back and stand anew as done by `who`."""
    names, now = {k.id: k.name for k in site.keepers}, now_as_of(site, who.as_of)
    found, words = [], []
    for entry, new in done:
        if new or entry.keeper == who.by:
            found.append((entry, new))
            continue
        anew = replace(entry, keeper=who.by or "", recorded=now, voids="")
        uids = [entry.uid(site.settings.id)]
        (stored,) = log.exchange(site.settings.id, uids, [anew], keeper=who.by or "", recorded=anew.recorded)
        found.append((stored, True))
        before = names.get(entry.keeper, entry.keeper)
        words.append(f"it was recorded as {f'done by {before}' if before else 'done by nobody'}")
    return found, words


def record_job(log: Log, known: RecordContext, job: Job, who: Who, *, seen: int) -> bool:
    """Record a job of the plan as done, without a word of what follows; return whether that is new.

    It is not where the job was recorded or taken back after the entry number `seen`, up to which somebody
    knew the log: what is sent twice, or again later, counts once. UsageError for a day on which it cannot
    have been done.
    """
    return bool(record_jobs(log, known, [job], who, seen=seen))


BETWEEN_NOTES = " | "
"""Between what several people say of one thing that was done."""

NOTE_TIMES = 5
"""So often it is tried to put a note to an entry that others change at the same time."""


def standing_entry(log: Log, site: Site, job: Job, day: dt.date) -> Entry | None:
    """Return the last entry that says that a job was done on a day."""
    ref = job.log_name
    some = log.entries(
        site.settings.id,
        since=day,
        until=day,
        enclosure=ref.enclosure,
        names=[ref.key],
        kind="done",
        voided=False,
    )
    return next((e for e in reversed(list(some)) if e.of == ref.variant), None)


def add_note(log: Log, site: Site, job: Job, found: Entry, who: Who) -> Entry | None:
    """Put a note to an entry that is there, and return it as it stands then: it is taken back and added with
    both notes.

    A note that stands there is not added: who sends it twice meant it once. It bears the name of who says it
    where somebody else did the job. None where the entry was taken back meanwhile: then the note is kept
    nowhere.
    """
    own = keeper_id(site, who.by)
    name = next((k.name for k in site.keepers if k.id == own), "")
    said = who.note if not name or found.keeper == own else f"{name}: {who.note}"
    for _ in range(NOTE_TIMES):
        notes = found.note.split(BETWEEN_NOTES) if found.note else []
        if who.note in notes or said in notes:
            return found
        whole = BETWEEN_NOTES.join([*notes, said])
        now, uid = now_as_of(site, who.as_of), found.uid(site.settings.id)
        noted = log.annotate(site.settings.id, uid, whole, keeper=own, recorded=now)
        if noted is not None:
            return noted
        # Somebody else has just put one there, or taken it back.
        there = standing_entry(log, site, job, found.day)
        if there is None:
            break
        found = there
    return None


def record_jobs(log: Log, known: RecordContext, jobs: Sequence[Job], who: Who, *, seen: int) -> list[Entry]:
    """Record jobs of the plan as done, all or none, and return the entries that are new.

    What was recorded or taken back after the entry number `seen` is passed over, as by `record_job`.
    """
    site, day = known.site, day_of(who, known.today)
    since = said_done(log, site, (day, day), seen)
    left = [j for j in {job.log_name: job for job in jobs}.values() if (j.log_name, day) not in since]
    done = log.record(site.settings.id, done_entries(known, left, who)) if left else []
    return [entry for entry, is_new in done if is_new]


def said_done(log: Log, site: Site, days: tuple[dt.date, dt.date], seen: int) -> set[tuple[JobRef, dt.date]]:
    """Return of which jobs and days it was said after an entry that they were done, or taken back.

    `days` are the first and the last one. What bends the plan, or takes that back, says nothing of it: who
    did a job that somebody put off meanwhile has done it.
    """
    there = list(log.entries(site.settings.id, since=days[0], until=days[1]))
    done = {e.uid(site.settings.id) for e in there if e.kind == "done"}
    newer = (e for e in there if e.number > seen)
    return {(e.job, e.day) for e in newer if e.kind == "done" or e.voids in done}


def done_entries(known: RecordContext, jobs: Sequence[Job], who: Who) -> list[Entry]:
    """Return the entries that say that jobs were done. UsageError for a day on which one cannot have been."""
    site, day = known.site, day_of(who, known.today)
    for job in jobs:
        refuse_before_set_up(job.enclosure, day, job.key)
    whole = replace(who, on=day, by=keeper_id(site, who.by))
    # One instant for all: by it they are known as recorded together.
    now = now_as_of(site, who.as_of)
    return [_entry(job, whole, now, value_of(known, job, None, None)) for job in jobs]


def _entry(job: Job, who: Who, recorded: dt.datetime, value: float | None) -> Entry:
    assert who.on is not None
    return Entry(
        kind="done",
        enclosure=job.enclosure.id,
        name=job.key,
        of=job.log_name.variant,
        day=who.on,
        time=who.at,
        value=value,
        keeper=who.by or "",
        title=job.title,
        minutes=job.minutes,
        note=who.note,
        recorded=recorded,
    )


def value_of(known: RecordContext, job: Job, share: float | None, half: int | None) -> float | None:
    """Return what an entry says of how much was done: the share of the water, the half of the media."""
    if job.key == "water-change":
        # An extra change has a share of its own, which the regular one does not tell.
        return job.share if share is None else share
    if job.key == "media-rinse":
        case = care.Case(known.site, job.enclosure, known.today, known.history)
        return float(half if half is not None else next_half(case))
    return None
