"""The keeper's changes to the jobs, and the keeper's own jobs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial

from scheduler.care.engine.case import Case
from scheduler.care.engine.job import ByRule, Cadence, Every, Job, Notes, On
from scheduler.description.fields import WEEKDAY_NAMES, Part
from scheduler.description.site import ExtraJob, JobOverride
from scheduler.handbook import lifting
from scheduler.history import Entry, parse_once
from scheduler.sources import KEEPER

# `every` of these is read by their own rule: it is a length of time there, not a cadence.
OWN_EVERY = frozenset({"quarantine-release"})

# `every` of these is the longest that the keeper allows: the job's own rule has computed the interval within
# it.
AT_MOST_EVERY = frozenset({"water-change"})


def overridden(case: Case, jobs: Iterable[Job]) -> Iterator[Job]:
    """Yield the jobs with the description's `[enclosure.job.KEY]` tables applied; jobs that are off fall
    away."""
    for job in jobs:
        override = case.enclosure.job.get(job.key)
        if override is None:
            yield job
        elif not override.off:
            yield _apply(case, job, override)


def _apply(case: Case, job: Job, o: JobOverride) -> Job:
    part = o.part or job.part
    if job.fixed:
        return replace(
            job,
            minutes=o.minutes or job.minutes,
            part=part,
            notes=_with_note(job, o.note) if o.note else job.notes,
        )
    computed = job.key in OWN_EVERY or (job.key in AT_MOST_EVERY and o.every is not None)
    return replace(
        job,
        cadence=job.cadence if computed else _cadence(case, o, part, job.cadence) or job.cadence,
        window=job.window if o.window is None or computed else o.window.most_days,
        minutes=o.minutes or job.minutes,
        part=part,
        weekdays=_weekdays(o.weekdays) or job.weekdays,
        notes=_with_note(job, o.note) if o.note else job.notes,
    )


def _with_note(job: Job, note: str) -> Callable[[], Notes]:
    def notes() -> Notes:
        made = job.notes()
        return replace(made, steps=(*made.steps, note), sources=(*made.sources, KEEPER))

    return notes


def extra(case: Case) -> Iterator[Job]:
    """Yield the enclosure's extra jobs."""
    for own in sorted(case.enclosure.extra_job, key=lambda j: j.key):
        cadence = _cadence(case, own, own.part, None)
        if cadence is not None:
            yield Job(
                enclosure=case.enclosure,
                key=own.key,
                title=own.title,
                short=own.short or own.title,
                cadence=cadence,
                window=own.window.most_days if own.window is not None else 0,
                minutes=own.minutes,
                part=own.part,
                skills=own.can,
                weekdays=_weekdays(own.weekdays),
                rank=1000,
                routine=own.routine,
                needs_two=own.lift is not None
                and own.lift > 1000.0 * lifting.load_limit_kg(case.house.reference_kg),
                notes=partial(_own_notes, own.note),
            )


def once(case: Case) -> Iterator[Job]:
    """Yield what comes once in an enclosure because somebody said so, not because it is described."""
    said: dict[str, list[Entry]] = {}
    for entry in case.history.amendments(case.enclosure.id):
        if entry.kind == "once":
            said.setdefault(entry.name, []).append(entry)
    described = {own.key for own in case.enclosure.extra_job}
    for key in sorted(said.keys() - described):
        last = said[key][-1]
        yield Job(
            enclosure=case.enclosure,
            key=key,
            title=last.title,
            short=last.title,
            cadence=On(days=tuple(sorted({parse_once(entry).day for entry in said[key]}))),
            minutes=last.minutes,
            skills=parse_once(last).skills,
            rank=1000,
            notes=partial(_own_notes, last.note),
        )


def _own_notes(note: str) -> Notes:
    return Notes(steps=(note,) if note else (), sources=(KEEPER,))


def _weekdays(names: tuple[str, ...] | None) -> tuple[int, ...] | None:
    return tuple(sorted({WEEKDAY_NAMES.index(n) for n in names})) if names else None


def _cadence(case: Case, o: JobOverride | ExtraJob, part: Part, old: Cadence | None) -> Cadence | None:
    start, until = _bounds(old, case)
    place = case.site.settings
    if o.every is not None:
        lasts = isinstance(old, Every) and old.lasts
        return Every(span=o.every, anchor=start, until=until, lasts=lasts)
    if o.rule is not None:
        rule = o.rule.ending(place.zone, place.time_of(part))
        return ByRule(rule=rule, start=start, until=until)
    return On(days=tuple(sorted(set(o.on)))) if o.on is not None else None


def _bounds(old: Cadence | None, case: Case) -> tuple[dt.date | None, dt.date | None]:
    """Return where the new cadence begins and ends: where the old one did, else with the enclosure."""
    match old:
        case Every(anchor=anchor, until=until):
            return anchor, until
        case ByRule(start=start, until=until):
            return start, until
        case On(days=days):
            return days[0], None
    return case.anchor, None
