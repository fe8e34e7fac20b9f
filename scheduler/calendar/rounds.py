"""Rounds to calendar entries: one a round, or one a job."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import groupby

from scheduler.calendar.component import DONE, Component, Shown, Writer, title
from scheduler.calendar.identity import make_uid
from scheduler.calendar.notes import QUARANTINE
from scheduler.care import cautions
from scheduler.care.house import House
from scheduler.description.fields import Part
from scheduler.description.site import Keeper
from scheduler.plan import Occurrence
from scheduler.rota import Round, Task

DAY_PARTS: tuple[Part, ...] = ("morning", "evening")


def round_entries(writer: Writer, rounds: Iterable[Round], *, names: bool = False) -> Iterator[Component]:
    """Yield one entry for each part of the day of a round. With `names` it is for all to see: who comes, without the steps.

    A round is named by its keeper, its week and its place in it, counted from the end: one that moves to another day of
    the week keeps its name, and so do those that are left when the first are over. Its evening has a name of its own.
    """
    for one, place in _placed(rounds):
        week = one.day.isocalendar()
        path = [writer.site.place.id, "rota", *(["site"] if names else []), one.keeper.id]
        for part, some in _parts(one):
            evening = ["evening"] if part == "evening" else []
            uid = make_uid(*path, f"{week.year}-{week.week:02}", str(place), *evening, *_kind(writer))
            yield writer.entry(uid, one.day, _shown(writer, some, part, "/".join([*path, uid]), names=names))


def job_entries(writer: Writer, rounds: Iterable[Round]) -> Iterator[Component]:
    """Yield one entry for each job of the rounds, on the day on which it is done."""
    for one in rounds:
        for task in (*one.tasks, *one.helps):
            job, due = task.item.job, task.item.due
            helps = ["helps"] if task.keeper.id != one.keeper.id else []
            path = "/".join(
                [
                    writer.site.place.id,
                    "rota",
                    job.enclosure.id,
                    job.key,
                    job.variant,
                    due.isoformat(),
                    *helps,
                ]
            )
            shown = Shown(
                part=job.part,
                minutes=job.minutes,
                title=f"{title(job)}{_with(task)}"
                if not helps
                else f"Lend a hand to {task.keeper.name}: {title(job)}",
                notes=job.notes().text(),
                where=", ".join(filter(None, [job.enclosure.room, job.enclosure.name])),
                categories=(job.enclosure.name, job.key),
                path=path,
                alarm=title(job),
            )
            yield writer.entry(make_uid(path, *_kind(writer)), one.day, shown)


def done_entries(writer: Writer, keeper: Keeper, done: Iterable[Occurrence]) -> Iterator[Component]:
    """Yield one entry for each day on which a keeper did something."""
    own = [o for o in done if o.entry is not None and o.entry.keeper == keeper.id]
    for day, some in groupby(sorted(own, key=lambda o: o.day), key=lambda o: o.day):
        jobs = list(some)
        minutes = sum(o.job.minutes for o in jobs)
        path = "/".join([writer.site.place.id, "rota", keeper.id, "done", day.isoformat()])
        lines = [f"Done on {writer.site.place.formats.date(day)}."]
        lines += [
            f"- {title(o.job)}" + (f": {o.entry.note}" if o.entry and o.entry.note else "") for o in jobs
        ]
        shown = Shown(
            part=jobs[0].job.part,
            minutes=max(1, minutes),
            title=f"{_count(len(jobs))}{DONE}",
            notes="\n".join(lines),
            where=writer.site.place.name,
            categories=("round",),
            path=path,
            alarm="",
            done=writer.moment(day, None),
        )
        yield writer.entry(make_uid(path, *_kind(writer)), day, shown)


def _kind(writer: Writer) -> list[str]:
    return ["to-do"] if writer.options.to_dos else []


def _placed(rounds: Iterable[Round]) -> Iterator[tuple[Round, int]]:
    weeks: dict[tuple[str, dt.date], list[Round]] = {}
    held = list(rounds)
    for one in held:
        weeks.setdefault((one.keeper.id, one.day - dt.timedelta(days=one.day.weekday())), []).append(one)
    for one in held:
        same = weeks[one.keeper.id, one.day - dt.timedelta(days=one.day.weekday())]
        yield one, sum(other.day >= one.day for other in same)


def _parts(one: Round) -> Iterator[tuple[Part, Round]]:
    """Yield what is done of a round in each part of the day, in its order."""
    for part in DAY_PARTS:
        tasks, helps = (
            tuple(task for task in some if task.item.job.part == part) for some in (one.tasks, one.helps)
        )
        if tasks or helps:
            yield part, replace(one, tasks=tasks, helps=helps)


def _shown(writer: Writer, one: Round, part: Part, path: str, *, names: bool) -> Shown:
    length = f"{_count(len(one.tasks) + len(one.helps))}, {one.minutes} min"
    told = f"{one.keeper.name}: {length}" if names else length
    rooms = dict.fromkeys(t.item.job.enclosure.room or t.item.job.enclosure.name for t in one.tasks)
    return Shown(
        part=part,
        minutes=max(1, one.minutes),
        title=told,
        notes="\n".join(_lines(writer, one, steps=not names)),
        where=", ".join([writer.site.place.name, *rooms]),
        categories=("round",),
        path=path,
        alarm=told,
    )


def _lines(writer: Writer, one: Round, *, steps: bool) -> Iterator[str]:
    """Yield what is done, in order: by part of the day, quarantine last, each with its steps; then the cautions once."""
    place = writer.site.place
    careful: dict[cautions.Caution, None] = {}
    told: dict[tuple[str, ...], int] = {}
    heading = ""
    for number, task in enumerate(one.tasks, start=1):
        job = task.item.job
        said = (
            QUARANTINE
            if task.item.quarantine
            else f"{job.part.capitalize()}, {place.formats.time(place.time_of(job.part))}"
        )
        if said != heading:
            yield from ([""] if heading else [])
            yield said
            heading = said
        room = f"{job.enclosure.room}, " if job.enclosure.room else ""
        yield f"{number}. {room}{title(job)} ({job.minutes} min){_with(task)}"
        if steps:
            notes = job.notes()
            # What is the same in many tanks is read once.
            first = told.setdefault(notes.steps, number)
            if first != number:
                yield f"   - As for {first}."
            else:
                yield from (f"   - {line}" for step in notes.steps for line in step.splitlines())
            careful |= dict.fromkeys(notes.cautions)
    for task in one.helps:
        yield f"Lend a hand to {task.keeper.name}: {title(task.item.job)} ({task.item.job.minutes} min)"
        careful[cautions.lift(House(place.house_values).pail_l, place.formats)] = None
    if careful and steps:
        yield ""
        yield from (f"Take care: {caution}" for caution in careful)


def _with(task: Task) -> str:
    return f", with {task.helper.name}" if task.helper is not None else ""


def _count(jobs: int) -> str:
    return f"{jobs} job{'s' if jobs != 1 else ''}"
