"""The page of an animal: what it is, where it lived, its weights and lengths, and what was recorded of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.readings import QUANTITIES, show_reading
from scheduler.web.animals import REASONS, movable
from scheduler.web.coordinator.origin import Origin
from scheduler.web.coordinator.tank import days_of_record, species_of
from scheduler.web.visit import PageVisit
from scheduler.workflow.editing.whereabouts import entries_of_resident, residences

_SIZES = {name for name, kind in QUANTITIES.items() if kind.of == "resident" and not kind.is_sign}


@dataclass(frozen=True, slots=True)
class Measured:
    """A weight or a length: the day, of what, and the value as people read it off."""

    day: dt.date
    label: str
    value: str


def animal_page(visit: PageVisit, animal: str, alert: str = "", status: int = 200) -> Response:
    """Return the page of an animal, named by its id, also of one that has left.

    HTTPException (404) where there is none of that id.
    """
    site, file = visit.tended.described, visit.live.file
    places = {e.id: e.name for e in site.all_enclosures}
    found = next(((r, e) for e in site.all_enclosures for r in e.resident if r.id == animal), None)
    if found is None:
        raise HTTPException(404)
    visit.came_from = Origin("animal", animal)
    resident, enclosure = found
    entries = entries_of_resident(file, site, animal)
    settings = site.settings
    measured = [
        Measured(
            e.day,
            QUANTITIES[e.name].label,
            show_reading(e.name, e.value, settings.units, settings.formats),
        )
        for e in entries
        if e.kind == "reading" and e.value is not None and e.name in _SIZES
    ]
    return visit.html(
        "coordinator/animal.html",
        status,
        alert=alert,
        resident=resident,
        enclosure=enclosure,
        species=species_of(site, resident),
        stays=[
            (places.get(stay.enclosure, stay.enclosure), stay.first, stay.until)
            for stay in residences(file, site)
            if stay.resident.id == animal
        ],
        measured=measured[::-1],
        record=[*days_of_record(site, [e for e in entries if e.name not in _SIZES])],
        animals=[one for one in movable(visit) if one.resident.id == animal],
        reasons=REASONS,
    )
