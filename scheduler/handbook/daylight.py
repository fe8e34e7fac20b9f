"""Daylight: the length of the day, lamps that follow the seasons, and the hours they have burned."""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_left
from functools import lru_cache
from itertools import accumulate

from scheduler.sources import Source

DAYLIGHT = Source(
    "sunrise to sunset with the sun's centre at 90.833 degrees from the zenith: NOAA solar calculations",
    "computed",
)
MERCK = Source(
    (
        "hours of light over the year: 8 to 16 in temperate, 10 to 14 in warmer climates: Merck Veterinary "
        "Manual, Reptile Housing Requirements"
    ),
    "published",
)
TIMER = Source("lamps between 8 and 16 hours, steps of at most 15 minutes a week", "house value")

SUNRISE_ZENITH = 90.833
"""Degrees between the zenith and the sun's centre at sunrise: 34' of refraction and 16' of radius (NOAA,
published)."""


SHORTEST_H, LONGEST_H = 8.0, 16.0
"""Hours a day between which lamps follow the day.

House values, the range that Merck gives for temperate climates.
"""


STEP_H_WEEK = 0.25
"""Most by which the hours of a timer change in a week. House value."""

DAYS = 365
"""Days in the year of a timer: 29 February repeats 28 February."""

_YEAR = 2025

_NOISE_H = 1e-6
"""Hours that sums may err by: a lamp that lacks no more has burned its hours."""


# --- The sun
# ----------------------------------------------------------------------------------------------------


def _latitude(latitude: float) -> None:
    if not -90.0 <= latitude <= 90.0:
        raise ValueError(f"a latitude lies between -90 and 90 degrees, not at {latitude:g}")


def _sun_h(day: dt.date, latitude: float) -> float:
    # Imported here: only descriptions with a latitude need it.
    from astral import SunDirection
    from astral.julian import julianday, julianday_to_juliancentury
    from astral.sun import hour_angle, sun_declination

    declination = sun_declination(julianday_to_juliancentury(julianday(day) + 0.5))
    try:
        return (
            math.degrees(hour_angle(latitude, declination, SUNRISE_ZENITH, SunDirection.RISING)) * 2.0 / 15.0
        )
    except ValueError:
        # The sun does not cross the horizon: its height at six o'clock tells on which side it stays.
        height = math.sin(math.radians(latitude)) * math.sin(math.radians(declination))
        return 24.0 if height > math.cos(math.radians(SUNRISE_ZENITH)) else 0.0


@lru_cache(maxsize=4096)
def day_length_h(day: dt.date, latitude: float) -> float:
    """Return the hours from sunrise to sunset at a latitude in degrees, south negative: 24 or 0 where there
    is none.

    cos H = cos 90.833 / (cos lat cos dec) - tan lat tan dec, day = 2 H / 15, with the sun's declination at
    noon UTC by NOAA's formulas (computed). Upper limb, flat horizon. Within half a minute at longitude 0 up
    to 60 degrees of latitude, and within 3 minutes at any longitude: noon UTC is not noon there.
    """
    _latitude(latitude)
    return _sun_h(day, latitude)


# --- The timer
# --------------------------------------------------------------------------------------------------


@lru_cache(maxsize=64)
def _timer(
    latitude: float, low: float, high: float, step_h_week: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the lamp hours of each day of a year, and the hours burned before each day and in all."""
    _latitude(latitude)
    if not 0.0 <= low <= high <= 24.0:
        raise ValueError(
            f"lamps burn between 0 and 24 hours a day, the shorter first, not {low:g} to {high:g}"
        )
    if not 0.0 <= step_h_week < math.inf:
        raise ValueError(f"the step of a timer is 0 or more hours a week, not {step_h_week:g}")
    first = dt.date(_YEAR, 1, 1)
    wanted = [min(high, max(low, _sun_h(first + dt.timedelta(n), latitude))) for n in range(DAYS)]
    step = step_h_week / 7.0
    # The nearest curve of that slope on or under the wanted one, and the one on or over it. A second turn
    # through the year carries the slope over New Year.
    under, over = list(wanted), list(wanted)
    for days in (range(2 * DAYS), range(2 * DAYS, 0, -1)):
        beside = -1 if days.step == 1 else 1
        for n in days:
            one, other = n % DAYS, (n + beside) % DAYS
            under[one] = min(under[one], under[other] + step)
            over[one] = max(over[one], over[other] - step)
    hours = tuple((less + more) / 2.0 for less, more in zip(under, over, strict=True))
    return hours, tuple(accumulate(hours, initial=0.0))


def _place(day: dt.date) -> tuple[int, bool]:
    """Return the place of a day in the year of a timer, and whether 29 February was reached in its own
    year."""
    number = day.timetuple().tm_yday - 1
    late = number > 58 and day.year % 4 == 0 and (day.year % 100 != 0 or day.year % 400 == 0)
    return number - late, late


def lamp_hours(
    day: dt.date,
    latitude: float,
    low: float = SHORTEST_H,
    high: float = LONGEST_H,
    step_h_week: float = STEP_H_WEEK,
) -> float:
    """Return the hours that a timer which follows the seasons burns on a day, at a latitude in degrees.

    The day length of 2025 held between `low` and `high`, then flattened until no two days differ by more than
    `step_h_week` a week: the mean of the nearest such curves under and over it, so that the largest
    difference is the least possible (house value). The same every year; where the seasons are quicker than
    the step it is not the sun's.
    """
    hours, _ = _timer(latitude, low, high, step_h_week)
    return hours[_place(day)[0]]


# --- Hours burned
# -----------------------------------------------------------------------------------------------


def _since(year: int, day: dt.date, latitude: float) -> float:
    """Return the lamp hours from 1 January of `year` to the day before `day`."""
    hours, before = _timer(latitude, SHORTEST_H, LONGEST_H, STEP_H_WEEK)
    number, late = _place(day)
    leap_days = (
        dt.date(day.year, 1, 1).toordinal() - dt.date(year, 1, 1).toordinal() - DAYS * (day.year - year)
    )
    # The leap day of the year itself counts from 29 February on: on that day, in the stead of the 28th.
    return (day.year - year) * before[DAYS] + (leap_days + late) * hours[58] + before[number]


def burned_hours(first: dt.date, last: dt.date, latitude: float) -> float:
    """Return the hours that a lamp which follows the seasons burns from `first` to the day before `last`.

    The sum of `lamp_hours` with its house values (computed); 0 when `last` is not after `first`.
    """
    if last <= first:
        _latitude(latitude)
        return 0.0
    return _since(first.year, last, latitude) - _since(first.year, first, latitude)


@lru_cache(maxsize=4096)
def day_after_hours(
    first: dt.date, hours: float, hours_a_day: float | None, latitude: float | None
) -> dt.date:
    """Return the first day that begins with so many hours burned, of a lamp that burns from `first` on.

    At constant hours a day, above 0 and up to 24, else following the seasons at a latitude in degrees
    (computed). ValueError when neither is given, and beyond the year 9999.
    """
    if not hours >= 0.0:  # refuses nan, too
        raise ValueError(f"hours of burning are 0 or more, not {hours:g}")
    start, end = first.toordinal(), dt.date.max.toordinal()
    if hours_a_day is not None:
        if not 0.0 < hours_a_day <= 24.0:
            raise ValueError(f"a lamp burns above 0 and up to 24 hours a day, not {hours_a_day:g}")
        days = min((hours - _NOISE_H) / hours_a_day, 1e7)
        found = start + max(0, math.ceil(days))
    elif latitude is not None:
        # No day is shorter than the shortest of the timer.
        stop = min(end, start + math.ceil(min(hours / SHORTEST_H, 1e7)))
        days_on = range(start, stop + 1)
        found = start + bisect_left(
            days_on, hours - _NOISE_H, key=lambda n: burned_hours(first, dt.date.fromordinal(n), latitude)
        )
    else:
        raise ValueError("the hours a day of the lamp or a latitude must be known")
    if found > end:
        raise ValueError(f"a lamp does not burn {hours:g} hours before the year 10000")
    return dt.date.fromordinal(found)
