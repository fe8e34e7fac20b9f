"""A rota as the documented JSON object, and as CSV."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Protocol

from scheduler.description.site import Site
from scheduler.rota import Rota, Task

COLUMNS = (
    "date",
    "weekday",
    "keeper",
    "enclosure",
    "room",
    "job",
    "variant",
    "title",
    "due",
    "minutes",
    "helper",
)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
Slot = tuple[dt.date, str]


class Changed(Protocol):
    """What differs from the published rota: day and keeper's id before and now."""

    @property
    def enclosure(self) -> str: ...
    @property
    def job(self) -> str: ...
    @property
    def variant(self) -> str: ...
    @property
    def due(self) -> dt.date: ...
    @property
    def before(self) -> Slot | None: ...
    @property
    def now(self) -> Slot | None: ...
    @property
    def gone(self) -> bool: ...


def rota_object(site: Site, rota: Rota, changes: Sequence[Changed]) -> str:
    """Return the documented JSON object. Keepers are named as in the description, enclosures by their ids."""
    fairness = rota.fairness
    assert fairness is not None  # what is printed was judged
    found: dict[str, Any] = {
        "rounds": [
            {
                "date": one.day.isoformat(),
                "keeper": one.keeper.name,
                "minutes": one.minutes,
                "jobs": [_task(task) for task in one.tasks],
                "helps": [_task(task) for task in one.helps],
            }
            for one in rota.rounds
        ],
        "unfilled": [
            {
                "date": u.item.occurrence.day.isoformat(),
                "enclosure": u.item.job.enclosure.id,
                "job": u.item.job.key,
                "variant": u.item.job.variant,
                "why": u.why,
                "mend": u.mend,
            }
            for u in rota.unfilled
        ],
        "alone": [
            {"date": task.day.isoformat(), "keeper": task.keeper.name, **_task(task)} for task in rota.alone
        ],
        "loads": {k.name: rota.loads[k.id] for k in site.keepers},
        "fairness": {
            "objective": round(fairness.objective, 3),
            "bound": round(fairness.bound, 3),
            "gap": round(fairness.gap, 6),
            "jain": round(fairness.jain, 6),
            "gini": round(fairness.gini, 6),
            "spread": round(fairness.spread, 6),
        },
        "changes": change_records(site, changes),
    }
    return json.dumps(found, ensure_ascii=False)


def change_records(site: Site, changes: Sequence[Changed]) -> list[dict[str, Any]]:
    """Return what differs from the published rota, one record an occurrence."""
    names = {k.id: k.name for k in site.keepers}
    return [
        {
            "enclosure": c.enclosure,
            "job": c.job,
            "variant": c.variant,
            "due": c.due.isoformat(),
            "before": _slot(c.before, names),
            "now": _slot(c.now, names),
        }
        for c in changes
    ]


def _task(task: Task) -> dict[str, Any]:
    job = task.item.job
    return {
        "enclosure": job.enclosure.id,
        "job": job.key,
        "variant": job.variant,
        "minutes": job.minutes,
        "due": task.item.due.isoformat(),
        "quarantine": task.item.quarantine,
        "helper": None if task.helper is None else task.helper.name,
    }


def _slot(slot: Slot | None, names: Mapping[str, str]) -> dict[str, str] | None:
    return None if slot is None else {"date": slot[0].isoformat(), "keeper": names.get(slot[1], slot[1])}


def rota_csv(rota: Rota) -> Iterator[str]:
    """Yield the tasks as lines of CSV (RFC 4180), round by round, after a heading."""
    yield _csv(COLUMNS)
    for one in rota.rounds:
        for task in one.tasks:
            job = task.item.job
            yield _csv([
                one.day.isoformat(),
                WEEKDAYS[one.day.weekday()],
                one.keeper.name,
                job.enclosure.name,
                job.enclosure.room or "",
                job.key,
                job.variant,
                job.title,
                task.item.due.isoformat(),
                str(job.minutes),
                "" if task.helper is None else task.helper.name,
            ])  # fmt: skip


def _csv(values: Iterable[str]) -> str:
    buffer = io.StringIO()
    # A spreadsheet would run what begins like a formula.
    safe_values = [f"'{v}" if v[:1] in ("=", "+", "-", "@", "\t", "\r") else v for v in values]
    csv.writer(buffer, lineterminator="\r\n").writerow(safe_values)
    return buffer.getvalue()
