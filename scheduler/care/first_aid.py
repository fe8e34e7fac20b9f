"""What is done at once where the water is too warm or too cold, and when the power fails; then, how it is put
right again.

No rate at which an animal may be warmed or cooled was found published: the notes say so, and name the vet
first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from scheduler.care import contacts, switching
from scheduler.care.engine.case import Case
from scheduler.care.figures.heat import ALARM_LOW_C, water_hours
from scheduler.sources import Source

NO_FOOD_UNDER_C = 15.0
"""degC under which no turtle is fed: feeding fades below about 15 degC, Parmenter 1980, from memory."""

READ_AGAIN_MINUTES = 30
"""Minutes between two readings while the water comes back. House value."""

FED_AGAIN_H = 24
"""Hours that cold water has to be back in its band before food is given. House value."""

FIRST_AID = Source(
    "first aid: no published rate of warming or cooling found; a reading every half hour, food a day later",
    "house value",
)
MONOXIDE = Source(
    "no flame, grill, gas stove or generator indoors: CDC advice on carbon monoxide in power cuts",
    "from memory",
)

_RATE = "No published rate found for how fast an animal may be"


def too_warm(case: Case) -> Iterator[str]:
    """Yield the steps while the water is over its alarm limit, in their order."""
    band = f"to {case.degrees(case.water_band[1])}" if case.water_band else "to what the species needs"
    yield (
        f"{'Then call' if case.enclosure.heater else 'Call'} {contacts.whom(case, 'vet')} and follow what "
        f"is said there. {_RATE} cooled."
    )
    lamps = "Switch the lamps off, UV and heat. " if case.enclosure.lamp else ""
    yield (
        f"{lamps}Keep the sun out, open a window, and open the cover by a gap too narrow for the animals. A "
        "fan stands aside, where neither it nor its cord can fall into the water. The filter goes on "
        "running."
    )
    yield (
        f"Let it cool slowly, by itself, {band}. Never put ice, cold water or a cold cloth on an animal, "
        f"and no ice into the water. Read the water again every {READ_AGAIN_MINUTES} minutes."
    )
    yield from contacts.tell_coordinator(case)


def warm_again(case: Case) -> tuple[str, ...]:
    """Return the last steps after water was too warm, where no check of a heater has them."""
    lamps = switching.plug_in_again(case, "lamp", lead="Once the water is back switch on again, and see")
    return (
        *(lamps if not case.enclosure.heater else ()),
        f"Close the cover. Come back after {READ_AGAIN_MINUTES} minutes, and look again.",
    )


def too_cold(case: Case, celsius: float) -> Iterator[str]:
    """Yield the steps while the water, at so many degC, is under its alarm limit, in their order."""
    yield f"Give no food. Call {contacts.whom(case, 'vet')} and follow what is said there. {_RATE} warmed."
    if case.enclosure.heater:
        yield (
            "With dry hands, and none in the water, look at the heater's plug, its timer or thermostat, and "
            "the breaker and ground-fault "
            f"device. One that trips again stays off: call {contacts.whom(case, 'electrician')}."
        )
        yield (
            "Unplug what is broken, wet inside or cracked. A hand goes in only with everything unplugged; "
            "plug in again after it what is whole."
        )
        yield (
            f"Warm it slowly: a sound heater under water, set to {switching.set_points(case)}, a warm room, "
            f"the cover on.{_warming(case, celsius)}"
        )
    else:
        yield (
            "Warm it slowly: a warm room, the cover on, and a heater of the right size under water; close "
            "what lets the cold in."
        )
    yield (
        "Never pour hot water in or over an animal, lay it on a heating pad or hang a lamp nearer. Read "
        f"the water again every {READ_AGAIN_MINUTES} minutes."
    )
    yield from contacts.tell_coordinator(case)


def cold_again(case: Case) -> str:
    """Return the last step after water was too cold: when there is food again."""
    band = case.band(case.water_band) if case.water_band else "the warmth that the species needs"
    return f"Food again {FED_AGAIN_H} hours after the water has come to {band}."


def _warming(case: Case, celsius: float) -> str:
    """Say how long the heaters take back into the band, where that can be computed."""
    power = case.value("heater_power")
    hours = (
        None
        if power is None or case.water_band is None
        else water_hours(case, celsius, case.water_band[0], power)
    )
    if hours is None or power is None or case.water_band is None:
        return ""
    return (
        f" {case.numeral(power)} W take about {math.ceil(hours)} h to {case.degrees(case.water_band[0])} in "
        "your coldest room."
    )


def power_cut(case: Case) -> Iterator[str]:
    """Yield the plan for a power cut: what must not be done, what is done, and what happens when."""
    e = case.enclosure
    if not switching.is_electric(case):
        return
    yield (
        "Power cut: light no flame, grill, camping or gas stove indoors to warm the room, and run no "
        "generator indoors, in a garage, or "
        "near windows and doors: carbon monoxide kills without a smell."
    )
    yield (
        f"Unplug {switching.named(case)}, so that nothing comes on unwatched. Only with everything under "
        "them unplugged lay blankets round "
        "the sides and over the cover, and leave a hand's breadth open for air."
    )
    fed = "Give no food while the filter stands or the water is too cold."
    falls = _falls(case)
    yield f"{falls} {fed}" if falls else fed
    if e.filter:
        yield (
            "A battery air pump keeps air in the water and the filter's bacteria alive. A filter that stood "
            "for more than 2 hours is emptied "
            "of its old water before it runs again."
        )
    yield from switching.plug_in_again(
        case, lead="With the power back take the blankets off first. Then plug in again, and see"
    )
    yield (
        "Come back after 10 minutes, and see that all of it "
        f"runs.{' Test ammonia and nitrite on the next day.' if e.filter else ''}"
    )


def _falls(case: Case) -> str:
    """Say after how many hours without power the water has cooled to what; "" where that cannot be
    computed."""
    start, room = case.set_to_c, case.site.settings.room_low
    if start is None or room is None or not case.enclosure.heater:
        return ""
    marks = [(ALARM_LOW_C, " (alarm)"), (NO_FOOD_UNDER_C, " (no food)")]
    if case.water_band is not None:
        marks.insert(0, (case.water_band[0], ""))
    found = [
        f"{case.degrees(celsius)}{what} within {_hours(hours)}"
        for celsius, what in marks
        if celsius < start and (hours := water_hours(case, start, celsius, 0.0)) is not None
    ]
    if not found:
        return ""
    return f"In your coldest room ({case.degrees(room)}) the water falls to {', '.join(found)}."


def _hours(hours: float) -> str:
    """Return hours as they are planned with: whole ones, rounded down to be on the safe side."""
    whole = int(hours)
    return "less than an hour" if whole < 1 else f"{whole} hour{'s' if whole > 1 else ''}"
