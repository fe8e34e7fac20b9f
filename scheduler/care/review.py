"""Figures of an enclosure as the handbook computes them, with unit, source and status."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care.case import Case
from scheduler.handbook import disinfectant, volume
from scheduler.sources import COMMON_PRACTICE, KEEPER, Source


@dataclass(frozen=True, slots=True)
class Figure:
    """One computed value."""

    key: str
    value: float
    unit: str
    source: Source


def figures(case: Case) -> Iterator[Figure]:
    """Yield the figures that the description says enough to compute."""
    depth = case.enclosure.water_depth
    if case.floor is not None and depth is not None:
        yield Figure("gross_volume", volume.gross_litres(*case.floor, depth), "L", volume.GEOMETRY)
    if case.water_l is not None:
        yield Figure(
            "net_volume", case.water_l, "L", volume.POROSITY if case.substrate_cm else volume.GEOMETRY
        )
    change = case.enclosure.job.get("water-change")
    if case.change_l is not None and not (change is not None and change.off):
        own = change is not None and change.share is not None
        yield Figure("water_change_volume", case.change_l, "L", KEEPER if own else COMMON_PRACTICE)
        if case.hot_l is not None:
            yield Figure("hot_water_volume", case.hot_l, "L", volume.MIXING)
        level = KEEPER if case.site.place.tap_water.disinfectant_level is not None else disinfectant.CEILING
        if case.chlorine_level:
            yield Figure(
                "chlorine_to_neutralise",
                disinfectant.chlorine_mg(case.change_l, case.chlorine_level),
                "mg",
                level,
            )
        if case.chlorine_level and case.frees_ammonia:
            yield Figure("freed_ammonia", disinfectant.freed_ammonia_mg_l(case.chlorine_level), "mg/L", level)
