"""Pails that a person can lift."""

from __future__ import annotations

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


def full_pail_kg(litres: float, celsius: float) -> float:
    """Return the mass in kg of a pail filled with so many litres of water, 0 to 40 degC."""
    return litres * water_density(celsius) + EMPTY_PAIL_KG
