"""Occurrences and problems as the documented JSON objects."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from scheduler.care import Review
from scheduler.care.engine.figure import Value
from scheduler.description.site import Site
from scheduler.errors import Problem
from scheduler.history import OccurrenceRef
from scheduler.plan import Occurrence
from scheduler.plan.amendments import put_off_from
from scheduler.quantities import show_date
from scheduler.sheets.entries import keeper_keys
from scheduler.sheets.review import WhatIf


def job_lines(
    site: Site,
    found: Iterable[Occurrence],
    standing: Callable[[Occurrence], tuple[str, dt.time]],
    *,
    explain: bool = False,
    rota: Mapping[OccurrenceRef, str] | None = None,
) -> Iterator[str]:
    """Yield one JSON object a line for each occurrence, keys in the documented order.

    `standing` gives UID and hour of the calendar entry in which it stands: lines may share one. `rota` tells
    who takes what, by occurrence: the keeper's id.

    What repeats between the occurrences of a job is encoded once. With `explain` the notes say how amounts
    came about.
    """
    alone = site.keepers[0].id if len(site.keepers) == 1 else ""
    names = {k.id: k.name for k in site.keepers}
    shared: dict[int, tuple[str, str]] = {}
    by_keeper: dict[str, str] = {}
    for occurrence in found:
        job = occurrence.job
        if id(job) not in shared:
            ends = json.dumps(
                {
                    "enclosure": job.enclosure.id,
                    "job": job.key,
                    "variant": job.variant,
                    "title": job.title,
                    "minutes": job.minutes,
                },
                ensure_ascii=False,
            )
            notes = job.notes().text(explain=explain)
            shared[id(job)] = ends[1:-1], json.dumps(notes, ensure_ascii=False)
        middle, told = shared[id(job)]
        who, entry = alone, occurrence.entry
        if entry is not None:
            who, told = entry.keeper, json.dumps(entry.note, ensure_ascii=False)
        elif rota:
            who = rota.get(occurrence.ref, alone)
        if who not in by_keeper:
            keys = keeper_keys(who, names)
            by_keeper[who] = json.dumps({"keeper": keys["keeper_name"], **keys}, ensure_ascii=False)[1:-1]
        if occurrence.since is not None:
            text = f"{open_since(occurrence.since)}\n\n{job.notes().text(explain=explain)}"
            told = json.dumps(text, ensure_ascii=False)
        elif entry is None and occurrence.put_off is not None:
            text = f"{put_off_from(occurrence.put_off)}\n\n{job.notes().text(explain=explain)}"
            told = json.dumps(text, ensure_ascii=False)
        uid, time = standing(occurrence)
        yield (
            f'{{"date": "{occurrence.day.isoformat()}", "time": "{time:%H:%M}", {middle}, {by_keeper[who]}, '
            f'"state": "{occurrence.state}", "uid": "{uid}", "notes": {told}}}'
        )


def open_since(day: dt.date) -> str:
    """Return what is said of an occurrence that fell due and was not done."""
    return f"Fell due on {show_date(day)} and was not recorded as done."


def check_object(
    problems: Iterable[Problem], reviews: Iterable[Review] = (), what_if: WhatIf | None = None
) -> str:
    """Return the `check` object: what is wrong with a description, what the review says, and what it would
    say if."""
    listed = [{"path": p.where, "message": p.message, "hint": p.hint} for p in problems]
    found: dict[str, Any] = {"problems": listed, "enclosures": [review_record(r) for r in reviews]}
    if what_if is not None:
        found["what_if"] = {
            "changes": list(what_if.changes),
            "enclosures": [review_record(r) for r in what_if.reviews],
        }
    return json.dumps(found, ensure_ascii=False)


def review_record(review: Review) -> dict[str, Any]:
    """Return a review as the documented object."""
    return {
        "id": review.enclosure.id,
        "name": review.enclosure.name,
        "figures": {
            f.key: {
                "value": _value(f.value),
                "unit": f.unit,
                "source": f.source.text,
                "status": f.source.status,
            }
            for f in review.figures
        },
        "findings": [
            {
                "key": f.key,
                "verdict": f.verdict,
                "text": f.text,
                "source": f.source.text,
                "status": f.source.status,
            }
            for f in review.findings
        ],
    }


def _value(value: Value) -> str | float:
    """Return a figure's value as JSON has it: a date as text, whole numbers as they are, others to six
    digits."""
    if isinstance(value, dt.date):
        return value.isoformat()
    return value if isinstance(value, int) else float(f"{value:.6g}")
