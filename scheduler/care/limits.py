"""The one ladder of limits for ammonia and nitrite: what is clean, what wants a look, what wants acting on,
in which words.

The rules about readings, the start-up of a filter and the notes of the tests all ask here.
"""

from __future__ import annotations

from scheduler.care.house import House
from scheduler.care.verdicts import Verdict
from scheduler.handbook import ammonia
from scheduler.sources import Source

ACID_PH = 7.0
"""Under this pH next to nothing of the ammonia harms, until new water lifts the pH.

House value; at 25 degC 0.18 % of it are un-ionised at pH 6.5, 0.56 % at pH 7 and 5.4 % at pH 8 (Emerson et
al. 1975).
"""


ACID_SHARE = 0.2
"""Share of the water that is changed in a day while ammonia stands in water under that pH. House value."""

LEAST_SHARE, MOST_SHARE = 0.25, 0.5
"""An extra change replaces a quarter of the water at least, and half at most: more at once is a shock.

House values.
"""


def ammonia_step(house: House, total: float, unionised: float) -> tuple[Verdict, str] | None:
    """Return how bad ammonia is, in mg/L as N, and the name of the house value that says so; None where it is
    clean."""
    if unionised >= house.ammonia_act:
        return "act", "ammonia_act"
    if unionised >= house.ammonia_look:
        return "look", "ammonia_look"
    return None if is_clean(house, "ammonia", total) else ("look", "ammonia_clean")


def ammonia_ceiling(ph: float, celsius: float) -> float:
    """Return the mg/L of ammonia in all, as N, from which it is acted on however little of it is un-ionised.

    The chronic criterion for wild waters without mussels and early life stages of fish (US EPA 2013), at the
    nearest pH and temperature in degC that it is defined for: in acid water that is stricter than the
    un-ionised part alone.
    """
    return ammonia.epa_chronic_mg_l(min(9.0, max(6.5, ph)), min(30.0, max(0.0, celsius)), mussels=False)


def nitrite_step(house: House, value: float) -> tuple[Verdict, str] | None:
    """Return how bad nitrite is, in mg/L as N, and the name of the house value that says so; None where it is
    clean."""
    if is_clean(house, "nitrite", value):
        return None
    return ("act", "nitrite_act") if value >= house.nitrite_act else ("look", "nitrite_look")


def is_clean(house: House, name: str, value: float) -> bool:
    """Tell whether a reading of ammonia, in all, or of nitrite is what a working filter leaves, in mg/L as
    N."""
    return value <= house.ammonia_clean if name == "ammonia" else value < house.nitrite_look


def said(house: House) -> str:
    """Return the ladder in words, as the notes of all tests print it."""
    number = house.formats.number
    return (
        f"Clean are up to {number(house.ammonia_clean)} mg/L of ammonia in all and less than "
        f"{number(house.nitrite_look)} mg/L of nitrite "
        f"(both as N). Un-ionised ammonia wants a look from {number(house.ammonia_look)} mg/L on, and "
        f"acting on from {number(house.ammonia_act)}; "
        f"nitrite from {number(house.nitrite_look)} and {number(house.nitrite_act)}."
    )


def answer() -> str:
    """Return what is done about water that is not clean, for those who do not record their readings."""
    return (
        f"Not clean, with animals in the water: change {LEAST_SHARE * 100:.0f} to {MOST_SHARE * 100:.0f} % "
        "today, feed nothing, test "
        f"again tomorrow. Ammonia at a pH under {ACID_PH:g}: first bind it with a conditioner that binds "
        "ammonia, by its label, "
        f"then change {ACID_SHARE * 100:.0f} % a day, with a test of pH and ammonia before each."
    )


def sources(house: House) -> tuple[Source, ...]:
    """Return whose the limits are."""
    names = ("ammonia_clean", "ammonia_look", "nitrite_look")
    return tuple(dict.fromkeys(house.source(name) for name in names))
