"""One series to its VEVENTs or VTODOs, as bytes.

What the occurrences of a job share (title, notes, categories, alarm) is encoded once for the job; an occurrence adds
its UID and its start. Each component begins with the four lines that `continuity` reads back: UID, DTSTAMP,
LAST-MODIFIED, SEQUENCE.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduler.calendar.identity import job_path, make_uid, uid_of
from scheduler.calendar.text import escape, fold, text_line
from scheduler.calendar.zones import UTC_NAMES
from scheduler.care import Job
from scheduler.description.fields import Part
from scheduler.description.site import Site
from scheduler.history import NOON
from scheduler.plan import Occurrence, Series

ALARM_MINUTES = 10
"""How long before a timed job its alarm goes off, where alarms are asked for. House value."""

FELL_DUE = "Fell due on "
"""How the notes of what is open begin."""

DONE = ", done"
"""How the title of what was done ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a feed is written: events or to-dos, with times or as whole days, with alarms or without.

    `link` is the address of the page that entries lead to, a secret; `keeper_links` have those of keepers' own calendars,
    by keeper id (see `links`).
    """

    to_dos: bool = False
    all_day: bool = False
    alarms: bool = False
    base_url: str = ""
    link: str = ""
    keeper_links: tuple[tuple[str, str], ...] = ()

    @property
    def kind(self) -> str:
        """Return the component that an entry is."""
        return "VTODO" if self.to_dos else "VEVENT"


@dataclass(frozen=True, slots=True)
class Component:
    """One VEVENT or VTODO: its UID, and everything that follows the four leading lines."""

    uid: str
    body: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What an entry shows: its length, its words, what its alarm says, and `path`, of which that is named.

    `done` is the moment at which it was done.
    """

    part: Part
    minutes: int
    title: str
    notes: str
    where: str
    categories: tuple[str, ...]
    path: str
    alarm: str
    done: dt.datetime | None = None


class Writer:
    """Writes the components of one site under one set of options."""

    def __init__(self, site: Site, options: Options) -> None:
        """Prepare what all components share."""
        self.site, self.options = site, options
        self.zone: ZoneInfo = site.place.zone
        key = site.place.time_zone
        self.utc = key in UTC_NAMES
        self._start_prefix = (
            b"DTSTART;VALUE=DATE:"
            if options.all_day
            else b"DTSTART:"
            if self.utc
            else f"DTSTART;TZID={key}:".encode()
        )

    def uid(self, series: Series, day: dt.date) -> str:
        """Return the UID of the entry that an occurrence belongs to."""
        return uid_of(self.site.place.id, series, day, to_do=self.options.to_dos)

    def components(self, series: Series, tail: bytes) -> Iterator[Component]:
        """Yield the components of a series, one with a rule or one for each date; `tail` is what they share.

        What is open is not among them: it has a title of its own.
        """
        if series.rule is not None and series.first is not None:
            left, gone = series.without_met()
            assert left.first is not None
            if left.until is not None and left.first > left.until:
                return
            rule = b"" if left.first == left.until else self._rrule(left)
            out = b"".join(self._exdate(left.job, day) for day in gone)
            yield Component(self.rule_uid(left), self._when(left.job.part, left.first) + rule + out + tail)
            return
        own = series.open.day if series.open is not None and not series.open.own else None
        for day in series.dates:
            if day != own:
                yield Component(self.uid(series, day), self._when(series.job.part, day) + tail)

    def rule_uid(self, series: Series) -> str:
        """Return the UID of the entry that carries a series' rule."""
        job = series.job
        return make_uid(
            job_path(self.site.place.id, job.enclosure.id, job.key, job.variant, self.options.to_dos)
        )

    def open_entry(self, series: Series, notes: str) -> Component | None:
        """Return the entry of what fell due and was not done, on the day of today; None where there is nothing open.

        Where the series has an occurrence today, that stands for both.
        """
        found = series.open
        if found is None or found.own:
            return None
        job = series.job
        since = self.site.place.formats.date(found.since)
        said = f"{title(job)}, {'overdue' if found.overdue else 'due'} since {since}"
        text = f"{FELL_DUE}{since} and was not recorded as done.\n\n{notes}"
        body = self._when(job.part, found.day) + self._tail(self._of(job, said, text))
        return Component(self.uid(series, found.day), body)

    def done_entry(self, done: Occurrence) -> Component:
        """Return the entry of what was done, on the day on which that was."""
        entry, job = done.entry, done.job
        assert entry is not None
        by = next((k.name for k in self.site.keepers if k.id == entry.keeper), entry.keeper)
        lines = [f"Done on {self.site.place.formats.date(entry.day)}" + (f" by {by}." if by else ".")]
        lines += [entry.note] if entry.note else []
        uid = uid_of(self.site.place.id, done.series, done.day, to_do=self.options.to_dos, entry=entry)
        shown = self._of(job, f"{title(job)}{DONE}", "\n\n".join(lines), self.moment(entry.day, entry.time))
        return self.entry(uid, done.day, shown)

    def entry(self, uid: str, day: dt.date, shown: Shown) -> Component:
        """Return an entry of its own on a day."""
        return Component(uid, self._when(shown.part, day) + self._tail(shown))

    # --- time ---

    def moment(self, day: dt.date, time: dt.time | None) -> dt.datetime:
        """Return a moment at the site; where the hour is not known, noon: it is on that day for whoever is near."""
        return dt.datetime.combine(day, time or NOON, self.zone)

    def completed(self, moment: dt.datetime) -> bytes:
        """Return the lines of a to-do that was done; COMPLETED is in UTC (RFC 5545, section 3.8.2.1)."""
        utc = moment.astimezone(dt.UTC)
        return f"STATUS:COMPLETED\r\nPERCENT-COMPLETE:100\r\nCOMPLETED:{utc:%Y%m%dT%H%M%SZ}\r\n".encode()

    def _when(self, part: Part, day: dt.date) -> bytes:
        """Return DTSTART, and for an all-day entry its exclusive end (RFC 5545, sections 3.6.1 and 3.6.2)."""
        if self.options.all_day:
            end = f"{day + dt.timedelta(days=1):%Y%m%d}".encode()
            name = b"DUE" if self.options.to_dos else b"DTEND"
            return self._start_prefix + f"{day:%Y%m%d}\r\n".encode() + name + b";VALUE=DATE:" + end + b"\r\n"
        start = self.site.place.time_of(part)
        zulu = b"Z\r\n" if self.utc else b"\r\n"
        return (
            self._start_prefix
            + f"{day.year:04}{day.month:02}{day.day:02}T{start.hour:02}{start.minute:02}00".encode()
            + zulu
        )

    def _rrule(self, series: Series) -> bytes:
        assert series.rule is not None
        end = ""
        if series.until is not None:
            if self.options.all_day:
                end = f";UNTIL={series.until:%Y%m%d}"
            else:
                # UNTIL is in UTC wherever DTSTART has a zone (RFC 5545, section 3.3.10).
                start = dt.datetime.combine(series.until, self.site.place.time_of(series.job.part), self.zone)
                end = f";UNTIL={start.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}"
        return fold(f"RRULE:{series.rule.text()}{end}")

    def _exdate(self, job: Job, day: dt.date) -> bytes:
        """Return the line that takes a day out of a rule, in the form of DTSTART (RFC 5545, section 3.8.5.1)."""
        return self._when(job.part, day).split(b"\r\n", 1)[0].replace(b"DTSTART", b"EXDATE", 1) + b"\r\n"

    # --- what the occurrences of a job share ---

    def tail(self, job: Job, notes: str) -> bytes:
        """Return what every entry of a job has after its times, with these notes."""
        return self._tail(self._of(job, title(job), notes))

    def _of(self, job: Job, summary: str, notes: str, done: dt.datetime | None = None) -> Shown:
        """Return what an entry of a job shows."""
        return Shown(
            part=job.part,
            minutes=job.minutes,
            title=summary,
            notes=notes,
            where=", ".join(filter(None, [job.enclosure.room, job.enclosure.name])),
            categories=(job.enclosure.name, job.key),
            path=job_path(self.site.place.id, job.enclosure.id, job.key, job.variant, self.options.to_dos),
            alarm=title(job),
            done=done,
        )

    def _tail(self, shown: Shown) -> bytes:
        lines = []
        if not self.options.all_day:
            # A duration keeps its length where the clock changes before the end.
            lines.append(f"DURATION:{_duration(shown.minutes)}\r\n".encode())
        lines.append(text_line("SUMMARY", shown.title))
        lines.append(text_line("DESCRIPTION", shown.notes))
        lines.append(text_line("LOCATION", shown.where))
        lines.append(fold(f"CATEGORIES:{','.join(map(escape, shown.categories))}"))
        if self.options.to_dos and shown.done is not None:
            lines.append(self.completed(shown.done))
        elif self.options.to_dos:
            lines.append(b"STATUS:NEEDS-ACTION\r\n")
        else:
            # A chore does not make its keeper busy.
            lines.append(b"TRANSP:TRANSPARENT\r\nX-MICROSOFT-CDO-BUSYSTATUS:FREE\r\n")
        if self.options.alarms and shown.done is None:
            lines.append(self._alarm(shown))
        lines.append(f"END:{self.options.kind}\r\n".encode())
        return b"".join(lines)

    def _alarm(self, shown: Shown) -> bytes:
        start = self.site.place.time_of(shown.part)
        # An all-day entry starts at midnight: its alarm waits for the hour at which the job would start.
        trigger = f"PT{start.hour}H{start.minute}M" if self.options.all_day else f"-PT{ALARM_MINUTES}M"
        return b"".join(
            [
                b"BEGIN:VALARM\r\n",
                f"UID:{make_uid(shown.path, 'alarm')}\r\n".encode(),
                b"ACTION:DISPLAY\r\n",
                f"TRIGGER:{trigger}\r\n".encode(),
                text_line("DESCRIPTION", shown.alarm),
                b"END:VALARM\r\n",
            ]
        )


def _duration(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return "PT" + (f"{hours}H" if hours else "") + (f"{rest}M" if rest or not hours else "")


def title(job: Job) -> str:
    """Return the title of a calendar entry: `Sedge: water change`."""
    return f"{job.enclosure.name}: {job.title}"
