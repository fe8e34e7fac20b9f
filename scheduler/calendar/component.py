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
from scheduler.description.site import Site
from scheduler.plan import Series

ALARM_MINUTES = 10
"""How long before a timed job its alarm goes off, where alarms are asked for. House value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a feed is written: events or to-dos, with times or as whole days, with alarms or without."""

    to_dos: bool = False
    all_day: bool = False
    alarms: bool = False
    base_url: str = ""

    @property
    def kind(self) -> str:
        """Return the component that an entry is."""
        return "VTODO" if self.to_dos else "VEVENT"


@dataclass(frozen=True, slots=True)
class Component:
    """One VEVENT or VTODO: its UID, and everything that follows the four leading lines."""

    uid: str
    body: bytes


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
        """Yield the components of a series, one with a rule or one for each date; `tail` is what they share."""
        if series.rule is not None and series.first is not None:
            rule = b"" if series.first == series.until else self._rrule(series)
            yield Component(
                self.uid(series, series.first), self._when(series.job, series.first) + rule + tail
            )
            return
        for day in series.dates:
            yield Component(self.uid(series, day), self._when(series.job, day) + tail)

    # --- time ---

    def _when(self, job: Job, day: dt.date) -> bytes:
        """Return DTSTART, and for an all-day entry its exclusive end (RFC 5545, sections 3.6.1 and 3.6.2)."""
        if self.options.all_day:
            end = f"{day + dt.timedelta(days=1):%Y%m%d}".encode()
            name = b"DUE" if self.options.to_dos else b"DTEND"
            return self._start_prefix + f"{day:%Y%m%d}\r\n".encode() + name + b";VALUE=DATE:" + end + b"\r\n"
        start = self.site.place.time_of(job.part)
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

    # --- what the occurrences of a job share ---

    def tail(self, job: Job, notes: str) -> bytes:
        """Return what every entry of a job has after its times, with these notes."""
        lines = []
        if not self.options.all_day:
            # A duration keeps its length where the clock changes before the end.
            lines.append(f"DURATION:{_duration(job.minutes)}\r\n".encode())
        lines.append(text_line("SUMMARY", title(job)))
        lines.append(text_line("DESCRIPTION", notes))
        where = ", ".join(filter(None, [job.enclosure.room, job.enclosure.name]))
        lines.append(text_line("LOCATION", where))
        lines.append(fold(f"CATEGORIES:{escape(job.enclosure.name)},{escape(job.key)}"))
        if self.options.to_dos:
            lines.append(b"STATUS:NEEDS-ACTION\r\n")
        else:
            # A chore does not make its keeper busy.
            lines.append(b"TRANSP:TRANSPARENT\r\nX-MICROSOFT-CDO-BUSYSTATUS:FREE\r\n")
        if self.options.alarms:
            lines.append(self._alarm(job))
        lines.append(f"END:{self.options.kind}\r\n".encode())
        return b"".join(lines)

    def _alarm(self, job: Job) -> bytes:
        start = self.site.place.time_of(job.part)
        path = job_path(self.site.place.id, job.enclosure.id, job.key, job.variant, self.options.to_dos)
        # An all-day entry starts at midnight: its alarm waits for the hour at which the job would start.
        trigger = f"PT{start.hour}H{start.minute}M" if self.options.all_day else f"-PT{ALARM_MINUTES}M"
        return b"".join(
            [
                b"BEGIN:VALARM\r\n",
                f"UID:{make_uid(path, 'alarm')}\r\n".encode(),
                b"ACTION:DISPLAY\r\n",
                f"TRIGGER:{trigger}\r\n".encode(),
                text_line("DESCRIPTION", title(job)),
                b"END:VALARM\r\n",
            ]
        )


def _duration(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return "PT" + (f"{hours}H" if hours else "") + (f"{rest}M" if rest or not hours else "")


def title(job: Job) -> str:
    """Return the title of a calendar entry: `Sedge: water change`."""
    return f"{job.enclosure.name}: {job.title}"
