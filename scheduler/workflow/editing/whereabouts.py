"""Who lives where, and who lived where on a day: from the description, and from the moves in the log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from scheduler.description import Enclosure, Site
from scheduler.description.site import Resident
from scheduler.history import OF_RESIDENTS, Entry
from scheduler.workflow.editing.residents import Lodging, pick_animal
from scheduler.workflow.site_log import open_to_read


@dataclass(frozen=True, slots=True)
class Residence:
    """A time of an animal in an enclosure, given by its id: from its first day, None where nobody knows,
    until, not included, it lived elsewhere; None where it still does."""

    resident: Resident
    enclosure: str
    first: dt.date | None
    until: dt.date | None

    def holds(self, day: dt.date) -> bool:
        """Tell whether it lived there on a day."""
        return (self.first is None or self.first <= day) and (self.until is None or day < self.until)


def residences(file: Path, site: Site) -> list[Residence]:
    """Return where all animals of a site live and lived, each from its first place to its last."""
    log = open_to_read(file, site)
    moved: list[Entry] = []
    if log is not None:
        with log:
            moved = list(log.entries(site.settings.id, kind="moved", voided=False))
    return [
        stay
        for enclosure in site.all_enclosures
        for resident in enclosure.resident
        for stay in _of(resident, enclosure, [e for e in moved if e.name == resident.id])
    ]


def _of(resident: Resident, home: Enclosure, moved: Iterable[Entry]) -> list[Residence]:
    """Return the places of an animal: backwards from where it is by its moves, as far as they fit."""
    found: list[Residence] = []
    place, until = home.id, resident.departed
    for entry in sorted(moved, key=lambda e: (e.day, e.number), reverse=True):
        # Somebody has moved it in an editor since.
        if entry.enclosure != place:
            break
        found.append(Residence(resident, place, entry.day, until))
        place, until = entry.given, entry.day
    else:
        first = resident.arrived if found else (resident.here_since or resident.arrived)
        found.append(Residence(resident, place, first, until))
        return found[::-1]
    found.append(Residence(resident, place, resident.here_since if not found else None, until))
    return found[::-1]


def entries_of_resident(file: Path, site: Site, name: str) -> list[Entry]:
    """Return what the log says of an animal, wherever it lived and lives: weights, moves, and what is left of
    it; those that stand, in the order of days. UsageError where there is none of that name."""
    from scheduler.care import OF_RESIDENTS as MEASURED

    everybody = [Lodging(r, e) for e in site.all_enclosures for r in e.resident]
    resident = pick_animal(name, everybody).resident
    log = open_to_read(file, site)
    if log is None:
        return []
    with log:
        place = site.settings.id
        found = list(log.entries(place, names=set(MEASURED), of=resident.id, voided=False))
        found += [
            e
            for e in log.entries(place, names={resident.id}, voided=False)
            if e.kind in OF_RESIDENTS or e.kind == "renamed"
        ]
    return sorted(found, key=lambda e: e.moment)
