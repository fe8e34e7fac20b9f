"""Trends against libraries of statistics."""

import datetime as dt
import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from scheduler.handbook.regression import NotEnoughError
from scheduler.handbook.trend import Decay, decay, line

# --- A straight line --------------------------------------------------------------------------------------------

WEIGHTS = [(0, 480.0), (28, 486.0), (61, 489.0), (90, 501.0), (118, 497.0), (151, 512.0)]
"""Days and grams of a young slider, invented."""


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99])
def test_a_line_is_that_of_two_libraries(confidence):
    days, grams = zip(*WEIGHTS, strict=True)
    trend = line(days, grams, confidence)

    fit = sm.OLS(grams, sm.add_constant(np.array(days))).fit()
    assert (trend.intercept, trend.slope) == pytest.approx(tuple(fit.params), rel=1e-10)
    assert (trend.low, trend.high) == pytest.approx(tuple(fit.conf_int(1 - confidence)[1]), rel=1e-9)
    assert trend.residual_sd == pytest.approx(math.sqrt(fit.mse_resid), rel=1e-10)
    assert trend.n == 6

    other = stats.linregress(days, grams)
    half = stats.t.ppf((1 + confidence) / 2, 4) * other.stderr
    assert (trend.slope, trend.high - trend.low) == pytest.approx((other.slope, 2 * half), rel=1e-9)


def test_a_line_by_hand():
    # Mean day 2 and value 4; sums of squares 8 and of products 8: slope 1, intercept 2, residuals 0.5, -1 and 0.5.
    trend = line([0, 2, 4], [2.5, 3.0, 6.5])
    assert (trend.slope, trend.intercept, trend.residual_sd) == pytest.approx((1.0, 2.0, math.sqrt(1.5)))
    # t of 1 degree of freedom 12.706 (Abramowitz & Stegun, from memory), x root(1.5 / 8).
    assert trend.high - 1.0 == pytest.approx(12.706 * math.sqrt(1.5 / 8), abs=5e-4)


def test_calendar_days_far_from_zero_lose_no_digits():
    start = dt.date(2026, 12, 1).toordinal()
    days, grams = zip(*WEIGHTS, strict=True)
    near, far = line(days, grams), line([start + day for day in days], grams)
    assert (far.slope, far.low, far.high) == pytest.approx((near.slope, near.low, near.high), rel=1e-10)


@pytest.mark.parametrize(
    ("days", "values", "said"),
    [
        ([], [], "a trend needs 3 readings or more, not 0"),
        ([0, 7], [480, 490], "a trend needs 3 readings or more, not 2"),
        ([7, 7, 7], [480, 490, 500], "all readings are of one day: a trend needs readings of several days"),
    ],
)
def test_a_line_that_cannot_be_told_yet(days, values, said):
    with pytest.raises(NotEnoughError) as caught:
        line(days, values)
    assert str(caught.value) == said


@pytest.mark.parametrize(
    ("days", "values", "said"),
    [
        ([0, 7, 14], [480, 490], "each value has its day, not 3 days for 2 values"),
        ([0, 7, math.nan], [480, 490, 500], "a day must be a finite number, not nan"),
        ([0, 7, 14], [480, math.inf, 500], "a value must be a finite number, not inf"),
    ],
)
def test_what_is_no_reading_is_refused(days, values, said):
    with pytest.raises(ValueError, match=said):
        line(days, values)


# --- The fading of a lamp ---------------------------------------------------------------------------------------

LAMP = [(0, 3.4), (360, 3.2), (730, 2.9), (1100, 2.9), (1460, 2.6)]
"""Hours of burning and UVI of a mercury vapour lamp, invented."""


def test_a_fading_is_a_line_through_the_logarithm():
    hours, uvi = zip(*LAMP, strict=True)
    found, other = decay(hours, uvi, 0.9), stats.linregress(hours, np.log(uvi))
    half = stats.t.ppf(0.95, 3) * other.stderr
    assert found.rate_per_hour == pytest.approx(-other.slope, rel=1e-10)
    assert (found.low, found.high) == pytest.approx((-other.slope - half, -other.slope + half), rel=1e-9)
    assert (found.at_zero, found.n) == pytest.approx((math.exp(other.intercept), 5), rel=1e-10)


def test_a_tube_that_halves_in_six_months():
    # 50 to 25 uW/cm2 in 6 months: Nevarez, Five-Minute Veterinary Consult; at 12 hours a day (house value) 2191.5 hours.
    found = decay([0, 2191.5 / 2, 2191.5], [50, 50 / math.sqrt(2), 25])
    assert found.rate_per_hour == pytest.approx(math.log(2) / 2191.5)
    assert found.hours_to(12.5) == pytest.approx(2 * 2191.5)
    assert found.hours_to(0.7 * 50) == pytest.approx(2191.5 * math.log2(1 / 0.7))


@given(st.floats(1e-5, 1e-3), st.floats(0.5, 8), st.floats(0.05, 0.99))
def test_hours_to_a_level_are_those_at_which_it_is_reached(rate, start, share):
    hours = [0.0, 500.0, 1500.0, 2500.0]
    found = decay(hours, [start * math.exp(-rate * hour) for hour in hours])
    assert found.rate_per_hour == pytest.approx(rate, rel=1e-6)
    assert start * math.exp(-rate * found.hours_to(share * start)) == pytest.approx(share * start, rel=1e-5)


def test_what_does_not_fall_never_gets_there():
    rising = decay([0, 500, 1000], [2.0, 2.1, 2.2])
    assert rising.rate_per_hour < 0
    assert rising.hours_to(1.0) == math.inf
    even = Decay(rate_per_hour=0.0, low=0.0, high=0.0, at_zero=2.0, n=3)
    assert even.hours_to(1.0) == math.inf
    assert even.hours_to(2.0) == 0
    assert even.hours_to(2.5) == 0


@pytest.mark.parametrize(
    ("hours", "uvi", "said"),
    [
        ([0, 500, 1000], [2.0, 0.0, 1.0], "a fading is told from UV Indices above 0"),
        ([0, 500, 1000], [2.0, math.nan, 1.0], "a UV Index must be a finite number, not nan"),
        ([0, 500], [2.0, 1.0], "a trend needs 3 readings or more, not 2"),
    ],
)
def test_what_tells_no_fading(hours, uvi, said):
    with pytest.raises(ValueError, match=said):
        decay(hours, uvi)


@pytest.mark.parametrize("level", [0.0, -1.0, math.nan, math.inf])
def test_nothing_fades_to_such_a_level(level):
    with pytest.raises(ValueError, match="the level to fall to must be above 0, not "):
        decay([0, 500, 1000], [3.0, 2.5, 2.0]).hours_to(level)
