"""What follows from a description: figures and findings; and the schema it is checked with."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from scheduler import care
from scheduler.description import Enclosure, Site
from scheduler.plan import Series
from scheduler.workflow.planning import make_plan


def schema_text() -> str:
    """Return the JSON Schema of the description as the package ships it."""
    import json

    from scheduler.description.schema import schema

    return json.dumps(schema(care.KEYS), indent=1, ensure_ascii=False) + "\n"


def review(site: Site, today: dt.date) -> list[dict[str, Any]]:
    """Return the `check` object's enclosures: figures with their sources, and findings about their jobs."""
    from scheduler.care.review import figures

    planned = make_plan(site, today, today, 366)
    by_enclosure: dict[str, list[Series]] = {}
    for series in planned.series:
        by_enclosure.setdefault(series.job.enclosure.id, []).append(series)
    return [
        {
            "id": enclosure.id,
            "name": enclosure.name,
            "figures": {
                f.key: {
                    "value": round(f.value, 4),
                    "unit": f.unit,
                    "source": f.source.text,
                    "status": f.source.status,
                }
                for f in figures(care.Case(site, enclosure))
            },
            "findings": list(_findings(site, enclosure, by_enclosure.get(enclosure.id, []))),
        }
        for enclosure in site.enclosures
    ]


def _findings(site: Site, enclosure: Enclosure, planned: list[Series]) -> Iterator[dict[str, str]]:
    """Yield what a keeper may not expect: jobs that become single dates, overrides that have nothing to change."""
    for series in planned:
        if series.why and not isinstance(series.job.cadence, care.On):
            yield {
                "key": series.job.key,
                "verdict": "look",
                "text": f"{series.job.title}: exported as single dates, not as a rule: {series.why}.",
                "source": "RFC 5545, the rules that calendar programs agree on",
                "status": "published",
            }
    present = {job.key for job in care.jobs_of(site, enclosure)}
    for key, override in enclosure.job.items():
        if key not in present and not override.off:
            yield {
                "key": key,
                "verdict": "look",
                "text": f"[enclosure.job.{key}] changes nothing: the job does not apply to this enclosure.",
                "source": "the description",
                "status": "keeper's value",
            }
