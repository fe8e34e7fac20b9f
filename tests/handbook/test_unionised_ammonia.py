"""Un-ionised ammonia, and the criteria for wild fish and mussels, against what is printed elsewhere."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.handbook import ammonia, nitrogen

# --- Un-ionised ammonia -----------------------------------------------------------------------------------------

CELSIUS = (10, 15, 20, 25, 28, 30)
# Percent of total ammonia that is un-ionised, Emerson et al. 1975 with T = degC + 273.15, computed to three places.
EMERSON = [
    # pH, percent at each temperature of CELSIUS, source
    (6.5, (0.059, 0.086, 0.125, 0.179, 0.221, 0.253), "formula of Emerson et al. 1975"),
    (7.0, (0.185, 0.272, 0.394, 0.564, 0.695, 0.796), "formula of Emerson et al. 1975"),
    (7.5, (0.583, 0.855, 1.236, 1.762, 2.164, 2.476), "formula of Emerson et al. 1975"),
    (8.0, (1.822, 2.656, 3.807, 5.366, 6.538, 7.432), "formula of Emerson et al. 1975"),
    (8.5, (5.544, 7.942, 11.123, 15.205, 18.115, 20.248), "formula of Emerson et al. 1975"),
    (9.0, (15.654, 21.434, 28.355, 36.186, 41.162, 44.533), "formula of Emerson et al. 1975"),
]


@pytest.mark.parametrize(("ph", "percents", "source"), EMERSON)
def test_percent_unionised(ph, percents, source):
    computed = [100 * ammonia.unionised_share(ph, celsius) for celsius in CELSIUS]
    assert computed == pytest.approx(percents, abs=0.00051), source


def test_pka():
    # Emerson et al. 1975: 0.09018 + 2729.92 / T.
    expected = [9.7314, 9.5641, 9.4025, 9.2464, 9.1552, 9.0954]
    assert [ammonia.pka(celsius) for celsius in CELSIUS] == pytest.approx(expected, abs=0.00006)


@pytest.mark.parametrize(
    ("ph", "celsius", "percent", "source"),
    [
        # NH3 of 0.030 mmol/L total ammonia at 15 degC, in mmol/L, as a water-chemistry program's documentation prints it.
        (8.5, 15, 0.00238 / 0.00030, "documentation of a water-chemistry program"),
        (8.6, 15, 0.00294 / 0.00030, "the same"),
        (8.7, 15, 0.00360 / 0.00030, "the same"),
        (8.8, 15, 0.00440 / 0.00030, "the same"),
        (8.9, 15, 0.00534 / 0.00030, "the same"),
        (9.0, 15, 0.00643 / 0.00030, "the same"),
        # The paper's own table takes T = degC + 273.2.
        (7.0, 25, 0.566, "Emerson et al. 1975, printed table; value from memory"),
        (8.0, 25, 5.38, "the same; value from memory"),
        (9.0, 25, 36.3, "the same; value from memory"),
    ],
)
def test_percent_unionised_as_printed_elsewhere(ph, celsius, percent, source):
    assert 100 * ammonia.unionised_share(ph, celsius) == pytest.approx(percent, rel=0.005), source


def test_a_kit_that_reads_ammonium():
    # 0.2 mg/L as NH4 at pH 7.7 and 18 degC is 0.0032 mg/L as NH3, pKa 9.465: notes that cite Huetter 1990.
    share = ammonia.unionised_share(7.7, 18)
    assert 0.2 / nitrogen.NH4_PER_N * share * nitrogen.NH3_PER_N == pytest.approx(0.0032, abs=0.0001)
    assert ammonia.pka(18) == pytest.approx(9.465, abs=0.002)


celsiuses, phs = st.floats(0, 50), st.floats(4, 11)


@given(phs, phs, celsiuses, celsiuses)
def test_more_ammonia_is_poisonous_in_warmer_and_more_alkaline_water(ph, other_ph, celsius, other_celsius):
    low = ammonia.unionised_share(min(ph, other_ph), min(celsius, other_celsius))
    high = ammonia.unionised_share(max(ph, other_ph), max(celsius, other_celsius))
    assert 0 < low <= high < 1


@given(st.floats(0, 50))
def test_at_its_pka_half_the_ammonia_is_unionised(celsius):
    assert ammonia.unionised_share(ammonia.pka(celsius), celsius) == pytest.approx(0.5)


# --- Criteria for wild fish and mussels -------------------------------------------------------------------------

EPA = "EPA-822-R-13-001: formula without trout, with mussels"
CRITERIA = [
    # pH, chronic at 20, 25 and 28 degC, mg/L of TAN-N, source
    (6.5, (2.129, 1.542, 1.271), EPA),
    (7.0, (1.887, 1.367, 1.127), EPA),
    (7.5, (1.393, 1.009, 0.832), EPA),
    (8.0, (0.777, 0.563, 0.464), EPA),
    (8.5, (0.348, 0.252, 0.208), EPA),
    (9.0, (0.155, 0.1125, 0.0927), EPA),
]


@pytest.mark.parametrize(("ph", "chronic", "source"), CRITERIA)
def test_ammonia_criteria(ph, chronic, source):
    assert [ammonia.epa_chronic_mg_l(ph, c) for c in (20, 25, 28)] == pytest.approx(chronic, rel=0.005), (
        source
    )


@pytest.mark.parametrize(
    ("computed", "rounded", "source"),
    [
        (ammonia.epa_chronic_mg_l(7, 20), 1.9, "Federal Register 22 August 2013: chronic at pH 7 and 20 degC"),
        (ammonia.epa_chronic_mg_l(7, 5), 4.4, "EPA-822-R-13-001, chronic, cold water; value from memory"),
    ],
)  # fmt: skip
def test_the_criteria_as_printed_to_two_figures(computed, rounded, source):
    assert float(f"{computed:.2g}") == rounded, source


def test_the_criteria_without_mussels():
    # EPA-822-R-13-001, appendix on waters without mussels: 0.9405 x 7.547 for 0.8876 x 2.126.
    chronic = ammonia.epa_chronic_mg_l(8, 25, mussels=False) / ammonia.epa_chronic_mg_l(8, 25)
    assert chronic == pytest.approx(0.9405 * 7.547 / (0.8876 * 2.126))


@pytest.mark.parametrize("ph", [6.5, 7.204, 8, 9])
def test_cold_water_asks_for_no_more_than_its_limit(ph):
    # The chronic criterion is flat below 7 degC.
    assert ammonia.epa_chronic_mg_l(ph, 0) == ammonia.epa_chronic_mg_l(ph, 7) > ammonia.epa_chronic_mg_l(ph, 7.1)  # fmt: skip


criteria_ph, criteria_celsius = st.floats(6.5, 9), st.floats(0, 30)


@given(criteria_ph, criteria_ph, criteria_celsius, criteria_celsius, st.booleans())
def test_the_criteria_are_stricter_in_warmer_and_more_alkaline_water(ph, other_ph, c, other_c, mussels):
    mild, harsh = (min(ph, other_ph), min(c, other_c)), (max(ph, other_ph), max(c, other_c))
    assert ammonia.epa_chronic_mg_l(*harsh, mussels) <= ammonia.epa_chronic_mg_l(*mild, mussels)


@given(criteria_ph, criteria_celsius)
def test_mussels_make_the_criteria_stricter(ph, celsius):
    assert ammonia.epa_chronic_mg_l(ph, celsius) < ammonia.epa_chronic_mg_l(ph, celsius, mussels=False)
