"""Least squares against certified values and a library of statistics; Student's t against printed tables."""

import math
from itertools import pairwise

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from scheduler.handbook.regression import NotEnoughError, enough, least_squares, student_t

NIST = "NIST Statistical Reference Datasets, linear regression, Norris: certified values (data and values from memory)"

# (y, x): readings of ozone monitors, one against the other.
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
]  # fmt: skip


def test_certified_values_of_a_straight_line():
    fit = least_squares([(1.0, x) for _, x in NORRIS], [y for y, _ in NORRIS])
    t_of_34 = stats.t.ppf(0.975, 34)
    assert fit.first == pytest.approx(-0.262323073774029, rel=1e-9), NIST
    assert fit.second == pytest.approx(1.00211681802045, rel=1e-12), NIST
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-11), NIST
    assert fit.half(0.95) / t_of_34 == pytest.approx(0.429796848199937e-03, rel=1e-11), NIST


rows = st.tuples(st.floats(-10, 10), st.floats(-100, 100))


@given(st.lists(st.tuples(rows, st.floats(-1000, 1000)), min_size=4, max_size=12), st.floats(0.5, 0.999))
def test_coefficients_and_interval_are_those_of_a_library(points, confidence):
    design, seen = np.array([row for row, _ in points]), np.array([value for _, value in points])
    scale = np.linalg.svd(design, compute_uv=False)
    # Nearly one column only: the answer hangs on the last digits of the data.
    assume(scale[1] > 1e-3 * scale[0])
    ours, theirs = least_squares(design.tolist(), seen.tolist()), sm.OLS(seen, design).fit()
    tolerance = 1e-7 * (1.0 + np.abs(theirs.params).max())
    assert [ours.first, ours.second] == pytest.approx(theirs.params.tolist(), abs=tolerance)
    low, high = theirs.conf_int(1.0 - confidence)[1]
    assert 2 * ours.half(confidence) == pytest.approx(high - low, rel=1e-6, abs=tolerance * 1e3)


def test_rows_that_differ_in_nothing_tell_no_second_coefficient():
    with pytest.raises(
        NotEnoughError, match="all readings are of one day: a trend needs readings of several days"
    ):
        least_squares([(1.0, 0.0)] * 4, [1.0, 2.0, 3.0, 4.0])


def test_two_points_leave_no_scatter():
    with pytest.raises(NotEnoughError, match="a trend needs 3 readings or more, not 2"):
        enough(2)
    enough(3)


# --- Student's t ------------------------------------------------------------------------------------------------

TABLE = "Abramowitz & Stegun 1964, table 26.10 (value from memory)"
CLOSED = "closed form"

T = [
    # confidence, degrees of freedom, t, tolerance, source
    (0.95, 1, 12.706, 0.0005, TABLE),
    (0.95, 2, 4.303, 0.0005, TABLE),
    (0.95, 3, 3.182, 0.0005, TABLE),
    (0.95, 4, 2.776, 0.0005, TABLE),
    (0.95, 5, 2.571, 0.0005, TABLE),
    (0.95, 10, 2.228, 0.0005, TABLE),
    (0.95, 30, 2.042, 0.0005, TABLE),
    (0.99, 10, 3.169, 0.0005, TABLE),
    (0.50, 1, 1.0, 1e-12, f"{CLOSED}: tan(pi / 4)"),
    (0.90, 1, math.tan(0.45 * math.pi), 1e-9, f"{CLOSED}: the distribution of Cauchy"),
    (0.50, 2, math.sqrt(2 / 3), 1e-12, f"{CLOSED}: t / root(2 + t2) = 1/2"),
]


@pytest.mark.parametrize(("confidence", "freedom", "t", "tolerance", "source"), T)
def test_printed_values_of_t(confidence, freedom, t, tolerance, source):
    assert student_t(confidence, freedom) == pytest.approx(t, abs=tolerance), source


@given(st.floats(0.001, 0.9999), st.integers(1, 400))
def test_t_is_that_of_a_library(confidence, freedom):
    assert student_t(confidence, freedom) == pytest.approx(
        stats.t.ppf((1 + confidence) / 2, freedom), rel=1e-9
    )


def test_more_readings_make_t_smaller_down_to_the_normal_law():
    some = [student_t(0.95, freedom) for freedom in (1, 2, 3, 5, 8, 20, 100, 2000)]
    assert all(fewer > more for fewer, more in pairwise(some))
    assert some[-1] == pytest.approx(stats.norm.ppf(0.975), abs=2e-3)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, 95.0, math.nan])
def test_a_confidence_is_a_share(confidence):
    with pytest.raises(ValueError, match="a confidence is between 0 and 1, not "):
        student_t(confidence, 3)


def test_no_interval_without_a_degree_of_freedom():
    with pytest.raises(ValueError, match="1 degree of freedom or more, not 0"):
        student_t(0.95, 0)
