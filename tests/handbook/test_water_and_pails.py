"""The handbook's formulas of water, disinfectants, pails and meals against the worked values of their sources."""

import math

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from scheduler.handbook import disinfectant, feeding, lifting, volume

# --- Volumes ----------------------------------------------------------------------------------------------------

CHECKS = [
    # id, computed, expected, tolerance, source
    ("density at 25", 1000 * volume.water_density(25), 997.047, 0.005, "density in kg/m3: IAPWS-95"),
    ("density at 4", 1000 * volume.water_density(4), 999.975, 0.005, "density in kg/m3: IAPWS-95"),
    ("hot share", volume.hot_share(25, 12, 50), 0.3421, 1e-4, "heat balance: (25 - 12) / (50 - 12)"),
    ("hot share, 60 and 10", volume.hot_share(25, 10, 60), 0.3, 1e-9, "heat balance: 15 / 50"),
    ("hot litres", 40 * volume.hot_share(25, 12, 50), 13.7, 0.05, "litres of hot water in 40 L, the same balance"),
    ("change of a quarter", volume.mixed_temperature(0.25, 25, 15), 22.5, 1e-9, "heat balance: 0.75 x 25 + 0.25 x 15"),
    ("change of a half", volume.mixed_temperature(0.5, 25, 15), 20.0, 1e-9, "heat balance: half and half"),
    # A bed of 5 cm on 0.418 m2 at porosity 0.40 holds 12.54 L of solids and 8.36 L of pores.
    ("solids", volume.solid_litres(104.5, 40, 5, 0.40), 12.54, 0.005, "area x depth x (1 - n)"),
    ("pores", volume.gross_litres(104.5, 40, 5) - volume.solid_litres(104.5, 40, 5, 0.40), 8.36, 0.005, "area x depth x n"),
    ("quartz", volume.solid_litres(104.5, 40, 5, 0.40) * 2.650, 33.2, 0.05, "quartz of 2650 kg/m3 in that bed, kg"),
    # Porosity n = e / (1 + e): a bed of void ratio e holds e times as much water as solids.
    (
        "void ratio",
        volume.gross_litres(104.5, 40, 5) / volume.solid_litres(104.5, 40, 5, 0.4444) - 1,
        0.8,
        1e-3,
        "loose sand, void ratio 0.8, porosity 0.4444",
    ),
    ("worst-case ratio", disinfectant.THIOSULFATE_MOST, 7.0004, 0.001, "2 Na2S2O3.5H2O a Cl2, to tetrathionate: molar masses"),
    # AWWA table 7-5: 1.58 lb of the anhydrous salt for 100 000 US gal and 1 mg/L; the ratio of table 7-2 is rounded.
    (
        "field ratio",
        disinfectant.THIOSULFATE_FIELD * 158.108 / 248.184,
        1.58 * 453_592.37 / (100_000 * 3.785411784),
        0.01,
        "AWWA field guide, table 7-5 (1.893) and 7-2 (1.9)",
    ),
    ("chlorine", disinfectant.chlorine_mg(37.854, 4.0), 151.4, 0.05, "37.854 L at 4 mg/L"),
    ("worst-case dose", disinfectant.thiosulfate_mg(disinfectant.chlorine_mg(37.854, 4.0))[1] / 1000, 1.060, 0.002, "g, at the ratio 7.0"),
    ("field dose", disinfectant.thiosulfate_mg(151.4)[0] / 1000, 0.452, 0.002, "g, at the field ratio of AWWA table 7-2"),
    ("freed ammonia", disinfectant.freed_ammonia_mg_l(4.0), 0.790, 0.002, "14.007 / 70.906 x 4"),
    ("legal ceiling", disinfectant.LEGAL_CEILING_MG_L, 4.0, 0, "40 CFR 141.65"),
    ("full pail", lifting.full_pail_kg(10, 25), 11.0, 0.05, "10 L at 25 degC and 1 kg of pail"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance", "source"),
    [row[1:] for row in CHECKS],
    ids=[f"{row[0]}-{i}" for i, row in enumerate(CHECKS)],
)
def test_worked_values(computed, expected, tolerance, source):
    assert computed == pytest.approx(expected, abs=max(tolerance, 1e-12)), source


# Density of air-free water in kg/m3 at ordinary pressure, IAPWS-95 (CoolProp and Tanaka 2001 agree to 0.001).
@pytest.mark.parametrize(
    ("celsius", "density"),
    [(5, 999.967), (10, 999.702), (15, 999.103), (20, 998.207), (22, 997.773), (25, 997.047), (28, 996.236), (30, 995.649), (40, 992.216)],
)  # fmt: skip
def test_density_of_water(celsius, density):
    assert 1000 * volume.water_density(celsius) == pytest.approx(density, abs=0.005)


@pytest.mark.parametrize("celsius", [-0.1, 40.1, math.nan, math.inf])
def test_density_is_refused_outside_its_range(celsius):
    with pytest.raises(ValueError, match="0 to 40 degC"):
        volume.water_density(celsius)


@given(st.floats(0, 40), st.floats(0, 40))
def test_water_is_densest_near_four_degrees(one, other):
    low, high = sorted((one, other))
    if low >= 3.99:
        assert volume.water_density(low) >= volume.water_density(high)
    if high <= 3.97:
        assert volume.water_density(low) <= volume.water_density(high)


# --- Draining ---------------------------------------------------------------------------------------------------

lengths = st.floats(20, 400)
depths = st.floats(5, 120)


@st.composite
def tanks(draw):
    """Length, width, water depth and substrate, in cm; the substrate may reach over the water."""
    return draw(lengths), draw(lengths), draw(depths), draw(st.floats(0, 30))


def litres_under(line, length, width, substrate):
    """Return the water under a line: pores to the top of the bed, the whole floor above it. Written out on its own."""
    pores = min(line, substrate) * 0.40
    return length * width * (pores + max(0.0, line - substrate)) / 1000


@given(tanks(), st.floats(0, 1))
def test_the_line_after_draining_leaves_what_was_not_drained(tank, share):
    length, width, depth, substrate = tank
    before = litres_under(depth, length, width, substrate)
    line = volume.line_after_draining_cm(length, width, depth, substrate, share * before)
    assert litres_under(line, length, width, substrate) == pytest.approx(
        (1 - share) * before, rel=1e-9, abs=1e-6
    )


@given(tanks())
def test_the_water_in_a_tank_is_what_stands_under_its_line(tank):
    length, width, depth, substrate = tank
    assume(substrate <= depth)
    net = volume.net_litres(length, width, depth, substrate)
    assert net == pytest.approx(litres_under(depth, length, width, substrate), rel=1e-9)
    assert net + volume.solid_litres(length, width, substrate) == pytest.approx(
        volume.gross_litres(length, width, depth)
    )


@given(tanks(), st.floats(0, 2000), st.floats(0, 2000))
@example((20.0, 78.38647433229895, 50.0, 0.0), 0.0, 78.38647433229895)
def test_draining_more_never_raises_the_line(tank, one, other):
    length, width, depth, substrate = tank
    less, more = sorted((one, other))
    high = volume.line_after_draining_cm(length, width, depth, substrate, less)
    low = volume.line_after_draining_cm(length, width, depth, substrate, more)
    assert 0 <= low <= high <= depth


def test_draining_nothing_and_everything():
    # 100 x 50 x 40 cm with 5 cm of sand: 5 L a cm, 175 L above the sand, 10 L in it.
    assert volume.line_after_draining_cm(100, 50, 40, 5, 0) == 40
    assert volume.line_after_draining_cm(100, 50, 40, 5, 175) == 5
    assert volume.line_after_draining_cm(100, 50, 40, 5, 180) == pytest.approx(2.5)
    assert volume.line_after_draining_cm(100, 50, 40, 5, 185) == pytest.approx(0)
    assert volume.line_after_draining_cm(100, 50, 40, 5, 999) == 0


# --- Hot and cold -----------------------------------------------------------------------------------------------

taps = st.floats(0, 95)


@given(taps, taps, taps)
def test_the_share_of_hot_water_mixes_to_the_target_or_is_refused(target, cold, hot):
    if not (cold < hot and cold <= target <= hot):
        with pytest.raises(ValueError, match="degC"):
            volume.hot_share(target, cold, hot)
        return
    share = volume.hot_share(target, cold, hot)
    assert 0 <= share <= 1
    assert volume.mixed_temperature(share, cold, hot) == pytest.approx(target, abs=1e-9)


@pytest.mark.parametrize(
    ("target", "cold", "hot", "message"),
    [
        (25, 12, 12, "hot water of 12 degC is not warmer than cold water of 12 degC"),
        (25, 50, 12, "hot water of 12 degC is not warmer than cold water of 50 degC"),
        (10, 12, 50, "10 degC lies outside 12 to 50 degC"),
        (51, 12, 50, "51 degC lies outside 12 to 50 degC"),
    ],
)
def test_taps_that_cannot_give_the_target_say_so(target, cold, hot, message):
    with pytest.raises(ValueError, match=f"^{message}$"):
        volume.hot_share(target, cold, hot)


@given(st.floats(0.1, 2000), st.floats(1, 20))
def test_pails_carry_all_of_it_and_none_is_too_full(litres, pail):
    count = volume.pails(litres, pail)
    assert count * pail >= litres - 1e-6
    assert (count - 1) * pail < litres
    assert litres / count <= pail + 1e-6


@pytest.mark.parametrize(
    ("litres", "count"), [(0.0, 0), (5e-324, 1), (1e-15, 1), (1e-9, 1), (10.0, 1), (10.1, 2)]
)
def test_however_little_it_is_it_takes_a_pail(litres, count):
    assert volume.pails(litres, 10.0) == count


# --- Disinfectants ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "measured", "level"),
    [
        ("none", None, 0.0),
        ("none", 1.5, 0.0),
        ("chlorine", 0.8, 0.8),
        ("chloramine", None, 4.0),
        # Not knowing counts as the most that the law allows (40 CFR 141.65).
        ("unknown", None, 4.0),
        ("unknown", 2.0, 2.0),
    ],
)
def test_the_level_to_reckon_with(kind, measured, level):
    assert disinfectant.level_mg_l(kind, measured) == level


@given(st.floats(0, 5000))
def test_the_field_dose_is_below_the_worst_case(chlorine):
    field, most = disinfectant.thiosulfate_mg(chlorine)
    assert 0 <= field <= most


# --- Feeding ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("carapace", "adult", "stage"),
    # House values: a hatchling is under 0.4, a juvenile under 0.8 of the expected adult carapace.
    [
        (3.9, 10, "hatchling"),
        (4.0, 10, "juvenile"),
        (7.9, 10, "juvenile"),
        (8.0, 10, "adult"),
        (30, 10, "adult"),
    ],
)
def test_the_stage_follows_from_the_share_of_the_adult_size(carapace, adult, stage):
    assert feeding.STAGES[feeding.stage_by_size(carapace, adult)] == stage


def test_meals_a_week_by_stage():
    # SPCA New Zealand: hatchlings daily, adults every second day, which is 3 or 4 a week. Juveniles: house value.
    assert feeding.MEALS_A_WEEK["hatchling"] == 7
    assert feeding.MEALS_A_WEEK["adult"] in (3, 4)
    assert feeding.MEALS_A_WEEK["adult"] < feeding.MEALS_A_WEEK["juvenile"] < 7


@pytest.mark.parametrize("meals", range(1, 8))
def test_meal_days_are_spread_over_the_week(meals):
    days = feeding.MEAL_DAYS[meals]
    assert len(set(days)) == meals
    assert set(days) <= set(range(7))
    gaps = [(after - before) % 7 or 7 for before, after in zip(days, [*days[1:], days[0]], strict=True)]
    # As even as whole days allow, give or take one: two fasting days never meet from four meals on.
    assert max(gaps) <= math.ceil(7 / meals) + 1
    assert meals < 4 or max(gaps) <= 2


def test_grams_a_day():
    assert feeding.grams_a_day(6, 3) == pytest.approx(18 / 7)
