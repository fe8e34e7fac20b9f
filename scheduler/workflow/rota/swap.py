"""A hand-over of jobs from one keeper to another on one day, checked against the rules of the rota."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.errors import UsageError, clip
from scheduler.history import JobRef, OccurrenceRef
from scheduler.workflow.name_lookup import by_names, pick, pick_named
from scheduler.workflow.record.job_words import is_meant
from scheduler.workflow.rota.publication import store
from scheduler.workflow.rota.site_rota import known_of, quarantined_in, rota_of, to_publish
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log.rotas import Given
    from scheduler.rota import Assigned
    from scheduler.rota.availability import Availability

Jobs = Mapping[JobRef, Job]
Choose = Callable[[Sequence["Assigned"]], list["Assigned"]]
"""Tells which of a round's tasks are meant."""

Asked = tuple[dt.date, Keeper, Keeper, Choose]
"""(day, who gives, who takes, which of the round's tasks)"""

Moved = list[tuple["Assigned", Keeper, Keeper]]


def hand_over(
    jobs: Jobs,
    assigned: Sequence[Assigned],
    availability: Availability,
    asked: Asked,
    *,
    quarantined: Callable[[str, dt.date], bool],
) -> tuple[list[Assigned], Moved, list[str]]:
    """Return the rota after a hand-over, what moved, and what to know. UsageError where a rule forbids it."""
    from scheduler.rota.eligibility import refuse_day, refuse_load, refuse_skills
    from scheduler.rota.refusal import sentence

    day, giver, taker, choose = asked
    formats = availability.site.settings.formats
    round_ = [a for a in assigned if a.day == day and a.keeper == giver.id]
    if not round_:
        raise UsageError(f"{giver.name} has no round on {formats.date(day)} in the published rota")
    given = choose(round_)
    refusal = refuse_day(availability, taker, day)
    if refusal is not None:
        raise UsageError(f"{sentence(refusal, formats=formats)}; change the description if that is not so")
    for a in given:
        refusal = refuse_skills(availability, taker, jobs[a.ref.job], day) if a.ref.job in jobs else None
        if refusal is not None:
            raise UsageError(sentence(refusal, _title(jobs, a), formats))
    own = [a for a in assigned if a.day == day and a.keeper == taker.id]
    # A job that was left and comes again today is done once.
    minutes = sum(jobs[name].minutes for name in {a.ref.job for a in (*own, *given)} if name in jobs)
    refusal = refuse_load(availability, taker, day, minutes)
    if refusal is not None and refusal.kind == "minutes":
        raise UsageError(
            f"{sentence(refusal, formats=formats)}; hand over fewer jobs: "
            + ", ".join(dict.fromkeys(_title(jobs, a) for a in sorted(given, key=lambda a: a.ref.job)))
        )
    remarks = []
    sides = {quarantined(a.enclosure, day) for a in (*own, *given)}
    if len(sides) == 2:
        remarks.append(f"{taker.name} tends quarantine and others on {formats.date(day)}: quarantine last.")
    moving = {id(a) for a in given}
    after = [replace(a, day=day, keeper=taker.id) if id(a) in moving else a for a in assigned]
    return after, [(replace(a, day=day, keeper=taker.id), giver, taker) for a in given], remarks


def named_tasks(site: Site, jobs: Jobs, round_: Sequence[Assigned], words: Sequence[str]) -> list[Assigned]:
    """Return the tasks of a round that words name: ENCLOSURE, JOB, or ENCLOSURE/JOB; a job by its key,
    KEY/WHICH or title."""
    if not words:
        return list(round_)
    places = {n: e for n, e in by_names(site.enclosures).items() if any(a.enclosure == e.id for a in round_)}
    found: list[Assigned] = []
    for word in words:
        if not word.strip("/ "):
            raise UsageError("a job has no name; write JOB, ENCLOSURE or ENCLOSURE/JOB")
        place, stroke, rest = word.partition("/")
        known = [name.lower() for name in (*(a.job for a in round_), *_titles(jobs, round_))]
        if any(name.startswith(place.lower()) for name in known):
            more = _meant(jobs, round_, word)
        elif stroke or any(name.lower().startswith(word.lower()) for name in places):
            wanted = pick(place, places, "enclosure").id
            there = [a for a in round_ if a.enclosure == wanted]
            more = _meant(jobs, there, rest) if stroke else there
        else:
            raise UsageError(
                f"{clip(word)} is neither a job nor an enclosure of that round; it has: "
                + ", ".join(sorted({_title(jobs, a) for a in round_}))
            )
        found += [a for a in more if a not in found]
    return found


def _meant(jobs: Jobs, tasks: Sequence[Assigned], word: str) -> list[Assigned]:
    known = [jobs[a.ref.job] for a in tasks if a.ref.job in jobs]
    is_wanted = is_meant(word, known, (a.job for a in tasks))
    return [a for a in tasks if (is_wanted(jobs[a.ref.job]) if a.ref.job in jobs else a.job == word)]


def _titles(jobs: Jobs, tasks: Sequence[Assigned]) -> list[str]:
    return [jobs[a.ref.job].title for a in tasks if a.ref.job in jobs]


def _title(jobs: Jobs, a: Assigned) -> str:
    job = jobs.get(a.ref.job)
    return f"{a.enclosure}/{a.job}" if job is None else f"{job.enclosure.name}: {job.title}"


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What changed hands: (job's title and enclosure, from, to, day) in words, and what to know about it."""

    moved: tuple[tuple[Assigned, Keeper, Keeper], ...]
    titles: Mapping[JobRef, str]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SwapRequest:
    """Which round is handed over: its day, whose it is, who takes it, which of its jobs, and for which day in
    exchange.

    `tasks` are those that are meant, by their jobs and the days on which these fell due; `jobs` are words
    that name jobs.
    """

    day: dt.date
    giver: str
    taker: str
    jobs: tuple[str, ...] = ()
    back: dt.date | None = None
    tasks: tuple[OccurrenceRef, ...] = ()


def swap(space: Workspace, wish: SwapRequest) -> HandedOver:
    """Hand jobs of a published round over to another keeper; or exchange it for one of that keeper's.

    All or nothing, checked against the rules. UsageError says which rule forbids it.
    """
    from scheduler.rota.availability import Availability

    known = known_of(space)
    if known.published is None:
        raise UsageError("no rota is published yet; `pondround rota --publish` does it")
    day, back = wish.day, wish.back
    giver, taker = (pick_named(name, space.site.keepers, "keeper") for name in (wish.giver, wish.taker))
    if giver.id == taker.id:
        raise UsageError("the two keepers are the same; another day of theirs is named by --to DATE")
    if back == day:
        raise UsageError("an exchange is of two days; on one day hand over jobs by name")
    if min(day, back or day) < space.today:
        raise UsageError(f"{min(day, back or day)} is over; today is {space.today}")
    jobs = {j.ref: j for j in care.jobs(space.site, known.history)}
    quarantined = quarantined_in(space.site, known.history)
    # What is handed over is what people see: what is left of earlier days, and what is new, has its place in
    # it.
    shown = rota_of(space.site, known, space.today, space.today, max(space.today, known.published.last))
    past = known.past(space.site, space.today)
    availability = Availability(space.site, shown.not_there, space.today, past)

    # An exchange is of the rounds as they were: what one gives is not given back.
    assigned: Sequence[Assigned] = shown.rota.assigned()
    steps: list[Asked] = [(day, giver, taker, lambda round_: _chosen(space.site, jobs, round_, wish))]
    if back is not None:
        steps.append((back, taker, giver, list))
    moved: list[tuple[Assigned, Keeper, Keeper]] = []
    remarks: list[str] = []
    for step in steps:
        assigned, more, said = hand_over(jobs, assigned, availability, step, quarantined=quarantined)
        moved, remarks = [*moved, *more], [*remarks, *said]
    for step in steps:
        _not_too_many(availability, assigned, step[2], step[0], past.out.get(step[2].id, 0))
    now = {a.ref: a for a in assigned}
    stands = to_publish(shown)
    rows = tuple(now.get(a.ref, a) for a in stands.assigned)
    given = _given_after(stands.given, moved)
    store(space, replace(stands, assigned=rows, given=given))
    titles = {name: f"{job.enclosure.name}: {job.title}" for name, job in jobs.items()}
    return HandedOver(tuple(moved), titles, tuple(remarks))


def _given_after(before: Sequence[Given], moved: Moved) -> tuple[Given, ...]:
    """Return what is handed over after some tasks have moved: who has an own task back was given nothing."""
    from scheduler.log.rotas import Given

    found = {one.ref: one for one in before}
    for task, giver, taker in moved:
        was = found.pop(task.ref, None)
        first = was.giver if was is not None and was.taker == giver.id and was.day == task.day else giver.id
        if first != taker.id:
            found[task.ref] = Given(task.ref, task.day, giver.id, taker.id)
    return tuple(found[ref] for ref in sorted(found))


def _chosen(site: Site, jobs: Jobs, round_: Sequence[Assigned], wish: SwapRequest) -> list[Assigned]:
    if not wish.tasks:
        return named_tasks(site, jobs, round_, wish.jobs)
    found = [a for a in round_ if a.ref in wish.tasks]
    if len(found) < len(set(wish.tasks)):
        raise UsageError("this is no longer in the round")
    return found


def _not_too_many(
    availability: Availability, assigned: Sequence[Assigned], keeper: Keeper, day: dt.date, out: int
) -> None:
    """Raise UsageError where a keeper has more rounds in the week of a day than wanted.

    `out` are over this week.
    """
    from scheduler.rota.eligibility import refuse_load, workload_of
    from scheduler.rota.refusal import sentence

    # The round of the day itself is what is asked about.
    others = ((a.day, 0) for a in assigned if a.keeper == keeper.id and a.day != day)
    refusal = refuse_load(availability, keeper, day, 0, workload_of(day, others, availability.today, out))
    if refusal is not None:
        raise UsageError(sentence(refusal, formats=availability.site.settings.formats))
