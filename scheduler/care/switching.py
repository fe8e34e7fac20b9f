"""What is unplugged before work, and plugged in again after it: the one rule for all notes.

Whoever follows a note to its last step leaves an enclosure that is filtered, warm and lit.
"""

from __future__ import annotations

from typing import Literal

from scheduler.care import cautions, lamp_hours
from scheduler.care.cautions import Caution
from scheduler.care.engine.case import Case, join
from scheduler.description.site import Lamp

Thing = Literal["heater", "lamp", "filter"]

EVERYTHING: tuple[Thing, ...] = ("filter", "heater", "lamp")
"""In the order in which they run again: what breathes for the filter's bacteria first."""

COOLING_MINUTES = 30
"""Heaters and lamps are left alone for so long once they are unplugged: the longer end of 15 to 30 minutes,
makers' advice, from memory.
"""


def is_electric(case: Case) -> bool:
    """Tell whether anything at the enclosure has a plug."""
    return bool(_there(case, EVERYTHING))


def unplug(case: Case, *things: Thing) -> tuple[str, ...]:
    """Return the step that unplugs things, or everything; none where there is nothing of them.

    The filter comes last and after the wait, for its bacteria suffer without flow. Nobody has to stay while
    things cool.
    """
    there = _there(case, things or EVERYTHING)
    hot = " and ".join(thing for thing in there if thing != "filter")
    if not hot:
        return ("Unplug the filter with dry hands.",) if there else ()
    # "Every": the same words for one and for several, so that a round says them once.
    first = f"Unplug every {hot} with dry hands; come back after {COOLING_MINUTES} minutes, when cool"
    return (f"{first}, and unplug the filter too." if "filter" in there else f"{first}.",)


def plug_in_again(case: Case, *things: Thing, lead: str = "Plug in again, and see") -> tuple[str, ...]:
    """Return the step that undoes `unplug` for the same things, with how each is found: it closes the work.

    `lead` is how it begins, where more is to be said of when.
    """
    found = running(case, *things)
    return (f"{lead}: {found}.",) if found else ()


def running(case: Case, *things: Thing) -> str:
    """Return how things that run are found, or everything; "" where there is nothing of them."""
    return "; ".join(_found(case, thing) for thing in _there(case, things or EVERYTHING))


def named(case: Case, *things: Thing) -> str:
    """Return things that have a plug as a phrase, or everything: `filter, heater and lamps`; "" where there
    is nothing of them."""
    return join(tuple(_word(case, thing) for thing in _there(case, things or EVERYTHING)))


def hands_in_water(case: Case) -> tuple[Caution, ...]:
    """Return the cautions of work with hands or tools in the water, by what the enclosure has."""
    return (
        *((cautions.UNPLUG,) if is_electric(case) else ()),
        *((cautions.LAMP_OFF,) if case.enclosure.lamp else ()),
    )


def _there(case: Case, things: tuple[Thing, ...]) -> tuple[Thing, ...]:
    e = case.enclosure
    has = {"heater": bool(e.heater), "lamp": bool(e.lamp), "filter": e.filter is not None}
    return tuple(thing for thing in EVERYTHING if thing in things and has[thing])


def _word(case: Case, thing: Thing) -> str:
    several = thing != "filter" and len(getattr(case.enclosure, thing)) > 1
    return f"{thing}s" if several else thing


def _found(case: Case, thing: Thing) -> str:
    match thing:
        case "filter":
            return "filter flowing"
        case "heater":
            return f"{_word(case, thing)} under water, set to {set_points(case)}"
        case "lamp":
            hours = ", ".join(dict.fromkeys(_hours(case, lamp) for lamp in case.enclosure.lamp))
            its = "their" if len(case.enclosure.lamp) > 1 else "its"
            return f"{_word(case, thing)} on at {its} hours ({hours})"


def set_points(case: Case) -> str:
    """Return what the heaters are set to, in the site's units."""
    known = sorted({heater.set_to for heater in case.enclosure.heater if heater.set_to is not None})
    if known:
        return join(tuple(case.degrees(celsius) for celsius in known))
    return case.band(case.water_band) if case.water_band is not None else "what the species needs"


def _hours(case: Case, lamp: Lamp) -> str:
    if lamp.hours_a_day is None:
        return f"{lamp.kind} as its timer is set"
    if isinstance(lamp.hours_a_day, str):
        return f"{lamp.kind} with the daylight"
    hours = lamp_hours.told(case, lamp)
    if hours is not None:
        return f"{lamp.kind} {hours}"
    return f"{lamp.kind} {case.numeral(lamp.hours_a_day)} h"
