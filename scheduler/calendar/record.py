"""What the notes of entries say of the record: what was done and by whom, what is open; and works without
their steps."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.calendar.notes import ROUND_LIMIT, Work, job_note
from scheduler.care import Job
from scheduler.history import Entry
from scheduler.locales import Formats
from scheduler.plan import Occurrence

OWN_CALENDARS = "the calendars of the keepers and of the enclosures"
TANKS_CALENDARS = "the calendars of the enclosures"
"""Where the steps are that a short note leaves out."""


def open_note(job: Job, since: dt.date, formats: Formats, *, link: str = "") -> str:
    """Return the note of what fell due and was not recorded as done."""
    return (
        f"Fell due on {formats.date(since)} and was not recorded as "
        f"done.\n\n{job_note(job, link=link, formats=formats)}"
    )


def done_note(entry: Entry, by: str, formats: Formats) -> str:
    """Return the note of what was done: when, by whom, and what was noted."""
    first = f"Done on {formats.date(entry.day)}" + (f" by {by}." if by else ".")
    return "\n\n".join(filter(None, [first, entry.note]))


def done_lines(
    done: Iterable[Occurrence], by: Mapping[str, str], places: Mapping[str, str], formats: Formats
) -> list[str]:
    """Return a line for each day and keeper on which something was done, the latest first, with what was
    noted.

    `by` names keepers by their ids; where it is empty they are not named. `places` names enclosures in
    titles.
    """
    groups: dict[tuple[dt.date, str], list[Occurrence]] = {}
    for one in done:
        assert one.entry is not None
        groups.setdefault((one.day, one.entry.keeper if by else ""), []).append(one)
    return [
        line
        for (day, keeper), some in sorted(groups.items(), key=lambda group: group[0], reverse=True)
        for line in _lines(formats.date(day), by.get(keeper, keeper), some, places)
    ]


def _lines(day: str, by: str, some: Sequence[Occurrence], places: Mapping[str, str]) -> Iterator[str]:
    works: dict[str, list[str]] = {}
    for one in some:
        works.setdefault(one.job.title, []).append(places[one.job.enclosure.id])
    said = "; ".join(
        " ".join(filter(None, [work, ", ".join(filter(None, where))])) for work, where in works.items()
    )
    yield f"Done {day}{f', {by}' if by else ''}: {said}"
    for one in some:
        if one.entry is not None and one.entry.note:
            yield f"- {one.job.title} {places[one.job.enclosure.id]}".rstrip() + f": {one.entry.note}"


def list_note(works: Sequence[Work], *, done: Sequence[str] = (), elsewhere: str) -> str:
    """Return what is done without its steps, which stand `elsewhere`; what does not fit into ROUND_LIMIT is
    counted."""
    by_place: dict[str, list[str]] = {}
    for work in works:
        by_place.setdefault(work.job.enclosure.name, []).append(work.line)
    lines = [f"{place}: {'; '.join(some)}" for place, some in by_place.items()]
    told: list[str] = []
    room = ROUND_LIMIT
    for number, line in enumerate(lines):
        room -= len(line) + 1
        if room < 0:
            told.append(f"And {len(lines) - number} more enclosures: the steps are in their own calendars.")
            break
        told.append(line)
    else:
        told.append(f"The steps are in {elsewhere}.")
    return "\n\n".join(filter(None, ["\n".join(told), "\n".join(done)]))
