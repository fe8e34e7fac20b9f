"""Heat: what the water loses, what the heaters give, and what evaporates."""

from __future__ import annotations

import math
from collections.abc import Callable

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.handbook import heat, warming
from scheduler.handbook.volume import water_density
from scheduler.sources import KEEPER, Source

WATER_LIMITS_C = (18.0, 30.0)
"""Water outside these limits is an alarm. House value, a compromise of published ranges."""

LIMITS = Source("water under 18 or over 30 °C is an alarm", "house value")

HOTTEST_C = 40.0
"""The formulas of the losses end here."""

ALARM_LOW_C = WATER_LIMITS_C[0]

ENERGY = Source("heat loss at the coldest room all month: an upper bound", "computed")
LAMP_ENERGY = Source("power x hours a day x 30.4 days", "computed")


def tank_only(case: Case) -> None:
    """Refuse an enclosure that the formulas of a tank in a room do not fit."""
    if case.enclosure.outdoors:
        raise NotKnown(
            why="it stands in the weather: the formulas here are of a tank in a room", applies=False
        )


def water_c(case: Case) -> float:
    """Return the temperature at which the water is held.

    NotKnown without a heater, or where they disagree.
    """
    if not case.enclosure.heater:
        raise NotKnown(why="there is no heater in the description", applies=False)
    if case.set_to_c is None and any(h.set_to is not None for h in case.enclosure.heater):
        raise NotKnown(why="the heaters are set to different temperatures")
    (celsius,) = case.need(heater__set_to=case.set_to_c)
    return celsius


def _in_the_cold(case: Case) -> tuple[float, float]:
    """Return the temperatures of the water and of the room at its coldest.

    NotKnown for a pond, or where one is missing.
    """
    tank_only(case)
    celsius = water_c(case)
    (room,) = case.need(site__room_low=case.site.settings.room_low)
    return celsius, room


def losses(case: Case, room_c: float, celsius: float, activity: float | None = None) -> heat.Losses:
    """Return the heat that the enclosure loses, W, at a temperature of the water and the room."""
    e = case.enclosure
    length, width, depth = case.need(length=e.length, width=e.width, water_depth=e.water_depth)
    if e.covered is None:
        raise NotKnown("covered")
    return heat.losses(
        length,
        width,
        depth,
        celsius,
        room_c,
        covered=e.covered,
        activity=case.house.activity if activity is None else activity,
        humidity=case.house.humidity,
        pane_mm=heat_pane_mm(case),
    )


def heat_pane_mm(case: Case) -> float:
    """Return the thickness of the walls: 6 mm where it is not given, thin and so on the safe side."""
    return 6.0 if case.enclosure.pane is None else case.enclosure.pane * 10.0


def _panes(case: Case) -> str:
    given = "" if case.enclosure.pane is not None else ", a house value"
    return f"walls of {case.numeral(heat_pane_mm(case))} mm{given}"


def loss_in(case: Case, room_c: float, activity: float | None = None) -> Callable[[float], float]:
    """Return the loss in W as a function of the water's temperature, in a room of `room_c`."""
    return lambda celsius: losses(case, room_c, celsius, activity).total


def mass_kg(case: Case, celsius: float) -> float:
    """Return the mass of the water."""
    return case.number("net_volume") * water_density(celsius)


def water_hours(case: Case, start_c: float, end_c: float, power_w: float) -> float | None:
    """Return the hours from one temperature of the water to another with so much power, in the coldest room.

    None where it never gets there, and where the description does not say enough.
    """
    room = case.site.settings.room_low
    if room is None or case.enclosure.kind == "pond":
        return None
    try:
        hours = warming.hours_between(start_c, end_c, mass_kg(case, start_c), power_w, loss_in(case, room))
    except (NotKnown, ValueError):
        return None
    return None if math.isinf(hours) else hours


@figure("heat_loss", "W")
def heat_loss(case: Case) -> Made:
    """Compute the loss at the set temperature in the coldest room."""
    celsius, room = _in_the_cold(case)
    found = losses(case, room, celsius)

    def how() -> str:
        top = "through the cover" if case.enclosure.covered else "from the open surface"
        return (
            f"water {case.degrees(celsius)}, room {case.degrees(room)}: {found.sides:.0f} W through the "
            f"sides ({_panes(case)}), {found.base:.0f} W "
            f"through the base, {found.top:.0f} W {top}, {found.evaporation:.0f} W by evaporation (activity "
            f"{case.numeral(case.house.activity)}, humidity {case.house.humidity * 100:.0f} %) = "
            f"{found.total:.0f} W"
        )

    return Made(found.total, heat.ASHRAE, how)


@figure("heater_power", "W")
def heater_power(case: Case) -> Made:
    """Add up the power of the heaters."""
    heaters = case.enclosure.heater
    if not heaters:
        raise NotKnown(why="there is no heater in the description", applies=False)
    powers = [h.power for h in heaters if h.power is not None]
    if len(powers) < len(heaters):
        raise NotKnown("heater.power")
    return Made(sum(powers), KEEPER, lambda: " + ".join(f"{case.numeral(p)} W" for p in powers))


@figure("heater_power_needed", "W")
def heater_power_needed(case: Case) -> Made:
    """Compute the loss in the coldest room with a surface that splashes: what the heaters have to give."""
    celsius, room = _in_the_cold(case)
    most = losses(case, room, celsius, max(heat.ACTIVITY_BAND[1], case.house.activity)).total
    return Made(
        max(0.0, most),
        heat.ASHRAE,
        lambda: (
            "the same loss with a splashing surface (activity "
            f"{case.numeral(max(heat.ACTIVITY_BAND[1], case.house.activity))}) = {most:.0f} W"
        ),
    )


@figure("heat_up_time", "h")
def heat_up_time(case: Case) -> Made:
    """Compute how long the heaters take from the coldest room's temperature to the set one, with the
    losses."""
    celsius, room = _in_the_cold(case)
    power = case.number("heater_power")
    if room >= celsius:
        raise NotKnown(why="the room is never colder than the water is set to", applies=False)
    mass = mass_kg(case, celsius)
    hours = warming.hours_between(room, celsius, mass, power, loss_in(case, room))
    if math.isinf(hours):
        raise NotKnown(
            why=(
                f"{case.numeral(power)} W never bring the water from {case.degrees(room)} to "
                f"{case.degrees(celsius)} in that room"
            )
        )
    return Made(
        hours,
        warming.HEAT_BALANCE,
        lambda: (
            f"{case.kilograms(mass)} of water from {case.degrees(room)} to {case.degrees(celsius)} with "
            f"{case.numeral(power)} W, less what it loses on the way = {case.numeral(hours, '.1f')} h"
        ),
    )


@figure("power_cut_time", "h", "time to the cold alarm, without power")
def power_cut_time(case: Case) -> Made:
    """Compute how long the water takes to cool to the alarm limit when the power fails in the coldest
    room."""
    celsius, room = _in_the_cold(case)
    if celsius <= ALARM_LOW_C:
        raise NotKnown(why=f"the water is set to {case.degrees(celsius)} already", applies=False)
    mass = mass_kg(case, celsius)
    hours = warming.hours_between(celsius, ALARM_LOW_C, mass, 0.0, loss_in(case, room))
    if math.isinf(hours):
        raise NotKnown(
            why=f"in a room of {case.degrees(room)} the water does not cool to {case.degrees(ALARM_LOW_C)}",
            applies=False,
        )
    return Made(
        hours,
        warming.HEAT_BALANCE,
        lambda: (
            f"{case.kilograms(mass)} of water from {case.degrees(celsius)} down to "
            f"{case.degrees(ALARM_LOW_C)} in a room of {case.degrees(room)} = {hours:.0f} h"
        ),
    )


def _strongest_w(case: Case) -> float:
    case.number("heater_power")
    return max(h.power for h in case.enclosure.heater if h.power is not None)


def overheats(case: Case) -> bool:
    """Tell whether the strongest heater, stuck on in the warmest room, would bring the water over what is
    reckoned here."""
    room = case.site.settings.room_high
    return (
        room is not None
        and room <= HOTTEST_C
        and loss_in(case, room, heat.ACTIVITY_BAND[0])(HOTTEST_C) < _strongest_w(case)
    )


@figure("stuck_temperature", "degC", "hottest water if a thermostat sticks", extra=True)
def stuck_temperature(case: Case) -> Made:
    """Compute where the water ends in the warmest room when the strongest heater does not switch off."""
    tank_only(case)
    celsius = water_c(case)
    (room,) = case.need(site__room_high=case.site.settings.room_high)
    strongest = _strongest_w(case)
    # A quiet surface loses least and so gets hottest.
    loss = loss_in(case, room, heat.ACTIVITY_BAND[0])
    low = max(0.0, min(room, celsius) - 5.0)
    if overheats(case):
        raise NotKnown(why=f"it would pass {case.degrees(HOTTEST_C)}, beyond which nothing is reckoned here")
    if loss(low) > strongest:
        raise NotKnown(
            why=f"{case.numeral(strongest)} W alone keep it under {case.degrees(low)}", applies=False
        )
    hottest = warming.settles_at_c(strongest, loss, low, HOTTEST_C)
    return Made(
        hottest,
        warming.HEAT_BALANCE,
        lambda: (
            f"in a room of {case.degrees(room)} the loss equals {case.numeral(strongest)} W at "
            f"{case.degrees(hottest)}"
        ),
    )


@figure("heater_energy", "kWh/month", "heater energy at most", extra=True)
def heater_energy(case: Case) -> Made:
    """Compute a month's energy of the heaters at the coldest room."""
    loss = case.number("heat_loss")
    power = case.number("heater_power")
    watts = max(0.0, min(loss, power))
    kwh = warming.kwh_a_month(watts)
    return Made(
        kwh,
        ENERGY,
        lambda: f"{watts:.0f} W x 24 h x {case.numeral(30.4)} days = {kwh:.0f} kWh, were it always so cold",
    )


@figure("lamp_energy", "kWh/month", extra=True)
def lamp_energy(case: Case) -> Made:
    """Compute a month's energy of the lamps; one that follows the daylight counts as twelve hours a day."""
    lamps = case.enclosure.lamp
    if not lamps:
        raise NotKnown(why="there is no lamp in the description", applies=False)
    if any(lamp.power is None for lamp in lamps):
        raise NotKnown("lamp.power")
    if any(lamp.hours_a_day is None for lamp in lamps):
        raise NotKnown("lamp.hours_a_day")
    # Over a year, daylight lasts about twelve hours everywhere.
    daily = [
        (lamp.power or 0.0) * (12.0 if isinstance(lamp.hours_a_day, str) else lamp.hours_a_day or 0.0)
        for lamp in lamps
    ]
    kwh = warming.kwh_a_month(sum(daily) / 24.0)
    return Made(
        kwh,
        LAMP_ENERGY,
        lambda: (
            f"{' + '.join(f'{d:.0f}' for d in daily)} Wh a day x {case.numeral(30.4)} days = {kwh:.0f} kWh"
        ),
    )


@figure("evaporation", "L/d")
def evaporation(case: Case) -> Made:
    """Compute the water that evaporates in a day, in the coldest room, where most does."""
    celsius, room = _in_the_cold(case)
    watts = losses(case, room, celsius).evaporation
    litres = heat.evaporated_litres_day(watts, celsius)
    return Made(
        litres,
        heat.ASHRAE,
        lambda: (
            f"{watts:.0f} W of evaporation = {case.numeral(litres, '.2f')} L a day (activity "
            f"{case.numeral(case.house.activity)}; band {case.numeral(heat.ACTIVITY_BAND[0])} to "
            f"{case.numeral(heat.ACTIVITY_BAND[1])})"
        ),
    )
