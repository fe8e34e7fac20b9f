"""The timer of the lamps: the season's hours, and whether it keeps the time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import partial

from scheduler.care import lamp_hours
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Every, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.handbook import daylight
from scheduler.quantities import Span


@job("lamp-timer", where="where there is a lamp; more often where lamps follow the daylight")
def lamp_timer(case: Case) -> Iterator[Job]:
    """Set the timer by the season, or see that it still keeps the time."""
    found = case.enclosure.lamp
    if not found:
        return
    seasonal = any(lamp.hours_a_day == "daylight" for lamp in found)

    yield Job(
        enclosure=case.enclosure,
        title="lamp timer",
        short="Set lamp timer",
        cadence=Every(span=Span(28 if seasonal else 91), anchor=case.anchor),
        window=7,
        minutes=5,
        skills=("electrics",),
        notes=partial(_timer_notes, case, seasonal),
    )


def _timer_notes(case: Case, seasonal: bool) -> Notes:
    found = case.enclosure.lamp
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


def _season(case: Case) -> list[str]:
    """Return the steps for lamps that follow the daylight: their hours on the first of each month."""
    latitude = case.site.settings.latitude
    if latitude is None:
        return [
            (
                "Look up today's length of day where you live, or write latitude into the [site] table: "
                "then the hours stand here."
            ),
            "Set the lamps to it, never under 8 or over 16 hours, and by no more than 15 minutes a week.",
        ]
    firsts = [dt.date(2025, month, 1) for month in range(1, 13)]
    hours = [(day, daylight.lamp_hours(day, latitude)) for day in firsts]
    table = ", ".join(f"{day:%B} {_clock(value)}" for day, value in hours)
    return [
        (
            "Set the lamps to the length of the day, evened out for a timer; on the first of each month "
            f"here: {table}."
        ),
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
