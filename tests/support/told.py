"""What the entries of a calendar tell: which jobs stand in them, on which day, for whom, by the words of their notes."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from icalendar import Calendar, Component
from recurring_ical_events import of

from scheduler.calendar.notes import QUARANTINE
from scheduler.care import Job
from scheduler.description import Site
from support.entries import categories, time_of

LINE = re.compile(
    r"(?:Lend a hand to (?P<lent>.+?): )?(?P<title>.+), (?P<minutes>\d+) min(?:, with (?P<helper>.+?))?"
    r"(?:, late since (?P<late>\d+ \w+ \d{4}))?"
)
BOX = "[ ] "


@dataclass(frozen=True, slots=True)
class Told:
    """One job as an entry tells it: `enclosure` is the id, `title` that of the job; `lent` whose it is where a hand is lent."""

    enclosure: str
    title: str
    minutes: int
    lent: str = ""
    helper: str = ""
    is_late: bool = False


def title_of(job: Job) -> str:
    """Return what a job is called in a note."""
    return job.title[:1].upper() + job.title[1:]


def headings(site: Site) -> dict[str, str]:
    """Return the id of each enclosure by the line that names it in a note: `Den tank (den)`."""
    return {e.name + (f" ({e.room})" if e.room else ""): e.id for e in site.enclosures}


def works(entry: Component, site: Site) -> list[Told]:
    """Return the jobs that are still to be done by an entry; nothing where they are done, or it is cancelled."""
    note = str(entry.get("DESCRIPTION", ""))
    if str(entry.get("STATUS", "")) in ("CANCELLED", "COMPLETED") or note.startswith("Done "):
        return []
    kinds = categories(entry)
    if kinds in (["Routine"], ["Round"]):
        return [*_of_group(note, site)]
    # One job: its enclosure is the first category, its line the first one, or the one after since when it is open.
    (enclosure,) = [e.id for e in site.enclosures if e.name == kinds[0]]
    lines = note.split("\n\n", 1)[-1] if note.startswith("Fell due on ") else note
    return [_told(enclosure, lines.split("\n", 1)[0])]


def _of_group(note: str, site: Site) -> Iterator[Told]:
    known, names = headings(site), {e.name: e.id for e in site.enclosures}
    if BOX not in note:
        # The routine of many enclosures is a line each, without boxes.
        for line in note.split("\n\n", 1)[0].splitlines():
            name, _, said = line.partition(": ")
            if name in names:
                yield from (_told(names[name], one) for one in said.split("; "))
        return
    enclosure = ""
    for number, block in enumerate(note.split("\n\n")):
        lines = block.splitlines()[1:] if number == 0 else block.splitlines()
        lines = lines[1:] if lines[:1] == [QUARANTINE] else lines
        if lines and lines[0] in known:
            enclosure = known[lines[0]]
        for line in lines:
            if line.startswith(BOX):
                yield _told(enclosure, line.removeprefix(BOX))


def _told(enclosure: str, line: str) -> Told:
    found = LINE.fullmatch(line)
    assert enclosure and found is not None, f"no job of an enclosure: {line!r}"
    return Told(
        enclosure,
        found["title"],
        int(found["minutes"]),
        found["lent"] or "",
        found["helper"] or "",
        found["late"] is not None,
    )


def parsed(feed: bytes) -> Calendar:
    """Return a feed as icalendar reads it; it has to be without a fault."""
    calendar = Calendar.from_ical(feed)
    faults = [(part.name, part.errors) for part in calendar.walk() if part.errors]
    assert not faults, f"icalendar refuses {faults}"
    return calendar


def days(feed: bytes, first: dt.date, last: dt.date) -> list[tuple[dt.date, Component]]:
    """Return the entries of a feed day by day, both included, as recurring-ical-events lists them."""
    seen = of(parsed(feed), components=["VEVENT", "VTODO"]).between(first, last + dt.timedelta(days=1))
    found = [(day_of(entry), entry) for entry in seen]
    return sorted((one for one in found if first <= one[0] <= last), key=lambda one: one[0])


def day_of(entry: Component, name: str = "DTSTART") -> dt.date:
    """Return the day on which an entry starts, or is due."""
    start = time_of(entry, name)
    return start.date() if isinstance(start, dt.datetime) else start


def hour_of(entry: Component) -> dt.time | None:
    """Return the hour at which an entry starts; None where it is a whole day."""
    start = time_of(entry, "DTSTART")
    return start.time() if isinstance(start, dt.datetime) else None


def of_days(feed: bytes, site: Site, first: dt.date, last: dt.date) -> list[tuple[dt.date, str, Told]]:
    """Return day, UID and job of all that is to be done by a feed."""
    return [(day, str(e["UID"]), told) for day, e in days(feed, first, last) for told in works(e, site)]


def shown(some: Iterable[tuple[dt.date, Component]]) -> list[str]:
    """Return day, hour and title of entries: `2026-12-02 07:30 Feed, look in`; without an hour where it is a whole day."""
    lines = []
    for day, entry in some:
        at = hour_of(entry)
        lines.append(" ".join(filter(None, [f"{day}", f"{at:%H:%M}" if at else "", str(entry["SUMMARY"])])))
    return sorted(lines)
