"""Entries of single jobs: one with a rule or one for each date; what is open, and what was done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduler.calendar.component import Component, Recurring, Shown, Writer
from scheduler.calendar.identity import job_path, make_uid, uid_of
from scheduler.calendar.links import link_of
from scheduler.calendar.notes import job_note
from scheduler.calendar.record import done_note, open_note
from scheduler.calendar.titles import done_title, job_title, late_title
from scheduler.care import Job
from scheduler.history import OccurrenceRef
from scheduler.locales import Formats
from scheduler.plan import Occurrence, Series
from scheduler.plan.amendments import put_off_from

DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class JobEntries:
    """Writes the entries of single jobs.

    Of what the plan has, only what comes `after` a day where one is given.

    `taken` are occurrences that stand somewhere else though they fall due after it.
    """

    writer: Writer
    after: dt.date | None = None
    taken: frozenset[OccurrenceRef] = frozenset()

    def uid(self, series: Series, day: dt.date) -> str:
        """Return the UID of the entry that an occurrence belongs to."""
        writer = self.writer
        return uid_of(writer.site.settings.id, series, day, to_do=writer.options.to_dos)

    def time(self, job: Job) -> dt.time:
        """Return the hour of a job's entries."""
        slots = self.writer.slots
        if job.routine or self.writer.options.by_job:
            return slots.of_part(job.part)
        return slots.of_job(job.enclosure.id, job.key, job.part)

    def to_come(self, series: Series, tail: bytes) -> Iterator[Component | Recurring]:
        """Yield the entries of what is to come of a series, one with a rule or one for each date; `tail` is
        what they share.

        What is open is not among them: it has a title of its own.
        """
        time = self.time(series.job)
        if series.rule is not None and series.first is not None:
            out = {day for day in series.gone if day not in series.chosen}
            first: dt.date | None = series.first
            if self.after is not None:
                out |= {ref.due for ref in self.taken if ref.job == series.job.ref}
                begin = self.after + DAY
                first = next(series.days(begin, begin + dt.timedelta(days=366 * 21)), None)
            if first is not None:
                yield Recurring(
                    uid=self._rule_uid(series.job),
                    rule=series.rule,
                    first=first,
                    until=series.until,
                    out=tuple(sorted(out)),
                    time=time,
                    tail=tail,
                    moves=series.moves or self.after is not None,
                )
            yield from self.apart(series)
            return
        own = series.open.day if series.open is not None and not series.open.own else None
        for day in series.dates:
            if day != own and self._is_mine(series.job, day):
                yield self.writer.dated(self.uid(series, day), day, time, tail)

    def apart(self, series: Series) -> Iterator[Component]:
        """Yield the entries of days to come that no rule gives: somebody chose them, and they say so."""
        job = series.job
        for day in series.apart:
            if self._is_mine(job, day):
                said = put_off_from(series.chosen[day], self._formats)
                notes = f"{said}\n\n{job_note(job, link=self._link(job), formats=self._formats)}"
                shown = self._of(job, job_title(job, self._place(job)), notes, alarm=False)
                yield self.writer.entry(self.uid(series, day), day, shown)

    def _is_mine(self, job: Job, day: dt.date) -> bool:
        return (self.after is None or day > self.after) and OccurrenceRef(*job.ref, day) not in self.taken

    def _rule_uid(self, job: Job) -> str:
        writer = self.writer
        return make_uid(
            job_path(writer.site.settings.id, job.enclosure.id, job.key, job.variant, writer.options.to_dos)
        )

    def open(self, series: Series, *, alarm: bool = True) -> Component | None:
        """Return the entry of what fell due and was not done, on the day of today; None where there is
        nothing open.

        Where the series has an occurrence today, that stands for both.
        """
        found = series.open
        if found is None or found.own:
            return None
        job = series.job
        title = late_title(job, self._place(job)) if found.overdue else job_title(job, self._place(job))
        shown = self._of(
            job, title, open_note(job, found.since, self._formats, link=self._link(job)), alarm=alarm
        )
        return self.writer.entry(self.uid(series, found.day), found.day, shown)

    def done(self, done: Occurrence) -> Component:
        """Return the entry of what was done, on the day on which that was."""
        entry, job, writer = done.entry, done.job, self.writer
        assert entry is not None
        by = next((k.name for k in writer.site.keepers if k.id == entry.keeper), entry.keeper)
        shown = self._of(
            job, done_title(job, self._place(job)), done_note(entry, by, self._formats), alarm=False
        )
        return writer.entry(
            self.done_uid(done), done.day, replace(shown, done=writer.moment(entry.day, entry.time))
        )

    def done_uid(self, done: Occurrence) -> str:
        """Return the UID of the entry of what was done."""
        writer = self.writer
        to_do = writer.options.to_dos
        return uid_of(writer.site.settings.id, done.series, done.day, to_do=to_do, entry=done.entry)

    def tail(self, job: Job, *, brief: bool = False, alarm: bool = True) -> bytes:
        """Return what every entry of a job has after its times; a brief one has the work, its steps and
        cautions alone."""
        notes = job_note(job, link=self._link(job), formats=self._formats, brief=brief)
        return self.writer.tail(self._of(job, job_title(job, self._place(job)), notes, alarm=alarm))

    @property
    def _formats(self) -> Formats:
        return self.writer.site.settings.formats

    def _place(self, job: Job) -> str:
        return self.writer.places[job.enclosure.id]

    def _link(self, job: Job) -> str:
        return link_of(self.writer.options, job.enclosure.id)

    def _of(self, job: Job, title: str, notes: str, *, alarm: bool) -> Shown:
        enclosure, writer = job.enclosure, self.writer
        return Shown(
            time=self.time(job),
            minutes=job.minutes,
            title=title,
            notes=notes,
            where=writer.where(enclosure.room, "" if self._place(job) else enclosure.name),
            categories=(enclosure.name, job.short),
            path=job_path(writer.site.settings.id, enclosure.id, job.key, job.variant, writer.options.to_dos),
            alarm=title if alarm else "",
            link=self._link(job),
        )
