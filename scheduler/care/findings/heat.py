"""Heaters, temperatures, power cuts, top-ups."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case, join
from scheduler.care.figures.heat import (
    ALARM_LOW_C,
    HOTTEST_C,
    LIMITS,
    WATER_LIMITS_C,
    losses,
    overheats,
    tank_only,
    water_c,
)
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.verdicts import Verdict
from scheduler.handbook import heat, warming
from scheduler.quantities import convert
from scheduler.sources import COMMON_PRACTICE, Source

SHORT_CUT_H = 4.0
"""Water that cools to the alarm limit sooner wants a plan for power cuts. House value."""

SPLIT = Source("two heaters of half the power, or a cut-out of its own: practice", "common practice")


@rule
def power(case: Case) -> Iterator[Finding]:
    """Hold the heaters' power against the loss in the coldest room, over the band of the evaporation."""
    has, loss, most = (
        case.number("heater_power"),
        case.number("heat_loss"),
        case.number("heater_power_needed"),
    )
    place = case.site.settings
    assert place.room_low is not None
    room = case.degrees(place.room_low)
    quiet = losses(case, place.room_low, water_c(case), min(heat.ACTIVITY_BAND[0], case.house.activity)).total
    if most <= 0:
        text = (
            f"The room is never colder than {room}: the water needs no heating to "
            f"{case.degrees(water_c(case))}."
        )
        yield Finding("heater_power", "fine", text, warming.HEAT_BALANCE)
        return
    by = warming.CUSTOM_W_PER_GALLON
    low, high = warming.customary_w(convert(case.number("net_volume"), "L", "gal"))
    said = (
        f"In a room of {room} the water loses {loss:.0f} W ({quiet:.0f} to {most:.0f} W by how much the "
        f"surface moves); the heaters give {case.numeral(has)} W (custom, {case.numeral(by[0])} to "
        f"{case.numeral(by[1])} W a US gallon: {low:.0f} to {high:.0f} W)."
    )
    if has < loss:
        remedy = "a cover cuts most of it" if not case.enclosure.covered else "warm the room"
        text = (
            f"{said} Too little: the water will not hold {case.degrees(water_c(case))}. Take {most:.0f} W "
            f"or more, or {remedy}."
        )
        yield Finding(
            "heater_power", "act", text, heat.ASHRAE, gist="too little heating for the coldest room"
        )
    elif has < most:
        text = (
            f"{said} Near its limit: with a splashing surface it falls short. A cover, a warmer room or "
            f"{most:.0f} W give room."
        )
        yield Finding(
            "heater_power",
            "look",
            text,
            heat.ASHRAE,
            gist="the heating is near its limit in the coldest room",
        )
    else:
        yield Finding("heater_power", "fine", f"{said} Enough.", heat.ASHRAE)


@rule
def stuck(case: Case) -> Iterator[Finding]:
    """Tell how hot it gets when the strongest heater does not switch off."""
    tank_only(case)
    water_c(case)
    most = WATER_LIMITS_C[1]
    if overheats(case):
        ends = f"over {case.degrees(HOTTEST_C)}"
    else:
        hottest = case.number("stuck_temperature")
        ends = f"at {case.degrees(hottest)}"
        if hottest <= most:
            text = (
                f"If the thermostat of the strongest heater sticks, the water ends {ends} in your warmest "
                "room. That is no danger."
            )
            yield Finding("stuck_temperature", "fine", text, warming.HEAT_BALANCE)
            return
    advice = (
        "Use two heaters of half the power each, or a thermostat of its own that cuts the power"
        if len(case.enclosure.heater) == 1
        else "Use smaller heaters, or a thermostat of its own that cuts the power"
    )
    text = (
        f"If the thermostat of the strongest heater sticks, the water ends {ends} in your warmest room. "
        f"Over {case.degrees(most)} is an alarm. {advice}."
    )
    yield Finding(
        "stuck_temperature", "look", text, SPLIT, gist="a thermostat that sticks overheats the water"
    )


@rule
def bodies(case: Case) -> Iterator[Finding]:
    """Warn of glass."""
    if any(h.body == "glass" for h in case.enclosure.heater):
        yield Finding(
            "heater-check",
            "look",
            (
                "A heater has a glass body, which a turtle can break: take titanium or hard plastic, behind "
                "a guard."
            ),
            COMMON_PRACTICE,
            gist="a heater of glass",
        )


@rule
def power_cut(case: Case) -> Iterator[Finding]:
    """Tell how long a power cut may last."""
    hours = case.number("power_cut_time")
    said = (
        f"Without power in the coldest room the water cools to {case.degrees(ALARM_LOW_C)} in {hours:.0f} "
        "hours."
    )
    if hours < SHORT_CUT_H:
        yield Finding(
            "power_cut_time",
            "look",
            f"{said} Keep blankets, a battery air pump and a plan: the cold season check has one.",
            warming.HEAT_BALANCE,
            gist="the water cools fast without power",
        )
    else:
        yield Finding("power_cut_time", "fine", said, warming.HEAT_BALANCE)


@rule
def set_point(case: Case) -> Iterator[Finding]:
    """Hold the set temperature against the species and the alarm limits."""
    if not case.enclosure.heater or not case.enclosure.resident:
        return
    celsius = water_c(case)
    known = [s for r in case.enclosure.resident if (s := case.sheet(r)) is not None]
    if not known:
        yield Finding(
            "heater-check",
            "look",
            "Write the species of the residents: then the set temperature is held against what suits them.",
            LIMITS,
            ("resident.species",),
            gist="write the species, to judge the heaters' setting",
        )
        return
    source = known[0].water.cited
    band = case.water_band
    if band is None:
        names = join(tuple(sorted({s.species for s in known})))
        yield Finding(
            "heater-check",
            "look",
            (
                f"No water temperature suits all of them ({names}, by age): keep them apart, or ask a "
                "reptile vet."
            ),
            source,
            gist="no water temperature suits all animals of a tank",
        )
        return
    said = f"The heaters are set to {case.degrees(celsius)}; {case.band(band)} suit all residents."
    if band[0] <= celsius <= band[1]:
        yield Finding("heater-check", "fine", said, source)
    elif WATER_LIMITS_C[0] <= celsius <= WATER_LIMITS_C[1]:
        yield Finding(
            "heater-check",
            "look",
            f"{said} Set them into that range.",
            source,
            gist="the heaters are set outside of what suits the animals",
        )
    else:
        yield Finding(
            "heater-check",
            "act",
            f"{said} Outside {case.band(WATER_LIMITS_C)} is an alarm: set them right now.",
            LIMITS,
            gist="the heaters are set to a temperature of alarm",
        )


@rule
def no_heater(case: Case) -> Iterator[Finding]:
    """Say where the room alone leaves the water too cold."""
    room, band = case.site.settings.room_low, case.water_band
    if case.enclosure.heater or case.enclosure.outdoors or room is None or band is None:
        return
    if room < band[0]:
        verdict: Verdict = "act" if room < ALARM_LOW_C else "look"
        yield Finding(
            "heater_power",
            verdict,
            (
                f"There is no heater, and the room goes down to {case.degrees(room)}: the residents want "
                f"water of {case.band(band)}. Add a heater."
            ),
            LIMITS,
            gist="no heater, and the room gets too cold for the animals",
        )


@rule
def hot_room(case: Case) -> Iterator[Finding]:
    """Say where the room alone brings the water to the alarm: no thermostat helps against that."""
    room, most = case.site.settings.room_high, WATER_LIMITS_C[1]
    if room is None or room < most or case.enclosure.outdoors or not case.enclosure.resident:
        return
    text = (
        f"The room goes up to {case.degrees(room)}, and the water follows it; over {case.degrees(most)} is "
        "an alarm, and no heater has to fail for that. "
        "Before the hot season: shade, a fan across the water that stands dry and cannot fall in, heat "
        "lamps in the cool hours, or a cooler room. The hot-season-check says how."
    )
    yield Finding(
        "hot-season-check", "act", text, LIMITS, gist="the room gets so hot that the water reaches the alarm"
    )


@rule
def topping_up(case: Case) -> Iterator[Finding]:
    """Tell how much evaporates."""
    litres = case.number("evaporation")
    activity = case.house.activity
    band = (min(heat.ACTIVITY_BAND[0], activity), max(heat.ACTIVITY_BAND[1], activity))
    low, high = (litres * share / activity for share in band)
    text = (
        f"About {case.litres(litres)} evaporate a day in the coldest room (band {case.litres(low)} to "
        f"{case.litres(high)}): top up before the line falls by {case.cm(case.house.top_up_fall_cm)}."
    )
    yield Finding("evaporation", "fine", text, case.house.source("evaporation_activity"))
