"""The hand-over sheet for a pet sitter."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from scheduler.care.engine.case import join
from scheduler.description.site import Site
from scheduler.rota import Item
from scheduler.rota.sitter import Moved, Sitting
from scheduler.sheets.terminal import duration, safe, wrapped

APART = (
    "In quarantine: do this last. Use only the net, tub, pail and cloths that hang here, and leave them "
    "here. Nothing goes from here to "
    "another animal. Wash hands and arms with soap. No disinfectant: the keepers see to that."
)

LEAVE = (
    (
        "Show where the mains switch is, and how lamps and heater look when all is well. Nobody opens "
        "anything electric."
    ),
    "Wash your hands with soap after every round; children under 5 and people whose defences are weak stay "
    "away from "
    "turtles and their water (Salmonella).",
)


def sitter_lines(site: Site, made: Sitting, width: int) -> Iterator[str]:
    """Yield the sheet: what is done before, what the sitter does on which day, what waits, and what cannot be
    left."""
    first, last = made.span
    total = sum(one.minutes for one in made.rounds)
    jobs = sum(len(one.tasks) for one in made.rounds)
    date = site.settings.formats.date
    days = date(first) if first == last else f"{date(first)} to {date(last)}"
    what = f"{jobs} job{'s' if jobs != 1 else ''}, {duration(total)}" if jobs else "nothing to do"
    heading = f"{made.sitter.name}, {days}: {what}"
    yield from wrapped(safe(heading), width, 0)
    yield from _moved("Before, by the keepers:", made.before, date, width)
    told: set[tuple[str, ...]] = set()
    for one in made.rounds:
        yield ""
        yield f"{site.settings.formats.weekday_date(one.day)}, {duration(one.minutes)}"
        apart = False
        for number, task in enumerate(one.tasks, start=1):
            if task.item.quarantine and not apart:
                apart = True
                yield from wrapped(APART, width, 2, "  ")
            name = f"{_title(task.item)}, {task.item.job.minutes} min"
            yield from wrapped(safe(name), width, 6, f"  {number}.")
            steps = task.item.job.notes().steps
            if steps not in told:
                told.add(steps)
                for step in steps:
                    yield from wrapped(safe(step), width, 8, "      - ")
    yield from _moved("After, by the keepers:", made.after, date, width)
    if made.cannot:
        yield ""
        yield "Neither waits nor is for a sitter; ask somebody who is fit for it:"
        for item, why in made.cannot:
            day = item.occurrence.day
            yield from wrapped(safe(f"{day:%a} {date(day)}  {_title(item)}: {why}."), width, 4, "  ")
    yield ""
    for line in (*_numbers(site), *LEAVE):
        yield from wrapped(line, width, 4, "  - ")


def _numbers(site: Site) -> Iterator[str]:
    """Yield whom to call, by what for; and which numbers to leave that the description does not have."""
    for contact in site.settings.contacts:
        yield safe(f"{contact.name}, {contact.phone}: {join(contact.duties)}.")
    if site.settings.called_for("vet"):
        yield "Leave your number, and that of somebody who can come."
    else:
        yield "Leave your number, the reptile vet's, and that of somebody who can come."


def _moved(heading: str, moved: Iterable[Moved], date: Callable[[dt.date], str], width: int) -> Iterator[str]:
    some = list(moved)
    if not some:
        return
    yield ""
    yield heading
    for one in some:
        due = one.item.due
        told = (
            f"{one.day:%a} {date(one.day)}  {_title(one.item)}, {one.item.job.minutes} min (due {due:%a} "
            f"{date(due)})"
        )
        yield from wrapped(safe(told), width, 4, "  ")


def sitter_object(site: Site, made: Sitting) -> str:
    """Return the sheet as JSON."""
    found: dict[str, Any] = {
        "sitter": made.sitter.name,
        "first": made.span[0].isoformat(),
        "last": made.span[1].isoformat(),
        "rounds": [
            {
                "date": one.day.isoformat(),
                "minutes": one.minutes,
                "jobs": [_job(task.item) for task in one.tasks],
            }
            for one in made.rounds
        ],
        "before": [{"date": m.day.isoformat(), **_job(m.item)} for m in made.before],
        "after": [{"date": m.day.isoformat(), **_job(m.item)} for m in made.after],
        "contacts": [
            {"name": one.name, "phone": one.phone, "for": list(one.duties)} for one in site.settings.contacts
        ],
        "cannot": [{**_job(item), "why": why} for item, why in made.cannot],
    }
    return json.dumps(found, ensure_ascii=False)


def _job(item: Item) -> dict[str, Any]:
    job = item.job
    return {
        "enclosure": job.enclosure.id,
        "job": job.key,
        "variant": job.variant,
        "minutes": job.minutes,
        "due": item.due.isoformat(),
    }


def _title(item: Item) -> str:
    room = item.job.enclosure.room
    return f"{room + ', ' if room else ''}{item.job.enclosure.name}: {item.job.title}"
