"""The change of water that an alarm asks for: which changes answer it, which one comes beside it, and when none helps."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.care.watching import IN_US, TANK, case_of, first_step, follows, history, in_order, meaning, notes
from support.recorded import listed, planned

from scheduler import care
from scheduler.care.watch.alarms import HELPS, LEAST_SHARE, MOST_SHARE


def told(lines, text=TANK, today="2026-12-01"):
    """Return what is said of an alarm; how long nothing is fed has tests of its own."""
    return [in_order(c) for c in meaning(lines, text, today) if c.key != "feed"]


def changes(lines, today, text=TANK, days=14):
    return listed(planned(text, today, history("2026-11-20", lines)), "water-change", days)


# --- hours and shares ---

DUE = "Change 50 % of the water now. "
TESTS = (
    "Test the water again on 2 December 2026, 3 December 2026 and 5 December 2026, until two tests are clean."
)
NITRITE = "act: Nitrite was 1 mg/L (as N) on 1 December 2026. The house limit is 0.5. "


@pytest.mark.parametrize(
    ("change", "reading", "answered"),
    [
        ("2026-12-01 08:00 did water-change 0.5", "2026-12-01 20:00 nitrite 1", False),
        ("2026-12-01 20:00 did water-change 0.5", "2026-12-01 08:00 nitrite 1", True),
        ("2026-11-30 did water-change 0.5", "2026-12-01 nitrite 1", False),
        ("2026-12-02 did water-change 0.5", "2026-12-01 nitrite 1", True),
        # Without both hours the order of recording tells.
        ("2026-12-01 08:00 did water-change 0.5", "2026-12-01 nitrite 1", False),
        ("2026-12-01 did water-change 0.5", "2026-12-01 20:00 nitrite 1", False),
    ],
)
def test_only_a_change_after_the_reading_answers_it(change, reading, answered):
    lines = [change, reading]
    plan = changes(lines, "2026-12-02")
    if answered:
        assert not any("overdue" in day for day in plan)
    else:
        assert plan[0] == "2026-12-02 overdue since 2026-12-01"
    done = f" The extra change of 50 % was done on {int(change[8:10])} December 2026."
    assert told(lines, today="2026-12-02") == [NITRITE + (TESTS + done if answered else DUE + TESTS)]


def test_what_is_recorded_after_the_reading_without_an_hour_answers_it():
    lines = ["2026-12-01 20:00 nitrite 1", "2026-12-01 did water-change 0.5"]
    assert told(lines) == [NITRITE + TESTS + " The extra change of 50 % was done on 1 December 2026."]
    assert changes(lines, "2026-12-01")[0] == "2026-12-01 done"


@pytest.mark.parametrize(
    ("shares", "left"),
    [
        # What stays is multiplied: 0.75 x 0.75 = 0.5625 stays of two quarters, and 1 - 0.5 / 0.5625 = 0.111 is left to change.
        ([0.25], 35),  # 1 - 0.5 / 0.75 = 0.333
        ([0.25, 0.25], 15),
        ([0.25, 0.35], 0),  # 0.75 x 0.65 = 0.4875 stays
        ([0.44], 15),  # 1 - 0.5 / 0.56 = 0.107
        ([0.45], 0),  # 1 - 0.5 / 0.55 = 0.091: a bucket of a change, which the tests tell better
        ([0.5], 0),
        ([1.0], 0),
        ([0.05], 50),  # 1 - 0.5 / 0.95 = 0.474
    ],
)
def test_a_change_that_was_too_small_leaves_the_rest(shares, left):
    lines = ["2026-12-01 08:00 nitrite 1"]
    lines += [f"2026-12-01 {9 + n:02}:00 did water-change {share}" for n, share in enumerate(shares)]
    rest = (
        f"Change another {left} % of the water now: the change of 1 December 2026 was less than the 50 % that it takes. {TESTS}"
        if left
        else f"{TESTS} The extra change of 50 % was done on 1 December 2026."
    )
    assert told(lines) == [NITRITE + rest]
    plan = planned(TANK, "2026-12-01", history("2026-11-20", lines))
    titles = [s.job.title for s in plan.series if s.job.variant == "alarm-2026-12-01" and list(s.between(dt.date(2026, 12, 1), dt.date(2026, 12, 1)))]  # fmt: skip
    assert [t for t in titles if "change" in t] == ([f"extra water change, {left} %"] if left else [])


def test_the_rest_has_its_litres_and_a_tick_of_it_its_share():
    # 100 x 50 x 40 cm are 200 L, less the 0.3 L of the animal; 35 % of it are 70.
    lines = ["2026-12-01 08:00 nitrite 1", "2026-12-01 09:00 did water-change 0.25"]
    assert "Drain 70 L (35 %)" in notes(lines, "water-change/alarm-2026-12-01")
    (job,) = [j for j in care.jobs_of(case_of(lines)) if j.variant == "alarm-2026-12-01" and j.key == "water-change"]  # fmt: skip
    assert job.share == 0.35


# --- side by side ---


@pytest.mark.parametrize(
    "rhythm",
    [
        "",
        '[enclosure.job.water-change]\nrule = "FREQ=WEEKLY;BYDAY=WE"\n',
        '[enclosure.job.water-change]\nrule = "FREQ=DAILY"\n',
        "[enclosure.job.water-change]\non = [2026-12-02, 2026-12-09]\n",
        '[enclosure.job.water-change]\nevery = "3 days"\n',
        '[enclosure.job.water-change]\nevery = "10 days"\nweekdays = ["Wed"]\n',
    ],
)
def test_two_changes_never_stand_side_by_side(rhythm):
    text = TANK + rhythm
    lines = ["2026-11-25 did water-change 0.5", "2026-12-01 nitrite 1"]
    for n in range(21):
        today = dt.date(2026, 12, 1) + dt.timedelta(days=n)
        days = [line.split()[0] for line in changes(lines, today.isoformat(), text, 60)]
        assert days[0] == today.isoformat()
        assert len(days) == len(set(days))
    # Once the extra one is done the others come as they would after any change.
    done = changes([*lines, "2026-12-02 did water-change 0.5"], "2026-12-02", text, 60)
    assert done.count("2026-12-02 done") == 1
    assert not any(line.startswith("2026-12-02") for line in done[1:])


def test_the_plain_change_keeps_half_an_interval_from_the_extra_one_and_does_not_move_daily():
    lines = ["2026-11-25 did water-change 0.5", "2026-12-01 nitrite 1"]
    weekly = TANK + '[enclosure.job.water-change]\nevery = "7 days"\n'
    assert changes(lines[:1], "2026-12-01", weekly, 21) == ["2026-12-02", "2026-12-09", "2026-12-16"]
    # Of 7 days 4 are half.
    assert changes(lines, "2026-12-01", weekly, 21) == ["2026-12-01", "2026-12-09", "2026-12-16"]
    for today in ("2026-12-02", "2026-12-05"):
        assert changes(lines, today, weekly)[:2] == [f"{today} overdue since 2026-12-01", "2026-12-09"]
    assert changes(lines, "2026-12-06", weekly)[:2] == ["2026-12-06 overdue since 2026-12-01", "2026-12-16"]


def test_alarms_of_two_days_ask_for_one_change():
    lines = ["2026-12-01 nitrite 0.13", "2026-12-02 ph 8", "2026-12-02 ammonia 2"]
    assert follows(lines) == {
        "water-change/alarm-2026-12-02": ["2026-12-02"],
        "water-test/alarm-2026-12-01": ["2026-12-02", "2026-12-03"],
        "water-test/alarm-2026-12-02": ["2026-12-03", "2026-12-04", "2026-12-06"],
    }
    assert first_step(lines, "water-change/alarm-2026-12-02").startswith("Change 50 % of the water today")


# --- chloramine ---

CHLORAMINE = TANK.replace(
    "[[enclosure]]",
    '[site.tap_water]\ndisinfectant = "chloramine"\ndisinfectant_level = "2.1 mg/L"\n[[enclosure]]',
    1,
)
# One N for each Cl2: 2.1 mg/L x 14.007 / 70.906 (IUPAC) = 0.415 mg/L of nitrogen.
BROUGHT = 2.1 * 14.007 / 70.906


def ammonia(value, **more):
    return told(["2026-12-01 ph 7.5", f"2026-12-01 ammonia {value}"], **more)


def test_with_chloramine_an_extra_change_is_asked_for_while_it_helps():
    # Half the water of 0.83 mg/L becomes (0.83 + 0.415) / 2 = 0.62; of 0.82 mg/L it takes less than a quarter out.
    assert BROUGHT / 0.82 > HELPS > BROUGHT / 0.83
    (helps,) = ammonia(0.83, text=CHLORAMINE)
    assert helps == (
        "look: Ammonia was 0.83 mg/L (as N) on 1 December 2026; at pH 7.5 (measured) and 25 °C (as the heater is set) 0.015 of it "
        "is un-ionised, the part that harms. The house limit is 0.25 in all. Change 50 % of the water now. Test the water again on 2 December 2026 and 3 December 2026, until two tests are clean."
    )
    (binds,) = ammonia(0.82, text=CHLORAMINE)
    assert binds == (
        "look: Ammonia was 0.82 mg/L (as N) on 1 December 2026; at pH 7.5 (measured) and 25 °C (as the heater is set) 0.014 of it "
        "is un-ionised, the part that harms. The house limit is 0.25 in all. Bind the ammonia in the tank with a conditioner "
        "that binds ammonia, by its label, and so in all new water; or take water without chloramine. Changing water does not help: "
        "the chloramine of the tap leaves 0.41 mg/L of ammonia in new water. See that the filter runs; it takes the rest out. Some kits go on "
        "showing what is bound: ask for one that tells free ammonia. Test the water again on 2 December 2026 and 3 December 2026, until two tests "
        "are clean."
    )
    lines = ["2026-12-01 ph 7.5", "2026-12-01 ammonia 0.82"]
    assert follows(lines, CHLORAMINE) == {"water-test/alarm-2026-12-01": ["2026-12-02", "2026-12-03"]}
    # Whoever tests the day after reads it in the note of the test.
    assert first_step(lines, "water-test/alarm-2026-12-01", CHLORAMINE).startswith(
        "Bind the ammonia with a conditioner"
    )


def test_the_level_that_is_assumed_is_told_as_such():
    text = CHLORAMINE.replace('disinfectant_level = "2.1 mg/L"\n', "")
    (words,) = ammonia(0.5, text=text)
    assert "the chloramine of the tap, at the level that is assumed, leaves 0.79 mg/L of ammonia" in words


@given(st.floats(0.26, 8.0), st.floats(0.5, 4.0), st.floats(6.0, 8.8), st.floats(0.0, 0.1))
def test_following_the_extra_changes_ends(start, level, ph, made_a_day):
    """Mixed water: each change that is asked for is made, and the tank makes some ammonia each day: the asking comes to an end."""
    text = CHLORAMINE.replace("2.1 mg/L", f"{level:.4f} mg/L")
    value, new = start, level * 14.007 / 70.906
    for n in range(60):
        day = dt.date(2026, 12, 1) + dt.timedelta(days=n)
        lines = [f"{day} ph {ph:.2f}", f"{day} ammonia {value:.6f}"]
        (job,) = [j for j in care.jobs_of(case_of(lines, text)) if j.key == "water-change" and j.variant] or [
            None
        ]
        if job is None:
            break
        value = value + job.share * (new - value) + made_a_day * 0.05
    else:
        pytest.fail(f"still asked for at {value}")
    # Where it ends without being clean, it ends with what works without a change.
    # What the pH alone says is no matter here.
    words = " ".join(w for w in told(lines, text) if "Ammonia was" in w)
    assert not words or "Bind the ammonia in the tank" in words


def test_changes_that_do_not_help_ask_for_a_test_of_the_tap_where_nobody_knows_it():
    lines = [
        "2026-12-01 ph 7.5",
        "2026-12-01 ammonia 0.5",
        "2026-12-01 did water-change 0.5",
        "2026-12-02 ammonia 0.46",
    ]
    ask = (
        "Test new water for ammonia too, once it is treated: it is high after a change. If the tap carries chloramine that is up to "
        "0.79 mg/L: then a conditioner that binds ammonia, by its label, helps, and a change does not."
    )
    (first,) = told(lines[:2])
    (second,) = told(lines, today="2026-12-02")
    assert ask not in first
    assert "0.25 in all. Change 50 % of the water now. " + ask in second
    known = TANK.replace("[[enclosure]]", '[site.tap_water]\ndisinfectant = "chlorine"\n[[enclosure]]', 1)
    (chlorine,) = told(lines, known, "2026-12-02")
    assert ask not in chlorine


@given(st.floats(0.26, 20.0), st.floats(0.0, 0.9))
def test_the_share_brings_mixed_water_to_the_limit_within_its_bounds(value, level):
    text = CHLORAMINE.replace("2.1 mg/L", f"{max(level, 0.01):.4f} mg/L")
    lines = ["2026-12-01 ph 7.0", f"2026-12-01 ammonia {value}"]
    new = max(level, 0.01) * 14.007 / 70.906
    jobs = [j for j in care.jobs_of(case_of(lines, text)) if j.key == "water-change" and j.variant]
    for job in jobs:
        after = value + job.share * (new - value)
        assert LEAST_SHARE <= job.share <= MOST_SHARE
        assert after <= 0.25 + 1e-9 or job.share == MOST_SHARE
        # Not more than it takes, but for the steps of 5 %.
        assert job.share == LEAST_SHARE or value + (job.share - 0.05) * (new - value) > 0.25 - 1e-4


# --- acid water ---

ACID = (
    "Bind the ammonia in the tank first, with a conditioner that binds ammonia, by its label: under pH 7 little of it harms, but new "
    "water lifts the pH, and that part with it. "
)
ACID_TESTS = "Test the water again on 2 December 2026, 3 December 2026, 4 December 2026 and 5 December 2026, until two tests are clean."


def test_ammonia_in_acid_water_is_bound_first_and_a_fifth_is_changed_a_day():
    # Emerson et al. 1975 at 25 degC: 0.564 % are un-ionised at pH 7, 0.448 % at pH 6.9.
    acid = ["2026-12-01 ph 6.9", "2026-12-01 ammonia 1"]
    assert told(acid) == [
        "look: Ammonia was 1 mg/L (as N) on 1 December 2026; at pH 6.9 (measured) and 25 °C (as the heater is set) 0.0045 of it is "
        "un-ionised, the part that harms. The house limit is 0.25 in all. "
        + ACID
        + "Then change 20 % a day, with a test of pH and "
        "ammonia before each. Change 20 % of the water now. " + ACID_TESTS
    ]
    (neutral,) = told(["2026-12-01 ph 7.0", "2026-12-01 ammonia 1"])
    assert (
        "0.0056 of it is un-ionised, the part that harms. The house limit is 0.25 in all. Change 50 % of the water now."
        in neutral
    )
    steps = notes(acid, "water-change/alarm-2026-12-01").split("\n")
    assert steps[0].endswith(f"1. {ACID.strip()}")
    assert steps[1] == "2. Then change 20 % a day, with a test of pH and ammonia before each."
    assert any("Drain 40 L (20 %)" in step for step in steps)
    # Tested again, and still high: a fifth of that day.
    assert follows([*acid, "2026-12-01 did water-change 0.2", "2026-12-02 ammonia 0.8"]) == {
        "water-change/alarm-2026-12-02": ["2026-12-02"],
        "water-test/alarm-2026-12-02": ["2026-12-03", "2026-12-04", "2026-12-05", "2026-12-06"],
    }


def test_nitrite_keeps_its_own_rule_at_any_ph():
    lines = ["2026-12-01 ph 6.5", "2026-12-01 nitrite 1"]
    assert told(lines) == [NITRITE + DUE + TESTS]
    both = [*lines, "2026-12-01 ammonia 1"]
    assert told(both) == [
        NITRITE
        + "Bind the ammonia first, with a conditioner that binds ammonia, by its label; then change 50 % of the water now. "
        + TESTS,
        "look: Ammonia was 1 mg/L (as N) on 1 December 2026; at pH 6.5 (measured) and 25 °C (as the heater is set) 0.0018 of it is "
        "un-ionised, the part that harms. The house limit is 0.25 in all. "
        + ACID
        + "The change that nitrite asks for comes after "
        "that, with a test of pH before it. " + ACID_TESTS,
    ]
    text = notes(both, "water-change/alarm-2026-12-01")
    assert f"1. {ACID.strip()}\n" in text
    assert "Drain 100 L (50 %)" in text
    assert "20 %" not in text


def test_amounts_in_other_units():
    (words,) = told(["2026-12-01 ph 6.9", "2026-12-01 temperature 25", "2026-12-01 ammonia 1"], IN_US)
    assert "at pH 6.9 (measured) and 77 °F (measured)" in words
