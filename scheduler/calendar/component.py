"""Entries of a calendar as bytes: VEVENTs or VTODOs, single ones and ones with a rule.

What the entries of a job share (title, notes, categories, alarm) is encoded once for the job; an entry adds
its UID and its start. Each component begins with the four lines that `continuity` reads back: UID, DTSTAMP,
LAST-MODIFIED, SEQUENCE.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from scheduler.calendar.identity import make_uid
from scheduler.calendar.slots import Slots
from scheduler.calendar.text import escape, fold, text_line
from scheduler.calendar.titles import keeper_names, place_names
from scheduler.calendar.zones import UTC_NAMES
from scheduler.description.site import Site
from scheduler.history import NOON
from scheduler.rules import Rule

ALARM_MINUTES = 10
"""How long before a timed entry its alarm goes off, where alarms are asked for. House value."""

DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a feed is written: events or to-dos, with times or as whole days, with alarms or without, an entry
    a job or fewer.

    Without a word on `all_day` only what has several people's names in it is written as whole days: six
    rounds at one hour are six columns that nobody can read. `link` is the address of the page that entries
    lead to, a secret; `keeper_links` have those of keepers' own calendars, by keeper id (see `links`).
    """

    to_dos: bool = False
    all_day: bool | None = None
    alarms: bool = False
    each_job: bool = False
    base_url: str = ""
    link: str = ""
    keeper_links: tuple[tuple[str, str], ...] = ()

    @property
    def kind(self) -> str:
        """Return the component that an entry is."""
        return "VTODO" if self.to_dos else "VEVENT"

    @property
    def by_job(self) -> bool:
        """Tell whether each job has an entry of its own: ticks of a group could not be told apart."""
        return self.each_job or self.to_dos


@dataclass(frozen=True, slots=True)
class Component:
    """One VEVENT or VTODO: its UID, and everything that follows the four leading lines."""

    uid: str
    body: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Recurring:
    """An entry with a rule: from `first`, the rule's own first instance, to `until` if that is given, without
    the days `out`.

    `time` is its hour and `tail` what follows the lines of its times. Where it `moves`, nothing of it lies
    before its first day.
    """

    uid: str
    rule: Rule
    first: dt.date
    until: dt.date | None = None
    out: tuple[dt.date, ...] = ()
    time: dt.time
    tail: bytes
    moves: bool = False

    def without_out(self) -> Recurring | None:
        """Return the entry from its first day that is not out; None where no day is left."""
        if self.first not in self.out:
            return self if self.until is None or self.first <= self.until else None
        reach = self.until or max(*self.out, self.first) + dt.timedelta(days=366 * 21)
        first = next((day for day in self.rule.dates(self.first, reach) if day not in self.out), None)
        return None if first is None else replace(self, first=first)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What an entry shows: its hour and length, its words, and `path`, of which its alarm is named.

    It is a `whole` day where that is said, else as the options have it. It rings where `alarm` has words.
    `done` is the moment at which it was done.
    """

    time: dt.time
    minutes: int
    title: str
    notes: str
    where: str
    categories: tuple[str, ...]
    path: str
    alarm: str = ""
    link: str = ""
    whole: bool = False
    done: dt.datetime | None = None


class Writer:
    """Writes the components of one site under one set of options."""

    def __init__(self, site: Site, options: Options) -> None:
        """Prepare what all components share."""
        self.site, self.options = site, options
        self.zone: ZoneInfo = site.settings.zone
        self.slots = Slots(site)
        self.places, self.names = place_names(site), keeper_names(site)
        self._key = site.settings.time_zone
        self.utc = self._key in UTC_NAMES

    def entry(self, uid: str, day: dt.date, shown: Shown) -> Component:
        """Return an entry of a day."""
        whole = self._is_whole(shown.whole)
        return Component(uid, self.when(day, shown.time, whole=whole) + self.tail(shown))

    def dated(self, uid: str, day: dt.date, time: dt.time, tail: bytes) -> Component:
        """Return an entry of a day, with what it shares with others."""
        return Component(uid, self.when(day, time) + tail)

    def recurring(self, entry: Recurring) -> Component:
        """Return an entry with a rule."""
        out = b"".join(self._exdate(day, entry.time) for day in entry.out if day > entry.first)
        # With its rule also where one day of it is left: so it stays for a while when it is over, as rules
        # do.
        return Component(
            entry.uid, self.when(entry.first, entry.time) + self._rrule(entry) + out + entry.tail
        )

    # --- time ---

    def moment(self, day: dt.date, time: dt.time | None) -> dt.datetime:
        """Return a moment at the site; where the hour is not known, noon: it is on that day for whoever is
        near."""
        return dt.datetime.combine(day, time or NOON, self.zone)

    def completed(self, moment: dt.datetime) -> bytes:
        """Return the lines of a to-do that was done; COMPLETED is in UTC (RFC 5545, section 3.8.2.1)."""
        utc = moment.astimezone(dt.UTC)
        return f"STATUS:COMPLETED\r\nPERCENT-COMPLETE:100\r\nCOMPLETED:{utc:%Y%m%dT%H%M%SZ}\r\n".encode()

    def when(self, day: dt.date, time: dt.time, *, whole: bool | None = None) -> bytes:
        """Return DTSTART, and for an entry of a whole day its exclusive end (RFC 5545, sections 3.6.1 and
        3.6.2)."""
        if self._is_whole(False) if whole is None else whole:
            name = "DUE" if self.options.to_dos else "DTEND"
            return f"DTSTART;VALUE=DATE:{day:%Y%m%d}\r\n{name};VALUE=DATE:{day + DAY:%Y%m%d}\r\n".encode()
        zone, zulu = ("", "Z") if self.utc else (f";TZID={self._key}", "")
        start = f"{day.year:04}{day.month:02}{day.day:02}T{time.hour:02}{time.minute:02}00"
        return f"DTSTART{zone}:{start}{zulu}\r\n".encode()

    def _is_whole(self, by_nature: bool) -> bool:
        return by_nature if self.options.all_day is None else self.options.all_day

    def _rrule(self, entry: Recurring) -> bytes:
        end = ""
        if entry.until is not None:
            end = f";UNTIL={entry.until:%Y%m%d}"
            if not self._is_whole(False):
                # UNTIL is in UTC wherever DTSTART has a zone (RFC 5545, section 3.3.10).
                last = dt.datetime.combine(entry.until, entry.time, self.zone)
                end = f";UNTIL={last.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}"
        return fold(f"RRULE:{entry.rule.text()}{end}")

    def _exdate(self, day: dt.date, time: dt.time) -> bytes:
        """Return the line that takes a day out of a rule, in the form of DTSTART (RFC 5545, section
        3.8.5.1)."""
        return self.when(day, time).split(b"\r\n", 1)[0].replace(b"DTSTART", b"EXDATE", 1) + b"\r\n"

    # --- what entries share ---

    def tail(self, shown: Shown) -> bytes:
        """Return what an entry has after its times."""
        whole = self._is_whole(shown.whole)
        # A duration keeps its length where the clock changes before the end.
        lines = [] if whole else [f"DURATION:{_duration(shown.minutes)}\r\n".encode()]
        lines.append(text_line("SUMMARY", shown.title))
        lines.append(text_line("DESCRIPTION", shown.notes))
        lines += [text_line("LOCATION", shown.where)] if shown.where else []
        lines.append(fold(f"CATEGORIES:{','.join(map(escape, shown.categories))}"))
        if shown.link:
            lines.append(fold(f"URL:{shown.link}"))
        if self.options.to_dos and shown.done is not None:
            lines.append(self.completed(shown.done))
        elif self.options.to_dos:
            lines.append(b"STATUS:NEEDS-ACTION\r\n")
        else:
            # A chore does not make its keeper busy.
            lines.append(b"TRANSP:TRANSPARENT\r\nX-MICROSOFT-CDO-BUSYSTATUS:FREE\r\n")
        if self.options.alarms and shown.alarm and shown.done is None:
            lines.append(_alarm(shown, whole=whole))
        lines.append(f"END:{self.options.kind}\r\n".encode())
        return b"".join(lines)

    def where(self, room: str | None, place: str = "") -> str:
        """Return where an entry is done: room, enclosure where the title does not name it, and site."""
        return ", ".join(filter(None, [room, place, self.site.settings.name]))


def _alarm(shown: Shown, *, whole: bool) -> bytes:
    """Return the alarm of an entry: DISPLAY has a DESCRIPTION and nobody to be invited (RFC 5545, section
    3.6.6)."""
    # An entry of a whole day starts at midnight: its alarm waits for the hour at which the work would start.
    trigger = f"PT{shown.time.hour}H{shown.time.minute}M" if whole else f"-PT{ALARM_MINUTES}M"
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
