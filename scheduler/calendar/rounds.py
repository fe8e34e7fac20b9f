"""Rounds to calendar entries: one for each part of the day of a keeper, one a keeper and day with names for
all to see.

What was done stays in the entry of its round for a while; what is left of a round leads it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from scheduler.calendar.component import Component, Shown, Writer
from scheduler.calendar.identity import make_uid
from scheduler.calendar.links import link_of
from scheduler.calendar.notes import ROUND_LIMIT, Work, group_note, job_note
from scheduler.calendar.record import OWN_CALENDARS, done_lines, list_note
from scheduler.calendar.titles import help_title, job_title, late_title, round_title
from scheduler.care import cautions
from scheduler.care.house import House
from scheduler.description.fields import Part
from scheduler.description.site import Enclosure, Keeper
from scheduler.history import OccurrenceRef
from scheduler.locales import PLAIN, Formats
from scheduler.plan import Occurrence
from scheduler.rota import Item, Round, Task, Unfilled

NOBODY = "Nobody"
"""Stands where a keeper's name would, before what nobody takes."""


@dataclass(slots=True)
class Visit:
    """What somebody does at the site on a day, or in a part of it: what is left to be done, and what was
    done.

    `keeper` is the id, empty where nobody takes it or it is not known who did it.
    """

    day: dt.date
    keeper: str
    part: Part | None = None
    tasks: list[Task] = field(default_factory=list)
    helps: list[Task] = field(default_factory=list)
    left: list[Unfilled] = field(default_factory=list)
    done: list[Occurrence] = field(default_factory=list)
    formats: Formats = PLAIN

    @property
    def works(self) -> list[Work]:
        """Return what is to be done."""
        own = [self._work(t, with_name=t.helper.name if t.helper is not None else "") for t in self.tasks]
        lent = [self._work(task, lent_to=task.keeper.name) for task in self.helps]
        return [*own, *lent, *map(self._work, self.left)]

    def _work(self, one: Task | Unfilled, *, with_name: str = "", lent_to: str = "") -> Work:
        item = one.item
        late = _late_since(item)
        return Work(item.job, late, with_name, lent_to, quarantine=item.quarantine, formats=self.formats)

    @property
    def minutes(self) -> int:
        """Return the minutes of what is left, else of what was done."""
        return sum(work.job.minutes for work in self.works) or sum(o.job.minutes for o in self.done)


def _late_since(item: Item) -> dt.date | None:
    """Return since when an item is late: its window is over. What was put on a later day within it is not."""
    return item.due if item.occurrence.state == "overdue" else None


def visits(
    rounds: Iterable[Round],
    done: Iterable[Occurrence],
    left: Iterable[Unfilled] = (),
    *,
    enclosure: str = "",
    by_part: bool = False,
    formats: Formats = PLAIN,
) -> list[Visit]:
    """Return the visits that rounds make together with what was done, by day and keeper; `by_part` also by
    part of the day.

    With an enclosure, by its id, only what is done there. What nobody takes is in visits of nobody, on the
    day on which it falls due, or of today where it is open.
    """
    found: dict[tuple[dt.date, str, str], Visit] = {}

    def at(day: dt.date, keeper: str, part: Part) -> Visit:
        own = part if by_part else None
        return found.setdefault((day, keeper, own or ""), Visit(day, keeper, own, formats=formats))

    for one in rounds:
        for tasks, helps in ((one.tasks, False), (one.helps, True)):
            for task in tasks:
                job = task.item.job
                if enclosure in ("", job.enclosure.id):
                    visit = at(one.day, one.keeper.id, job.part)
                    (visit.helps if helps else visit.tasks).append(task)
    for unfilled in left:
        job = unfilled.item.job
        if enclosure in ("", job.enclosure.id):
            at(unfilled.item.occurrence.day, "", job.part).left.append(unfilled)
    for occurrence in done:
        if occurrence.entry is not None and enclosure in ("", occurrence.job.enclosure.id):
            at(occurrence.day, occurrence.entry.keeper, occurrence.job.part).done.append(occurrence)
    # The morning first: what has no part is of the whole day.
    return sorted(found.values(), key=lambda v: (v.day, v.keeper, v.part == "evening"))


@dataclass(frozen=True, slots=True)
class RoundEntries:
    """Writes the entries of rounds: of a keeper; or, with `names`, of the site, or of one enclosure, for all
    to see."""

    writer: Writer
    names: bool = False
    enclosure: Enclosure | None = None

    def uid(self, day: dt.date, keeper: str, part: Part | None = None) -> str:
        """Return the UID of the entry of a visit."""
        return make_uid(*self._path(keeper), day.isoformat(), *([part] if part else []))

    def _path(self, keeper: str) -> list[str]:
        feed = ["site"] if self.names else []
        if self.enclosure is not None:
            feed = ["enclosure", self.enclosure.id]
        return [self.writer.site.settings.id, "rota", *feed, keeper]

    def of(self, some: Iterable[Visit], *, brief: bool = False) -> Iterator[Component]:
        """Yield the entries of visits; brief ones say what is done, without the steps.

        One a day and part has the alarm.
        """
        rung: set[tuple[dt.date, Part | None]] = set()
        for visit in some:
            yield self._entry(visit, brief=brief, alarm=(visit.day, visit.part) not in rung)
            rung |= {(visit.day, visit.part)} if visit.works else set()

    def _entry(self, visit: Visit, *, brief: bool, alarm: bool) -> Component:
        writer = self.writer
        title = self._title(visit)
        uid = self.uid(visit.day, visit.keeper, visit.part)
        # A whole day's entry of several people begins with the first hour of the day.
        part = visit.part or "morning"
        jobs = [work.job for work in visit.works] or [o.job for o in visit.done]
        rooms = list(dict.fromkeys(job.enclosure.room for job in jobs if job.enclosure.room))
        last = max((o.entry.time for o in visit.done if o.entry is not None and o.entry.time), default=None)
        shown = Shown(
            time=writer.slots.of_part(part),
            minutes=max(1, visit.minutes),
            title=title,
            notes=self._notes(visit, brief=brief),
            where=", ".join([*rooms, writer.site.settings.name]),
            categories=("Round",),
            path="/".join([*self._path(visit.keeper), uid]),
            alarm=title if alarm else "",
            link=self._link(visit),
            whole=self.names,
            done=writer.moment(visit.day, last) if not visit.works else None,
        )
        return writer.entry(uid, visit.day, shown)

    def _title(self, visit: Visit) -> str:
        names = self.writer.names
        # Where there is one keeper everybody knows whose it is.
        by = names.get(visit.keeper, visit.keeper) if self.names and len(names) > 1 else ""
        if not by and visit.left:
            by = NOBODY
        works = visit.works
        own = [work for work in works if not work.lent_to]
        if works and not own:
            # All there is to do is to lend a hand.
            return help_title([work.job for work in works], works[0].lent_to, self.writer.places, by)
        listed = [(w.job, w.late_since is not None) for w in own] or [(o.job, False) for o in visit.done]
        helps = len(works) - len(own)
        return round_title(listed, visit.minutes, self.writer.places, by, done=not works, beside=helps)

    def _notes(self, visit: Visit, *, brief: bool) -> str:
        known = {k.id: k.name for k in self.writer.site.keepers}
        past = done_lines(visit.done, {} if visit.keeper else known, self.writer.places, visit.formats)
        works = visit.works
        why = [f"{Work(u.item.job).title} {u.item.job.enclosure.name}: {u.why}." for u in visit.left]
        if not works:
            return "\n".join(past)
        if brief:
            return list_note(works, done=[*why, *past], elsewhere=OWN_CALENDARS)
        pails = House(self.writer.site.settings.house_values).pail_l
        beside = [cautions.lift(pails, visit.formats)] if visit.helps else []
        return group_note(works, limit=ROUND_LIMIT, link=self._link(visit), done=[*why, *past], beside=beside)

    def _link(self, visit: Visit) -> str:
        return link_of(self.writer.options, self.enclosure.id if self.enclosure is not None else "")

    def horizon(self, last: dt.date, keeper: str = "") -> Component:
        """Return the entry that says that rounds are planned to here, of a keeper's feed where one is
        given."""
        writer = self.writer
        path = [*self._path(keeper), "horizon"]
        shown = Shown(
            time=writer.slots.of_part("morning"),
            minutes=1,
            title="Rounds planned to here",
            notes=(
                f"Who does what is planned to {writer.site.settings.formats.date(last)}. "
                + (
                    "After it stands what falls due, without names, until the next rounds are planned."
                    if self.names
                    else "The next rounds come as they are planned."
                )
            ),
            where=writer.site.settings.name,
            categories=("Round",),
            path="/".join(path),
            whole=True,
        )
        return writer.entry(make_uid(*path), last, shown)


def job_entries(writer: Writer, rounds: Iterable[Round], *, names: bool = False) -> Iterator[Component]:
    """Yield one entry for each job of the rounds, on the day on which it is done; with `names` it tells by
    whom."""
    for one in rounds:
        by = f"{writer.names[one.keeper.id]}: " if names and len(writer.names) > 1 else ""
        for task in (*one.tasks, *one.helps):
            helps = task.keeper.id != one.keeper.id
            title = (
                help_title([task.item.job], task.keeper.name, writer.places)
                if helps
                else _task_title(writer, task)
            )
            yield _job_entry(writer, task, one.day, f"{by}{title}", helps=helps)


def left_entries(writer: Writer, left: Iterable[Unfilled]) -> Iterator[Component]:
    """Yield one entry for each job that nobody takes, on the day on which it falls due, or today where it is
    open."""
    for one in left:
        item = one.item
        title = job_title if _late_since(item) is None else late_title
        said = f"{NOBODY}: {title(item.job, writer.places[item.job.enclosure.id])}"
        task = Task(item, item.occurrence.day, Keeper.model_construct(name=NOBODY, id=""))
        yield _job_entry(writer, task, item.occurrence.day, said, more=one.why)


def _task_title(writer: Writer, task: Task) -> str:
    title = job_title if _late_since(task.item) is None else late_title
    helper = f", with {task.helper.name}" if task.helper is not None else ""
    return f"{title(task.item.job, writer.places[task.item.job.enclosure.id])}{helper}"


def _job_entry(
    writer: Writer, task: Task, day: dt.date, title: str, *, helps: bool = False, more: str = ""
) -> Component:
    item = task.item
    job, enclosure = item.job, item.job.enclosure
    path = "/".join(_job_path(writer, item.ref, helps=helps))
    place = "" if writer.places[enclosure.id] else enclosure.name
    note = job_note(
        job,
        link=link_of(writer.options, enclosure.id),
        late_since=_late_since(item),
        formats=writer.site.settings.formats,
    )
    shown = Shown(
        time=writer.slots.of_part(job.part),
        minutes=job.minutes,
        title=title,
        notes=f"{note}\n\n{more}" if more else note,
        where=writer.where(enclosure.room, place),
        categories=(enclosure.name, job.short),
        path=path,
        alarm=title,
        link=link_of(writer.options, enclosure.id),
    )
    return writer.entry(job_entry_uid(writer, item.ref, helps=helps), day, shown)


def job_entry_uid(writer: Writer, ref: OccurrenceRef, *, helps: bool = False) -> str:
    """Return the UID of the entry that an occurrence of a rota has, where each job has one."""
    return make_uid(*_job_path(writer, ref, helps=helps), *(["to-do"] if writer.options.to_dos else []))


def _job_path(writer: Writer, ref: OccurrenceRef, *, helps: bool) -> list[str]:
    lent = ["helps"] if helps else []
    return [writer.site.settings.id, "rota", ref.enclosure, ref.key, ref.variant, ref.due.isoformat(), *lent]
