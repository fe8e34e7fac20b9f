"""Pails and loads that a person can lift, in one hand or both, by ISO 11228-1."""

from __future__ import annotations

import math
from bisect import bisect_left
from typing import NamedTuple

from scheduler.handbook.volume import water_density
from scheduler.sources import Source

REFERENCE_KG = 20.0
"""Mass in kg that the limits begin with.

ISO 11228-1 (published, see ISO): 25 for men from 18 to 45, 20 for women of that age and for men over 45, 15
for women over 45; for the young 15 and less. Which one counts is a house value: 20.
"""


LARGEST_PAIL_L = 6.0
"""Largest pail for one hand. House value: with the pail about 7 kg, within `pail_limit_kg` of the 20 kg."""

EMPTY_PAIL_KG = 1.0
HOSE_FROM_L = 40.0
"""From this volume a note offers a hose or a pump before pails. House value."""

SOURCE = Source(
    "largest pail 6 L, hose from 40 L; the limit behind it is that of ISO 11228-1 for one hand",
    "house value",
)
ISO = Source(
    (
        "ISO 11228-1, lifting: reference mass by age and sex, multipliers, one hand x 0.6, two people x "
        "0.85 each; read as restated by others"
    ),
    "published",
)
REFERENCE = Source("reference mass of 20 kg (ISO 11228-1: women to 45, men over 45)", "house value")


class Lift(NamedTuple):
    """A lift: hands before the ankles and over the floor, way up, twist, grip (1 is good), in one hand or
    both."""

    hand_cm: float
    height_cm: float
    travel_cm: float
    twist_deg: float = 0.0
    coupling: float = 1.0
    one_hand: bool = False


PAIL_LIFT = Lift(hand_cm=30.0, height_cm=30.0, travel_cm=60.0, coupling=0.95, one_hand=True)
"""A pail beside the foot, lifted from the floor by its handle, in one hand. House values."""

LOAD_LIFT = Lift(hand_cm=35.0, height_cm=30.0, travel_cm=60.0, coupling=0.95)
"""Any other load, lifted from the floor at arm's length with both hands. House values."""

LIFTS_A_MINUTE = 0.5
"""One pail every two minutes. House value."""

ONE_HAND = 0.6
"""Multiplier for lifting with one hand (published, see ISO)."""

EACH_OF_TWO = 0.85
"""Multiplier for each of two people who lift one load (published, see ISO)."""

_ROWS = (0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0)
_FREQUENCY = {
    1: (1.00, 0.97, 0.94, 0.91, 0.88, 0.84, 0.80, 0.75, 0.70, 0.60, 0.52, 0.45, 0.41, 0.37, 0.34, 0.31, 0.28),
    2: (0.95, 0.92, 0.88, 0.84, 0.79, 0.72, 0.60, 0.50, 0.42, 0.35, 0.30, 0.26, 0.23, 0.21, 0.00, 0.00, 0.00),
    8: (0.85, 0.81, 0.75, 0.65, 0.55, 0.45, 0.35, 0.27, 0.22, 0.18, 0.15, 0.13, 0.00, 0.00, 0.00, 0.00, 0.00),
}
"""Multiplier by hours of lifting (up to 1, 2, 8) and lifts a minute (published, see ISO)."""

_MOST_LOW = {1: 12.0, 2: 10.0, 8: 8.0}
"""Most lifts a minute with the hands below 75 cm: beyond, the table has 0 for low hands (from memory)."""


def lifting_limit_kg(reference_kg: float, lift: Lift, frequency: float = 1.0) -> float:
    """Return the mass in kg that most people of a reference mass in kg may lift so.

    Reference x 25/H x (1 - 0.003 |V - 75|) x (0.82 + 4.5/D) x (1 - 0.0032 A) x frequency x coupling, in cm
    and degrees, x 0.6 in one hand: ISO 11228-1 (published, see ISO). H counts as at least 25, D as at least
    25. 0 beyond H 63, V 175, D 175 and A 135. ValueError for what cannot be.
    """
    hand_cm, height_cm, travel_cm, twist_deg, coupling, one_hand = lift
    if not 0.0 < reference_kg <= 25.0:
        raise ValueError(f"a reference mass is more than 0 kg and 25 kg at most, not {reference_kg:g}")
    if not (hand_cm >= 0.0 and height_cm >= 0.0 and travel_cm >= 0.0 and 0.0 <= twist_deg <= 180.0):
        raise ValueError("a lift needs distances of 0 cm or more, and a twist from 0 to 180 degrees")
    if not (0.0 <= coupling <= 1.0 and 0.0 <= frequency <= 1.0):
        raise ValueError("the multipliers for grip and frequency lie between 0 and 1")
    if hand_cm > 63.0 or height_cm > 175.0 or travel_cm > 175.0 or twist_deg > 135.0:
        return 0.0
    reach = 25.0 / max(25.0, hand_cm)
    height = 1.0 - 0.003 * abs(height_cm - 75.0)
    travel = 0.82 + 4.5 / max(25.0, travel_cm)
    hands = ONE_HAND if one_hand else 1.0
    return reference_kg * reach * height * travel * (1.0 - 0.0032 * twist_deg) * frequency * coupling * hands


def frequency_multiplier(lifts_a_minute: float, hours: float, height_cm: float = 0.0) -> float:
    """Return the multiplier for so many lifts a minute over so many hours (up to 8), hands at `height_cm` at
    the start.

    ISO 11228-1 (published, see ISO). Between two rows the stricter one holds. 0 means that no load is light
    enough.
    """
    if not (lifts_a_minute >= 0.0 and 0.0 <= hours <= 8.0 and height_cm >= 0.0):
        raise ValueError("lifting frequency is defined here for 0 to 8 hours, from 0 lifts a minute and 0 cm")
    span = 1 if hours <= 1.0 else 2 if hours <= 2.0 else 8
    row = bisect_left(_ROWS, lifts_a_minute)
    if row == len(_ROWS) or (height_cm < 75.0 and lifts_a_minute > _MOST_LOW[span]):
        return 0.0
    return _FREQUENCY[span][row]


def lifting_index(mass_kg: float, limit_kg: float) -> float:
    """Return load over limit: keep it at 1 or below. inf where the limit is 0."""
    return mass_kg / limit_kg if limit_kg > 0.0 else math.inf


def _often(lift: Lift) -> float:
    return frequency_multiplier(LIFTS_A_MINUTE, 1.0, lift.height_cm)


def pail_limit_kg(reference_kg: float = REFERENCE_KG) -> float:
    """Return the limit in kg for a pail in one hand, one every two minutes, for up to an hour (computed)."""
    return lifting_limit_kg(reference_kg, PAIL_LIFT, _often(PAIL_LIFT))


def load_limit_kg(reference_kg: float = REFERENCE_KG) -> float:
    """Return the limit in kg for a load lifted from the floor with both hands, as often as pails
    (computed)."""
    return lifting_limit_kg(reference_kg, LOAD_LIFT, _often(LOAD_LIFT))


def two_people_kg(limit_kg: float) -> float:
    """Return what two people may lift together where each alone may lift `limit_kg`: 2 x 0.85 of it (see
    ISO)."""
    return 2.0 * EACH_OF_TWO * limit_kg


def largest_pail_l(limit_kg: float) -> float:
    """Return the whole litres of water that a pail may hold under a limit in kg, by water at its densest
    (computed)."""
    return max(0.0, math.floor((limit_kg - EMPTY_PAIL_KG) / water_density(4.0) + 1e-9))


def full_pail_kg(litres: float, celsius: float) -> float:
    """Return the mass in kg of a pail filled with so many litres of water, 0 to 40 degC."""
    return litres * water_density(celsius) + EMPTY_PAIL_KG
