"""What stands in which entry: the one rule for the feeds of a site, its enclosures and its keepers, and for
the list of jobs.

Without keepers the plan alone: routine as one entry for each part of the day, everything else as an entry of
its own. With keepers, as far as their rounds are planned, an entry for each keeper and day; the plan from the
day after.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

from scheduler.calendar.alarms import Alarms
from scheduler.calendar.component import Component, Recurring, Shown, Writer
from scheduler.calendar.jobs import JobEntries
from scheduler.calendar.links import for_keeper, link_of
from scheduler.calendar.notes import ROUND_LIMIT, ROUTINE_LIMIT, Work, group_note
from scheduler.calendar.record import OWN_CALENDARS, TANKS_CALENDARS, done_lines, list_note
from scheduler.calendar.rounds import (
    RoundEntries,
    Visit,
    job_entries,
    job_entry_uid,
    left_entries,
    visits,
)
from scheduler.calendar.routine import WEEK, Rest, Routine, Stretch, is_routine
from scheduler.calendar.titles import routine_title
from scheduler.care import Every, On
from scheduler.description.fields import Part
from scheduler.description.site import Enclosure, Keeper
from scheduler.history import JobRef, OccurrenceRef
from scheduler.locales import Formats
from scheduler.plan import Occurrence, Series
from scheduler.rota import Rota, Round

PARTS: tuple[Part, ...] = ("morning", "evening")

SMALL_SITE = 6
"""Up to so many enclosures the site's feed has everything; with more, beyond the rounds, only routine and
what is seldom."""


SELDOM_DAYS = 14
"""What comes so seldom, or more so, is of that. Both are house values."""

BRIEF_ENCLOSURES = 40
"""The routine of more enclosures is listed without its steps, which stand in the enclosures' own feeds."""

Quarantined = Callable[[str, dt.date], bool]
Entries = Iterator[Component | Recurring]


class Agenda:
    """The entries of a site's feeds."""

    def __init__(
        self,
        writer: Writer,
        series: Iterable[Series],
        done: Iterable[Occurrence],
        first: dt.date,
        *,
        rota: Rota | None = None,
        quarantined: Quarantined = lambda _enclosure, _day: False,
    ) -> None:
        """Take the plan from `first` on, what was done, and the rounds that are planned where there are
        any."""
        self.writer, self.rota, self._quarantined = writer, rota, quarantined
        self.by_enclosure: dict[str, list[Series]] = {e.id: [] for e in writer.site.enclosures}
        for one in series:
            self.by_enclosure[one.job.enclosure.id].append(one)
        self._done: dict[str, list[Occurrence]] = {e.id: [] for e in writer.site.enclosures}
        for occurrence in done:
            self._done[occurrence.job.enclosure.id].append(occurrence)
        after = rota.last if rota is not None else None
        self.begin = first if after is None else max(first, after + dt.timedelta(days=1))
        taken = (
            frozenset(t.item.ref for t in rota.tasks() if t.item.due > rota.last)
            if rota is not None
            else frozenset()
        )
        self.jobs = JobEntries(writer, after, taken)
        self._rung: dict[str, Alarms] = {}

    @property
    def by_job(self) -> bool:
        """Tell whether each job has an entry of its own."""
        return self.writer.options.by_job

    @property
    def _elsewhere(self) -> str:
        return TANKS_CALENDARS if self.rota is None else OWN_CALENDARS

    @property
    def _formats(self) -> Formats:
        return self.writer.site.settings.formats

    # --- the plan ---

    def routines(self, enclosure: Enclosure | None) -> list[Routine]:
        """Return the routine of each part of the day, of an enclosure or of the site."""
        return self._routines if enclosure is None else self._made([enclosure.id], [enclosure.id])

    def _made(self, path: list[str], own: Iterable[str]) -> list[Routine]:
        path = [self.writer.site.settings.id, *path]
        held = [one for e in own for one in self.by_enclosure[e] if self._is_grouped(one)]
        return [
            Routine(path, part, some, self.begin)
            for part in PARTS
            if (some := [one for one in held if one.job.part == part])
        ]

    def others(self, enclosure: Enclosure) -> list[Series]:
        """Return the series of an enclosure that have entries of their own."""
        return [one for one in self.by_enclosure[enclosure.id] if not self._is_grouped(one)]

    def is_in_site(self, series: Series) -> bool:
        """Tell whether a series stands in the site's feed: where the plan follows the rounds of many
        enclosures, what is seldom."""
        if self.rota is None or self.by_job or len(self.writer.site.enclosures) <= SMALL_SITE:
            return True
        cadence = series.job.cadence
        if isinstance(cadence, On):
            return True
        if isinstance(cadence, Every):
            return cadence.span.most_days >= SELDOM_DAYS
        assert series.rule is None or series.first is not None
        days = [*series.between(self.begin, self.begin + 8 * WEEK)]
        return len(days) <= 8 * 7 // SELDOM_DAYS

    def routine_entries(
        self, routine: Routine, enclosure: Enclosure | None, *, brief: bool = False
    ) -> Entries:
        """Yield the entries of a routine: a rule for each stretch, and what is left of days of which some is
        done."""
        time = self.writer.slots.of_part(routine.part)
        # Most weekdays hold the same: their notes are written once. An alarm has a name of its own, by its
        # entry.
        tails: dict[tuple[object, ...], bytes] = {}
        for stretch in routine.stretches:
            runs = stretch == routine.running(stretch.weekday)
            done = self._lately(routine, stretch, enclosure) if runs else []
            key = tuple((id(s), self._is_apart(s, stretch.first)) for s in stretch.series)
            alike = None if done or self.writer.options.alarms else tails.get(key)
            tail = alike or self.writer.tail(self._shown(routine, stretch, enclosure, done, brief=brief))
            if not done:
                tails[key] = tail
            yield Recurring(
                uid=routine.uid(stretch),
                rule=stretch.rule,
                first=stretch.first,
                until=stretch.last,
                out=stretch.out,
                time=time,
                tail=tail,
                # What begins later than within a week has another stretch before it.
                moves=self.rota is not None or stretch.first >= self.begin + WEEK,
            )
        for rest in routine.rests:
            shown = self._shown(routine, rest, enclosure, [], brief=brief)
            yield self.writer.entry(routine.uid(rest), rest.day, shown)

    def _is_apart(self, series: Series, day: dt.date) -> bool:
        return self._quarantined(series.job.enclosure.id, day)

    def _shown(
        self,
        routine: Routine,
        one: Stretch | Rest,
        enclosure: Enclosure | None,
        done: list[str],
        *,
        brief: bool,
    ) -> Shown:
        writer = self.writer
        jobs = [series.job for series in one.series]
        day = one.day if isinstance(one, Rest) else one.first
        works = [Work(s.job, quarantine=self._is_apart(s, day), formats=self._formats) for s in one.series]
        there = {job.enclosure.id: job.enclosure for job in jobs}
        link = link_of(writer.options, enclosure.id if enclosure is not None else "")
        limit = ROUTINE_LIMIT if len(writer.site.enclosures) <= SMALL_SITE else ROUND_LIMIT
        brief = brief or len(there) > BRIEF_ENCLOSURES
        notes = (
            list_note(works, done=done, elsewhere=self._elsewhere)
            if brief
            else group_note(works, limit=limit, link=link, done=done)
        )
        title = routine_title(jobs)
        rooms = dict.fromkeys(e.room for e in there.values() if e.room)
        place = next(iter(there.values())).name if len(there) == 1 else ""
        # In a feed of its own an enclosure is named all the same: people look at several feeds at a time.
        named = writer.places[next(iter(there))] if place else ""
        return Shown(
            time=writer.slots.of_part(routine.part),
            minutes=sum(job.minutes for job in jobs),
            title=f"{title}: {named}" if named and enclosure is not None else title,
            notes=notes,
            where=", ".join(filter(None, [*rooms, place if not named else "", writer.site.settings.name])),
            categories=("Routine",),
            path=routine.uid(one),
            alarm=title,
            link=link,
        )

    def _lately(self, routine: Routine, stretch: Stretch, enclosure: Enclosure | None) -> list[str]:
        own = [enclosure.id] if enclosure is not None else list(self.by_enclosure)
        held = {series.job.log_name for series in stretch.series}
        done = [
            o
            for e in own
            for o in self._done[e]
            if o.job.log_name in held and o.day.weekday() == stretch.weekday and o.job.part == routine.part
        ]
        by = {k.id: k.name for k in self.writer.site.keepers}
        return done_lines(done, by, self.writer.places, self._formats)

    def plan_entries(
        self, series: Series, enclosure: Enclosure | None, *, brief: bool = False
    ) -> list[Component | Recurring]:
        """Return the entries that a series has of its own in the feed of an enclosure, or of the site: to
        come, and open."""
        alarm = self.writer.options.alarms and self._alarms(enclosure).ring(series)
        tail = self.jobs.tail(series.job, brief=brief, alarm=alarm)
        found = [*self.jobs.to_come(series, tail)]
        still_open = self.jobs.open(series, alarm=alarm) if self.rota is None else None
        return [*found, still_open] if still_open is not None else found

    def routine_apart(self, enclosure: Enclosure) -> list[Component]:
        """Return the entries of routine that is not what the routine of its day is: of another day that is
        open, and of days that somebody chose."""
        grouped = [one for one in self.by_enclosure[enclosure.id] if self._is_grouped(one)]
        found = [e for one in grouped if one.apart for e in self.jobs.apart(one)]
        if self.rota is not None:
            return found
        some = (self.jobs.open(one) for one in grouped)
        return [*found, *(one for one in some if one is not None)]

    def _is_grouped(self, series: Series) -> bool:
        return not self.by_job and is_routine(series)

    def _alarms(self, enclosure: Enclosure | None) -> Alarms:
        of = enclosure.id if enclosure is not None else ""
        if of not in self._rung:
            there = [enclosure] if enclosure is not None else list(self.writer.site.enclosures)
            others = [
                one for e in there for one in self.others(e) if enclosure is not None or self.is_in_site(one)
            ]
            self._rung[of] = Alarms(self.routines(enclosure), others, self.jobs, self.begin)
        return self._rung[of]

    # --- what was done ---

    def done_entries(self, enclosure: Enclosure) -> list[Component]:
        """Return the entries of what was done in an enclosure: of all but what its routine or its rounds
        tell."""
        done = self._done[enclosure.id]
        if not done or (self.rota is not None and not self.by_job):
            return []
        told = _tellers(self.routines(enclosure))
        return [self.jobs.done(o) for o in done if (o.job.log_name, o.day.weekday()) not in told]

    # --- rounds ---

    def visits(self, enclosure: Enclosure | None = None) -> list[Visit]:
        """Return what each keeper does on each day, of the site or of an enclosure, and what nobody takes."""
        if self.rota is None or self.by_job:
            return []
        own = enclosure.id if enclosure is not None else ""
        done = [o for e, some in self._done.items() if own in ("", e) for o in some]
        return visits(self.rota.rounds, done, self.rota.unfilled, enclosure=own, formats=self._formats)

    def round_entries(
        self, enclosure: Enclosure | None = None, *, brief: bool = False
    ) -> Iterator[Component]:
        """Yield the entries with names: of the site, or of an enclosure."""
        rota = self.rota
        if rota is None:
            return
        if self.by_job:
            own = enclosure.id if enclosure is not None else ""
            yield from job_entries(self.writer, _there(rota.rounds, own), names=True)
            yield from left_entries(
                self.writer, (u for u in rota.unfilled if own in ("", u.item.job.enclosure.id))
            )
            return
        entries = RoundEntries(self.writer, names=True, enclosure=enclosure)
        yield from entries.of(self.visits(enclosure), brief=brief)
        yield entries.horizon(rota.last)

    def keeper_entries(self, keeper: Keeper) -> Iterator[Component]:
        """Yield the entries of a keeper's rounds, and of what the keeper did."""
        rota = self.rota
        assert rota is not None
        own = [one for one in rota.rounds if one.keeper.id == keeper.id]
        done = [
            o
            for some in self._done.values()
            for o in some
            if o.entry is not None and o.entry.keeper == keeper.id
        ]
        # The link in it is the keeper's own.
        options = for_keeper(self.writer.options, keeper.id)
        writer = self.writer if options is self.writer.options else Writer(self.writer.site, options)
        if self.by_job:
            yield from job_entries(writer, own)
            yield from map(JobEntries(writer).done, done)
            return
        entries = RoundEntries(writer)
        yield from entries.of(visits(own, done, by_part=True, formats=self._formats))
        yield entries.horizon(rota.last, keeper.id)

    # --- which entry ---

    def entry_of(self, occurrence: Occurrence) -> tuple[str, dt.time]:
        """Return the UID and the hour of the entry of the site's feed in which an occurrence stands.

        What stands in an enclosure's feed alone has the entry that it has there.
        """
        job, day, series = occurrence.job, occurrence.day, occurrence.series
        at_part = self.writer.slots.of_part(job.part)
        if occurrence.entry is not None:
            told = self._told.get((job.log_name, day.weekday()))
            if self.rota is not None and not self.by_job:
                return RoundEntries(self.writer, names=True).uid(day, occurrence.entry.keeper), at_part
            return (
                (told, at_part) if told is not None else (self.jobs.done_uid(occurrence), self.jobs.time(job))
            )
        ref = occurrence.ref if occurrence.ref in self._placed else self._answered(occurrence)
        if ref is not None:
            if self.by_job:
                return job_entry_uid(self.writer, ref), at_part
            return RoundEntries(self.writer, names=True).uid(*self._placed[ref]), at_part
        stands_alone = day in series.apart or (
            occurrence.since is not None and series.open is not None and not series.open.own
        )
        if self._is_grouped(series) and not stands_alone:
            found = next((r.uid_on(day) for r in self._routines if r.part == job.part), None)
            if found is not None:
                return found, at_part
        return self.jobs.uid(series, day), self.jobs.time(job)

    def _answered(self, occurrence: Occurrence) -> OccurrenceRef | None:
        """Return with which one an occurrence is done that rounds leave out: who does what is open of its job
        does it too."""
        if self.rota is None or not self.rota.first <= occurrence.day <= self.rota.last:
            return None
        before = [ref for ref in self._placed if ref.job == occurrence.job.ref and ref.due < occurrence.due]
        return max(before, key=lambda ref: ref.due, default=None)

    @cached_property
    def _routines(self) -> list[Routine]:
        return self._made([], self.by_enclosure)

    @cached_property
    def _told(self) -> Mapping[tuple[JobRef, int], str]:
        return _tellers(self._routines)

    @cached_property
    def _placed(self) -> Mapping[OccurrenceRef, tuple[dt.date, str]]:
        """Return day and keeper of what rounds hold, nobody for what nobody takes."""
        if self.rota is None:
            return {}
        left = {u.item.ref: (u.item.occurrence.day, "") for u in self.rota.unfilled}
        return left | {t.item.ref: (t.day, t.keeper.id) for t in self.rota.tasks()}


def _tellers(routines: Iterable[Routine]) -> dict[tuple[JobRef, int], str]:
    """Return the entry whose notes tell that a job was done, by the name that the log has for it and the
    weekday."""
    return {
        (series.job.log_name, stretch.weekday): routine.uid(stretch)
        for routine in routines
        for stretch in map(routine.running, range(7))
        if stretch is not None
        for series in stretch.series
    }


def _there(rounds: Iterable[Round], enclosure: str) -> Iterator[Round]:
    """Yield what is done of rounds in an enclosure, by its id; all of them where that is empty."""
    for one in rounds:
        tasks, helps = (
            tuple(t for t in some if enclosure in ("", t.item.job.enclosure.id))
            for some in (one.tasks, one.helps)
        )
        if tasks or helps:
            yield replace(one, tasks=tasks, helps=helps)
