"""Occurrences and problems as the documented JSON objects."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from scheduler.description.site import Site
from scheduler.errors import Problem
from scheduler.plan import Occurrence


def keeper_of(site: Site) -> str | None:
    """Return the keeper whose every job is: the only one; with several, a rota says, and without any nobody is named."""
    return site.keepers[0].name if len(site.keepers) == 1 else None


def job_lines(site: Site, found: Iterable[Occurrence], uid: Callable[[Occurrence], str]) -> Iterator[str]:
    """Yield one JSON object a line for each occurrence, keys in the documented order.

    What repeats between the occurrences of a job is encoded once.
    """
    keeper = json.dumps(keeper_of(site), ensure_ascii=False)
    shared: dict[int, tuple[str, str]] = {}
    for occurrence in found:
        job = occurrence.job
        if id(job) not in shared:
            ends = json.dumps(
                {"enclosure": job.enclosure.id, "job": job.key, "title": job.title, "minutes": job.minutes},
                ensure_ascii=False,
            )
            shared[id(job)] = ends[1:-1], json.dumps(job.notes().text(), ensure_ascii=False)
        middle, notes = shared[id(job)]
        yield (
            f'{{"date": "{occurrence.day.isoformat()}", "time": "{occurrence.time:%H:%M}", {middle}, "keeper": {keeper}, '
            f'"state": "due", "uid": "{uid(occurrence)}", "notes": {notes}}}'
        )


def check_object(problems: Iterable[Problem], enclosures: Iterable[dict[str, Any]] = ()) -> str:
    """Return the `check` object: what is wrong with a description, and what is found about its enclosures."""
    listed = [{"path": p.where, "message": p.message, "hint": p.hint} for p in problems]
    return json.dumps({"problems": listed, "enclosures": list(enclosures)}, ensure_ascii=False, indent=1)
