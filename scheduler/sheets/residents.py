"""Who lives where: lines for a terminal, and records."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any, Protocol

from scheduler.description import Site
from scheduler.description.site import Resident
from scheduler.sheets.terminal import LEAST_WIDTH, safe, wrapped


class Stays(Protocol):
    """A time of an animal in an enclosure."""

    @property
    def resident(self) -> Resident:
        """The animal."""
        ...

    @property
    def enclosure(self) -> str:
        """The id of the enclosure."""
        ...

    @property
    def first(self) -> dt.date | None:
        """The first day; None where nobody knows."""
        ...

    @property
    def until(self) -> dt.date | None:
        """The day on which it lives elsewhere; None where it stays."""
        ...


def resident_lines(site: Site, stays: Iterable[Stays], width: int) -> Iterator[str]:
    """Yield an enclosure a line with the animals in it below, each with since when it is there."""
    width, formats = max(width, LEAST_WIDTH), site.settings.formats
    by_place: dict[str, list[Stays]] = {}
    for stay in stays:
        by_place.setdefault(stay.enclosure, []).append(stay)
    for enclosure in site.all_enclosures:
        here = by_place.get(enclosure.id, [])
        if not here:
            continue
        yield safe(enclosure.name)
        for stay in sorted(here, key=lambda one: one.resident.id):
            r = stay.resident
            parts = [r.name, f"{r.count} animals" if r.count > 1 else "", r.species or ""]
            parts.append(f"since {formats.date(stay.first)}" if stay.first is not None else "")
            parts.append(f"until {formats.date(stay.until)}" if stay.until is not None else "")
            yield from wrapped(safe(", ".join(filter(None, parts))), width, 4, "  ")


def resident_records(site: Site, stays: Iterable[Stays]) -> list[dict[str, Any]]:
    """Return the same as records."""
    names = {e.id: e.name for e in site.all_enclosures}
    return [
        {
            "enclosure": stay.enclosure,
            "enclosure_name": names.get(stay.enclosure, stay.enclosure),
            "resident": stay.resident.id,
            "name": stay.resident.name,
            "species": stay.resident.species,
            "count": stay.resident.count,
            "since": stay.first.isoformat() if stay.first is not None else None,
            "until": stay.until.isoformat() if stay.until is not None else None,
        }
        for stay in stays
    ]
