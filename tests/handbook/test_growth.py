"""Growth and mass against the published curves, the shells of 24 turtles, and a general solver of differential equations."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.stats import linregress

from scheduler.handbook import growth
from scheduler.species import load_sheets

FRAZER = "Frazer, Gibbons & Greene 1991, Am. Midl. Nat. 125:245: L = A (1 - b exp(-k t)), plastron in mm"
HERP = "J. Herpetol. 53:297 (2019): rate of growth against carapace, mm a year"


def curve(species, sex):
    """Return the final length in cm and the rate of a species' sheet."""
    (found,) = [c for c in load_sheets()[species].growth if c.sex == sex]
    return found.asymptote, found.k


# --- Curves -----------------------------------------------------------------------------------------------------

PICTA = {
    # sex: A in mm, b, k as published; the sheet holds A and k
    "male": (111.8, 0.792, 0.184),
    "female": (152.2, 0.852, 0.128),
}

PLASTRONS = [
    # sex, age in years, plastron in mm worked from the published equation
    ("male", 0, 23.25), ("male", 1, 38.14), ("male", 5, 76.51), ("male", 10, 97.74), ("male", 20, 109.57),
    ("female", 0, 22.53), ("female", 1, 38.11), ("female", 5, 83.82), ("female", 10, 116.15), ("female", 20, 142.18),
]  # fmt: skip


@pytest.mark.parametrize(("sex", "years", "plastron_mm"), PLASTRONS)
def test_painted_turtles_follow_the_published_curve(sex, years, plastron_mm):
    a_mm, b, k = PICTA[sex]
    assert curve("Chrysemys picta", sex) == pytest.approx((a_mm / 10, k)), FRAZER
    hatchling_cm = a_mm * (1 - b) / 10
    assert 10 * growth.size_after(hatchling_cm, years, a_mm / 10, k) == pytest.approx(
        plastron_mm, abs=0.02
    ), FRAZER


def test_a_male_painted_turtle_reaches_ten_centimetres_of_plastron_at_eleven():
    a, k = curve("Chrysemys picta", "male")
    assert growth.years_to(a * (1 - 0.792), 10, a, k) == pytest.approx(10.95, abs=0.01), FRAZER


MAPS = [
    # sex, carapace in mm, mm a year, source
    ("male", 60, 48.065 - 0.447 * 60, HERP),
    ("male", 60, 21.245, HERP),
    ("female", 100, 33.707 - 0.130 * 100, HERP),
    ("female", 100, 20.707, HERP),
]


@pytest.mark.parametrize(("sex", "carapace_mm", "mm_a_year", "source"), MAPS)
def test_map_turtles_grow_at_the_published_rate(sex, carapace_mm, mm_a_year, source):
    a, k = curve("Graptemys geographica", sex)
    assert 10 * growth.rate_cm_year(carapace_mm / 10, a, k) == pytest.approx(mm_a_year, abs=0.001), source


@pytest.mark.parametrize(
    ("sex", "intercept", "slope", "final_mm"),
    [("male", 48.065, 0.447, 107.53), ("female", 33.707, 0.130, 259.28)],
)
def test_map_turtles_stop_where_the_published_line_crosses_nought(sex, intercept, slope, final_mm):
    a, k = curve("Graptemys geographica", sex)
    assert intercept / slope == pytest.approx(final_mm, abs=0.05), HERP
    assert (10 * a, k) == pytest.approx((final_mm, slope), abs=0.05), HERP
    assert growth.rate_cm_year(a, a, k) == 0


@pytest.mark.parametrize(
    ("sex", "years", "carapace_mm"),
    [
        ("male", 1, 57.95),
        ("male", 5, 99.23),
        ("female", 1, 57.95),
        ("female", 5, 139.59),
        ("female", 10, 196.80),
    ],
)
def test_map_turtles_of_three_centimetres_grow_on(sex, years, carapace_mm):
    # Worked from the published lines: L = A - (A - 30 mm) exp(-k t).
    a, k = curve("Graptemys geographica", sex)
    assert 10 * growth.size_after(3.0, years, a, k) == pytest.approx(carapace_mm, abs=0.01), HERP


finals, rates, spans = st.floats(8, 60), st.floats(0.05, 1), st.floats(0, 40)
shares = st.floats(0.05, 0.99)


@given(shares, st.floats(0.01, 40), finals, rates)
def test_the_curve_solves_its_differential_equation(share, years, final, k):
    now = share * final
    solved = solve_ivp(lambda _, length: k * (final - length), (0, years), [now], rtol=1e-9, atol=1e-9)
    assert growth.size_after(now, years, final, k) == pytest.approx(solved.y[0][-1], abs=1e-5)


@given(shares, shares, finals, rates)
def test_the_time_to_a_length_leads_to_that_length(one, other, final, k):
    now, then = sorted((one * final, other * final))
    assert growth.size_after(now, growth.years_to(now, then, final, k), final, k) == pytest.approx(then)


@given(shares, spans, spans, finals, rates)
def test_nothing_shrinks_and_nothing_outgrows_the_final_length(share, one, other, final, k):
    sooner, later = sorted((one, other))
    now = share * final
    assert now <= growth.size_after(now, sooner, final, k) <= growth.size_after(now, later, final, k)
    assert growth.size_after(now, later, final, k) <= final * (1 + 1e-12)


@given(shares, shares, finals, rates)
def test_growth_slows_down(one, other, final, k):
    short, long = sorted((one * final, other * final))
    assert growth.rate_cm_year(short, final, k) >= growth.rate_cm_year(long, final, k) >= 0


def test_an_animal_beyond_the_curve_keeps_its_length():
    assert growth.size_after(22, 10, 20, 0.2) == 22
    assert growth.rate_cm_year(22, 20, 0.2) == 0
    assert growth.years_to(22, 21, 20, 0.2) == 0
    assert growth.years_to(22, 23, 20, 0.2) == math.inf


# --- Outgrowing -------------------------------------------------------------------------------------------------


def test_a_limit_is_outgrown_within_a_span_of_years():
    # (A - now) / (A - limit) = 15 / 7.5 = 2: ln 2 / k by the wild curve, a third of it at three times the rate.
    earliest, latest = growth.outgrown_in_years(10, 17.5, 25, 0.13)
    assert (earliest, latest) == pytest.approx((math.log(2) / 0.39, math.log(2) / 0.13))


@given(shares, st.floats(0.05, 1.5), finals, rates)
def test_a_captive_animal_is_three_times_as_soon_at_the_limit(share, limit, final, k):
    assume(limit < 1 or share < limit)
    earliest, latest = growth.outgrown_in_years(share * final, limit * final, final, k)
    assert 0 <= earliest <= latest
    if limit >= 1:
        assert earliest == latest == math.inf
    elif limit <= share:
        assert earliest == latest == 0
    else:
        assert latest == pytest.approx(3 * earliest)


def test_the_captive_factor_stands_beside_the_published_ratio():
    # House value; young sliders on shrimp grew 3.2 times as fast as on duckweed (Bouchard & Bjorndal 2006).
    assert pytest.approx(3.2, rel=0.1) == growth.CAPTIVE_FACTOR
    assert growth.CAPTIVE.status == "house value"
    assert "Bouchard & Bjorndal 2006" in growth.CAPTIVE.text


# --- Mass -------------------------------------------------------------------------------------------------------

# Length, width and height in mm of the shells of 24 female painted turtles: Jolicoeur & Mosimann 1960, Growth 24:339,
# as open files of multivariate statistics give them; checked below by the means and variances that are published.
FEMALE_SHELLS = [
    (98, 81, 38), (103, 84, 38), (103, 86, 42), (105, 86, 42), (109, 88, 44), (123, 92, 50), (123, 95, 46), (133, 99, 51),
    (133, 102, 51), (133, 102, 51), (134, 100, 48), (136, 102, 49), (138, 98, 51), (138, 99, 51), (141, 105, 53),
    (147, 108, 57), (149, 107, 55), (153, 107, 56), (155, 115, 63), (155, 117, 60), (158, 115, 62), (159, 118, 63),
    (162, 124, 61), (177, 132, 67),
]  # fmt: skip


def ellipsoid_cm3(length_mm, width_mm, height_mm):
    return math.pi / 6 * length_mm * width_mm * height_mm / 1000


def test_the_shells_are_those_that_were_published():
    # Means and the eigenvalues of the covariance matrix: Jolicoeur & Mosimann 1960.
    import numpy as np

    shells = np.array(FEMALE_SHELLS, float)
    assert shells.mean(axis=0) == pytest.approx([136.042, 102.583, 52.042], abs=0.001)
    assert np.linalg.eigvalsh(np.cov(shells.T)) == pytest.approx([2.8538, 6.7697, 678.3657], abs=0.0001)


def test_the_curve_of_shell_volumes_is_the_least_squares_fit():
    fit = linregress(
        [math.log10(length) for length, _, _ in FEMALE_SHELLS],
        [math.log10(ellipsoid_cm3(*shell)) for shell in FEMALE_SHELLS],
    )
    for length in (98, 120, 150, 177):
        fitted = 10 ** (fit.intercept + fit.slope * math.log10(length))
        assert growth.female_shell_cm3(length) == pytest.approx(fitted, rel=2e-4)


@pytest.mark.parametrize("shell", FEMALE_SHELLS)
def test_no_shell_is_missed_by_more_than_a_tenth(shell):
    assert growth.female_shell_cm3(shell[0]) == pytest.approx(ellipsoid_cm3(*shell), rel=0.1)


@pytest.mark.parametrize(("carapace_mm", "cm3"), [(100, 165.6), (150, 496.0)])
def test_shell_volumes_worked_by_hand(carapace_mm, cm3):
    # 10 ** (-3.1915 + 2.7053 log10 L), computed
    assert growth.female_shell_cm3(carapace_mm) == pytest.approx(cm3, abs=0.2)


@pytest.mark.parametrize("carapace_mm", [97.9, 177.1, 0, -5, math.nan, math.inf])
def test_shell_volumes_are_refused_beyond_the_measured_animals(carapace_mm):
    with pytest.raises(
        ValueError, match=r"^the volume of a female shell is defined here from 98 to 177 mm, not at "
    ):
        growth.female_shell_cm3(carapace_mm)


@pytest.mark.parametrize(("carapace_cm", "grams"), [(0, 0), (10, 150), (20, 1200), (25, 2343.75)])
def test_mass_goes_with_the_cube_of_the_carapace(carapace_cm, grams):
    # House value 0.15 g a cm3, worked by hand
    assert growth.mass_g(carapace_cm) == pytest.approx(grams)


@pytest.mark.parametrize("shell", FEMALE_SHELLS)
def test_the_estimate_of_mass_covers_every_measured_shell(shell):
    # At the density of water (house value) the shells weigh what their ellipsoids hold.
    mass, estimate = growth.mass_from_volume_g(ellipsoid_cm3(*shell)), growth.mass_g(shell[0] / 10)
    assert mass == pytest.approx(estimate, rel=growth.MASS_SPREAD)


# --- Nonsense is refused ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: growth.size_after(10, 1, 0, 0.2), "the final length of a growth curve must be above 0 cm, not 0"),
        (lambda: growth.years_to(5, 10, math.nan, 0.2), "the final length of a growth curve must be above 0 cm, not nan"),
        (lambda: growth.rate_cm_year(10, 20, -0.1), "the rate k of a growth curve must be above 0 a year, not -0.1"),
        (lambda: growth.outgrown_in_years(10, 15, 20, 0), "the rate k of a growth curve must be above 0 a year, not 0"),
        (lambda: growth.size_after(10, -1, 20, 0.2), "the years of growth must be 0 or more, not -1"),
        (lambda: growth.size_after(10, math.nan, 20, 0.2), "the years of growth must be 0 or more, not nan"),
        (lambda: growth.size_after(-3, 1, 20, 0.2), "a length must be 0 cm or more, not -3"),
        (lambda: growth.years_to(5, math.inf, 20, 0.2), "a length must be 0 cm or more, not inf"),
        (lambda: growth.mass_g(-1), "a length must be 0 cm or more, not -1"),
        (lambda: growth.mass_from_volume_g(-1), "the volume of a shell must be 0 cm3 or more, not -1"),
    ],
)  # fmt: skip
def test_impossible_animals_are_refused(ask, message):
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == message
