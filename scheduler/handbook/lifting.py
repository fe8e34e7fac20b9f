"""Pails that a person can lift, by the equation of NIOSH."""

from __future__ import annotations

import math
from bisect import bisect_left
from typing import NamedTuple

from scheduler.handbook.volume import water_density
from scheduler.sources import Source

LARGEST_PAIL_L = 10.0
"""Largest pail for a lift from the floor. House value: with the pail about 11 kg, under the limit of 12 kg that the
NIOSH lifting equation gives for a low, arm's-length lift (NIOSH 94-110)."""

EMPTY_PAIL_KG = 1.0
HOSE_FROM_L = 40.0
"""From this volume a note offers a hose or a pump before pails. House value."""

SOURCE = Source(
    "largest pail 10 L, hose from 40 L; the limit behind it is the NIOSH lifting equation (94-110)",
    "house value",
)
NIOSH = Source("revised lifting equation, NIOSH 94-110 (1994, revised 2021)", "published")


class Lift(NamedTuple):
    """A lift with both hands: hands before the ankles and over the floor, way up, twist, grip (1 is good)."""

    hand_cm: float
    height_cm: float
    travel_cm: float
    twist_deg: float = 0.0
    coupling: float = 1.0


PAIL_LIFT = Lift(hand_cm=35.0, height_cm=30.0, travel_cm=60.0, coupling=0.95)
"""A pail lifted from the floor to a rim: low, at arm's length, by its handle. House values."""

LIFTS_A_MINUTE = 0.5
"""One pail every two minutes. House value."""

_ROWS = (0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0)
_FREQUENCY = {
    1: (1.00, 0.97, 0.94, 0.91, 0.88, 0.84, 0.80, 0.75, 0.70, 0.60, 0.52, 0.45, 0.41, 0.37, 0.34, 0.31, 0.28),
    2: (0.95, 0.92, 0.88, 0.84, 0.79, 0.72, 0.60, 0.50, 0.42, 0.35, 0.30, 0.26, 0.23, 0.21, 0.00, 0.00, 0.00),
    8: (0.85, 0.81, 0.75, 0.65, 0.55, 0.45, 0.35, 0.27, 0.22, 0.18, 0.15, 0.13, 0.00, 0.00, 0.00, 0.00, 0.00),
}
"""Multiplier by hours of lifting (up to 1, 2, 8) and lifts a minute: NIOSH 94-110, table 5 (from memory)."""

_MOST_LOW = {1: 12.0, 2: 10.0, 8: 8.0}
"""Most lifts a minute with the hands below 75 cm: beyond, the table has 0 for low hands (from memory)."""


def lifting_limit_kg(  # noqa: PLR0917 - a formula
    hand_cm: float,
    height_cm: float,
    travel_cm: float,
    twist_deg: float = 0.0,
    coupling: float = 1.0,
    frequency: float = 1.0,
) -> float:
    """Return the mass in kg that nearly all healthy adults may lift so with both hands.

    23 kg x 25/H x (1 - 0.003 |V - 75|) x (0.82 + 4.5/D) x (1 - 0.0032 A) x frequency x coupling, in cm and degrees:
    NIOSH 94-110 (published). H counts as at least 25, D as at least 25. 0 beyond H 63, V 175, D 175 and A 135
    (limits from memory). ValueError for what cannot be.
    """
    if not (hand_cm >= 0.0 and height_cm >= 0.0 and travel_cm >= 0.0 and 0.0 <= twist_deg <= 180.0):
        raise ValueError("a lift needs distances of 0 cm or more, and a twist from 0 to 180 degrees")
    if not (0.0 <= coupling <= 1.0 and 0.0 <= frequency <= 1.0):
        raise ValueError("the multipliers for grip and frequency lie between 0 and 1")
    if hand_cm > 63.0 or height_cm > 175.0 or travel_cm > 175.0 or twist_deg > 135.0:
        return 0.0
    reach = 25.0 / max(25.0, hand_cm)
    height = 1.0 - 0.003 * abs(height_cm - 75.0)
    travel = 0.82 + 4.5 / max(25.0, travel_cm)
    return 23.0 * reach * height * travel * (1.0 - 0.0032 * twist_deg) * frequency * coupling


def frequency_multiplier(lifts_a_minute: float, hours: float, height_cm: float = 0.0) -> float:
    """Return the multiplier for so many lifts a minute over so many hours (up to 8), hands at `height_cm` at the start.

    NIOSH 94-110, table 5 (from memory). Between two rows the stricter one holds. 0 means that no load is light enough.
    """
    if not (lifts_a_minute >= 0.0 and 0.0 <= hours <= 8.0 and height_cm >= 0.0):
        raise ValueError("lifting frequency is defined here for 0 to 8 hours, from 0 lifts a minute and 0 cm")
    span = 1 if hours <= 1.0 else 2 if hours <= 2.0 else 8
    row = bisect_left(_ROWS, lifts_a_minute)
    if row == len(_ROWS) or (height_cm < 75.0 and lifts_a_minute > _MOST_LOW[span]):
        return 0.0
    return _FREQUENCY[span][row]


def lifting_index(mass_kg: float, limit_kg: float) -> float:
    """Return load over limit: keep it at 1 or below (NIOSH 94-110). inf where the limit is 0."""
    return mass_kg / limit_kg if limit_kg > 0.0 else math.inf


def pail_limit_kg() -> float:
    """Return the limit in kg for pails lifted from the floor, one every two minutes, for up to an hour (computed)."""
    return lifting_limit_kg(
        *PAIL_LIFT, frequency=frequency_multiplier(LIFTS_A_MINUTE, 1.0, PAIL_LIFT.height_cm)
    )


def full_pail_kg(litres: float, celsius: float) -> float:
    """Return the mass in kg of a pail filled with so many litres of water, 0 to 40 degC."""
    return litres * water_density(celsius) + EMPTY_PAIL_KG
