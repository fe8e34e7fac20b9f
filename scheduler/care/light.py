"""Lamps: what shines, and what fades without being seen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from scheduler.care import asked, cautions, contacts, lamp_hours, lamps, skills, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.engine.job import Amount, Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.watch.ultraviolet import TooMuch, read_again, too_much
from scheduler.description.site import Lamp
from scheduler.handbook import daylight
from scheduler.handbook.ultraviolet import BASELINE, BURN_IN, BURN_IN_HOURS, LAW_SOURCE
from scheduler.quantities import Span
from scheduler.sources import COMMON_PRACTICE, HOUSE

SHORTEST_LIFE_DAYS = 28
"""A replacement is not planned more often: a lamp that would need it hangs too far away, or is too weak. House value."""


@job("lamp-clean")
def lamp_clean(case: Case) -> Iterator[Job]:
    """Dust lamps and reflectors monthly."""
    if not case.enclosure.lamp:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                *switching.unplug(case, "lamp"),
                "Wipe bulbs, tubes, reflectors and guards with a dry cloth.",
                "See that sockets are whole, guards tight, and each lamp hangs from something better than its clamp.",
                *switching.plug_in_again(case, "lamp"),
            ),
            cautions=(cautions.LAMP_OFF, cautions.MERCURY)
            if any(lamp.gives_uv for lamp in case.enclosure.lamp)
            else (cautions.LAMP_OFF,),
            reason="dust and lime take light and ultraviolet, and dust on a hot lamp burns.",
            sources=(HOUSE,),
        )

    yield Job(
        enclosure=case.enclosure,
        title="clean lamps",
        short="Clean lamps",
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=7,
        minutes=10,
        skills=("electrics",),
        notes=notes,
    )


@job("uvi-reading")
def uvi_reading(case: Case) -> Iterator[Job]:
    """Measure the UV Index at the basking place monthly."""
    found = [lamp for _, lamp in lamps.lamps(case) if lamp.gives_uv]
    if not found:
        return
    part = lamp_hours.part_with(case, found, case.house.warm_up) or "morning"

    def notes() -> Notes:
        steps = [
            f"Tape the meter's sensor to a rod as long as the basking distance, so that hand and eyes stay out of the beam. Let the lamps burn, come "
            f"back after {case.house.warm_up} minutes, and hold the meter's sensor where the shell is when the turtle basks."
        ]
        for lamp in found:
            at = f" {case.cm(lamp.basking_distance)} from the lamp" if lamp.basking_distance else ""
            before = (
                f"; it gave {case.numeral(lamp.uvi)} at {case.cm(lamp.uvi_at)}"
                if lamp.uvi is not None and lamp.uvi_at
                else ""
            )
            steps.append(f"Write down the UVI of the {lamp.kind} lamp{at}{before}.")
        most = lamps.most_uvi(case)
        if most is not None:
            steps.append(
                f"Over UVI {case.numeral(most)}, the most for these animals: record it, and do today what the note of that reading says."
            )
        steps.append(
            "Under 70 % of the lamp's baseline, or under what the species needs: replace the lamp now."
        )
        if any(lamp.installed is None for lamp in found):
            steps.append("Write `installed` into the lamp's table: without it no replacement can be planned.")
        zones = lamps.zones(case)
        for species, uv in zones.items():
            steps.append(
                f"{species} belongs to Ferguson zone {uv.zone}."
                if uv.zone is not None
                else f"{species}: {uv.ask}"
            )
        by_sheets = case.species_notes("ultraviolet")
        steps += [f"{species}: {note.words}" for species, note in by_sheets]
        minutes = case.value("people_minutes")
        if minutes is not None:
            steps.append(
                f"Be quick: under this lamp {minutes:.0f} minutes in 8 hours are the most for your own eyes and skin, on the safe side."
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
        notes=notes,
    )
    for strong in too_much(case):

        def high(strong: TooMuch = strong) -> Notes:
            said = f"{strong.said(case)} {strong.rule(case)}"
            return Notes(
                steps=(
                    f"{said} Switch the lamp off first, unplug it, and let it cool for half an hour.",
                    f"Then {strong.raised(case)}. It hangs from something better than its clamp, its guard on.",
                    f"Plug it in, switch it on, come back after {case.house.warm_up} minutes, and read the UVI before an animal goes under it. Record the reading: one that is low enough ends this.",
                    f"Shut or swollen eyes, or a red or peeling skin: call {contacts.whom(case, 'vet')} today.",
                    *contacts.tell_coordinator(case),
                ),
                order="Switch the UV lamp off now",
                because=said,
                cautions=(cautions.LAMP_OFF, cautions.VET),
                reason="too much ultraviolet burns eyes and skin within hours.",
                sources=(strong.source, LAW_SOURCE),
            )

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
            notes=high,
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
            notes=notes,
        )


@job("burn-in-baseline")
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
        day = daylight.day_after_hours(installed, BURN_IN_HOURS, daily, case.site.place.latitude)
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
            notes=lambda lamp=lamp, days=(day - installed).days: _baseline_notes(case, lamp, days),  # type: ignore[misc]
        )


def _baseline_notes(case: Case, lamp: Lamp, days: int) -> Notes:
    where = (
        f"{case.cm(lamp.basking_distance)} from the lamp"
        if lamp.basking_distance
        else "at the basking place; measure the distance too"
    )
    return Notes(
        steps=(
            f"The {lamp.kind} lamp has burned {BURN_IN_HOURS} hours by now, {days} days after it was installed.",
            f"Read the UVI {where}.",
            "Record it, or write it into the lamp's table as uvi and uvi_at: later readings are compared with it.",
        ),
        cautions=(cautions.LAMP_ON,),
        reason="a discharge lamp settles in its first hundred hours; a baseline read earlier is too high.",
        sources=(BURN_IN,),
    )


def _span(case: Case, lamp: Lamp, installed: dt.date) -> Span:
    """Return how long each lamp at this place is planned to last."""
    return Span(max(SHORTEST_LIFE_DAYS, lamps.life(case, lamp, installed).days))


@job("uv-lamp-order")
def uv_lamp_order(case: Case) -> Iterator[Job]:
    """Order a UV lamp four weeks before its replacement."""
    for variant, lamp, installed in lamps.dated(case):
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"order a {lamp.kind} lamp",
            short="Order lamp",
            cadence=Every(
                span=_span(case, lamp, installed),
                anchor=installed - dt.timedelta(days=case.house.lamps_ahead_days),
                lasts=True,
            ),
            window=14,
            minutes=10,
            skills=("adult",),
            notes=lambda lamp=lamp, installed=installed: _order_notes(case, lamp, installed),  # type: ignore[misc]
        )


class _Fitting(NamedTuple):
    """What a lamp is bought for, and what it is fitted into."""

    bought: str
    fitted: str


_FITTINGS = {
    "mercury vapour": _Fitting(
        "self-ballasted, for a ceramic socket and no dimmer", "in a ceramic socket and on no dimmer"
    ),
    "metal halide": _Fitting(
        "for the ballast that you have, of its wattage", "on its own ballast, never in a socket of the mains"
    ),
    "T5 HO tube": _Fitting(
        "a tube for your T5 HO ballast, of its wattage and length",
        "on a T5 HO ballast of its wattage and length",
    ),
    "T8 tube": _Fitting(
        "a tube for your T8 ballast, of its wattage and length", "on a T8 ballast of its wattage and length"
    ),
    "compact": _Fitting(
        "for an E27 socket (E26 in North America)", "in a ceramic E27 socket (E26 in North America)"
    ),
}
"""How each kind of UV lamp is fed with current: common practice, no published source; the maker's instructions go first."""


def _order_notes(case: Case, lamp: Lamp, installed: dt.date) -> Notes:
    watts = f" of {case.numeral(lamp.power)} W" if lamp.power is not None else ""
    return Notes(
        steps=(
            f"Order one {lamp.kind} lamp{watts}: {_FITTINGS[lamp.kind].bought}.",
            "Keep it in its box, upright and dry, until the day of replacement.",
        ),
        reason=f"the replacement is due in {Span(case.house.lamps_ahead_days)}: {lamps.life(case, lamp, installed).why}.",
        sources=(
            lamps.life(case, lamp, installed).source,
            case.house.source("lamps_ahead"),
            COMMON_PRACTICE,
        ),
        worked=case.known("uv_lamp_replace_on"),
    )


@job("uv-lamp-replace")
def uv_lamp_replace(case: Case) -> Iterator[Job]:
    """Replace a UV lamp by the calendar; a falling reading brings it forward."""
    for variant, lamp, installed in lamps.dated(case):
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"replace the {lamp.kind} lamp",
            short="Replace lamp",
            cadence=Every(span=_span(case, lamp, installed), anchor=installed, lasts=True),
            window=14,
            minutes=20,
            skills=("adult", "electrics"),
            notes=lambda lamp=lamp, installed=installed: _replace_notes(case, lamp, installed),  # type: ignore[misc]
        )


def _over(case: Case) -> str:
    most = lamps.most_uvi(case)
    return "" if most is None else f" Over UVI {case.numeral(most)} hang it higher."


def _replace_notes(case: Case, lamp: Lamp, installed: dt.date) -> Notes:
    return Notes(
        steps=(
            "Read the old lamp's UVI once more and write it down.",
            *switching.unplug(case, "lamp"),
            f"Fit the new {lamp.kind} lamp at the same distance, {_FITTINGS[lamp.kind].fitted}, with its guard.",
            *switching.plug_in_again(case, "lamp"),
            f"Measure the UVI at the basking place before an animal goes under it: a new lamp gives more for its first {BURN_IN_HOURS} hours.{_over(case)}",
            "Record the job: the new lamp's age counts from then. Without a record write the new `installed` into the description, and take the old UVI out.",
        ),
        amount=Amount("", f"1 {lamp.kind} lamp"),
        cautions=(cautions.LAMP_ON, cautions.LAMP_OFF, cautions.MERCURY),
        reason=f"the ultraviolet of a lamp fades long before its light does. The day comes from {lamps.life(case, lamp, installed).why}.",
        sources=(lamps.life(case, lamp, installed).source, BASELINE, COMMON_PRACTICE),
        worked=case.known("uvi_at_basking", "uv_lamp_replace_on"),
    )


@job("lamp-timer")
def lamp_timer(case: Case) -> Iterator[Job]:
    """Set the timer by the season, or see that it still keeps the time."""
    found = case.enclosure.lamp
    if not found:
        return
    seasonal = any(lamp.hours_a_day == "daylight" for lamp in found)

    def notes() -> Notes:
        steps = ["Compare the timer's clock with yours; mend it after power cuts and clock changes."]
        if seasonal:
            steps += [*_season(case), *_placed(case)]
        timed = dict.fromkeys(
            f"{lamp.kind} {hours}" for lamp in found if (hours := lamp_hours.told(case, lamp)) is not None
        )
        if timed:
            steps.append(f"The timer keeps: {'; '.join(timed)}.")
        fixed = sorted(
            {lamp.hours_a_day for lamp in found if isinstance(lamp.hours_a_day, float) and lamp.on_at is None}
        )
        if fixed:
            steps.append(
                "Lamps with fixed hours burn "
                + " and ".join(f"{case.numeral(h)}" for h in fixed)
                + " hours a day."
            )
        if not seasonal and not fixed and not timed:
            steps.append("Write hours_a_day into the lamps' tables.")
        return Notes(
            steps=tuple(steps),
            reason="day length tells the animal the season; a stuck timer tells it nothing.",
            sources=(daylight.TIMER, *((daylight.DAYLIGHT,) if seasonal else ())),
        )

    yield Job(
        enclosure=case.enclosure,
        title="lamp timer",
        short="Set lamp timer",
        cadence=Every(span=Span(28 if seasonal else 91), anchor=case.anchor),
        window=7,
        minutes=5,
        skills=("electrics",),
        notes=notes,
    )


def _season(case: Case) -> list[str]:
    """Return the steps for lamps that follow the daylight: their hours on the first of each month."""
    latitude = case.site.place.latitude
    if latitude is None:
        return [
            "Look up today's length of day where you live, or write latitude into the [site] table: then the hours stand here.",
            "Set the lamps to it, never under 8 or over 16 hours, and by no more than 15 minutes a week.",
        ]
    firsts = [dt.date(2025, month, 1) for month in range(1, 13)]
    hours = [(day, daylight.lamp_hours(day, latitude)) for day in firsts]
    table = ", ".join(f"{day:%B} {_clock(value)}" for day, value in hours)
    return [
        f"Set the lamps to the length of the day, evened out for a timer; on the first of each month here: {table}.",
        "Between them move the timer in even steps, by no more than 15 minutes a week.",
    ]


def _placed(case: Case) -> Iterator[str]:
    """Yield where in the day the hours of lamps lie that follow the daylight."""
    seasonal = [lamp for lamp in case.enclosure.lamp if lamp.hours_a_day == "daylight"]
    fixed = dict.fromkeys(case.formats.time(lamp.on_at) for lamp in seasonal if lamp.on_at is not None)
    if fixed:
        yield f"They go on at {' and '.join(fixed)} all year, and burn for these hours."
    if any(lamp.on_at is None for lamp in seasonal):
        yield "Their middle is noon: half of the hours before 12, half after."


def _clock(hours: float) -> str:
    """Return hours to a quarter, as a timer is set: 9:45."""
    quarters = round(hours * 4)
    return f"{quarters // 4}:{quarters % 4 * 15:02}"
