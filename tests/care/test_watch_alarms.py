"""Ammonia and nitrite: the whole sentence, the change and the tests that follow, and when they are over."""

from __future__ import annotations

import pytest
from support.care.watching import (
    IN_US,
    NEW,
    TANK,
    first_step,
    follows,
    history,
    in_order,
    meaning,
    switched_off,
)
from support.recorded import listed, planned

# Emerson et al. 1975, their table at 25 degC: 5.38 % are un-ionised at pH 8, 0.566 % at pH 7 (from memory).
# Of 2 mg/L that is 0.108 and 0.0113.


def said(lines, text=TANK):
    """Return what is said of the alarms; how long nothing is fed has tests of its own."""
    return [in_order(c) for c in meaning(lines, text) if c.key != "feed"]


@pytest.mark.parametrize(
    ("lines", "text", "words"),
    [
        (
            ["2026-12-01 ph 8.0", "2026-12-01 ammonia 2"],
            TANK,
            "act: Ammonia was 2 mg/L (as N) on 1 December 2026; at pH 8 (measured) and 25 °C (as the heater is set) 0.11 "
            "of it is un-ionised, the part that harms. The house limit is 0.05. Change 50 % of the water now. Test the water again on 2 December 2026, 3 December 2026 and 5 December 2026, until two tests are clean.",
        ),
        (
            ["2026-12-01 ph 7.0", "2026-12-01 ammonia 2"],
            TANK,
            "look: Ammonia was 2 mg/L (as N) on 1 December 2026; at pH 7 (measured) and 25 °C (as the heater is set) "
            "0.011 of it is un-ionised, the part that harms. The house limit is 0.25 in all. Change 50 % of the water now. Test the water again on 2 December 2026 and 3 December 2026, until two tests are clean.",
        ),
        (
            ["2026-12-01 ammonia 2"],
            TANK.replace("[[enclosure]]", "[site.tap_water]\nph = 7.0\n[[enclosure]]", 1),
            "look: Ammonia was 2 mg/L (as N) on 1 December 2026; at pH 7 (of the tap) and 25 °C (as the heater is set) "
            "0.011 of it is un-ionised, the part that harms. The house limit is 0.25 in all. Change 50 % of the water now. Test the water again on 2 December 2026 and 3 December 2026, until two tests are clean.",
        ),
        (
            ["2026-12-01 temperature 25", "2026-12-01 ammonia 2"],
            IN_US,
            "act: Ammonia was 2 mg/L (as N) on 1 December 2026; at pH 8 (not measured, the safe side) and 77 °F "
            "(measured) 0.11 of it is un-ionised, the part that harms. The house limit is 0.05. Change 50 % of the water now. Test the water again on 2 December 2026, 3 December 2026 and 5 December 2026, until two tests are clean.",
        ),
        (
            ["2026-12-01 nitrite 0.12"],
            TANK,
            "look: Nitrite was 0.12 mg/L (as N) on 1 December 2026. The house limit is 0.1. Change 25 % of the water now. Test the water again on 2 December 2026 and 3 December 2026, until two tests are clean.",
        ),
        (
            ["2026-12-01 nitrite 2"],
            NEW,
            "act: Nitrite was 2 mg/L (as N) on 1 December 2026. The house limit is 0.5. Change 50 % of the water now. Go on with the daily cycle test.",
        ),
        (
            ["2026-12-01 nitrite 2"],
            NEW + "[enclosure.job.cycle-test]\noff = true\n",
            "act: Nitrite was 2 mg/L (as N) on 1 December 2026. The house limit is 0.5. Change 50 % of the water now.",
        ),
        (
            ["2026-12-01 nitrite 2"],
            switched_off("water-change", "water-test"),
            "act: Nitrite was 2 mg/L (as N) on 1 December 2026. The house limit is 0.5.",
        ),
    ],
)  # fmt: skip
def test_an_alarm_says_reading_rule_and_what_is_done(lines, text, words):
    assert said(lines, text) == [words]
    # What takes the reading back takes everything back.
    assert said(lines[:-1], text) == []
    assert follows(lines[:-1], text) == {}


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        ("2026-12-01 nitrite 120", "Nitrite was 120 mg/L (as N)"),
        ("2026-12-01 ammonia 120", "Ammonia was 120 mg/L (as N)"),
        ("2026-12-01 nitrite 0.463", "Nitrite was 0.46 mg/L (as N)"),
    ],
)
def test_amounts_are_plain_digits(line, amount):
    (words,) = said([line])
    assert amount in words
    assert "e+" not in words


def test_next_to_nothing_is_told_as_such():
    # At pH 4.5 it is a share of 1.8e-5 by the same formula.
    words = next(w for w in said(["2026-12-01 ph 4.5", "2026-12-01 ammonia 0.5"]) if "Ammonia was" in w)
    assert "25 °C (as the heater is set) under 0.001 of it is un-ionised" in words


@pytest.mark.parametrize(
    ("nitrite", "percent"),
    [
        # 1 - 0.1 / value, up to the next 5 %, within 25 and 50.
        (0.10, 25),  # 0
        (0.13, 25),  # 23.1
        (0.14, 30),  # 28.6
        (0.15, 35),  # 33.3
        (0.18, 45),  # 44.4
        (0.19, 50),  # 47.4
        (0.30, 50),  # 66.7: more than half at once is a shock
    ],
)
def test_the_extra_change_brings_the_value_down_to_its_limit(nitrite, percent):
    lines = [f"2026-12-01 nitrite {nitrite}"]
    (words,) = said(lines)
    assert f"Change {percent} % of the water now" in words
    assert first_step(lines, "water-change/alarm-2026-12-01").startswith(
        f"Change {percent} % of the water today;"
    )


def test_any_change_of_water_is_the_extra_change():
    lines = ["2026-11-30 did water-change 0.5", "2026-12-01 nitrite 1"]
    weekly = TANK + '[enclosure.job.water-change]\nevery = "7 days"\n'

    def changes(today, *more):
        return listed(planned(weekly, today, history("2026-11-30", [*lines, *more])), "water-change", 14)

    assert changes("2026-12-01") == ["2026-12-01", "2026-12-07", "2026-12-14"]
    assert changes("2026-12-02") == ["2026-12-02 overdue since 2026-12-01", "2026-12-07", "2026-12-14"]
    # It counts as the next regular change too: that comes a week after it.
    assert changes("2026-12-02", "2026-12-02 did water-change 0.5") == ["2026-12-02 done", "2026-12-09"]


def test_a_later_alarm_takes_the_place_of_the_one_before():
    lines = ["2026-12-01 nitrite 0.6", "2026-12-02 nitrite 0.2"]
    assert follows(lines[:1]) == {
        "water-change/alarm-2026-12-01": ["2026-12-01"],
        "water-test/alarm-2026-12-01": ["2026-12-02", "2026-12-03", "2026-12-05"],
    }
    assert follows(lines) == {
        "water-change/alarm-2026-12-02": ["2026-12-02"],
        "water-test/alarm-2026-12-02": ["2026-12-03", "2026-12-04"],
    }
    assert len(said(lines)) == 1


def test_each_substance_has_its_own_end():
    lines = [
        "2026-12-01 nitrite 1",
        "2026-12-01 ammonia 2",
        "2026-12-02 nitrite 0",
        "2026-12-03 nitrite 0",
        "2026-12-03 ammonia 0",
    ]
    # What is over is not told beside what is not.
    assert [(c.key, c.verdict) for c in meaning(lines) if c.key != "feed"] == [("water-change", "act")]
    assert follows([*lines, "2026-12-04 ammonia 0.25"]) == {}
    assert said([*lines, "2026-12-04 ammonia 0.25"])[1] == (
        "fine: Nitrite was clean in the tests of two days, the second on 3 December 2026. The alarm is over. "
        "Extra changes and tests are no longer planned for it."
    )


def test_a_clean_test_on_the_day_of_the_alarm_does_not_count():
    lines = ["2026-12-01 08:00 nitrite 1", "2026-12-01 20:00 nitrite 0", "2026-12-02 nitrite 0"]
    assert follows(lines)
    assert not follows([*lines, "2026-12-03 nitrite 0"])
