"""Lamps: kept clean, and read, since their ultraviolet fades without being seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from scheduler.care import asked, cautions, contacts, lamp_hours, lamps, skills, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.engine.job import Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.watch.ultraviolet import TooMuch, read_again, too_much
from scheduler.description.site import Lamp
from scheduler.handbook import daylight
from scheduler.handbook.ultraviolet import BASELINE, BURN_IN, BURN_IN_HOURS, LAW_SOURCE
from scheduler.quantities import Span
from scheduler.sources import HOUSE


@job("lamp-clean", where="where there is a lamp")
def lamp_clean(case: Case) -> Iterator[Job]:
    """Dust lamps and reflectors monthly."""
    if not case.enclosure.lamp:
        return

    yield Job(
        enclosure=case.enclosure,
        title="clean lamps",
        short="Clean lamps",
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=7,
        minutes=10,
        skills=("electrics",),
        notes=partial(_clean_notes, case),
    )


def _clean_notes(case: Case) -> Notes:
    return Notes(
        steps=(
            *switching.unplug(case, "lamp"),
            "Wipe bulbs, tubes, reflectors and guards with a dry cloth.",
            (
                "See that sockets are whole, guards tight, and each lamp hangs from something better than "
                "its clamp."
            ),
            *switching.plug_in_again(case, "lamp"),
        ),
        cautions=(cautions.LAMP_OFF, cautions.MERCURY)
        if any(lamp.gives_uv for lamp in case.enclosure.lamp)
        else (cautions.LAMP_OFF,),
        reason="dust and lime take light and ultraviolet, and dust on a hot lamp burns.",
        sources=(HOUSE,),
    )


@job("uvi-reading", where="where a lamp gives ultraviolet")
def uvi_reading(case: Case) -> Iterator[Job]:
    """Measure the UV Index at the basking place monthly."""
    found = [lamp for _, lamp in lamps.lamps(case) if lamp.gives_uv]
    if not found:
        return
    part = lamp_hours.part_with(case, found, case.house.warm_up) or "morning"
    yield Job(
        enclosure=case.enclosure,
        title="UVI reading",
        short="UVI reading",
        asks=asked.uvi(case.enclosure),
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=7,
        minutes=10,
        part=part,
        skills=skills.METER,
        notes=partial(_uvi_notes, case, found),
    )
    for strong in too_much(case):
        yield Job(
            enclosure=case.enclosure,
            variant=f"high-{strong.variant}",
            title=f"too much ultraviolet: {strong.lamp.kind} lamp",
            short="UVI too high",
            asks=asked.uvi_of(strong.variant),
            cadence=On(days=(strong.entry.day,)),
            window=0,
            minutes=45,
            skills=("adult", "electrics"),
            recorded_as="",
            fixed=True,
            notes=partial(_too_much_notes, case, strong),
        )
    for variant, lamp, day in read_again(case):
        yield Job(
            enclosure=case.enclosure,
            variant=f"again-{variant}",
            title=f"read the {lamp.kind} lamp again",
            short="UVI reading",
            asks=asked.uvi_of(variant),
            cadence=On(days=(day,)),
            window=3,
            minutes=10,
            part=part,
            skills=skills.METER,
            recorded_as="",
            fixed=True,
            notes=partial(_uvi_notes, case, found),
        )


def _too_much_notes(case: Case, strong: TooMuch) -> Notes:
    said = f"{strong.said(case)} {strong.rule(case)}"
    return Notes(
        steps=(
            f"{said} Switch the lamp off first, unplug it, and let it cool for half an hour.",
            f"Then {strong.raised(case)}. It hangs from something better than its clamp, its guard on.",
            (
                f"Plug it in, switch it on, come back after {case.house.warm_up} minutes, and read the UVI "
                "before an animal goes under it. Record the reading: one that is low enough ends this."
            ),
            f"Shut or swollen eyes, or a red or peeling skin: call {contacts.whom(case, 'vet')} today.",
            *contacts.tell_coordinator(case),
        ),
        order="Switch the UV lamp off now",
        because=said,
        cautions=(cautions.LAMP_OFF, cautions.VET),
        reason="too much ultraviolet burns eyes and skin within hours.",
        sources=(strong.source, LAW_SOURCE),
    )


def _uvi_notes(case: Case, found: Sequence[Lamp]) -> Notes:
    steps = [
        "Tape the meter's sensor to a rod as long as the basking distance, so that hand and eyes stay out "
        "of the beam. Let the lamps burn, come "
        f"back after {case.house.warm_up} minutes, and hold the meter's sensor where the shell is when the "
        "turtle basks."
    ]
    steps += [_read_lamp(case, lamp) for lamp in found]
    most = lamps.most_uvi(case)
    if most is not None:
        steps.append(
            f"Over UVI {case.numeral(most)}, the most for these animals: record it, and do today what "
            "the note of that reading says."
        )
    steps.append("Under 70 % of the lamp's baseline, or under what the species needs: replace the lamp now.")
    if any(lamp.installed is None for lamp in found):
        steps.append("Write `installed` into the lamp's table: without it no replacement can be planned.")
    zones = lamps.zones(case)
    steps += [
        f"{species}: {uv.ask}" if uv.zone is None else f"{species} belongs to Ferguson zone {uv.zone}."
        for species, uv in zones.items()
    ]
    by_sheets = case.species_notes("ultraviolet")
    steps += [f"{species}: {note.words}" for species, note in by_sheets]
    minutes = case.value("people_minutes")
    if minutes is not None:
        steps.append(
            f"Be quick: under this lamp {minutes:.0f} minutes in 8 hours are the most for your own eyes "
            "and skin, on the safe side."
        )
    return Notes(
        steps=tuple(steps),
        cautions=(cautions.LAMP_ON,),
        reason="ultraviolet fades unseen: a lamp can look as bright as ever and give none.",
        sources=(
            BASELINE,
            *dict.fromkeys(uv.cited for uv in zones.values()),
            *(note.cited for _, note in by_sheets),
        ),
        worked=case.known("uvi_at_basking", "people_minutes"),
    )


def _read_lamp(case: Case, lamp: Lamp) -> str:
    at = f" {case.cm(lamp.basking_distance)} from the lamp" if lamp.basking_distance else ""
    before = (
        f"; it gave {case.numeral(lamp.uvi)} at {case.cm(lamp.uvi_at)}"
        if lamp.uvi is not None and lamp.uvi_at
        else ""
    )
    return f"Write down the UVI of the {lamp.kind} lamp{at}{before}."


@job(
    "burn-in-baseline",
    where="for each lamp that gives ultraviolet, has its day `installed`, and its `hours_a_day`",
)
def burn_in_baseline(case: Case) -> Iterator[Job]:
    """Read a new UV lamp once it has burned in: that value is what later readings are compared with."""
    for variant, lamp, installed in lamps.dated(case):
        try:
            daily = lamps.hours_a_day(case, lamp)
        except NotKnown as missing:
            # A lamp that follows the day burns eight hours at least, wherever it is.
            if missing.needs != ("site.latitude",):
                continue
            daily = daylight.SHORTEST_H
        day = daylight.day_after_hours(installed, BURN_IN_HOURS, daily, case.site.settings.latitude)
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"baseline of the {lamp.kind} lamp",
            short="UVI baseline",
            asks=asked.uvi_of(variant),
            cadence=On(days=(day,)),
            window=7,
            minutes=10,
            part=lamp_hours.part_with(case, [lamp], case.house.warm_up) or "morning",
            skills=skills.METER,
            notes=partial(_baseline_notes, case, lamp, (day - installed).days),
        )


def _baseline_notes(case: Case, lamp: Lamp, days: int) -> Notes:
    where = (
        f"{case.cm(lamp.basking_distance)} from the lamp"
        if lamp.basking_distance
        else "at the basking place; measure the distance too"
    )
    return Notes(
        steps=(
            (
                f"The {lamp.kind} lamp has burned {BURN_IN_HOURS} hours by now, {days} days after it was "
                "installed."
            ),
            f"Read the UVI {where}.",
            (
                "Record it, or write it into the lamp's table as uvi and uvi_at: later readings are "
                "compared with it."
            ),
        ),
        cautions=(cautions.LAMP_ON,),
        reason="a discharge lamp settles in its first hundred hours; a baseline read earlier is too high.",
        sources=(BURN_IN,),
    )
