"""Ultraviolet: what a basking place should get, how it falls with distance and age, and how long people may
be in it."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from scheduler.sources import Source

ZONES_SOURCE = Source(
    "zones of UV Index: Ferguson et al. 2010, Photochem. Photobiol. 86, read as restated by others",
    "published",
)
CEILING_SOURCE = Source("UVI 7 at most at any basking place", "house value")
LAW_SOURCE = Source(
    (
        "with distance: inverse square for lamps, a line of light as long as the tube for tubes (by their "
        "power: IEC 60081, from memory), inverse distance where its length is not known (physics); carried "
        "to half or double at most, reflectors follow none of them"
    ),
    "house value",
)
BURN_IN = Source(
    (
        "100 hours of burn-in before the baseline: IES test practice; Baines et al. 2016, J. Zoo Aquar. "
        "Res. 4(1):42-63"
    ),
    "from memory",
)
BASELINE = Source("a lamp is replaced under 70 % of its baseline", "house value")
FIRE = Source(
    "at least 46 cm from basking lamps of 50 to 75 W: Merck Veterinary Manual, reptile housing", "published"
)
LIFE = Source(
    (
        "replacement by calendar: compact, T8 and mercury vapour 6 months (the last 6 to 12), T5 and metal "
        "halide 12; veterinary convention"
    ),
    "from memory",
)
DECAY = Source(
    "fades evenly, to 70 % of its baseline by its customary replacement at 12 hours a day", "house value"
)
DECAY_T8 = Source(
    (
        "a fluorescent tube halved in 6 months: Nevarez in Blackwell's Five-Minute Veterinary Consult: "
        "Reptile and Amphibian; taken as 12 hours a day"
    ),
    "published",
)
ICNIRP = Source(
    "at most 30 J/m2 in 8 hours on eyes and skin: ICNIRP 2004, Health Phys. 87:171", "from memory"
)


class FergusonZone(NamedTuple):
    """A Ferguson zone: the range of the mean daytime UVI, and the range of the highest UVI recorded."""

    mean_low: float
    mean_high: float
    most_low: float
    most_high: float


ZONES = {
    1: FergusonZone(0.0, 0.7, 0.6, 1.4),
    2: FergusonZone(0.7, 1.0, 1.1, 3.0),
    3: FergusonZone(1.0, 2.6, 2.9, 7.4),
    4: FergusonZone(2.6, 3.5, 4.5, 9.5),
}
"""UVI met by wild reptiles of each zone: shade dweller, partial sun, basker, midday basker (published, see
ZONES_SOURCE)."""


CEILING = 7.0
"""Highest UVI at any basking place. House value: the recorded maxima of the zones are brief peaks."""

FIRE_CM, FIRE_W = 46.0, (50.0, 75.0)
"""Least distance in cm from a basking lamp, and the powers in W that it was given for (published, see
FIRE)."""


TUBES = ("T5 HO tube", "T8 tube")
TUBE_LENGTHS_CM = {
    "T5 HO tube": {24.0: 54.9, 39.0: 84.9, 54.0: 114.9, 80.0: 144.9},
    "T8 tube": {15.0: 43.8, 18.0: 59.0, 30.0: 89.5, 36.0: 120.0, 58.0: 150.0},
}
"""Length in cm of standard tubes by kind and power in W (IEC 60081, from memory): what is not lit at their
ends is left out."""


FARTHEST = 2.0
"""A reading is carried to half or double its distance at most. House value."""

BASELINE_SHARE = 0.7
"""A lamp under this share of its baseline is replaced. House value, a convention of lighting maintenance."""

BURN_IN_HOURS = 100
"""Hours after which a new discharge lamp is read for its baseline (from memory, see BURN_IN)."""

REPLACE_MONTHS = {"compact": 6, "T8 tube": 6, "mercury vapour": 6, "T5 HO tube": 12, "metal halide": 12}
"""Months after which a UV lamp is replaced where no meter says otherwise.

Veterinary convention, from memory; for mercury vapour it says 6 to 12, and the earlier end is taken.
"""


HOURS_A_DAY = 12.0
"""Hours a day that calendar lives are turned into hours of burning with. House value."""

LIFE_HOURS = {kind: months * 365.25 / 12 * HOURS_A_DAY for kind, months in REPLACE_MONTHS.items()}
"""Customary life in hours of burning, at 12 hours a day (computed from REPLACE_MONTHS)."""

_HALVINGS = math.log2(1.0 / BASELINE_SHARE)
_HALF_LIFE_HOURS = {kind: life / _HALVINGS for kind, life in LIFE_HOURS.items()} | {
    "T8 tube": 6 * 365.25 / 12 * HOURS_A_DAY
}


def _uvi(uvi: float) -> None:
    if not 0.0 <= uvi < math.inf:
        raise ValueError(f"a UV Index is 0 or more, not {uvi:g}")


# --- At the basking place
# ---------------------------------------------------------------------------------------


def verdict(uvi: float, zone: int) -> Literal["too weak", "fine", "bright", "too strong"]:
    """Return how the UVI at a basking place suits an animal of a Ferguson zone, 1 to 4.

    Too weak below the zone's mean range, fine up to the least of its recorded maxima, bright up to the
    highest of them or the house ceiling of 7, too strong above. ZONES is published, the way it is read is a
    house value.
    """
    _uvi(uvi)
    if zone not in ZONES:
        raise ValueError(f"the zones of ultraviolet are 1 to 4, not {zone}")
    mean_low, _, most_low, _ = ZONES[zone]
    if uvi < mean_low:
        return "too weak"
    if uvi <= most_low:
        return "fine"
    return "bright" if uvi <= ceiling(zone) else "too strong"


def ceiling(zone: int) -> float:
    """Return the highest UVI that an animal of a zone, 1 to 4, should meet: the zone's recorded maximum, 7 at
    most."""
    return min(ZONES[zone].most_high, CEILING)


def tube_length_cm(kind: str, power_w: float | None) -> float | None:
    """Return the length in cm of a standard tube of a power in W; None where there is none (see
    TUBE_LENGTHS_CM)."""
    return TUBE_LENGTHS_CM.get(kind, {}).get(power_w or 0.0)


def line_source(length_cm: float, distance_cm: float) -> float:
    """Return the irradiance opposite the middle of a line of light, without its unit: (atan a + a / (1 +
    a^2)) / d, a = L / 2d.

    L is the lit length, d the distance, in cm; the line and the lit surface are parallel and both follow the
    cosine law (physics). Near it falls with the distance, far with its square.
    """
    a = length_cm / (2.0 * distance_cm)
    return (math.atan(a) + a / (1.0 + a * a)) / distance_cm


def law_of(kind: str, reading_cm: float, wanted_cm: float, length_cm: float | None = None) -> str:
    """Return the name of the law that carries a reading from one distance in cm to another.

    A tube is a line of light as long as it is, or of no end where its length is not known; any other lamp a
    small source (physics). Which kind counts as what is a house value, though reflectors follow none of them.
    """
    if math.isclose(reading_cm, wanted_cm, rel_tol=1e-9):
        return "same place"
    if kind not in TUBES:
        return "inverse square"
    return "inverse distance" if length_cm is None else "line source"


def _strength(kind: str, distance_cm: float, length_cm: float | None) -> float:
    """Return how strong a lamp is at a distance in cm, compared with the same lamp at another."""
    if kind not in TUBES:
        return 1.0 / (distance_cm * distance_cm)
    return 1.0 / distance_cm if length_cm is None else line_source(length_cm, distance_cm)


def at_distance(
    uvi: float, reading_cm: float, wanted_cm: float, kind: str, length_cm: float | None = None
) -> float:
    """Return the UVI at a distance in cm, from one read at another, by `law_of`; `length_cm` is that of a
    tube.

    Valid from half to double the distance of the reading (house value): ValueError outside.
    """
    _uvi(uvi)
    for cm in (reading_cm, wanted_cm):
        if not 0.0 < cm < math.inf:
            raise ValueError(f"a distance from the lamp must be more than 0 cm, not {cm:g}")
    ratio = reading_cm / wanted_cm
    if not 1.0 / FARTHEST - 1e-9 <= ratio <= FARTHEST + 1e-9:
        raise ValueError(
            f"a UV Index read at {reading_cm:g} cm cannot be carried to {wanted_cm:g} cm, only to "
            "between half and double the distance: read it there"
        )
    return uvi * _strength(kind, wanted_cm, length_cm) / _strength(kind, reading_cm, length_cm)


def distance_of(
    uvi: float, reading_cm: float, wanted_uvi: float, kind: str, length_cm: float | None = None
) -> float:
    """Return the distance in cm at which a lamp gives a wanted UVI: the inverse of `at_distance`, by the same
    laws.

    Valid from half to double the distance of the reading (house value): ValueError outside.
    """
    _uvi(uvi)
    if not (0.0 < reading_cm < math.inf and 0.0 < wanted_uvi < math.inf and uvi > 0.0):
        raise ValueError("a lamp that gives no ultraviolet gives none at any distance")
    near, far = reading_cm / FARTHEST, reading_cm * FARTHEST
    most, least = (at_distance(uvi, reading_cm, cm, kind, length_cm) for cm in (near, far))
    if not least * (1.0 - 1e-9) <= wanted_uvi <= most * (1.0 + 1e-9):
        raise ValueError(
            f"a UV Index read at {reading_cm:g} cm cannot be carried to where it is {wanted_uvi:g}, "
            "only to between half and double the distance"
        )
    # All laws fall with the distance: the interval is halved until it is a ten-thousandth of a millimetre.
    while far - near > 1e-5:
        middle = (near + far) / 2.0
        near, far = (
            (middle, far)
            if at_distance(uvi, reading_cm, middle, kind, length_cm) > wanted_uvi
            else (near, middle)
        )
    return (near + far) / 2.0


# --- Age of a lamp
# ----------------------------------------------------------------------------------------------


def half_life_hours(kind: str) -> float:
    """Return the hours of burning in which the ultraviolet of a lamp halves.

    Life / log2(1 / 0.7), so that 70 % of the baseline is left at the end of the customary life at 12 hours a
    day (house value); for a T8 tube six months at 12 hours a day, from a published measurement of irradiance
    (DECAY_T8; that it burned 12 hours a day is a house value). ValueError for a lamp that is not there for
    its ultraviolet.
    """
    if kind not in _HALF_LIFE_HOURS:
        raise ValueError(f"no life is known for the ultraviolet of a lamp of kind {kind}")
    return _HALF_LIFE_HOURS[kind]


def hours_until(share_wanted: float, half_life_hours: float) -> float:
    """Return the hours of burning until only a share of the baseline, above 0 and up to 1, is left."""
    if not (0.0 < share_wanted <= 1.0 and 0.0 < half_life_hours < math.inf):
        raise ValueError(
            f"a share left is above 0 and up to 1 and a half-life is above 0, not {share_wanted:g} and "
            f"{half_life_hours:g}"
        )
    return half_life_hours * (0.0 - math.log2(share_wanted))


def hours_until_replacement(
    kind: str, uvi_at_basking: float | None, least_uvi: float | None
) -> tuple[float, str]:
    """Return the hours of burning, from the reading of the baseline on, until a lamp is due, and which bound
    it meets.

    It is due under 70 % of its baseline, or where its UVI at the basking place falls under the least that the
    zone asks for, whichever comes first; after 0 hours when it is under that already. Without either UVI only
    the first counts. The fading is that of `half_life_hours`; 70 % is a house value.
    """
    half_life = half_life_hours(kind)
    worn = hours_until(BASELINE_SHARE, half_life)
    if uvi_at_basking is not None and least_uvi is not None:
        _uvi(uvi_at_basking)
        _uvi(least_uvi)
        if least_uvi > BASELINE_SHARE * uvi_at_basking:
            left = hours_until(least_uvi / uvi_at_basking, half_life) if least_uvi < uvi_at_basking else 0.0
            return left, "the zone's lower bound"
    return worn, "70 % of its baseline"


# --- People under the lamp
# --------------------------------------------------------------------------------------


def med_minutes(med_j_m2: float, uvi: float) -> float:
    """Return the minutes until a weighted dose in J/m2 is reached: dose / (60 x 0.025 x uvi); inf at UVI 0
    (computed)."""
    _uvi(uvi)
    if not 0.0 < med_j_m2 < math.inf:
        raise ValueError(f"a dose must be more than 0 J/m2, not {med_j_m2:g}")
    return med_j_m2 / (1.5 * uvi) if uvi else math.inf


def safe_minutes(uvi: float) -> float:
    """Return the safe-side minutes in 8 hours that a person's eyes and skin may be in this UVI: 20 / uvi; inf
    at 0.

    ICNIRP allows 30 J/m2 with a weight that is at no wavelength above the erythemal one, so the true time is
    never shorter (weights from memory). Its own limit on UVA at the eye is not reckoned with.
    """
    return med_minutes(30.0, uvi)
