"""Volumes, water lines, masses, and the mixing of hot and cold water."""

from __future__ import annotations

import math

from scheduler.sources import Source

GEOMETRY = Source("inside length x width x water depth, less the solids of the substrate", "computed")
POROSITY = Source(
    "porosity of sand and gravel 0.25-0.50, middle 0.40: Freeze & Cherry 1979, table 2.4", "from memory"
)
MIXING = Source("heat balance of hot and cold water of equal heat capacity", "computed")
DENSITY = Source("water by its density (Tanaka et al. 2001), substrate as quartz of 2.65 kg/L", "computed")
FLOOR_LOAD = Source(
    (
        "mass x 9.81 m/s2 over the footprint; homes are built for 1.92 kPa (40 psf, ASCE 7) or 1.5 to 2.0 "
        "kPa (EN 1991-1-1)"
    ),
    "from memory",
)

SUBSTRATE_POROSITY = 0.40
"""Share of a bed of sand or stones that is water.

Freeze & Cherry 1979, Groundwater, table 2.4 (from memory).
"""


QUARTZ_KG_L = 2.65
GLASS_KG_L = 2.5
GRAVITY_M_S2 = 9.80665
"""Standard gravity (CGPM 1901)."""

LIVE_LOAD_US_KPA = 1.92
"""Live load that floors of US homes are built for, 40 psf: ASCE 7 (from memory)."""

LIVE_LOAD_EU_KPA = (1.5, 2.0)
"""The same in Europe, by country: EN 1991-1-1, table 6.2, category A, floors (from memory)."""

ASK_ENGINEER_L = 75 * 3.785411784
"""Above 75 US gal ask an engineer about the floor. Common practice, no published source."""


def gross_litres(length_cm: float, width_cm: float, depth_cm: float) -> float:
    """Return the volume in L of a box of inside measures in cm."""
    return length_cm * width_cm * depth_cm / 1000.0


def solid_litres(
    length_cm: float, width_cm: float, substrate_cm: float, porosity: float = SUBSTRATE_POROSITY
) -> float:
    """Return the L of water that a bed of `substrate_cm` displaces: its solid part. 0 <= porosity < 1."""
    return length_cm * width_cm * substrate_cm * (1.0 - porosity) / 1000.0


def net_litres(length_cm: float, width_cm: float, depth_cm: float, substrate_cm: float = 0.0) -> float:
    """Return the L of water in an enclosure filled to `depth_cm` over the floor.

    Residents and equipment are not counted.
    """
    return gross_litres(length_cm, width_cm, depth_cm) - solid_litres(length_cm, width_cm, substrate_cm)


def line_after_draining_cm(
    length_cm: float, width_cm: float, depth_cm: float, substrate_cm: float, drained_l: float
) -> float:
    """Return the height in cm over the floor of the water line after `drained_l` litres have gone.

    Above the substrate the whole floor area drains; inside it only the pores do.
    """
    area = length_cm * width_cm / 1000.0  # L for each cm
    free = max(0.0, depth_cm - substrate_cm) * area
    bed = min(depth_cm, substrate_cm)
    if drained_l <= free:
        # Not below the bed by what a division rounds.
        return max(bed, depth_cm - drained_l / area)
    return max(0.0, bed - (drained_l - free) / (area * SUBSTRATE_POROSITY))


def water_density(celsius: float) -> float:
    """Return the density of air-free water in kg/L at 0 to 40 degC and ordinary pressure.

    Tanaka et al. 2001, Metrologia 38:301 (coefficients from memory, checked against IAPWS-95 to 0.000002
    kg/L). ValueError outside the range.
    """
    if not 0.0 <= celsius <= 40.0:
        raise ValueError(f"water density is defined here from 0 to 40 degC, not at {celsius:g}")
    t = celsius
    return 0.999974950 * (1.0 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


def hot_share(target_c: float, cold_c: float, hot_c: float) -> float:
    """Return the share of hot water, 0 to 1, that brings a mix to `target_c`.

    ValueError when the target lies outside what the two taps give.
    """
    if not cold_c < hot_c:
        raise ValueError(f"hot water of {hot_c:g} degC is not warmer than cold water of {cold_c:g} degC")
    if not cold_c <= target_c <= hot_c:
        raise ValueError(f"{target_c:g} degC lies outside {cold_c:g} to {hot_c:g} degC")
    return (target_c - cold_c) / (hot_c - cold_c)


def mixed_temperature(share_new: float, tank_c: float, new_c: float) -> float:
    """Return the temperature in degC of a tank after a share of its water was replaced."""
    return (1.0 - share_new) * tank_c + share_new * new_c


def pails(litres: float, pail_l: float) -> int:
    """Return how many pails of at most `pail_l` litres carry a volume; however little it is, it takes one."""
    return max(1, math.ceil(litres / pail_l - 1e-9)) if litres > 0.0 else 0


def substrate_kg(
    length_cm: float,
    width_cm: float,
    substrate_cm: float,
    porosity: float = SUBSTRATE_POROSITY,
    grain_kg_l: float = QUARTZ_KG_L,
) -> float:
    """Return the mass in kg of the grains of a bed, without the water in its pores.

    Quartz 2.65 kg/L (from memory).
    """
    if not 0.0 <= porosity < 1.0:
        raise ValueError(f"a porosity is from 0 to below 1, not {porosity:g}")
    return solid_litres(length_cm, width_cm, substrate_cm, porosity) * grain_kg_l


def glass_kg(length_cm: float, width_cm: float, height_cm: float, pane_mm: float) -> float:
    """Return the mass in kg of an open tank of glass of such inside measures: a floor and four walls, all of
    one thickness.

    Float glass 2.5 kg/L, EN 572-1 (from memory). Braces, rims and a lid are not counted.
    """
    if not pane_mm > 0.0:
        raise ValueError(f"a pane is thicker than 0 mm, not {pane_mm:g}")
    pane = pane_mm / 10.0
    outside = (length_cm + 2.0 * pane) * (width_cm + 2.0 * pane) * (height_cm + pane)
    return (outside - length_cm * width_cm * height_cm) / 1000.0 * GLASS_KG_L


def floor_kpa(mass_kg: float, length_cm: float, width_cm: float) -> float:
    """Return the load in kPa of a mass on its footprint, spread evenly (computed)."""
    if not (length_cm > 0.0 and width_cm > 0.0):
        raise ValueError("a footprint needs a length and a width above 0")
    return mass_kg * GRAVITY_M_S2 / (length_cm * width_cm / 10000.0) / 1000.0
