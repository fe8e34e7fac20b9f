"""Measures of fairness against published definitions, and what no rota of whole duties can do better than."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.rota.small_sites import duties

from scheduler.rota.fairness import gini, jain, spread

JAIN_1984 = "Jain, Chiu, Hawe 1984, DEC-TR-301: (sum x)^2 / (n sum x^2); worked by hand"
LORENZ = "Gini coefficient of ranked data, Lorenz form: 2 sum(i x) / (n sum x) - (n + 1) / n; worked by hand"


@pytest.mark.parametrize(
    ("loads", "expected", "source"),
    [
        ([1, 1, 1, 1], 1.0, JAIN_1984),
        ([4, 0, 0, 0], 0.25, JAIN_1984),
        ([1, 2, 3, 4], 0.833333, JAIN_1984),
        ([5, 5, 5, 1], 0.842105, JAIN_1984),
        ([10, 10, 0], 0.666667, JAIN_1984),
        ([3, 2, 2], 0.960784, JAIN_1984),
        # The report's own case of users that get all or nothing: of n users k are served, and the index is k/n.
        ([1] * 20 + [0] * 80, 0.2, "Jain, Chiu, Hawe 1984: 20 of 100 served alike, from memory"),
        ([6 / 2, 3 / 1], 1.0, "divided by the share first"),
    ],
)
def test_jains_index(loads, expected, source):
    assert jain(loads) == pytest.approx(expected, abs=1e-6), source


@pytest.mark.parametrize(
    ("loads", "expected", "source"),
    [
        ([1, 2, 3, 4], 0.25, LORENZ),
        ([4, 0, 0, 0], 0.75, LORENZ),
        ([3, 2, 2], 0.095238, LORENZ),
        ([7, 8, 9, 8], 0.046875, LORENZ),
        ([5, 5, 5], 0.0, LORENZ),
    ],
)
def test_the_gini_coefficient(loads, expected, source):
    assert gini(loads) == pytest.approx(expected, abs=1e-6), source


@pytest.mark.parametrize("loads", [[0.0], [0.0, 0.0], [0.0] * 5])
def test_where_nobody_does_anything_all_are_alike(loads):
    """A convention: both quotients are 0/0."""
    assert (jain(loads), gini(loads), spread(loads)) == (1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("loads", "expected"), [([10, 10], 0.0), ([9, 11], 0.2), ([0, 10], 2.0), ([7], 0.0), ([1, 2, 3], 1.0)]
)
def test_the_spread_is_the_largest_less_the_least_over_the_mean(loads, expected):
    assert spread(loads) == pytest.approx(expected)


some_loads = st.lists(st.floats(0.1, 1e4), min_size=1, max_size=12)


@given(some_loads)
def test_jains_index_is_one_over_one_and_the_squared_variation(loads):
    """J = 1 / (1 + CV^2), CV the standard deviation of the population over the mean: Jain, Chiu, Hawe 1984."""
    mean = sum(loads) / len(loads)
    variance = sum((x - mean) ** 2 for x in loads) / len(loads)
    assert jain(loads) == pytest.approx(1.0 / (1.0 + variance / mean**2))
    assert 1.0 / len(loads) - 1e-12 <= jain(loads) <= 1.0 + 1e-12


@given(some_loads)
def test_the_gini_coefficient_is_half_the_mean_difference_over_the_mean(loads):
    """G = sum |x - y| / (2 n^2 mean): the definition by the mean absolute difference (Gini 1912), from memory."""
    n = len(loads)
    differences = sum(abs(x - y) for x in loads for y in loads)
    assert gini(loads) == pytest.approx(differences / (2 * n * sum(loads)), abs=1e-9)


@given(some_loads, st.floats(0.01, 100.0), st.randoms(use_true_random=False))
def test_neither_unit_nor_order_changes_a_measure(loads, factor, shuffler):
    other = [x * factor for x in loads]
    shuffler.shuffle(other)
    for measure in (jain, gini, spread):
        assert measure(other) == pytest.approx(measure(loads), abs=1e-9)


@pytest.mark.parametrize(("number", "people"), [(7, 3), (6, 3), (1, 2), (9, 4), (11, 5)])
def test_no_duty_more_than_need_be(number, people):
    """Of like duties the busiest person has the ceiling of duties over people: the pigeonhole principle."""
    keepers = "".join(f'[[keeper]]\nname = "Keeper {n}"\n' for n in range(people))
    extra = "".join(
        f'[[enclosure.extra_job]]\nkey = "d{n}"\ntitle = "Duty"\non = [2026-12-09]\nminutes = 60\n'
        for n in range(number)
    )
    made = duties(f'{keepers}[[enclosure]]\nname = "Sedge"\n{extra}').rota()
    assert max(made.loads.values()) == 60 * math.ceil(number / people)
    assert not made.unfilled
    if (number, people) == (7, 3):
        assert made.fairness.jain == pytest.approx(0.960784, abs=1e-6)
