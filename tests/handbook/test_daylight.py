"""Daylight against NOAA's short series and the ephem library, and the timer and its burned hours against their rules."""

import calendar
import datetime as dt
import itertools
import math
from fractions import Fraction

import ephem
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduler.handbook import daylight
from scheduler.handbook.daylight import burned_hours, day_after_hours, day_length_h, lamp_hours

DAY = dt.timedelta(1)
latitudes = st.floats(-90, 90)
any_day = st.dates(dt.date(1, 1, 1), dt.date(9999, 12, 31))
days = st.dates(dt.date(1990, 1, 1), dt.date(2100, 12, 31))

JUNE, DECEMBER = dt.date(2025, 6, 21), dt.date(2025, 12, 21)
MARCH, SEPTEMBER = dt.date(2025, 3, 20), dt.date(2025, 9, 22)

# --- The sun ----------------------------------------------------------------------------------------------------


def h(text):
    """Read h:mm as hours."""
    hours, minutes = text.split(":")
    return int(hours) + int(minutes) / 60


@pytest.mark.parametrize(
    ("day", "latitude", "length", "source"),
    [
        # Upper limb, 34' of refraction; NREL's SPA and ephem agree to the minute on what is given here.
        *((JUNE, *row, "SPA and ephem") for row in [(0, "12:07"), (30, "14:05"), (40, "15:01"), (50, "16:22"), (60, "18:52")]),
        *((DECEMBER, *row, "ephem") for row in [(0, "12:08"), (30, "10:13"), (40, "9:20"), (50, "8:04"), (60, "5:52")]),
        *((MARCH, *row, "ephem") for row in [(0, "12:07"), (30, "12:08"), (40, "12:09"), (50, "12:11"), (60, "12:14")]),
        *((SEPTEMBER, *row, "ephem") for row in [(0, "12:06"), (30, "12:08"), (40, "12:09"), (50, "12:11"), (60, "12:15")]),
        (DECEMBER, -35, "14:31", "NOAA series"),
        (JUNE, -35, "9:48", "NOAA series"),
    ],
)  # fmt: skip
def test_day_lengths_of_2025(day, latitude, length, source):
    # The lengths are rounded to the minute, and the day of the sun's declination adds a little.
    assert day_length_h(day, latitude) == pytest.approx(h(length), abs=1.25 / 60), source


def noaa_short_series_h(day, latitude):
    """Return the day length by the low-order series that NOAA publishes, with 90.833 degrees."""
    g = 2 * math.pi / 365 * (day.timetuple().tm_yday - 1)
    declination = (
        0.006918 - 0.399912 * math.cos(g) + 0.070257 * math.sin(g) - 0.006758 * math.cos(2 * g)
        + 0.000907 * math.sin(2 * g) - 0.002697 * math.cos(3 * g) + 0.00148 * math.sin(3 * g)
    )  # fmt: skip
    phi = math.radians(latitude)
    cosine = math.cos(math.radians(90.833)) / (math.cos(phi) * math.cos(declination)) - math.tan(
        phi
    ) * math.tan(declination)
    return 24.0 if cosine <= -1 else 0.0 if cosine >= 1 else 2 * math.degrees(math.acos(cosine)) / 15


@pytest.mark.parametrize("latitude", [0, 30, 40, 50, 60, -20, -35, -60])
def test_the_short_series_of_noaa_agrees(latitude):
    # The series alone errs by up to 7.6 minutes at 60 degrees near the equinoxes, and by under one at the solstices.
    year = [dt.date(2025, 1, 1) + n * DAY for n in range(365)]
    worst = max(abs(day_length_h(day, latitude) - noaa_short_series_h(day, latitude)) for day in year)
    assert worst < 8 / 60
    for day in (JUNE, DECEMBER):
        assert day_length_h(day, latitude) == pytest.approx(noaa_short_series_h(day, latitude), abs=1 / 60)


def ephem_h(day, latitude, longitude):
    """Return the hours from sunrise to sunset around local noon: upper limb, 34' of refraction at the horizon."""
    observer = ephem.Observer()
    observer.lat, observer.lon = str(latitude), str(longitude)
    observer.pressure, observer.horizon = 0, "-0:34"
    observer.date = ephem.Date(ephem.Date(f"{day.isoformat()} 12:00") - longitude / 360)
    return 24 * (observer.next_setting(ephem.Sun()) - observer.previous_rising(ephem.Sun()))


@given(days, st.floats(-60, 60))
def test_ephem_agrees_within_half_a_minute(day, latitude):
    # An independent general library, with full planetary theory.
    assert day_length_h(day, latitude) == pytest.approx(ephem_h(day, latitude, 0), abs=0.5 / 60)


@given(days, st.floats(-60, 60), st.floats(-180, 180))
def test_ephem_agrees_within_three_minutes_at_any_longitude(day, latitude, longitude):
    assert day_length_h(day, latitude) == pytest.approx(ephem_h(day, latitude, longitude), abs=3 / 60)


@pytest.mark.parametrize(
    ("day", "latitude", "hours"),
    # Polar day and night. At the poles the sun rises and sets once a year; refraction shows it at both on an equinox.
    [
        (JUNE, 70, 24), (DECEMBER, 70, 0), (JUNE, -70, 0), (DECEMBER, -70, 24),
        (JUNE, 90, 24), (DECEMBER, 90, 0), (JUNE, -90, 0), (DECEMBER, -90, 24),
        (MARCH, 90, 24), (MARCH, -90, 24), (dt.date(2025, 3, 15), 90, 0), (dt.date(2025, 3, 25), -90, 0),
    ],
)  # fmt: skip
def test_polar_day_and_night(day, latitude, hours):
    assert day_length_h(day, latitude) == hours


@given(any_day, latitudes)
@example(dt.date(1, 1, 1), 90.0)
@example(dt.date(9999, 12, 31), -90.0)
@example(dt.date(2024, 2, 29), 66.5)
def test_north_and_south_together_have_at_least_a_day(day, latitude):
    # What the one lacks of twelve hours the other has; refraction and the sun's radius add to both.
    north, south = day_length_h(day, latitude), day_length_h(day, -latitude)
    assert 0 <= north <= 24
    assert 24 - 1e-9 <= north + south <= 48


@given(latitudes, latitudes)
def test_in_june_days_grow_northwards(one, other):
    south, north = sorted((one, other))
    assert day_length_h(JUNE, south) <= day_length_h(JUNE, north) + 1e-9


# --- The timer --------------------------------------------------------------------------------------------------

steps = st.sampled_from([0.0, 0.05, 0.25, 1.0, 200.0])
bands = st.tuples(st.floats(0, 24), st.floats(0, 24)).map(sorted)
YEAR = [dt.date(2025, 1, 1) + n * DAY for n in range(365)]


@given(days, st.integers(0, 800), latitudes)
def test_a_timer_is_moved_by_no_more_than_fifteen_minutes_a_week(day, later, latitude):
    # House value: 0.25 h a week, over New Year and 29 February too.
    change = lamp_hours(day + later * DAY, latitude) - lamp_hours(day, latitude)
    assert abs(change) <= 0.25 * later / 7 + 1e-9


@pytest.mark.parametrize("latitude", [-90, -53.3, 0, 30, 53.3, 66.6, 90])
@pytest.mark.parametrize("step", [0.05, 0.25, 1.0])
def test_no_day_moves_a_timer_further_than_its_step(latitude, step):
    hours = [lamp_hours(dt.date(2023, 12, 25) + n * DAY, latitude, step_h_week=step) for n in range(400)]
    assert max(abs(b - a) for a, b in itertools.pairwise(hours)) <= step / 7 + 1e-9


@given(days, latitudes, bands, steps)
def test_lamps_stay_between_their_shortest_and_longest_day(day, latitude, band, step):
    low, high = band
    assert low - 1e-9 <= lamp_hours(day, latitude, low, high, step) <= high + 1e-9


@given(days, latitudes)
def test_lamps_burn_eight_to_sixteen_hours_and_the_same_every_year(day, latitude):
    # House values, the range that the Merck Veterinary Manual gives for temperate climates.
    assert 8 <= lamp_hours(day, latitude) <= 16
    assert lamp_hours(day, latitude) == lamp_hours(day.replace(year=2028), latitude)


@given(st.sampled_from(YEAR), latitudes, bands)
def test_a_timer_without_a_limit_on_its_steps_follows_the_sun(day, latitude, band):
    low, high = band
    wanted = min(high, max(low, day_length_h(day, latitude)))
    assert lamp_hours(day, latitude, low, high, step_h_week=200) == pytest.approx(wanted)


@given(st.sampled_from(YEAR), st.sampled_from(YEAR), latitudes)
def test_a_timer_that_is_never_moved_stands_between_the_longest_and_the_shortest_day(one, other, latitude):
    clamped = [min(16.0, max(8.0, day_length_h(day, latitude))) for day in YEAR]
    hours = lamp_hours(one, latitude, step_h_week=0)
    assert hours == lamp_hours(other, latitude, step_h_week=0)
    assert hours == pytest.approx((max(clamped) + min(clamped)) / 2)


@pytest.mark.parametrize("latitude", [0, 30, -35, 53.3, 70, 90])
def test_no_timer_of_that_step_is_nearer_to_the_sun(latitude):
    # Two days whose lengths differ by more than the step allows leave at least half of the excess to one of them.
    wanted = [min(16.0, max(8.0, day_length_h(day, latitude))) for day in YEAR]
    apart = [[min((j - i) % 365, (i - j) % 365) for j in range(365)] for i in range(365)]
    least = max(abs(wanted[i] - wanted[j]) - 0.25 / 7 * apart[i][j] for i in range(365) for j in range(365))
    off = max(abs(lamp_hours(day, latitude) - hours) for day, hours in zip(YEAR, wanted, strict=True))
    assert off == pytest.approx(max(0.0, least) / 2, abs=1e-9)


@pytest.mark.parametrize(
    ("day", "repeated"),
    [(dt.date(2024, 2, 29), dt.date(2024, 2, 28)), (dt.date(2000, 2, 29), dt.date(2023, 2, 28))],
)
def test_the_leap_day_repeats_the_day_before(day, repeated):
    assert lamp_hours(day, 50) == lamp_hours(repeated, 50)
    assert lamp_hours(day + DAY, 50) == lamp_hours(dt.date(2023, 3, 1), 50)
    assert lamp_hours(dt.date(2024, 12, 31), 50) == lamp_hours(dt.date(2023, 12, 31), 50)


def test_where_the_seasons_are_slow_lamps_follow_the_sun():
    # At 20 degrees the day changes by about a minute a day at most: under 15 minutes a week.
    for day in YEAR:
        assert lamp_hours(day, 20) == pytest.approx(day_length_h(day, 20), abs=1e-9)


# --- Hours burned -----------------------------------------------------------------------------------------------


@given(days, st.integers(-20, 1200), latitudes)
@example(dt.date(2024, 2, 28), 2, 50.0)
@example(dt.date(2024, 2, 29), 1, 50.0)
@example(dt.date(2023, 3, 1), 366, 50.0)
@example(dt.date(2099, 12, 31), 800, -50.0)
def test_burned_hours_are_the_sum_of_the_days(first, count, latitude):
    summed = math.fsum(lamp_hours(first + n * DAY, latitude) for n in range(count))
    assert burned_hours(first, first + count * DAY, latitude) == pytest.approx(summed, abs=1e-6)


def test_four_centuries_have_97_leap_days():
    # The Gregorian calendar.
    year = burned_hours(dt.date(2025, 1, 1), dt.date(2026, 1, 1), 50)
    leap_days = sum(calendar.isleap(y) for y in range(1800, 2200))
    assert leap_days == 97
    burned = burned_hours(dt.date(1800, 1, 1), dt.date(2200, 1, 1), 50)
    assert burned == pytest.approx(400 * year + 97 * lamp_hours(dt.date(2025, 2, 28), 50))


@given(st.lists(days, min_size=3, max_size=3).map(sorted), latitudes)
def test_spans_add_up(dates, latitude):
    first, middle, last = dates
    parts = burned_hours(first, middle, latitude) + burned_hours(middle, last, latitude)
    assert burned_hours(first, last, latitude) == pytest.approx(parts, abs=1e-6)


@pytest.mark.parametrize(
    ("hours", "hours_a_day", "later"),
    [
        (100, 12, 9), (100, 8, 13), (0, 12, 0), (12, 12, 1), (12.01, 12, 2), (96, 12, 8), (1, 24, 1), (100, 0.1, 1000),
        # A customary life of 6 months at 12 hours a day is half a mean year.
        (2191.5, 12, 183),
    ],
)  # fmt: skip
def test_days_at_constant_hours(hours, hours_a_day, later):
    # Whole days of so many hours: arithmetic.
    first = dt.date(2026, 11, 20)
    assert day_after_hours(first, hours, hours_a_day, None) == first + later * DAY
    # Hours a day that are known come before the latitude.
    assert day_after_hours(first, hours, hours_a_day, 50) == first + later * DAY


@given(days, st.integers(0, 40_000), st.integers(1, 240))
def test_the_day_at_constant_hours_is_the_first(first, hours, tenths):
    day = day_after_hours(first, hours, tenths / 10, None)
    burned = (day - first).days * Fraction(tenths, 10)
    assert burned >= hours
    assert not hours or burned - Fraction(tenths, 10) < hours


@given(days, st.floats(0, 200_000), latitudes)
def test_the_day_by_daylight_is_the_first_that_begins_with_those_hours(first, hours, latitude):
    day = day_after_hours(first, hours, None, latitude)
    assert burned_hours(first, day, latitude) >= hours - 1e-6
    assert day == first or burned_hours(first, day - DAY, latitude) < hours


@given(days, st.integers(0, 3000), latitudes)
def test_hours_burned_lead_back_to_their_day(first, later, latitude):
    day = first + later * DAY
    assert day_after_hours(first, burned_hours(first, day, latitude), None, latitude) == day
    # Hours summed in another way err in the last digits, and mean the same day.
    summed = sum(lamp_hours(first + n * DAY, latitude) for n in range(later))
    assert day_after_hours(first, summed, None, latitude) == day


# --- Refused ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: day_length_h(JUNE, 90.1), "a latitude lies between -90 and 90 degrees, not at 90.1"),
        (lambda: day_length_h(JUNE, math.nan), "a latitude lies between -90 and 90 degrees, not at nan"),
        (lambda: lamp_hours(JUNE, -91), "a latitude lies between -90 and 90 degrees, not at -91"),
        (lambda: lamp_hours(JUNE, 50, 16, 8), "lamps burn between 0 and 24 hours a day, the shorter first, not 16 to 8"),
        (lambda: lamp_hours(JUNE, 50, 8, 25), "lamps burn between 0 and 24 hours a day, the shorter first, not 8 to 25"),
        (lambda: lamp_hours(JUNE, 50, 8, 16, -1), "the step of a timer is 0 or more hours a week, not -1"),
        (lambda: burned_hours(JUNE, DECEMBER, math.inf), "a latitude lies between -90 and 90 degrees, not at inf"),
        (lambda: burned_hours(JUNE, JUNE, 100), "a latitude lies between -90 and 90 degrees, not at 100"),
        (lambda: day_after_hours(JUNE, 100, None, None), "the hours a day of the lamp or a latitude must be known"),
        (lambda: day_after_hours(JUNE, -1, 12, None), "hours of burning are 0 or more, not -1"),
        (lambda: day_after_hours(JUNE, math.nan, 12, None), "hours of burning are 0 or more, not nan"),
        (lambda: day_after_hours(JUNE, 100, 0, None), "a lamp burns above 0 and up to 24 hours a day, not 0"),
        (lambda: day_after_hours(JUNE, 100, 25, None), "a lamp burns above 0 and up to 24 hours a day, not 25"),
        (lambda: day_after_hours(JUNE, math.inf, 12, None), "a lamp does not burn inf hours before the year 10000"),
        (lambda: day_after_hours(JUNE, math.inf, None, 50), "a lamp does not burn inf hours before the year 10000"),
        (lambda: day_after_hours(JUNE, 1e9, None, 50), "a lamp does not burn 1e+09 hours before the year 10000"),
        (lambda: day_after_hours(JUNE, 100, None, 91), "a latitude lies between -90 and 90 degrees, not at 91"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_plain_words(call, message):
    with pytest.raises(ValueError) as refused:
        call()
    assert str(refused.value) == message


def test_a_lamp_set_up_in_the_future_has_burned_nothing():
    assert burned_hours(DECEMBER, JUNE, 50) == 0
    assert daylight.day_after_hours(dt.date(9999, 12, 31), 0, None, 50) == dt.date.max
