"""Heat of a tank that stands in a room: what it loses through its sides, and from its surface.

Every loss is in W and positive when heat leaves the water. A room warmer than the water gives negative terms,
a gain.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from scheduler.handbook.volume import water_density
from scheduler.sources import Source

ASHRAE = Source(
    (
        "evaporation: ASHRAE Handbook, HVAC Applications, natatoriums; walls and surface: still air and "
        "radiation (Incropera & DeWitt)"
    ),
    "from memory",
)
ACTIVITY_SOURCE = Source(
    "activity 0.75 for a filtered tank, band 0.5 (still) to 1.0 (splashing), on the ASHRAE form",
    "house value",
)

ACTIVITY_BAND = (0.5, 1.0)
"""Factor on evaporation: a still surface, and one that splashes."""

ACTIVITY = 0.75
HUMIDITY = 0.5
"""Relative humidity of a room's air. House value."""

BASE_U = 1.0
"""W/m2K through the base of a tank on a stand. House value."""

COVER_SHARE = 0.1
"""Share of the open surface's evaporation that leaves a covered tank through gaps. House value."""

COVER_GAP = 0.10
"""m2K/W of the air between water and cover.

ISO 6946 gives a dry still layer of 15 mm or more 0.16 with the heat flowing up, of which about 5.1 W/m2K is
radiation (values from memory); vapour that condenses under the cover adds about three times what convection
carries (Lewis relation at 25 degC, computed). House value.
"""


SHEET_MM, SHEET_W_MK = 4.0, 1.0
"""The cover as a sheet of glass: a plastic one holds slightly more heat. House value."""

WATER_SIDE = 150.0
"""W/m2K from gently stirred water to the pane.

House value; anything from 100 to 500 changes the walls' loss by under 5 %.
"""


_KELVIN = 273.15
_STEFAN_BOLTZMANN = 5.670374419e-8
"""W/m2K4, CODATA 2018."""

_GLASS_EMISSIVITY, _WATER_EMISSIVITY, _AIR_PRANDTL = 0.90, 0.95, 0.71
_PLATE: float = 0.670 / (1.0 + (0.492 / _AIR_PRANDTL) ** (9.0 / 16.0)) ** (4.0 / 9.0)
"""Factor of the laminar Churchill-Chu plate in air."""

# --- Water, and its vapour
# ----------------------------------------------------------------------------------------


def _check(water_c: float, room_c: float) -> None:
    """Refuse what the correlations were not made for."""
    if not 0.0 <= water_c <= 40.0:
        raise ValueError(f"heat loss is defined here for water from 0 to 40 degC, not at {water_c:g}")
    if not -10.0 <= room_c <= 40.0:
        raise ValueError(f"heat loss is defined here for a room from -10 to 40 degC, not at {room_c:g}")


def saturation_kpa(celsius: float) -> float:
    """Return the pressure of saturated water vapour in kPa, -10 to 40 degC; below 0 degC over supercooled
    water.

    IAPWS-IF97, region 4, equation 30 (coefficients from memory, checked against a library of the standard).
    ValueError outside the range.
    """
    if not -10.0 <= celsius <= 40.0:
        raise ValueError(f"vapour pressure is defined here from -10 to 40 degC, not at {celsius:g}")
    kelvin = celsius + _KELVIN
    t = kelvin - 0.23855557567849 / (kelvin - 650.17534844798)
    a = (t + 1167.0521452767) * t - 724213.16703206
    b = (-17.073846940092 * t + 12020.82470247) * t - 3232555.0322333
    c = (14.91510861353 * t - 4823.2657361591) * t + 405113.40542057
    root = 2.0 * c / (math.sqrt(b * b - 4.0 * a * c) - b)
    return 1000.0 * root * root * root * root


def latent_kj_kg(celsius: float) -> float:
    """Return the heat that evaporates water in kJ/kg, 0 to 40 degC.

    A straight line within 0.1 kJ/kg of IAPWS-IF97 (computed). ValueError outside the range.
    """
    if not 0.0 <= celsius <= 40.0:
        raise ValueError(f"the heat of evaporation is defined here from 0 to 40 degC, not at {celsius:g}")
    return 2500.9 - 2.370 * celsius


def evaporation_kg_day(  # noqa: PLR0917 - a formula
    area_m2: float,
    water_c: float,
    room_c: float,
    humidity: float = HUMIDITY,
    activity: float = ACTIVITY,
    air_m_s: float = 0.1,
) -> float:
    """Return the kg of water that evaporate from an open surface in a day; 0 where vapour would condense on
    it.

    A (p_water - p_air) (0.089 + 0.0782 v) / Y x activity in kg/s, with p in kPa, v in m/s, Y in kJ/kg: ASHRAE
    Handbook, HVAC Applications, natatoriums (from memory). Measured pools stray from such forms by a quarter
    and more, so the activity is a band. Water 0 to 40, room -10 to 40 degC; humidity 0 to 1.
    """
    _check(water_c, room_c)
    if not 0.0 <= humidity <= 1.0:
        raise ValueError(f"a relative humidity lies between 0 and 1, not at {humidity:g}")
    if not (area_m2 >= 0.0 and activity >= 0.0 and air_m_s >= 0.0):
        raise ValueError("the area, the activity and the speed of the air cannot be below 0")
    lack_kpa = saturation_kpa(water_c) - humidity * saturation_kpa(room_c)
    if lack_kpa <= 0.0:
        return 0.0
    return 86400.0 * area_m2 * lack_kpa * (0.089 + 0.0782 * air_m_s) / latent_kj_kg(water_c) * activity


def evaporation_w(kg_day: float, water_c: float) -> float:
    """Return the heat in W that so many kg of evaporation a day take, water 0 to 40 degC. 1 kg a day takes 28
    W."""
    return kg_day * latent_kj_kg(water_c) / 86.4


def evaporated_litres_day(watts: float, water_c: float) -> float:
    """Return the litres a day that evaporate when evaporation takes so many W, water 0 to 40 degC."""
    return watts * 86.4 / (latent_kj_kg(water_c) * water_density(water_c))


# --- Surfaces
# -----------------------------------------------------------------------------------------------------


def _air(film_c: float) -> tuple[float, float]:
    """Return g / (T nu alpha) in 1/(K m3) and the conductivity of air in W/mK.

    Air at ordinary pressure, straight lines between 250 and 300 K: Incropera & DeWitt, table A.4 (from
    memory).
    """
    above = film_c + 23.15
    viscosity = 11.44e-6 + 0.0890e-6 * above
    diffusivity = 15.9e-6 + 0.132e-6 * above
    return 9.80665 / ((film_c + _KELVIN) * viscosity * diffusivity), 0.0223 + 8.0e-5 * above


def _radiation(skin_c: float, room_c: float, emissivity: float) -> float:
    """Return the W/m2K that a surface exchanges by radiation with the walls of a room."""
    skin, room = skin_c + _KELVIN, room_c + _KELVIN
    return emissivity * _STEFAN_BOLTZMANN * (skin * skin + room * room) * (skin + room)


def _wall_film(skin_c: float, room_c: float, height_m: float) -> float:
    """Return the W/m2K of still air and radiation on a wall of glass."""
    buoyancy, conductivity = _air(0.5 * (skin_c + room_c))
    rayleigh = buoyancy * abs(skin_c - room_c) * height_m * height_m * height_m
    nusselt = 0.68 + _PLATE * math.sqrt(math.sqrt(rayleigh))
    if rayleigh > 1e8:  # turbulent: McAdams overtakes the laminar form near 4e8
        nusselt = max(nusselt, 0.10 * math.cbrt(rayleigh))
    return nusselt * conductivity / height_m + _radiation(skin_c, room_c, _GLASS_EMISSIVITY)


def _level_film(skin_c: float, room_c: float, length_m: float, emissivity: float) -> float:
    """Return the W/m2K of still air and radiation on a level surface that faces up; length is area over
    perimeter."""
    buoyancy, conductivity = _air(0.5 * (skin_c + room_c))
    rayleigh = buoyancy * abs(skin_c - room_c) * length_m * length_m * length_m
    nusselt = (0.54 if skin_c > room_c else 0.27) * math.sqrt(math.sqrt(rayleigh))
    if rayleigh > 1e6 and skin_c > room_c:  # turbulent: overtakes the laminar form near 5e6
        nusselt = max(nusselt, 0.15 * math.cbrt(rayleigh))
    return nusselt * conductivity / length_m + _radiation(skin_c, room_c, emissivity)


def side_u(
    water_c: float, room_c: float, pane_mm: float = 6.0, conductivity: float = 1.0, height_m: float = 0.36
) -> float:
    """Return the heat through a wall in W/m2K: water side, pane of so many W/mK, still air and radiation
    outside.

    1/U = 1/150 + pane/conductivity + 1/(h_air + h_radiation). h_air is Churchill & Chu 1975, laminar plate,
    and beyond it McAdams' 0.10 Ra^(1/3); emissivity 0.9 (correlations as in Incropera & DeWitt, from memory).
    7.0 to 7.4 for 6 mm of glass, 36 cm of water and 4 to 10 K. Water 0 to 40, room -10 to 40 degC; ValueError
    outside.
    """
    _check(water_c, room_c)
    if not (pane_mm > 0.0 and conductivity > 0.0 and height_m > 0.0):
        raise ValueError("a wall needs a thickness, a conductivity and a height above 0")
    inside, warmer = 1.0 / WATER_SIDE + 0.001 * pane_mm / conductivity, water_c - room_c
    u = 1.0 / (inside + 0.13)
    for _ in range(2):  # the film hardly depends on the pane's temperature: two rounds do
        film = _wall_film(water_c - warmer * u * inside, room_c, height_m)
        u = film / (inside * film + 1.0)
    return u


def _surface(area_m2: float, perimeter_m: float) -> float:
    """Return area over perimeter, the length that the correlations of level plates take."""
    if not (area_m2 > 0.0 and perimeter_m > 0.0):
        raise ValueError("a surface needs an area and a perimeter above 0")
    return area_m2 / perimeter_m


def top_w(area_m2: float, perimeter_m: float, water_c: float, room_c: float) -> float:
    """Return the heat in W that an open surface loses by convection and radiation, without evaporation.

    Level plate, hot side up, Nu 0.54 Ra^(1/4) and 0.15 Ra^(1/3); in a warmer room 0.27 Ra^(1/4); emissivity
    of water 0.95 (McAdams as in Incropera & DeWitt, from memory). Water 0 to 40, room -10 to 40 degC;
    ValueError outside.
    """
    _check(water_c, room_c)
    film = _level_film(water_c, room_c, _surface(area_m2, perimeter_m), _WATER_EMISSIVITY)
    return area_m2 * (water_c - room_c) * film


def cover_w(area_m2: float, perimeter_m: float, water_c: float, room_c: float) -> float:
    """Return the heat in W through a closed cover that lies over the water, without what evaporates through
    gaps.

    In a row: the air under the cover (`COVER_GAP`, house value), the sheet, and the open surface's convection
    and radiation on the cover's upper side, emissivity 0.9 (computed). The same ranges as `top_w`.
    """
    _check(water_c, room_c)
    length, warmer = _surface(area_m2, perimeter_m), water_c - room_c
    inside = COVER_GAP + 0.001 * SHEET_MM / SHEET_W_MK
    u = 1.0 / (inside + 0.13)
    for _ in range(2):
        film = _level_film(water_c - warmer * u * inside, room_c, length, _GLASS_EMISSIVITY)
        u = film / (inside * film + 1.0)
    return area_m2 * warmer * u


class Losses(NamedTuple):
    """What leaves the water, in W: through the sides and the base, from the top, and by evaporation."""

    sides: float
    base: float
    top: float
    evaporation: float

    @property
    def total(self) -> float:
        """Return the sum of the four."""
        return self.sides + self.base + self.top + self.evaporation


def losses(
    length_cm: float,
    width_cm: float,
    depth_cm: float,
    water_c: float,
    room_c: float,
    *,
    covered: bool = False,
    activity: float = ACTIVITY,
    humidity: float = HUMIDITY,
    pane_mm: float = 6.0,
    cover_share: float = COVER_SHARE,
) -> Losses:
    """Return what a tank of glass loses in a room, in W; inside measures, depth of the water.

    Sides by `side_u` over the wetted walls, the base with 1.0 W/m2K (house value), the top by `top_w` or,
    covered, `cover_w`, evaporation by `evaporation_kg_day`, covered times `cover_share`. Water 0 to 40, room
    -10 to 40 degC.
    """
    if not (length_cm > 0.0 and width_cm > 0.0 and depth_cm > 0.0):
        raise ValueError("a tank needs a length, a width and a depth of water above 0")
    if not 0.0 <= cover_share <= 1.0:
        raise ValueError(f"a cover lets a share from 0 to 1 of the evaporation out, not {cover_share:g}")
    length, width, depth = 0.01 * length_cm, 0.01 * width_cm, 0.01 * depth_cm
    area, perimeter, warmer = length * width, 2.0 * (length + width), water_c - room_c
    vapour = evaporation_kg_day(area, water_c, room_c, humidity, activity)
    return Losses(
        side_u(water_c, room_c, pane_mm, 1.0, depth) * perimeter * depth * warmer,
        BASE_U * area * warmer,
        (cover_w if covered else top_w)(area, perimeter, water_c, room_c),
        evaporation_w(vapour * cover_share if covered else vapour, water_c),
    )
