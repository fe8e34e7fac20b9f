"""Light: ultraviolet at the basking place, the age of the lamps, and the length of the day."""

from __future__ import annotations

import datetime as dt

from scheduler.care import lamps
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.description.site import Lamp
from scheduler.handbook import daylight, ultraviolet
from scheduler.sources import KEEPER, Source

BURNED = Source("hours a day x days since the lamp was installed", "computed")
EIGHT_HOURS_MIN = 480.0
NO_UV = "there is no UV lamp in the description"


@figure("uvi_at_basking", "1", "UVI at the basking place")
def uvi_at_basking(case: Case) -> Made:
    """Add up the UVI that the UV lamps give at the basking place, new or after burn-in."""
    found = lamps.uv_lamps(case)
    if not found:
        raise NotKnown(why=NO_UV, applies=False)
    each = [(lamp, *lamps.uvi_at_basking(lamp)) for lamp in found]
    total = sum(uvi for _, uvi, _ in each)
    carried = any(law != "same place" for _, _, law in each)

    def how() -> str:
        parts = [
            (
                f"{lamp.kind}: {case.numeral(lamp.uvi or 0.0)} at {case.cm(lamp.uvi_at or 0.0)}, by "
                f"{'the reading itself' if law == 'same place' else f'the {law} law{_of_length(case, lamp, law)}'} "  # noqa: E501
                f"{case.numeral(uvi, '.2g')} at {case.cm(lamp.basking_distance or 0.0)}"
            )
            for lamp, uvi, law in each
        ]
        return "; ".join(parts) + (
            f"; together {case.numeral(total, '.2g')}, if both shine on the place" if len(parts) > 1 else ""
        )

    return Made(total, ultraviolet.LAW_SOURCE if carried else KEEPER, how)


def _of_length(case: Case, lamp: Lamp, law: str) -> str:
    long = lamps.tube_cm(lamp)
    return f" ({case.cm(long)} long)" if law == "line source" and long is not None else ""


@figure("people_minutes", "min", "people under the lamp, at most", extra=True)
def people_minutes(case: Case) -> Made:
    """Compute how long a person's skin and eyes may be at the basking place in 8 hours, on the safe side."""
    uvi = case.number("uvi_at_basking")
    if uvi <= 0:
        raise NotKnown(why="the lamps give no ultraviolet there", applies=False)
    minutes = min(EIGHT_HOURS_MIN, ultraviolet.safe_minutes(uvi))
    return Made(
        minutes,
        ultraviolet.ICNIRP,
        lambda: (
            f"20 / UVI {case.numeral(uvi, '.2g')} = {minutes:.0f} minutes in 8 "
            f"hours{' (all of them)' if minutes == EIGHT_HOURS_MIN else ''}"
        ),
    )


def _oldest(case: Case) -> list[tuple[str, Lamp, dt.date]]:
    if not lamps.uv_lamps(case):
        raise NotKnown(why=NO_UV, applies=False)
    if any(lamp.installed is None for lamp in lamps.uv_lamps(case)):
        raise NotKnown("lamp.installed")
    return list(lamps.dated(case))


@figure("uv_lamp_hours", "h", "hours burned by the oldest UV lamp")
def uv_lamp_hours(case: Case) -> Made:
    """Compute the hours that a UV lamp has burned until today; of several, the most."""
    found = _oldest(case)
    if case.today is None:
        raise NotKnown(why="the hours grow from day to day")
    today = case.today
    hours = [(_burned(case, lamp, day, today), lamp, day) for _, lamp, day in found]
    most, lamp, day = max(hours, key=lambda item: item[0])
    daily = (
        "the daylight's" if isinstance(lamp.hours_a_day, str) else f"{case.numeral(lamp.hours_a_day or 0.0)}"
    )
    return Made(
        most,
        BURNED,
        lambda: f"{daily} hours a day from {case.date(day)} to {case.date(today)} = {most:.0f} h",
    )


def _burned(case: Case, lamp: Lamp, installed: dt.date, today: dt.date) -> float:
    daily = lamps.hours_a_day(case, lamp)
    if daily is not None:
        return daily * max(0, (today - installed).days)
    latitude = case.site.settings.latitude
    assert latitude is not None
    return daylight.burned_hours(installed, today, latitude)


@figure("uv_lamp_replace_on", "date", "replace the UV lamp on")
def uv_lamp_replace_on(case: Case) -> Made:
    """Compute the day on which the first UV lamp is to be replaced."""
    found = _oldest(case)
    day, lamp, installed = min(
        ((lamps.replace_on(case, lamp, installed), lamp, installed) for _, lamp, installed in found),
        key=lambda item: item[0],
    )
    return Made(day, lamps.life(case, lamp, installed).source, lambda: lamps.told(case, lamp, installed))


@figure("day_length", "h", extra=True)
def day_length(case: Case) -> Made:
    """Compute today's length of day at the site."""
    (latitude,) = case.need(site__latitude=case.site.settings.latitude)
    if case.today is None:
        raise NotKnown(why="the day's length changes from day to day")
    hours = daylight.day_length_h(case.today, latitude)
    today = case.today
    return Made(
        hours,
        daylight.DAYLIGHT,
        lambda: (
            f"sunrise to sunset on {case.date(today)} at latitude {case.numeral(latitude)} = "
            f"{case.numeral(hours, '.1f')} h"
        ),
    )
