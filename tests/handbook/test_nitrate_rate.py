"""A tank's own rate of nitrate: against Kalman's filter and quadrature where those are exact, and tanks whose rate is known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import cumulative_trapezoid
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter
from support.depth import examples

from scheduler.handbook import nitrate_rate
from scheduler.handbook.nitrate_rate import CHART, KitAccuracy, Prior, WaterChange, follow, kit_of, prior_of

EXACT = KitAccuracy(scatters=(1e-9,))
"""A kit whose readings scatter by LEAST_SCATTER alone, alike at any level."""

CHART_KIT = KitAccuracy(scatters=(0.15,), lowest=5.0)


@pytest.fixture
def plain(monkeypatch):
    """Take away what is not in the textbook: wild readings, jumps, what is not on record, the kit's own error, the coarse grid."""
    for name in ("ODD", "JUMPS", "SHORT", "UNSEEN", "DRIFT"):
        monkeypatch.setattr(nitrate_rate, name, 0.0)
    monkeypatch.setattr(nitrate_rate, "KIT_ERROR", 1e-6)
    monkeypatch.setattr(nitrate_rate, "LEAST_SCATTER", 2.0)
    monkeypatch.setattr(nitrate_rate, "LEVELS", 400)
    monkeypatch.setattr(nitrate_rate, "RATES", 150)
    return monkeypatch


# From day 0 on at 20 mg/L, 2 mg/L a day, a half changed on days 7 and 14 for tap water of 10 mg/L.
#   day 7: 34, then 22; day 14: 36, then 23; day 21: 37; read with errors of 1, -2, 3 and 0.5.
READ = [(0, 21.0), (7, 32.0), (14, 39.0), (21, 37.5)]
HALVES = [WaterChange(day=7, share=0.5), WaterChange(day=14, share=0.5)]
# The share of the first level, of the rate, and what the tap brought, at each reading: by hand, from the lines above.
DESIGN = np.array([(1.0, 0.0, 0.0), (1.0, 7.0, 0.0), (0.5, 10.5, 5.0), (0.25, 12.25, 7.5)])


@pytest.mark.parametrize("spread", [0.3, 0.5])
def test_without_drift_it_is_bayes_by_quadrature(plain, spread):
    found = follow(READ, HALVES, 10.0, Prior(rate=1.5, spread=spread), EXACT)[-1]
    # For each rate the first level, of which nothing is known, is summed over; then the rates are.
    logs = np.linspace(math.log(1.5) - 3, math.log(1.5) + 3, 4001)
    levels = np.linspace(0.0, 60.0, 601)
    weights = stats.norm.pdf(logs, math.log(1.5), spread)[:, None] * np.ones_like(levels)
    for (_, value), (first, rate, tap) in zip(READ, DESIGN, strict=True):
        weights = weights * stats.norm.pdf(
            value, first * levels[None, :] + rate * np.exp(logs)[:, None] + tap, 2
        )
    below = cumulative_trapezoid(weights.sum(axis=1), logs, initial=0)
    for share in (0.025, 0.25, 0.5, 0.75, 0.975):
        assert found.quantile(share) == pytest.approx(
            np.exp(np.interp(share, below / below[-1], logs)), rel=0.02
        )


def test_with_drift_it_is_kalmans_filter(plain):
    plain.setattr(nitrate_rate, "DRIFT", 0.015)
    # A narrow prior, so that the logarithm is as good as even: a drift of 1.5 % a day of 2 mg/L a day is 0.03.
    read = dict(READ) | {28: 40.0, 35: 36.5, 42: 44.0}
    shares = dict.fromkeys((7, 14, 21, 28, 35), 0.5)
    found = follow(
        list(read.items()),
        [WaterChange(day=d, share=f) for d, f in shares.items()],
        10.0,
        Prior(rate=2.0, spread=0.12),
        EXACT,
    )[-1]
    model = KalmanFilter(k_endog=1, k_states=2)
    model.bind(np.array([[read.get(day, math.nan)] for day in range(43)]))
    model["design"], model["obs_cov"] = np.array([[1.0, 0.0]]), np.array([[4.0]])
    model["transition"] = np.stack(
        [np.array([[1 - shares.get(d, 0.0), 1.0], [0.0, 1.0]]) for d in range(43)], axis=2
    )
    model["state_intercept"] = np.array([[shares.get(d, 0.0) * 10.0 for d in range(43)], [0.0] * 43])
    model["selection"], model["state_cov"] = np.eye(2), np.diag([0.0, 0.03**2])
    model.initialize_known(np.array([20.0, 2.0]), np.diag([1e6, (0.12 * 2.0) ** 2]))
    filtered = model.filter()
    mean, sd = filtered.filtered_state[1, -1], math.sqrt(filtered.filtered_state_cov[1, 1, -1])
    assert found.quantile(0.5) == pytest.approx(mean, rel=0.02)
    assert found.quantile(0.975) - found.quantile(0.025) == pytest.approx(2 * 1.96 * sd, rel=0.08)


@pytest.mark.parametrize("rate", [0.5, 2.0, 6.0])
def test_readings_without_error_tell_the_rate(plain, rate):
    plain.setattr(nitrate_rate, "LEAST_SCATTER", 0.5)
    level, read, changes = 12.0, [], []
    for week in range(12):
        read.append((7 * week, level))
        changes.append(WaterChange(day=7 * week, share=0.4))
        level = 0.6 * level + 0.4 * 5.0 + 7 * rate
    found = follow(read, changes, 5.0, prior_of(2.0), EXACT)[-1]
    assert found.quantile(0.5) == pytest.approx(rate, rel=0.05)


def test_a_kits_own_error_is_in_the_interval(plain):
    narrow = Prior(rate=2.0, spread=0.01)
    plain.setattr(nitrate_rate, "KIT_ERROR", 0.1)
    found = follow([(0, 20.0)], [], 0.0, narrow, EXACT)[-1]
    # Hardly anything but the kit's 10 % is left: the normal law's 95 %, in the logarithm.
    wide = math.hypot(1.96 * 0.1, 0.05)
    assert math.log(found.quantile(0.975) / found.quantile(0.5)) == pytest.approx(wide, rel=0.1)


# --- What a reading tells of the level ---


@pytest.mark.parametrize("value", [0.0, 12.5, 40.0, 160.0])
def test_a_number_is_as_likely_as_the_normal_law_has_it(value):
    grid = nitrate_rate._Grid(5.0, prior_of(2.0), KitAccuracy(scatters=(0.05, 0.15)))
    for scatter in (0.05, 0.15):
        spread = np.hypot(scatter * grid.axes.levels, nitrate_rate.LEAST_SCATTER)
        expected = stats.norm.pdf(value, grid.axes.levels, spread)
        assert grid._likely(value, scatter) == pytest.approx(expected, abs=1e-12)


def test_a_colour_is_as_likely_as_its_neighbours_leave_room():
    grid = nitrate_rate._Grid(5.0, prior_of(2.0), CHART_KIT)
    edges = [-math.inf, 2.5, 7.5, 15.0, 30.0, 60.0, 120.0, 240.0]  # halfway between the colours, by hand
    spread = np.hypot(0.15 * grid.axes.levels, nitrate_rate.LEAST_SCATTER)
    everything = np.zeros_like(grid.axes.levels)
    for colour, low, high in zip(CHART, edges[:-1], edges[1:], strict=True):
        expected = stats.norm.cdf(high, grid.axes.levels, spread) - stats.norm.cdf(
            low, grid.axes.levels, spread
        )
        found = grid._likely(colour, 0.15)
        assert found == pytest.approx(expected, abs=1e-9)
        everything += found
    assert everything[grid.axes.levels < 100] == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("values", "lowest"),
    # House values: three quarters stand on the customary chart, or some repeat and what differs is 1.5 times apart.
    [
        ([40, 40, 40, 40], 5.0),
        ([20, 40, 80], 5.0),
        ([0, 0, 5, 10, 10], 5.0),
        ([20, 40, 30, 40, 20], 5.0),
        ([8.85, 17.7, 17.7], 8.85),
        ([10, 14.9, 14.9], 0.0),
        ([35, 40, 41, 45], 0.0),
        ([12.1, 14.5, 17.2], 0.0),
    ],
)
def test_what_looks_read_off_a_chart(values, lowest):
    assert kit_of(values).lowest == lowest


# --- What is not as the record says ---


def weekly(rate, weeks=12, seed=1, scatter=0.05, chart=False, jump=(99, 1.0), lost=(), wild=None):
    """Return readings and changes of a tank: half is changed each week, for water of 5 mg/L, after the reading."""
    rng, level, read, changes = np.random.default_rng(seed), 25.0, [], []
    for week in range(weeks):
        value = level * (1 + scatter * rng.standard_normal())
        value = min(CHART, key=lambda c: abs(c - value)) if chart else round(value, 1)
        read.append((7 * week, wild[1] if wild and wild[0] == week else value))
        if week not in lost:
            changes.append(WaterChange(day=7 * week, share=0.5))
        level = 0.5 * level + 0.5 * 5.0 + 7 * rate * (jump[1] if week >= jump[0] else 1.0)
    return read, changes


def last(record, by_food=2.0):
    read, changes = record
    return follow(read, changes, 5.0, prior_of(by_food), kit_of([value for _, value in read]))


@pytest.mark.parametrize("value", [0.0, 3.0, 90.0, 160.0, 400.0])
def test_a_wild_reading_is_known_and_moves_next_to_nothing(value):
    calm, wild = last(weekly(2.0)), last(weekly(2.0, wild=(8, value)))
    assert wild[8].odd > 0.5
    assert max(belief.odd for belief in calm) < 0.1
    assert wild[11].quantile(0.5) == pytest.approx(calm[11].quantile(0.5), rel=0.06)


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize("chart", [False, True])
def test_weeks_after_a_jump_the_interval_holds_the_new_rate(chart, factor):
    found = last(weekly(2.0, weeks=20, chart=chart, jump=(10, factor), scatter=0.05))
    # Off a chart, whose colours are twice as far apart as what a week adds, it takes two more.
    belief = found[16 if chart else 14]
    assert belief.quantile(0.025) < 2.0 * factor < belief.quantile(0.975)


def test_a_doubted_reading_is_believed_once_the_next_one_agrees():
    # The rate jumps to three times; the first reading after it may be wild, the second says that it was not.
    first, second = (last(weekly(2.0, weeks=weeks, jump=(8, 3.0)))[9].odd for weeks in (10, 11))
    assert first > 0.5 > 0.1 > second


def test_a_change_that_is_not_on_record_moves_less_where_it_may_have_been_made():
    read, changes = weekly(2.0, lost=(6,))
    may = [*changes, WaterChange(day=42, share=0.5, chance=0.5)]
    truth = 2.0
    off, less_off = (abs(last((read, some))[7].quantile(0.5) - truth) for some in (changes, may))
    assert less_off < off


def test_a_chance_is_a_mixture():
    grid = nitrate_rate._Grid(5.0, prior_of(2.0), CHART_KIT)
    table = grid.read(grid.start(), 40.0)[0]
    made = grid.change(table, WaterChange(day=0, share=0.5))
    half = grid.change(table, WaterChange(day=0, share=0.5, chance=0.5))
    assert half == pytest.approx(0.5 * made + 0.5 * table, abs=1e-15)


# --- Does the interval hold the truth? ---


@pytest.mark.parametrize(("chart", "scatter"), [(True, 0.15), (False, 0.05), (False, 0.15)])
def test_the_interval_holds_the_true_rate_as_often_as_it_says(chart, scatter):
    # 150 tanks drawn as the filter believes they are, but for drifts; the kit's error as it has it.
    rng, held, tanks = np.random.default_rng(20261201), 0, 150
    for seed in range(tanks):
        rate, kit = 2.0 * math.exp(0.5 * rng.standard_normal()), 1 + 0.1 * rng.standard_normal()
        read, changes = weekly(rate * kit, weeks=8, seed=seed, scatter=scatter, chart=chart)
        found = last((read, changes))[-1]
        held += found.quantile(0.025) <= rate <= found.quantile(0.975)
    # It may hold more: jumps and changes that are not on record, for which there is room in it, do not come here.
    assert held >= stats.binom.ppf(0.001, tanks, 0.95)


# --- What must hold always ---

days = st.integers(0, 100)
plans = st.lists(
    st.builds(WaterChange, day=days, share=st.integers(5, 100).map(lambda n: n / 100)), max_size=8
)
records = st.lists(st.tuples(days, st.integers(0, 3000).map(lambda n: n / 10)), min_size=1, max_size=8)


@settings(max_examples=examples(25))
@given(records, plans, st.integers(0, 30), st.sampled_from([None, 0.05, 2.0, 30.0]))
def test_any_record_tells_a_rate_in_order(read, changes, tap, by_food):
    found = follow(read, changes, tap, prior_of(by_food), kit_of([value for _, value in read]))
    assert [belief.day for belief in found] == sorted(day for day, _ in read)
    for belief in found:
        quantiles = [belief.quantile(share) for share in (0.01, 0.3, 0.5, 0.85, 0.99)]
        assert quantiles[0] > 0.0 and quantiles == sorted(quantiles) and quantiles[-1] < math.inf
        assert 0.0 <= belief.odd <= 1.0


@settings(max_examples=examples(15))
@given(records, plans, st.randoms(use_true_random=False), st.sampled_from([-400, 1, 739_951]))
def test_neither_order_nor_where_days_are_counted_from_matters(read, changes, random, shift):
    read = list({day: (day, value) for day, value in read}.values())
    changes = list({change.day: change for change in changes}.values())
    kit = kit_of([value for _, value in read])
    before = follow(read, changes, 5.0, prior_of(2.0), kit)[-1]
    moved = [(day + shift, value) for day, value in read]
    later = [WaterChange(day=change.day + shift, share=change.share) for change in changes]
    random.shuffle(moved)
    random.shuffle(later)
    after = follow(moved, later, 5.0, prior_of(2.0), kit)[-1]
    assert (after.below == before.below).all()


def test_a_finer_grid_tells_the_same(monkeypatch):
    record = weekly(3.0, chart=True, scatter=0.15)
    coarse = last(record)[-1]
    monkeypatch.setattr(nitrate_rate, "LEVELS", 200)
    monkeypatch.setattr(nitrate_rate, "RATES", 150)
    fine = last(record)[-1]
    for share in (0.025, 0.3, 0.5, 0.85, 0.975):
        assert coarse.quantile(share) == pytest.approx(fine.quantile(share), rel=0.02)


def test_without_readings_nothing_is_told():
    assert follow([], HALVES, 5.0, prior_of(2.0), CHART_KIT) == []


def test_where_the_food_is_not_known_one_reading_leaves_nearly_everything_open():
    found = follow([(0, 40.0)], [], 0.0, prior_of(None), CHART_KIT)[-1]
    assert found.quantile(0.975) / found.quantile(0.025) > 30


@pytest.mark.parametrize(
    ("read", "changes", "tap", "said"),
    [
        ([(0, -1.0)], [], 0, "nitrate is 0 mg/L or more, not -1"),
        ([(0, math.nan)], [], 0, "nitrate is 0 mg/L or more, not nan"),
        ([(0, 20.0)], [], -2, "nitrate is 0 mg/L or more, not -2"),
        ([(0, 20.0)], [WaterChange(day=3, share=0.0)], 0, "not a share of 0"),
        ([(0, 20.0)], [WaterChange(day=3, share=50.0)], 0, "not a share of 50"),
    ],
)
def test_what_cannot_be_is_refused(read, changes, tap, said):
    with pytest.raises(ValueError, match=said):
        follow(read, changes, tap, prior_of(2.0), CHART_KIT)
