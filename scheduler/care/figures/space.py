"""Space: what there is, what the codes ask for, and up to which size it lasts."""

from __future__ import annotations

import datetime as dt
import math
from functools import lru_cache

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.description.site import Resident
from scheduler.handbook import growth, space, volume
from scheduler.sources import Source
from scheduler.species import GrowthCurve

CODES = Source("EU 2010/63, Germany 1997 and New South Wales, solved for the carapace", "computed")


def requirements(case: Case) -> tuple[space.Requirement, ...]:
    """Return what the codes ask for the residents as they are.

    NotKnown without residents or their carapaces.
    """
    residents = case.enclosure.resident
    if not residents:
        raise NotKnown(why="nobody lives here yet", applies=False)
    if any(r.carapace is None for r in residents):
        raise NotKnown("resident.carapace")
    animals = [
        space.Animal(r.carapace, r.shell_width)
        for r in residents
        if r.carapace is not None
        for _ in range(r.count)
    ]
    return _requirements(tuple(animals))


@lru_cache(maxsize=256)
def _requirements(animals: tuple[space.Animal, ...]) -> tuple[space.Requirement, ...]:
    return tuple(space.requirements(animals))


@figure("water_area", "cm2")
def water_area(case: Case) -> Made:
    """Compute the area of water: length times width."""
    e = case.enclosure
    length, width = case.need(length=e.length, width=e.width)
    return Made(
        length * width,
        volume.GEOMETRY,
        lambda: f"{case.cm(length)} x {case.cm(width)}; what a basking place covers is not taken off",
    )


@figure("least_water_area", "cm2")
def least_water_area(case: Case) -> Made:
    """Compute the least area by the strictest code."""
    found = space.least_area(requirements(case))
    if found is None or found.area_cm2 is None:
        raise NotKnown(why="no code that could be read says an area for these animals")
    area = found.area_cm2
    return Made(
        area, found.source, lambda: f"{found.code}, the strictest of the codes that say it: {area:.0f} cm2"
    )


@figure("least_water_depth", "cm")
def least_water_depth(case: Case) -> Made:
    """Compute the least depth by the strictest code."""
    found = space.least_depth(requirements(case))
    if found is None or found.depth_cm is None:
        raise NotKnown(why="no code that could be read says a depth for these animals")
    depth = found.depth_cm
    return Made(
        depth, found.source, lambda: f"{found.code}, the strictest of the codes that say it: {case.cm(depth)}"
    )


@figure("outgrown_at", "cm", "carapace that outgrows it", extra=True)
def outgrown_at(case: Case) -> Made:
    """Compute the carapace of the largest animal up to which area and depth meet the codes."""
    area = case.number("water_area")
    (depth,) = case.need(water_depth=case.enclosure.water_depth)
    count = sum(r.count for r in case.enclosure.resident)
    if not count:
        raise NotKnown(why="nobody lives here yet", applies=False)
    limit = space.largest_carapace(area, depth, count)
    many = "one animal" if count == 1 else f"{count} animals"
    return Made(
        limit,
        CODES,
        lambda: (
            f"{area:.0f} cm2 and {case.cm(depth)} of depth meet the codes for {many} up to {case.cm(limit)}"
        ),
    )


def curve(case: Case, resident: Resident) -> GrowthCurve | None:
    """Return the published growth curve of the carapace for a resident: of its sex, else the one that grows
    larger."""
    sheet = case.sheet(resident)
    curves = [c for c in sheet.growth if c.measure == "carapace"] if sheet is not None else []
    own = [c for c in curves if c.sex == resident.sex]
    return max(own or curves, key=lambda c: c.asymptote, default=None)


def outgrown_on(case: Case) -> tuple[dt.date, dt.date | None, Resident]:
    """Return the earliest and the latest day on which a resident outgrows the enclosure, and which one.

    The latest by the curve of wild animals, None when that never gets there; the earliest at three times its
    speed. NotKnown where no curve is published, or the day of the measurement is not known.
    """
    limit = case.number("outgrown_at")
    found: list[tuple[dt.date, dt.date | None, Resident]] = []
    for resident in case.enclosure.resident:
        known, day = curve(case, resident), case.measured_on(resident)
        if known is None or resident.carapace is None or day is None:
            continue
        if resident.carapace > limit:
            found.append((day, day, resident))
            continue
        early, late = growth.outgrown_in_years(resident.carapace, limit, known.asymptote, known.k)
        if not math.isinf(early):
            found.append((_later(day, early), None if math.isinf(late) else _later(day, late), resident))
    if not found:
        raise NotKnown(why="no growth curve of the carapace is published for these animals, or it ends below")
    return min(found, key=lambda item: item[0])


def _later(day: dt.date, years: float) -> dt.date:
    return day + dt.timedelta(days=min(int(years * 365.25), 36_500))
