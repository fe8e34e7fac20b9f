"""Heaters, and getting ready for the cold season."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from scheduler.care import asked, cautions, contacts, first_aid, outdoors, skills, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.figures.heat import LIMITS, WATER_LIMITS_C
from scheduler.care.filter import RESTART
from scheduler.care.first_aid import FIRST_AID, MONOXIDE
from scheduler.care.seasons import NO_LATITUDE, months_of, yearly
from scheduler.care.watch.warmth import Run, water_run
from scheduler.handbook import warming
from scheduler.quantities import Span
from scheduler.sources import HOUSE, Source


@job("heater-check", where="where there is a heater; without one when the water is dangerously cold or warm")
def heater_check(case: Case) -> Iterator[Job]:
    """Check thermostat and body of each heater monthly."""
    heaters = case.enclosure.heater
    run = water_run(case)

    if heaters:
        yield Job(
            enclosure=case.enclosure,
            title="heater check",
            short="Heater check",
            asks=asked.TEMPERATURE,
            cadence=Every(span=Span(28), anchor=case.anchor),
            window=7,
            minutes=10,
            skills=("electrics",),
            notes=partial(_heater_notes, case, run),
        )
    if run is None or not (heaters or run.urgent):
        return

    what = f"too {'cold' if run.cold else 'warm'}"
    yield Job(
        enclosure=case.enclosure,
        variant=f"temperature-{run.first.day.isoformat()}",
        title=f"heater check: water {what}" if heaters else f"water {what}",
        short=f"{what.capitalize()}: heater" if heaters else f"Water {what}",
        asks=asked.TEMPERATURE,
        cadence=On(days=(run.first.day,)),
        window=0,
        minutes=10,
        skills=("electrics",),
        recorded_as="",
        fixed=True,
        notes=partial(_temperature_notes, case, run),
    )


def _temperature_notes(case: Case, run: Run) -> Notes:
    said = (
        f"The water was {case.degrees(run.value)} on {case.date(run.last.day)}, {run.lasted(case)}; these "
        f"animals want {case.band(run.band)}."
    )
    made = Notes(steps=(), sources=(FIRST_AID,), reason=HARM)
    if case.enclosure.heater:
        made = _heater_notes(case, run)
    cared = made.cautions
    return replace(
        made,
        steps=_at_once(case, run, said, made.steps),
        order=_order(case, run),
        because=said,
        cautions=(*cared, cautions.VET) if run.urgent else cared,
        sources=(*made.sources, LIMITS, FIRST_AID) if run.urgent else (*made.sources, LIMITS),
    )


def _heater_notes(case: Case, run: Run | None) -> Notes:
    aim = "the set temperature" if case.set_to_c is None else case.degrees(case.set_to_c)
    glass = any(h.body == "glass" for h in case.enclosure.heater)
    steps = [
        f"Read the water with a second thermometer: it should show {aim}, within 1 °C (2 °F).",
        "Turn the set point down until the heater goes off, then back: it must switch both times. "
        "For a dial under water unplug everything first, and plug in again to look.",
    ]
    hottest = case.value("stuck_temperature")
    if hottest is not None:
        steps.append(
            "Know the worst: stuck on, the strongest heater brings the water to "
            f"{case.degrees(hottest)} in your warmest room."
        )
    steps += switching.unplug(case)
    steps.append(
        "Look for cracks, lime and loose cords. A heater that is damaged or did not switch stays unplugged: "
        "put in a spare or "
        "a new one today."
    )
    if glass:
        steps.append(
            "A glass body can be broken by a turtle: plan for one of titanium or hard plastic, behind a "
            "guard."
        )
    if run is None or run.cold:
        steps += switching.plug_in_again(case)
    else:
        steps += switching.plug_in_again(case, "filter")
        steps += switching.plug_in_again(
            case,
            "heater",
            "lamp",
            lead=f"Once the water is down to {case.degrees(run.band[1])}, plug in again, and see",
        )
    return Notes(
        steps=tuple(steps),
        amount=Amount("", f"should show {aim}"),
        cautions=(*switching.hands_in_water(case), cautions.HEATER),
        worked=case.known(
            "heat_loss", "heater_power", "heater_power_needed", "heat_up_time", "stuck_temperature"
        ),
        reason="a thermostat that sticks cooks or chills the tank, and shows it only when somebody tests it.",
        sources=(HOUSE, LIMITS),
    )


HARM = "water that is far too warm or too cold harms within hours."


def _order(case: Case, run: Run) -> str:
    """Return what is done at once, verb first."""
    if case.enclosure.heater:
        return "See whether the heater works now" if run.cold else "Unplug the heater now"
    return "Give no food, and warm the room slowly" if run.cold else "Cool the room now: shade and air"


def _at_once(case: Case, run: Run, said: str, check: tuple[str, ...]) -> tuple[str, ...]:
    """Return the steps where the water is out of its band: first what helps the animals, then the check of
    the heater."""
    if run.cold:
        if run.urgent:
            aid = tuple(first_aid.too_cold(case, run.value))
            return (f"{said} {aid[0]}", *aid[1:], *check, first_aid.cold_again(case))
        see = (
            "See that it is plugged in, under water and set right; a hand goes in only once it is unplugged."
        )
        return (f"{said} {see}", *check)
    checked = "Plug it in again only to check it, and stay with it; one that stuck once is replaced."
    if not run.urgent:
        return (f"{said} Unplug the heater first, and let the water cool by itself. {checked}", *check)
    aid = tuple(first_aid.too_warm(case))
    first = f"{said} {f'Unplug the heater first. {aid[0]}' if check else aid[0]}"
    return (
        first,
        *aid[1:],
        *((f"Then look into the heater. {checked}",) if check else ()),
        *check,
        *first_aid.warm_again(case),
    )


@job("cold-season-check", where="always; outdoors also every week of the cold months, and once they are over")
def cold_season_check(case: Case) -> Iterator[Job]:
    """Get ready before the cold season: 1 October north, 1 April south of the equator; both while the
    latitude is unknown."""
    months = months_of(case.site.settings.latitude, north=10, south=4)

    yield from outdoors.from_the_cold(case)
    yield from outdoors.winter(case)
    for month in months:
        yield Job(
            enclosure=case.enclosure,
            variant="april" if month == 4 else "october",
            title="cold season check",
            short="Cold season",
            cadence=yearly(case, month),
            window=14,
            minutes=20,
            skills=("adult",),
            notes=partial(_cold_notes, case),
        )


def _cold_notes(case: Case) -> Notes:
    room = case.site.settings.room_low
    known = (
        f"The description says {case.degrees(room)} at the coldest."
        if room is not None
        else "Write it into the description as room_low."
    )
    cut = tuple(first_aid.power_cut(case))
    steps = [
        f"Read the coldest temperature of the room over a night. {known}",
        *(
            ["See that the heater holds its set point on a cold morning, and keep a spare one."]
            if case.enclosure.heater
            else []
        ),
    ]
    if case.enclosure.outdoors:
        steps = outdoors.before_the_cold(case)
    by_sheets = case.species_notes("winter")
    steps += [f"{species}: {note.words}" for species, note in by_sheets]
    if case.site.settings.latitude is None:
        steps.append(NO_LATITUDE)
    # Last, so that a note that unplugs ends with what runs again.
    steps += cut
    return Notes(
        steps=tuple(steps),
        cautions=(
            *((cautions.MONOXIDE,) if cut else ()),
            *((cautions.OUTDOOR_POWER,) if case.enclosure.outdoors else ()),
            cautions.VET,
        ),
        reason="between 10 and 18 °C (50 and 64 °F) a turtle is too cold to digest and too warm to rest.",
        sources=(
            Source("danger band of 10 to 18 °C for indoor keeping", "house value"),
            *(outdoors.sources(case) if case.enclosure.outdoors else (LIMITS,)),
            *((MONOXIDE, warming.HEAT_BALANCE) if cut else ()),
            *((RESTART,) if cut and case.enclosure.filter else ()),
            *(note.cited for _, note in by_sheets),
        ),
        worked=case.known("power_cut_time"),
    )


@job("hot-season-check", where="indoors, where `room_high` is 30 °C or more")
def hot_season_check(case: Case) -> Iterator[Job]:
    """Get ready for hot days where the room brings water to the alarm: 1 June north, 1 December south; both
    while the latitude is unknown."""
    high = case.site.settings.room_high
    if high is None or high < WATER_LIMITS_C[1] or case.enclosure.outdoors:
        return
    months = months_of(case.site.settings.latitude, north=6, south=12)

    for month in months:
        yield Job(
            enclosure=case.enclosure,
            variant="june" if month == 6 else "december",
            title="hot season check",
            short="Hot season",
            cadence=yearly(case, month),
            window=14,
            minutes=20,
            # It pulls plugs.
            skills=skills.PLUGS,
            notes=partial(_hot_notes, case, high),
        )


def _hot_notes(case: Case, high: float) -> Notes:
    most = case.degrees(WATER_LIMITS_C[1])
    warms = any(lamp.kind == "heat" for lamp in case.enclosure.lamp)
    hot: tuple[switching.Thing, ...] = ("heater", "lamp") if warms else ("heater",)
    off = " and ".join(filter(None, (switching.named(case, "heater"), "heat lamps" if warms else "")))
    steps = [
        (
            f"The room goes up to {case.degrees(high)}, and the water follows it: over {most} is an alarm. "
            "Keep the sun off the enclosure with blinds or a board outside the window."
        ),
        (
            "Have a fan ready that stands dry and cannot fall in, on the ground-fault device, and blows "
            "across the water; leave mesh over every opening."
        ),
        "On hot days read the water at noon and in the evening, and top up what evaporates.",
        (
            "Set heat lamps to the cool hours of the morning; the basking surface is measured again, and UV "
            "lamps keep their hours."
        ),
    ]
    steps.append(
        f"Over {most}: {f'{off} unplugged, ' if off else ''}shade and moving air, and let it fall slowly. "
        "No ice and no cold water onto an animal. "
        f"Call {contacts.whom(case, 'vet')} where one gapes, is limp or swims askew."
    )
    if case.site.settings.latitude is None:
        steps.append(NO_LATITUDE)
    # Last, so that a note that unplugs ends with what runs again.
    steps += switching.plug_in_again(
        case,
        *hot,
        lead=f"Back under {most} plug in again with dry hands, and see, then and the next morning",
    )
    return Notes(
        steps=tuple(steps),
        cautions=(cautions.UNPLUG, cautions.LAMP_OFF, cautions.VET),
        reason=(
            "a heater can be switched off, a hot room cannot: what helps has to be there before the first "
            "hot day."
        ),
        sources=(LIMITS, HOUSE),
    )
