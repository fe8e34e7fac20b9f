"""Trends against libraries of statistics, and against simulated tanks whose rate is known."""

import datetime as dt
import math
from dataclasses import astuple

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import solve_ivp
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

from scheduler.handbook.regression import NotEnoughError
from scheduler.handbook.trend import (
    CHART_ERROR,
    Decay,
    decay,
    holds_without_any,
    kit_error,
    line,
    nitrate_rate,
)

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


# --- A tank's own rate of nitrate: worked by hand ---------------------------------------------------------------

# From day 0 on at 20 mg/L, 2 mg/L a day, a half changed on days 7 and 14 for tap water of 10 mg/L.
#   day 7: 34, then 22; day 14: 36, then 23; day 21: 37.
BY_HAND = [(0, 20.0), (7, 34.0), (14, 36.0), (21, 37.0)]
HALVES = [(7, 0.5), (14, 0.5)]


def test_a_tank_by_hand():
    found = nitrate_rate(BY_HAND, HALVES, 10)
    assert astuple(found) == pytest.approx((2.0, 2.0, 2.0, 4, 21, 0.0), abs=1e-12)
    later = nitrate_rate(
        [(day + 100, mg_l) for day, mg_l in BY_HAND], [(day + 100, f) for day, f in HALVES], 10
    )
    assert (later.rate, later.n, later.days) == pytest.approx((2.0, 4, 21))


def test_a_reading_is_taken_before_the_change_of_its_day():
    # The same levels after the changes of their days: 22 and 23. As readings of the mornings they fit no even rise.
    after = [(0, 20.0), (7, 22.0), (14, 23.0), (21, 37.0)]
    assert nitrate_rate(after, HALVES, 10).residual_sd > 1
    # Told as of a later hour of the day, they do: an hour before the change at noon and an hour after it.
    hours = [
        (0, 20.0),
        (7 - 1 / 24, 34.0 - 2 / 24),
        (7 + 1 / 24, 22.0 + 2 / 24),
        (14 + 1 / 24, 23.0 + 2 / 24),
    ]
    assert nitrate_rate(hours, HALVES, 10).rate == pytest.approx(2.0)
    assert nitrate_rate(hours, HALVES, 10).residual_sd == pytest.approx(0.0, abs=1e-9)


# The share of the first level, of the rate, and what the tap brought, at each reading: by hand, from the lines above.
DESIGN = np.array([(1.0, 0.0, 0.0), (1.0, 7.0, 0.0), (0.5, 10.5, 5.0), (0.25, 12.25, 7.5)])


@pytest.mark.parametrize("noise", [(1.0, -2.0, 3.0, 0.5), (-4.0, 0.0, 2.0, 2.5), (0.3, 0.1, -0.2, 0.1)])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_rate_and_interval_are_those_of_a_library(noise, confidence):
    readings = [(day, mg_l + error) for (day, mg_l), error in zip(BY_HAND, noise, strict=True)]
    found = nitrate_rate(readings, HALVES, 10, confidence, common_error=0)
    fit = sm.OLS([mg_l for _, mg_l in readings] - DESIGN[:, 2], DESIGN[:, :2]).fit()
    assert found.rate == pytest.approx(fit.params[1], rel=1e-9)
    assert (found.low, found.high) == pytest.approx(tuple(fit.conf_int(1 - confidence)[1]), rel=1e-9)
    assert found.residual_sd == pytest.approx(math.sqrt(fit.mse_resid), rel=1e-9)


def test_an_error_that_all_readings_share_moves_the_rate_with_them():
    readings = [(day, mg_l + error) for (day, mg_l), error in zip(BY_HAND, (1, -2, 3, 0.5), strict=True)]
    plain = nitrate_rate(readings, HALVES, 10, common_error=0)
    high = nitrate_rate([(day, 1.1 * mg_l) for day, mg_l in readings], HALVES, 10, common_error=0)
    wide = nitrate_rate(readings, HALVES, 10, common_error=0.1)
    assert wide.rate == plain.rate
    # Variances add: the scatter's, and that of readings 10 % too high. 1.95996: the normal law's 95 %.
    by_scatter, by_kit = plain.high - plain.rate, 1.95996 * (high.rate - plain.rate)
    assert wide.high - wide.rate == pytest.approx(math.hypot(by_scatter, by_kit), rel=1e-5)
    assert wide.rate - wide.low == pytest.approx(wide.high - wide.rate)


# --- A tank's own rate of nitrate: other ways to the same number ------------------------------------------------


def test_a_tank_of_a_solver_of_differential_equations():
    # 120 L, 330 mg of nitrate made a day: 2.75 mg/L. The solver carries milligrams; a change takes out litres.
    litres, made, tap, milligrams, day = 120.0, 330.0, 6.0, 1800.0, 0.0
    readings = []
    for until, drained in [(0, 0), (5, 40), (9, 0), (12.5, 60), (20, 60), (20, 30), (33, 50), (40, 0)]:
        solved = solve_ivp(lambda *_: [made], (day, until), [milligrams], rtol=1e-11, atol=1e-9)
        milligrams, day = float(solved.y[0, -1]), until
        readings.append((day, milligrams / litres))
        milligrams += drained * (tap - milligrams / litres)
    changes = [(5, 40 / 120), (12.5, 0.5), (20, 0.5), (20, 0.25), (33, 50 / 120)]
    # The second reading of day 20 was taken between its two changes, and cannot be told from the first: it is left out.
    del readings[5]
    found = nitrate_rate(readings, changes, tap)
    assert found.rate == pytest.approx(2.75, rel=1e-9)
    assert found.residual_sd == pytest.approx(0.0, abs=1e-8)


def test_a_kalman_smoother_without_noise_of_the_tank_finds_the_same_rate():
    # State: level before the day's change, and rate. Each day: (1 - f) C + f tap + r. Only readings are uncertain.
    shares, tap, days = {6: 0.3, 13: 0.4, 20: 0.4, 34: 0.5, 41: 0.25}, 8.0, 50
    readings = {0: 21.0, 6: 40.0, 9: 33.5, 20: 47.0, 27: 46.0, 30: 51.5, 41: 49.0, 49: 60.5}
    model = KalmanSmoother(k_endog=1, k_states=2)
    model.bind(np.array([[readings.get(day, math.nan)] for day in range(days)]))
    model["design"] = np.array([[1.0, 0.0]])
    model["obs_cov"] = np.array([[9.0]])
    model["transition"] = np.stack(
        [np.array([[1.0 - shares.get(day, 0.0), 1.0], [0.0, 1.0]]) for day in range(days)], axis=2
    )
    model["state_intercept"] = np.array([[shares.get(day, 0.0) * tap for day in range(days)], [0.0] * days])
    model["selection"] = np.eye(2)
    model["state_cov"] = np.zeros((2, 2))
    model.initialize_diffuse()
    smoothed = model.smooth()

    found = nitrate_rate(list(readings.items()), list(shares.items()), tap, common_error=0)
    assert found.rate == pytest.approx(smoothed.smoothed_state[1, -1], rel=1e-9)
    # The smoother was told that readings scatter by 3 mg/L; the regression finds the scatter itself.
    told = math.sqrt(smoothed.smoothed_state_cov[1, 1, -1]) / 3.0
    t = stats.t.ppf(0.975, len(readings) - 2)
    assert (found.high - found.low) / 2 == pytest.approx(t * told * found.residual_sd, rel=1e-7)


# --- A tank's own rate of nitrate: does the interval hold the truth? --------------------------------------------

TANKS = 400
COLOURS = np.array([5.0, 10.0, 20.0, 40.0, 80.0, 160.0])
"""A chart whose colours double: common practice of hobby kits, no published source."""


def drawn(rng):
    """Return a tank that is drawn: its rate, tap, changes, and the days and true levels of its readings.

    Day by day: read in the morning, changed at noon, and nitrate rises until the next morning.
    """
    rate, tap, share = rng.uniform(0.5, 6), rng.uniform(0, 20), rng.uniform(0.25, 0.6)
    every, days = int(rng.integers(5, 15)), int(rng.integers(35, 100))
    changes = [(day, share) for day in range(int(rng.integers(0, every)), days, every)]
    level, levels = tap + rng.uniform(0, 1.2) * rate * every / share, []
    for day in range(days):
        levels.append(level)
        if (day, share) in changes:
            level += share * (tap - level)
        level += rate
    read = np.sort(rng.choice(days, size=int(rng.integers(5, 13)), replace=False))
    return rate, tap, changes, read, np.array(levels)[read]


def nearest_colour(levels):
    return COLOURS[np.abs(np.log(np.maximum(levels, 1.0)[:, None] / COLOURS)).argmin(axis=1)]


NOISE = {
    "scatter of 2 mg/L": lambda rng, levels: levels + rng.normal(0, 2, len(levels)),
    "scatter of 5 mg/L": lambda rng, levels: levels + rng.normal(0, 5, len(levels)),
    "scatter of 10 %": lambda rng, levels: levels * (1 + rng.normal(0, 0.1, len(levels))),
    "scatter of 20 %": lambda rng, levels: levels * (1 + rng.normal(0, 0.2, len(levels))),
    "colours of a chart": lambda rng, levels: nearest_colour(levels),
    "colours, misread by 15 %": lambda rng, levels: nearest_colour(
        levels * np.exp(rng.normal(0, 0.15, len(levels)))
    ),
}


def covered(noise, confidence=0.95, common_error=None):
    """Return in how many of the tanks the interval holds the true rate."""
    rng, held = np.random.default_rng(20261201), 0
    for _ in range(TANKS):
        rate, tap, changes, days, levels = drawn(rng)
        readings = list(zip(days.tolist(), np.maximum(NOISE[noise](rng, levels), 0).tolist(), strict=True))
        found = nitrate_rate(readings, changes, tap, confidence, common_error)
        held += found.low <= rate <= found.high
    return held


@pytest.mark.parametrize("confidence", [0.8, 0.95])
@pytest.mark.parametrize(
    "noise", ["scatter of 2 mg/L", "scatter of 5 mg/L", "scatter of 10 %", "scatter of 20 %"]
)
def test_the_interval_holds_the_true_rate_as_often_as_it_says(noise, confidence):
    # Within the sampling error of 400 tanks: the middle 99.8 % of the binomial law.
    low, high = stats.binom.interval(0.998, TANKS, confidence)
    assert low <= covered(noise, confidence) <= high


@pytest.mark.parametrize("noise", ["colours of a chart", "colours, misread by 15 %"])
def test_colours_of_a_chart_hold_it_at_least_as_often(noise):
    # Without what the colours share, the scatter alone would claim far too much: that is what the error is for.
    least = stats.binom.ppf(0.001, TANKS, 0.95)
    assert covered(noise, common_error=0) < least <= covered(noise)


# --- A tank's own rate of nitrate: what must hold always --------------------------------------------------------

days = st.integers(0, 120)
shares = st.integers(5, 100).map(lambda percent: percent / 100)
plans = st.lists(st.tuples(days, shares), max_size=15)
noisy = st.lists(st.tuples(days, st.integers(1, 1600).map(lambda n: n / 10)), min_size=4, max_size=12)
taps = st.integers(0, 30)


def told(readings, changes, tap, common_error=0.0):
    """Return the rate and the ends of its interval, where there are readings of several days far enough apart."""
    assume(max(day for day, _ in readings) - min(day for day, _ in readings) >= 7)
    found = nitrate_rate(readings, changes, tap, common_error=common_error)
    return found.rate, found.low, found.high


def level_on(day, rate, start, changes, tap):
    level = start
    for before in range(day):
        for _, share in sorted(c for c in changes if c[0] == before):
            level = (1 - share) * level + share * tap
        level += rate
    return level


@given(st.sets(days, min_size=3, max_size=10), plans, taps, st.integers(0, 80).map(lambda n: n / 10), taps)
def test_without_noise_the_rate_is_exact(read, changes, tap, rate, start):
    assume(max(read) - min(read) >= 7)
    readings = [(day, level_on(day, rate, start, changes, tap)) for day in read]
    assume(any(mg_l for _, mg_l in readings))
    found = nitrate_rate(readings, changes, tap, common_error=0)
    assert found.rate == pytest.approx(rate, abs=1e-7)
    assert found.high - found.low == pytest.approx(0, abs=1e-4)


@given(noisy, plans, taps, st.floats(0.1, 10))
def test_another_unit_only_scales(readings, changes, tap, factor):
    scaled = [(day, factor * mg_l) for day, mg_l in readings]
    expected = [factor * number for number in told(readings, changes, tap, 0.1)]
    assert told(scaled, changes, factor * tap, 0.1) == pytest.approx(expected, rel=1e-6, abs=1e-6)


@given(noisy, plans, taps, st.randoms(use_true_random=False))
def test_the_order_of_entries_does_not_matter(readings, changes, tap, random):
    before = told(readings, changes, tap)
    random.shuffle(readings)
    random.shuffle(changes)
    assert told(readings, changes, tap) == pytest.approx(before, rel=1e-9, abs=1e-9)


@given(noisy, plans, taps, st.sampled_from([-400, 1, 739_951]))
def test_where_days_are_counted_from_does_not_matter(readings, changes, tap, shift):
    moved = [(day + shift, mg_l) for day, mg_l in readings]
    later = [(day + shift, share) for day, share in changes]
    assert told(moved, later, tap) == pytest.approx(told(readings, changes, tap), rel=1e-9, abs=1e-9)


@given(noisy, plans, taps, plans)
def test_changes_before_the_first_reading_and_after_the_last_tell_nothing(readings, changes, tap, more):
    first, last = min(day for day, _ in readings), max(day for day, _ in readings)
    outside = [(day, share) for day, share in more if day < first or day >= last]
    inside = [(day, share) for day, share in changes if first <= day < last]
    assert told(readings, inside + outside, tap) == told(readings, inside, tap)


@given(noisy, plans, taps, days, shares, shares)
def test_two_changes_of_one_day_are_one_of_what_both_leave(readings, changes, tap, day, one, other):
    others = [change for change in changes if change[0] != day]
    both = told(readings, [*others, (day, one), (day, other)], tap)
    as_one = told(readings, [*others, (day, 1 - (1 - one) * (1 - other))], tap)
    assert both == pytest.approx(as_one, rel=1e-6, abs=1e-6)


@given(noisy, plans, taps, st.floats(0.01, 0.5))
def test_an_error_in_common_widens_and_moves_nothing(readings, changes, tap, common_error):
    rate, low, high = told(readings, changes, tap)
    same, lower, higher = told(readings, changes, tap, common_error)
    assert same == rate
    assert lower <= low <= rate <= high <= higher


# --- Colours of a chart -----------------------------------------------------------------------------------------

HALF_A_COLOUR = "a factor of 2, evenly in the logarithm: ln 2 / root 12"


def test_the_error_of_a_colour():
    assert stats.uniform(0, math.log(2)).std() == pytest.approx(CHART_ERROR), HALF_A_COLOUR


@pytest.mark.parametrize(
    ("values", "chart"),
    # House values: some repeat, and those that differ are at least 1.5 times apart.
    [
        ([40, 40, 40, 40], True),
        ([20, 40, 40, 20], True),
        ([0, 0, 5, 10, 10], True),
        ([8.85, 17.7, 17.7], True),
        ([10, 15, 15], True),
        ([10, 14.9, 14.9], False),
        ([20, 40, 80], False),
        ([35, 40, 40, 45], False),
        ([12.1, 14.5, 17.2], False),
    ],
)
def test_what_looks_read_off_a_chart(values, chart):
    assert kit_error(values) == (CHART_ERROR if chart else 0.0)


def test_a_tank_that_always_shows_the_same_colour_is_not_certain():
    # Always 40 before a half change a week: 0.5 x 40 / 7 mg/L a day, give or take 1.96 x 20 % of it.
    same = [(day, 40.0) for day in range(0, 43, 7)]
    halves = [(day, 0.5) for day in range(0, 43, 7)]
    found = nitrate_rate(same, halves, 0)
    assert found.rate == pytest.approx(20 / 7)
    assert found.residual_sd == pytest.approx(0, abs=1e-9)
    assert (found.low, found.high) == pytest.approx((20 / 7 * 0.608, 20 / 7 * 1.392), rel=1e-3)


# --- No single reading decides ----------------------------------------------------------------------------------

WEEKS = [
    (day, 10 + 2.0 * day + error) for day, error in zip(range(0, 42, 7), (1, -1, 2, 0, -2, 1), strict=True)
]


def fast(rate):
    return "fast" if rate.low > 1.0 else "cannot tell"


def test_a_verdict_that_any_single_reading_may_be_missing_from():
    assert holds_without_any(WEEKS, [], 0, fast) == "fast"
    assert holds_without_any(WEEKS, [], 0, lambda rate: rate.rate > 3) is False


def test_one_wild_reading_decides_nothing():
    # An even 20 mg/L and one of 120 at the end: with it the tank seems to rise, without it not.
    even = [(day, 20.0 + error) for day, error in zip(range(0, 42, 7), (1, -1, 1, 0, -1, 1), strict=True)]
    wild = [*even, (42, 120.0)]

    def rises(rate):
        return rate.rate > 0.5

    assert rises(nitrate_rate(wild, [], 0))
    assert holds_without_any(wild, [], 0, rises) is None


@pytest.mark.parametrize(
    "readings",
    [
        [],
        WEEKS[:2],
        WEEKS[:3],
        [(0, 10.0), (0, 11.0), (0, 12.0), (7, 30.0)],
        [(0, 0.0), (7, 0.0), (14, 0.0), (21, 0.0), (28, 5.0)],
    ],
    ids=["none", "two", "three", "one day but for one", "nothing found but for one"],
)
def test_a_verdict_needs_readings_to_spare(readings):
    assert holds_without_any(readings, [], 0, lambda rate: "always") is None
    assert holds_without_any(WEEKS[:4], [], 0, lambda rate: "always") == "always"


def test_what_is_wrong_is_not_taken_for_too_few():
    with pytest.raises(ValueError, match="not a share of 2"):
        holds_without_any(WEEKS, [(7, 2.0)], 0, fast)


def test_the_colours_of_all_readings_tell_the_kit_also_without_one():
    # Without the second 20, none repeats: the kit is the same all the same, and the interval stays wide.
    chart, seen = [(0, 5.0), (7, 10.0), (14, 20.0), (21, 20.0), (28, 40.0)], []
    holds_without_any(chart, [], 0, seen.append)
    assert seen[3] == nitrate_rate([*chart[:2], *chart[3:]], [], 0, common_error=CHART_ERROR)
    assert seen[3] != nitrate_rate([*chart[:2], *chart[3:]], [], 0)


@pytest.mark.parametrize(
    ("readings", "changes", "tap", "error", "said"),
    [
        ([(0, -1.0), (7, 5.0), (14, 9.0)], [], 0, 0, "nitrate is 0 mg/L or more"),
        ([(0, math.nan), (7, 5.0), (14, 9.0)], [], 0, 0, "nitrate must be a finite number, not nan"),
        ([(math.inf, 1.0), (7, 5.0), (14, 9.0)], [], 0, 0, "the day of a reading must be a finite number, not inf"),
        (BY_HAND, [(math.nan, 0.5)], 0, 0, "the day of a change must be a finite number, not nan"),
        (BY_HAND, [(3, 0.0)], 0, 0, "more than none and at most all of the water, not a share of 0"),
        (BY_HAND, [(3, 50.0)], 0, 0, "more than none and at most all of the water, not a share of 50"),
        (BY_HAND, [(3, math.nan)], 0, 0, "more than none and at most all of the water, not a share of nan"),
        (BY_HAND, [], -1, 0, "nitrate in tap water must be 0 or more, not -1"),
        (BY_HAND, [], math.nan, 0, "nitrate in tap water must be 0 or more, not nan"),
        (BY_HAND, [], 0, -0.1, "an error that readings share is 0 or more and under 1, not -0.1"),
        (BY_HAND, [], 0, 20, "an error that readings share is 0 or more and under 1, not 20"),
        ([(0, 5.0), (7, 9.0)], [], 0, 0, "a trend needs 3 readings or more, not 2"),
        ([], [], 0, 0, "a trend needs 3 readings or more, not 0"),
        ([(3, 5.0), (3, 9.0), (3, 7.0)], [], 0, 0, "all readings are of one day"),
        ([(0, 0.0), (7, 0.0), (14, 0.0)], [], 0, 0, "no reading found any nitrate: how fast it rises cannot be told"),
    ],
)  # fmt: skip
def test_what_tells_no_rate(readings, changes, tap, error, said):
    with pytest.raises(ValueError, match=said):
        nitrate_rate(readings, changes, tap, common_error=error)


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
