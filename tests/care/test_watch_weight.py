"""Weights: what is said of a loss, in numbers that a scale shows, and what follows before and after the vet."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from support.care.watching import BEGUN, IN_US, TANK, first_step, follows, history, meaning, said
from support.recorded import listed, planned

from scheduler.care.watch.weight import called_since, judge
from scheduler.handbook import weighing

LIGHT = ["2026-12-01 weight.wren 264", "2026-12-01 weight.wren 265"]
"""Twice, since one weighing may err."""


@pytest.mark.parametrize(
    ("lines", "text", "words"),
    [
        (LIGHT, TANK,
         "act: Wren weighed 265 g on 1 December 2026, 12 % under its best of 300 g (20 October 2026). "
         "The limit is 10 %. A visit to the vet is due at once."),
        (LIGHT, IN_US,
         "act: Wren weighed 265 g (9.3 oz) on 1 December 2026, 12 % under its best of 300 g (10.6 oz) (20 October 2026). "
         "The limit is 10 %. A visit to the vet is due at once."),
        # 29 of 300 g are 9.7 %: not told as 10, which would be over the limit.
        (["2026-12-01 weight.wren 271"], TANK,
         "look: Wren weighed 271 g on 1 December 2026, 9.7 % under its best of 300 g (20 October 2026). "
         "That is over half of the limit of 10 %. Wren is weighed again on 8 December 2026."),
        (["2026-12-01 weight.wren 265"], TANK,
         "look: Wren weighed 265 g on 1 December 2026, 12 % under its best of 300 g (20 October 2026). "
         "The limit is 10 %. Weigh Wren again by 4 December 2026: one weighing may err. If it is as light, the vet is due."),
        (["2026-12-01 weight.wren 5200", "2026-12-30 weight.wren 4600", "2026-12-31 weight.wren 4600"], TANK.replace(', mass = "300 g"', ""),
         "act: Wren weighed 4600 g on 31 December 2026, 12 % under its best of 5200 g (1 December 2026). "
         "The limit is 10 %. A visit to the vet is due at once."),
    ],
)  # fmt: skip
def test_a_loss_is_told_as_the_scale_shows_it(lines, text, words):
    assert said(lines, text) == [words]


def test_the_last_weight_of_a_day_is_the_last_by_the_clock():
    assert follows(["2026-12-01 08:00 weight.wren 299", "2026-12-01 20:00 weight.wren 260"])
    later = ["2026-12-01 08:00 weight.wren 260", "2026-12-01 20:00 weight.wren 299"]
    assert not any(c.verdict == "act" for c in meaning(later))


def test_the_best_weight_is_that_of_the_last_year():
    # 300 g are of 20 October 2026: a year and a day later they are forgotten.
    assert follows(["2027-01-05 weight.wren 269", "2027-10-20 weight.wren 269"])
    assert not follows(["2027-01-05 weight.wren 269", "2027-10-21 weight.wren 269"])


def test_the_limit_is_the_keepers_and_is_told_as_such():
    own = TANK.replace("[[enclosure]]", "[site.house_values]\nweight_loss = 0.05\n[[enclosure]]", 1)
    (loss,) = meaning(["2026-12-01 weight.wren 280", "2026-12-02 weight.wren 280"], own)
    assert (loss.verdict, loss.source.status) == ("act", "keeper's value")


def test_each_animal_is_held_against_its_own_best():
    two = TANK.replace(
        "arrived = 2026-10-20}",
        'arrived = 2026-10-20}, {name = "Teal", arrived = 2026-10-20, mass = "400 g"}',
    )
    lines = ["2026-12-01 weight.wren 295", "2026-11-30 weight.teal 350", "2026-12-01 weight.teal 350"]
    assert follows(lines, two) == {"vet-check/weight-teal": ["2026-12-01"]}
    assert [c.reading for c in meaning(lines, two)] == [
        "Teal weighed 350 g on 1 December 2026, 12 % under its best of 400 g (20 October 2026)."
    ]


def test_a_visit_to_the_vet_ends_the_alarm_until_more_is_lost():
    seen = [*LIGHT, "2026-12-02 did vet-check"]
    assert follows(LIGHT) == {"vet-check/weight-wren": ["2026-12-01"]}
    plan = planned(TANK, "2026-12-04", history(BEGUN, LIGHT))
    assert listed(plan, "vet-check")[0] == "2026-12-04 overdue since 2026-12-01"
    # It goes on being weighed. A few grams more are no news: half of the limit, 5 % of 265 g, is 13 g.
    assert follows([*seen, "2026-12-09 weight.wren 253"]) == {"weigh-measure/again-wren": ["2026-12-16"]}
    assert said([*seen, "2026-12-09 weight.wren 253"]) == [
        "look: Wren weighed 253 g on 9 December 2026, 16 % under its best of 300 g (20 October 2026). The limit is 10 %. "
        "The vet saw it on 2 December 2026. Wren is weighed again on 16 December 2026."
    ]
    assert follows([*seen, "2026-12-09 weight.wren 251"]) == {"vet-check/weight-wren": ["2026-12-09"]}
    plan = planned(TANK, "2026-12-10", history(BEGUN, [*seen, "2026-12-09 weight.wren 251"]))
    assert listed(plan, "vet-check")[0] == "2026-12-10 overdue since 2026-12-09"


def test_a_visit_before_its_best_weight_knows_nothing_of_the_loss():
    lines = [
        "2026-10-25 did vet-check",
        "2026-11-10 weight.wren 320",
        "2026-11-30 weight.wren 270",
        "2026-12-01 weight.wren 270",
    ]
    assert follows(lines) == {"vet-check/weight-wren": ["2026-12-01"]}


def test_the_notes_of_the_next_weighing_say_whom_and_why():
    step = first_step(["2026-12-01 weight.wren 280"], "weigh-measure/again-wren")
    assert step.startswith(
        "Wren weighed 280 g on 1 December 2026, 7 % under its best. Weigh it again, before feeding"
    )


GRAMS = st.lists(st.floats(-2.0, 2.0), min_size=4, max_size=12)


@given(GRAMS, st.floats(0.0, 0.5))
def test_a_fall_is_told_where_the_library_finds_the_slope_under_nothing(noise, a_day):
    days = [3 * n for n in range(len(noise))]
    grams = [round(300.0 - a_day * day + off, 3) for day, off in zip(days, noise, strict=True)]
    first = dt.date(2026, 11, 1)
    text = TANK.replace(', mass = "300 g"', "")
    found = meaning(
        [f"{first + dt.timedelta(days=d)} weight.wren {g}" for d, g in zip(days, grams, strict=True)], text
    )
    fit = sm.OLS(grams, sm.add_constant(np.array(days, dtype=float))).fit()
    _low, high = fit.conf_int()[1] * 7
    falls = any("a week" in c.rule for c in found)
    if abs(high) > 1e-6:
        assert falls == (high < 0 and grams[-1] < max(grams) and not any(c.verdict == "act" for c in found))
    if falls:
        (rule,) = [c.rule for c in found]
        numbers = [
            float(word.strip("(")) for word in rule.split() if word.strip("(").replace(".", "").isdigit()
        ]
        assert numbers[:2] == [
            pytest.approx(-fit.params[1] * 7, rel=0.06, abs=6e-3),
            pytest.approx(-high, rel=0.06, abs=6e-3),
        ]


# --- many weighings: one that errs is no illness, and a fall is one before it is deep ---

NORMAL = st.lists(st.floats(-1.0, 1.0), min_size=2, max_size=30)


def weighed(grams, every=30):
    first = dt.date(2026, 1, 1)
    return [(first + dt.timedelta(days=n * every), g) for n, g in enumerate(grams)]


@given(NORMAL)
def test_weights_within_two_percent_call_nobody(off):
    assert called_since(weighed([300.0 * (1.0 + 0.02 * x) for x in off]), 0.10) is None


@given(NORMAL, st.floats(0.1, 100.0))
def test_the_unit_of_a_weight_decides_nothing(off, factor):
    series = weighed([300.0 * (1.0 + 0.2 * x) for x in off])
    scaled = [(day, g * factor) for day, g in series]
    one, other = judge(series, 0.10), judge(scaled, 0.10)
    assert one.lost == pytest.approx(other.lost, abs=1e-9)


@given(NORMAL)
def test_a_loss_of_twice_the_limit_calls_at_once(off):
    series = weighed([300.0 * (1.0 + 0.01 * x) for x in off])
    day = series[-1][0] + dt.timedelta(days=30)
    assert called_since([*series, (day, 300.0 * 0.75)], 0.10) == day


def test_a_female_with_eggs_is_not_ill():
    """Facts of the trade: a gravid female gains and loses about a tenth (common practice, no published source)."""
    year = [500, 502, 499, 530, 558, 503, 500, 498, 501]
    assert called_since(weighed(year), 0.10, swings=True) is None


def test_the_filter_is_that_of_the_library():
    """The local level of statsmodels, with the same variances, has the same filtered and smoothed levels."""
    grams = [300.0, 303.0, 296.0, 290.0, 291.0, 280.0, 284.0]
    logs = [float(np.log(g)) for g in grams]
    days = [float(7 * n) for n in range(len(grams))]
    by_then = weighing.levels(days, logs, 0.03)
    model = sm.tsa.UnobservedComponents(np.array(logs), "llevel")
    # Nothing is known before the first weighing.
    model.ssm.initialize_known(np.array([0.0]), np.array([[1e9]]))
    told = model.smooth([0.03**2, 7 * weighing.DRIFT**2])
    assert [level.value for level in by_then] == pytest.approx(list(told.filtered_state[0]), abs=1e-5)
    assert weighing.smoothed(days, by_then) == pytest.approx(list(told.smoothed_state[0]), abs=1e-5)
