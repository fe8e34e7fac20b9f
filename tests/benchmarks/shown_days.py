"""What a reader of .ics files shows of a calendar: its entries day by day, as general libraries expand them.

icalendar reads the file and dateutil follows the rules. Nothing here knows how the file was written.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from dateutil.rrule import rruleset, rrulestr
from icalendar import Calendar, Component

ENTRY = re.compile(r"BEGIN:(VEVENT|VTODO)\r\n(.*?)END:\1\r\n", re.DOTALL)
STAMPS = re.compile(r"^(?:DTSTAMP|LAST-MODIFIED|SEQUENCE)[:;].*?\r\n", re.MULTILINE)
DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True, order=True)
class Shown:
    """One occurrence as a window shows it; `time` is None where it is for the whole day, then `minutes` tell nothing."""

    day: dt.date
    time: dt.time | None
    title: str
    uid: str
    note: str = ""
    where: str = ""
    categories: tuple[str, ...] = ()
    minutes: int = 0
    alarms: int = 0

    @property
    def place(self) -> tuple[dt.date, bool, dt.time, str]:
        """Return its place in a day: whole days first, then by hour; what is of one hour by title."""
        return self.day, self.time is not None, self.time or dt.time(), self.title


def components(body: bytes) -> list[Component]:
    """Return the entries of a file, also those that are cancelled."""
    return [part for part in Calendar.from_ical(body).walk() if part.name in ("VEVENT", "VTODO")]


def shown(entries: Iterable[Component], first: dt.date, last: dt.date) -> list[Shown]:
    """Return what a window from `first` to `last` shows of entries, in its order; what is cancelled is not shown."""
    held = [one for one in entries if str(one.get("STATUS", "")) != "CANCELLED"]
    moved = {(str(one["UID"]), _day(one["RECURRENCE-ID"].dt)) for one in held if "RECURRENCE-ID" in one}
    found = []
    for one in held:
        uid = str(one["UID"])
        for moment in _starts(one, first, last):
            day = _day(moment)
            if "RECURRENCE-ID" not in one and (uid, day) in moved:
                continue
            found.append(
                Shown(
                    day,
                    moment.time() if isinstance(moment, dt.datetime) else None,
                    str(one.get("SUMMARY", "")),
                    uid,
                    str(one.get("DESCRIPTION", "")),
                    str(one.get("LOCATION", "")),
                    tuple(_categories(one)),
                    int(one.duration.total_seconds()) // 60,
                    len(one.walk("VALARM")),
                )
            )
    return sorted(found, key=lambda s: s.place)


def contents(body: bytes) -> dict[str, str]:
    """Return what each entry of a file says, by its UID (and the day of an override), without stamps and number."""
    found = {}
    for entry in ENTRY.finditer(body.decode().replace("\r\n ", "")):
        # An alarm has a UID of its own.
        lines = entry[2].partition("BEGIN:VALARM")[0].split("\r\n")
        name = " ".join(sorted(line for line in lines if line.startswith(("UID:", "RECURRENCE-ID"))))
        found[name] = STAMPS.sub("", entry[2])
    return found


def _day(moment: dt.date) -> dt.date:
    return moment.date() if isinstance(moment, dt.datetime) else moment


def _categories(entry: Component) -> Iterator[str]:
    found = entry.get("CATEGORIES")
    for one in found if isinstance(found, list) else [found]:
        if one is not None:
            yield from map(str, one.cats)


def _starts(entry: Component, first: dt.date, last: dt.date) -> Iterator[dt.date]:
    start = entry["DTSTART"].dt if "DTSTART" in entry else entry["DUE"].dt
    if "RRULE" not in entry and "RDATE" not in entry:
        if first <= _day(start) <= last:
            yield start
        return
    timed = isinstance(start, dt.datetime)
    begin = start if timed else dt.datetime.combine(start, dt.time())
    rules = rruleset()
    if "RRULE" in entry:
        text = entry["RRULE"].to_ical().decode()
        rules.rrule(rrulestr(text, dtstart=begin))  # type: ignore[arg-type]
    else:
        rules.rdate(begin)
    for name, add in (("RDATE", rules.rdate), ("EXDATE", rules.exdate)):
        found = entry.get(name, [])
        for some in found if isinstance(found, list) else [found]:
            for one in some.dts:
                add(one.dt if isinstance(one.dt, dt.datetime) else dt.datetime.combine(one.dt, dt.time()))
    after = dt.datetime.combine(first, dt.time(), begin.tzinfo)
    before = dt.datetime.combine(last + DAY, dt.time(), begin.tzinfo)
    for moment in rules.between(after, before, inc=True):
        if moment < before:
            yield moment if timed else moment.date()
