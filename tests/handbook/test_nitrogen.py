"""Nitrogen: worked values of its sources, a simulated tank that is drained and filled, and what must hold always."""

import itertools
import math

import iapws.ammonia
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from scheduler.handbook import nitrogen
from scheduler.handbook.nitrogen import Change

EXACT = 1e-9


# --- From feed to nitrate ---------------------------------------------------------------------------------------

TIMMONS = "Timmons & Ebeling, Recirculating Aquaculture, ch. 4; value from memory"
MASSES = "molar masses: N 14.0067, O 15.9994, H 1.00794 g/mol"
BALANCE = "mass balance"

FEED = [
    # what, computed, expected, tolerance, source
    ("the coefficient", nitrogen.FISH_COEFFICIENT, 0.16 * 0.80 * 0.80 * 0.90, 2e-4, TIMMONS),
    ("its rounding", 0.16 * 0.80 * 0.80 * 0.90, 0.09216, 1e-6, TIMMONS),
    ("5 g of 40 %", nitrogen.fish_tan_g(5, 0.40), 0.184, 1e-4, TIMMONS),
    ("5 g of 40 %, all of it", nitrogen.feed_nitrogen_g(5, 0.40), 0.320, EXACT, "0.16 x 0.40 x 5 g"),
    ("nitrate of N", nitrogen.NO3_PER_N, 4.4268, 0.001, MASSES),
    ("10 mg/L of nitrate-N", 10 * nitrogen.NO3_PER_N, 44.27, 0.02, MASSES),
    ("nitrite of N", nitrogen.NO2_PER_N, 3.2845, 0.001, MASSES),
    ("ammonia of N", nitrogen.NH3_PER_N, 1.2159, 0.001, MASSES),
    ("ammonium of N", nitrogen.NH4_PER_N, 1.2878, 0.001, MASSES),
    ("nitrate a day, g", nitrogen.nitrate_rise_mg_l(0.184, 1000), 0.8145, 0.0008, "0.184 g x 4.4268, in 1000 L"),
    ("nitrate a day", nitrogen.nitrate_rise_mg_l(0.184, 100), 8.145, 0.008, "0.184 g x 4.4268, in 100 L"),
    ("nitrate a week", 7 * nitrogen.nitrate_rise_mg_l(nitrogen.fish_tan_g(5, 0.4), 100), 57.02, 0.05, "the same, 7 days"),
    # One N gives two acid equivalents, so it uses one CaCO3 (100.087 g/mol).
    ("alkalinity a g of N", nitrogen.CACO3_PER_N, 100.087 / 14.0067, 0.01, "stoichiometry of nitrification"),
    ("alkalinity used", nitrogen.alkalinity_used_g(0.184), 1.314, 0.0005, "0.184 g x 7.14"),
    ("bicarbonate of CaCO3", nitrogen.NAHCO3_PER_CACO3, 1.6787, 0.0001, "NaHCO3 84.007, half of CaCO3 50.044 g/mol"),
    ("10 mg/L in 1000 gallons", nitrogen.bicarbonate_g(10, 3785.4), 63.5, 0.05, "3785.4 L x 10 mg/L x 1.6787"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance", "source"), [row[1:] for row in FEED], ids=[row[0] for row in FEED]
)
def test_from_feed_to_nitrate(computed, expected, tolerance, source):
    assert computed == pytest.approx(expected, abs=tolerance), source


def test_ammonia_weighs_what_a_library_of_fluids_says():
    # iapws carries the ammonia of Tillner-Roth & Friend 1998; N is 14.007 g/mol (IUPAC).
    molar = 14.007 * nitrogen.NH3_PER_N
    assert molar == pytest.approx(iapws.ammonia.NH3.M, rel=1e-4)


def test_units_agree_with_a_library_of_units():
    units = pint.UnitRegistry()
    litres = (40 * units.US_liquid_gallon).to("liter").magnitude
    rise = (0.184 * nitrogen.NO3_PER_N * units.gram / (40 * units.US_liquid_gallon)).to("mg/L").magnitude
    assert nitrogen.nitrate_rise_mg_l(0.184, litres) == pytest.approx(rise)
    dose = (10 * units("mg/L") * 40 * units.US_liquid_gallon * nitrogen.NAHCO3_PER_CACO3).to("gram").magnitude
    assert nitrogen.bicarbonate_g(10, litres) == pytest.approx(dose)


# --- Build-up between partial changes ---------------------------------------------------------------------------

TWICE = "14 and 7 times a rise of 1 mg/L a day: geometric series by hand"

BUILD_UP = [
    ("peak", nitrogen.peak_mg_l(10, 0.25), 40.0, EXACT, "10 / 0.25"),
    ("trough", nitrogen.trough_mg_l(10, 0.25), 30.0, EXACT, "10 x 0.75 / 0.25"),
    ("peak over tap", nitrogen.peak_mg_l(57.05, 0.5, 5), 119.1, 1e-6, "5 + 57.05 / 0.5"),
    ("steady at 10 %", nitrogen.changes_to_steady(0.10), 29, 0, "ln 0.05 / ln 0.90 = 28.4"),
    ("steady at 20 %", nitrogen.changes_to_steady(0.20), 14, 0, "ln 0.05 / ln 0.80 = 13.4"),
    ("steady at 25 %", nitrogen.changes_to_steady(0.25), 11, 0, "ln 0.05 / ln 0.75 = 10.4"),
    ("steady at 30 %", nitrogen.changes_to_steady(0.30), 9, 0, "ln 0.05 / ln 0.70 = 8.4"),
    ("steady at 50 %", nitrogen.changes_to_steady(0.50), 5, 0, "ln 0.05 / ln 0.50 = 4.3"),
    ("steady at 100 %", nitrogen.changes_to_steady(1.0), 1, 0, "the first change takes all"),
    ("share needed", nitrogen.share_needed(57.017, 40, 5), 1.629, 0.0005, "57.017 / 35: too long an interval"),
    ("their peak", nitrogen.peak_mg_l(57.017 / 4, 0.5, 5), 33.51, 0.005, "5 + 57.017 / 4 / 0.5"),
    ("their peak", nitrogen.peak_mg_l(57.017 / 7, 0.25, 5), 37.58, 0.005, "5 + 57.017 / 7 / 0.25"),
    ("two quarters a week, peak", nitrogen.peak_mg_l(3.5, 0.25), 14.0, EXACT, TWICE),
    ("one half a week, peak", nitrogen.peak_mg_l(7, 0.5), 14.0, EXACT, TWICE),
    ("two quarters a week, trough", nitrogen.trough_mg_l(3.5, 0.25), 10.5, EXACT, TWICE),
    ("one half a week, trough", nitrogen.trough_mg_l(7, 0.5), 7.0, EXACT, TWICE),
    ("interval", nitrogen.interval_days(1, 0.5, 40, 5), 17.5, EXACT, "0.5 x 35 / 1"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance", "source"),
    [row[1:] for row in BUILD_UP],
    ids=[f"{row[0]}-{i}" for i, row in enumerate(BUILD_UP)],
)
def test_build_up_between_changes(computed, expected, tolerance, source):
    assert computed == pytest.approx(expected, abs=tolerance), source


def test_two_quarters_on_one_day_are_less_than_a_half():
    # (1 - 0.25)^2 leaves 56.25 %: 43.75 % is taken out, and the day's trough is 0.5625 of its peak.
    high, low = nitrogen.cycle_mg_l(1, [Change(7, 0.25), Change(0, 0.25)])
    assert 1 - low / high == pytest.approx(0.4375, abs=EXACT)
    assert high == pytest.approx(nitrogen.peak_mg_l(7, 0.4375))
    assert high > nitrogen.peak_mg_l(7, 0.5)


def test_nothing_is_needed_without_a_rise():
    assert nitrogen.interval_days(0, 0.25, 40) == math.inf
    assert nitrogen.share_needed(0, 40) == 0


# A tank of 100 L is drained and filled by a pump while nitrate is made in it all the time. The solver knows nothing
# of shares and intervals: its state is the litres and the mg of nitrate in the tank, started on tap water.
TANK_L, PUMP_DAYS = 100.0, 10 / 86_400


def pump(state, days, litres_a_day, made_a_day, tap):
    """Return litres and mg after so many days of draining (less than 0), filling (more) or rest (0)."""

    def flow(_, now):
        litres, mg = now
        moved = litres_a_day * tap if litres_a_day > 0 else litres_a_day * mg / litres
        return [litres_a_day, moved + made_a_day]

    if not days:
        return state
    return solve_ivp(flow, (0.0, days), state, rtol=1e-8, atol=1e-9).y[:, -1]


def simulate(rise, changes, tap, rounds):
    """Return the mg/L before and after every change."""
    state, peaks, troughs = (TANK_L, TANK_L * tap), [], []
    for days, share in itertools.chain.from_iterable([changes] * rounds):
        state = pump(state, days, 0.0, rise * TANK_L, tap)
        peaks.append(state[1] / state[0])
        rate = share * TANK_L / PUMP_DAYS
        state = pump(state, PUMP_DAYS, -rate, rise * TANK_L, tap)
        state = pump(state, PUMP_DAYS, rate, rise * TANK_L, tap)
        troughs.append(state[1] / state[0])
    return peaks, troughs


def peaks_from_tap_water(rise, share, tap, rounds):
    """Return the mg/L before each of the first changes of a tank that began with tap water, change by change."""
    level, peaks = tap, []
    for _ in range(rounds):
        peaks.append(level + rise)
        level = peaks[-1] * (1 - share) + tap * share
    return peaks


@pytest.mark.parametrize(
    ("rise", "share", "days", "tap"), [(8.145, 0.5, 7, 5), (1.4, 0.25, 3.5, 0), (2.0, 0.9, 14, 20)]
)
def test_equal_changes_against_a_solved_tank(rise, share, days, tap):
    rounds = nitrogen.changes_to_steady(share, 1e-5)
    peaks, troughs = simulate(rise, [Change(days, share)], tap, rounds)
    assert peaks[-1] == pytest.approx(nitrogen.peak_mg_l(rise * days, share, tap), rel=1e-3)
    assert troughs[-1] == pytest.approx(nitrogen.trough_mg_l(rise * days, share, tap), rel=1e-3)
    assert peaks == pytest.approx(peaks_from_tap_water(rise * days, share, tap, rounds), rel=1e-3)
    # From steady state on, "within 5 %" counts the changes that the tank itself needed.
    nearness = [(peak - tap) / (peaks[-1] - tap) for peak in peaks]
    first = next(n for n, near in enumerate(nearness, start=1) if near >= 0.95)
    assert first == nitrogen.changes_to_steady(share)


@pytest.mark.parametrize(
    ("changes", "rise", "tap", "rounds"),
    [
        ([Change(3.5, 0.25), Change(3.5, 0.25)], 8.145, 0, 24),
        ([Change(3, 0.25), Change(4, 0.25)], 8.145, 5, 24),
        ([Change(1, 0.1), Change(2, 0.3), Change(4, 0.6)], 2.0, 10, 12),
        ([Change(7, 0.25)] * 9 + [Change(7, 0.95)], 1.0, 5, 4),
        ([Change(7, 0.25), Change(0, 0.25)], 3.0, 20, 24),
        ([Change(14, 0.5), Change(1, 0.1)], 0.7, 2, 16),
    ],
    ids=["even quarters", "uneven quarters", "three kinds", "with a deep clean", "two on one day", "long and short"],
)  # fmt: skip
def test_mixed_changes_against_a_solved_tank(changes, rise, tap, rounds):
    peaks, troughs = simulate(rise, changes, tap, rounds)
    high, low = nitrogen.cycle_mg_l(rise, changes, tap)
    assert high == pytest.approx(max(peaks[-len(changes) :]), rel=1e-3)
    assert low == pytest.approx(min(troughs[-len(changes) :]), rel=1e-3)


# --- What holds for any feed and any change ---------------------------------------------------------------------

feeds = st.floats(0, 200)
proteins = st.floats(0, 1)
shares = st.floats(0.01, 1)
rises = st.floats(0.01, 100)
taps = st.floats(0, 50)
intervals = st.floats(0.25, 60)
cycles = st.lists(st.builds(Change, intervals, shares), min_size=1, max_size=6)


@given(feeds, feeds, proteins, proteins)
def test_more_feed_and_more_protein_never_mean_less_nitrogen(feed, other_feed, protein, other_protein):
    for of in (nitrogen.fish_tan_g, nitrogen.feed_nitrogen_g):
        low = of(min(feed, other_feed), min(protein, other_protein))
        high = of(max(feed, other_feed), max(protein, other_protein))
        assert 0 <= low <= high
    # What fish make of the feed is part of all that is in it.
    assert nitrogen.fish_tan_g(feed, protein) <= nitrogen.feed_nitrogen_g(feed, protein)


@given(st.floats(0.1, 100), st.floats(0.05, 1), st.floats(1, 5000), st.floats(1.01, 10))
def test_the_rise_is_proportional_to_the_feed_and_falls_with_the_water(feed, protein, litres, more):
    rise = nitrogen.nitrate_rise_mg_l(nitrogen.feed_nitrogen_g(feed, protein), litres)
    fed_more = nitrogen.nitrate_rise_mg_l(nitrogen.feed_nitrogen_g(feed * more, protein), litres)
    assert fed_more == pytest.approx(rise * more)
    assert nitrogen.nitrate_rise_mg_l(nitrogen.feed_nitrogen_g(feed, protein), litres * more) < rise


@given(rises, shares, taps, intervals, st.floats(1.01, 10))
def test_a_longer_interval_means_a_higher_peak_and_trough(rise, share, tap, days, more):
    assert nitrogen.peak_mg_l(rise * days * more, share, tap) > nitrogen.peak_mg_l(rise * days, share, tap)
    assert nitrogen.trough_mg_l(rise * days * more, share, tap) >= nitrogen.trough_mg_l(
        rise * days, share, tap
    )


@given(rises, cycles, taps, st.data())
def test_stretching_an_interval_raises_a_cycle_and_a_larger_share_lowers_it(rise, changes, tap, data):
    at = data.draw(st.integers(0, len(changes) - 1))
    high, low = nitrogen.cycle_mg_l(rise, changes, tap)
    days, share = changes[at]
    longer = [*changes[:at], Change(days * 1.5, share), *changes[at + 1 :]]
    larger = [*changes[:at], Change(days, share + (1 - share) / 2), *changes[at + 1 :]]
    slack = 1 + 1e-9
    for one, other in ((nitrogen.cycle_mg_l(rise, longer, tap), (high, low)), ((high, low), nitrogen.cycle_mg_l(rise, larger, tap))):  # fmt: skip
        assert one[0] * slack >= other[0]
        assert one[1] * slack >= other[1]


@given(rises, taps)
def test_changing_all_of_the_water_leaves_one_rise_over_the_tap(rise, tap):
    assert nitrogen.peak_mg_l(rise, 1.0, tap) == tap + rise
    assert nitrogen.trough_mg_l(rise, 1.0, tap) == tap
    assert nitrogen.cycle_mg_l(rise, [Change(1, 1.0)], tap) == (tap + rise, tap)


@given(shares, taps, cycles)
def test_without_feed_the_water_is_tap_water(share, tap, changes):
    rise = nitrogen.nitrate_rise_mg_l(nitrogen.feed_nitrogen_g(0, 0.4), 100)
    assert nitrogen.peak_mg_l(rise, share, tap) == tap
    assert nitrogen.trough_mg_l(rise, share, tap) == tap
    assert nitrogen.cycle_mg_l(rise, changes, tap) == (tap, tap)


@given(rises, shares, taps)
def test_a_change_turns_the_peak_into_the_trough_and_the_rise_turns_it_back(rise, share, tap):
    peak, trough = nitrogen.peak_mg_l(rise, share, tap), nitrogen.trough_mg_l(rise, share, tap)
    assert peak * (1 - share) + tap * share == pytest.approx(trough)
    assert trough + rise == pytest.approx(peak)


@given(rises, shares, taps, intervals, st.integers(1, 8))
def test_equal_changes_as_a_cycle_are_the_plain_peak_and_trough(rise, share, tap, days, count):
    high, low = nitrogen.cycle_mg_l(rise, [Change(days, share)] * count, tap)
    assert high == pytest.approx(nitrogen.peak_mg_l(rise * days, share, tap), rel=1e-9)
    assert low == pytest.approx(nitrogen.trough_mg_l(rise * days, share, tap), rel=1e-9)


@given(rises, cycles, taps)
def test_a_cycle_is_where_repeating_it_from_tap_water_ends(rise, changes, tap):
    left = math.prod(1 - share for _, share in changes)
    # Rounds until less than 1e-12 of the first water is left, and one from there.
    rounds = 2 if left == 0 else math.ceil(math.log(1e-12) / math.log(left)) + 1
    level, peaks, troughs = tap, [], []
    for days, share in changes * rounds:
        peaks.append(level + rise * days)
        level = peaks[-1] * (1 - share) + tap * share
        troughs.append(level)
    expected = max(peaks[-len(changes) :]), min(troughs[-len(changes) :])
    assert nitrogen.cycle_mg_l(rise, changes, tap) == pytest.approx(expected, rel=1e-9)


@given(rises, cycles, taps, st.integers(0, 5))
def test_a_cycle_has_no_first_change(rise, changes, tap, turn):
    turned = changes[turn:] + changes[:turn]
    assert nitrogen.cycle_mg_l(rise, turned, tap) == pytest.approx(nitrogen.cycle_mg_l(rise, changes, tap))


@given(rises, shares, taps, st.integers(1, 200))
def test_peaks_climb_towards_the_steady_one(rise, share, tap, n):
    now, then = peaks_from_tap_water(rise, share, tap, n + 1)[-2:]
    assert tap < now <= then * (1 + EXACT)
    assert then <= nitrogen.peak_mg_l(rise, share, tap) * (1 + EXACT)


@given(st.floats(0.01, 0.99), st.floats(0.001, 0.5))
def test_the_fewest_changes_that_come_near_the_steady_peak(share, within):
    n = nitrogen.changes_to_steady(share, within)
    missing = [1 - peak / nitrogen.peak_mg_l(1, share) for peak in peaks_from_tap_water(1, share, 0, n)]
    assert missing[-1] <= within + EXACT
    assert n == 1 or missing[-2] > within - EXACT


targets = st.floats(60, 200)


@given(rises, shares, targets, taps)
def test_the_interval_is_the_inverse_of_the_peak(rise, share, target, tap):
    days = nitrogen.interval_days(rise, share, target, tap)
    assert nitrogen.peak_mg_l(rise * days, share, tap) == pytest.approx(target)


@given(rises, targets, taps)
def test_the_share_needed_is_the_inverse_of_the_peak_or_no_share_is_enough(rise, target, tap):
    share = nitrogen.share_needed(rise, target, tap)
    if share <= 1:
        assert nitrogen.peak_mg_l(rise, share, tap) == pytest.approx(target)
    else:
        assert nitrogen.peak_mg_l(rise, 1.0, tap) > target
