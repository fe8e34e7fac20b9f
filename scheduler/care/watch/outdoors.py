"""Water outdoors that is too cold for an animal that does not brumate: it is brought in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care.engine.case import Case, join
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.description.site import Resident


@dataclass(frozen=True, slots=True)
class Cold:
    """The last reading of the water, degC, with the first day of the readings in a row under the limit, and
    who comes in."""

    celsius: float
    day: dt.date
    since: dt.date
    residents: tuple[Resident, ...]

    @property
    def names(self) -> str:
        """Return who comes in, as a phrase."""
        return join(tuple(r.name for r in self.residents))


def come_in(case: Case) -> tuple[Resident, ...]:
    """Return the residents that do not stay outdoors in the cold: the keeper has not written that they
    brumate, or no sheet says so."""
    return tuple(r for r in case.enclosure.resident if not (r.brumates and brumates_by_nature(case, r)))


def staying(case: Case) -> tuple[Resident, ...]:
    """Return the residents that winter outdoors: the keeper has written so, and a sheet says that their
    species does."""
    gone = come_in(case)
    return tuple(r for r in case.enclosure.resident if r not in gone)


def brumates_by_nature(case: Case, resident: Resident) -> bool:
    """Tell whether the species sheet says that animals of the species brumate; a sheet that is silent does
    not."""
    sheet = case.sheet(resident)
    return sheet is not None and sheet.brumation is not None and sheet.brumation.natural


@once
def cold(case: Case) -> Cold | None:
    """Return the cold water of an enclosure outdoors; None while the last reading is not under the limit, or
    nobody has to come in."""
    readings = [e for e in case.readings("temperature") if e.value is not None]
    residents = come_in(case)
    if not case.enclosure.outdoors or not readings or not residents:
        return None
    since = None
    for reading in reversed(readings):
        if reading.value is None or reading.value >= case.house.bring_in_c:
            break
        since = reading.day
    last = readings[-1]
    return None if since is None else Cold(last.value or 0.0, last.day, since, residents)


@watch
def bring_in(case: Case) -> Iterator[Consequence]:
    """Say who is brought in from cold water."""
    found = cold(case)
    if found is None:
        return
    yield Consequence(
        key="cold-season-check",
        judges="temperature",
        verdict="act",
        reading=f"The water outdoors was {case.reading('temperature', found.celsius)} on {case.date(found.day)}.",  # noqa: E501
        rule=f"Animals that do not brumate come in from water under {case.degrees(case.house.bring_in_c)}.",
        source=case.house.source("bring_in"),
        plan=f"Bring {found.names} in today"
        + (
            "."
            if switched_off(case, "cold-season-check")
            else ": that is due at once, and its note says how."
        ),
        gist="the water outdoors is too cold; bring animals in today",
    )
