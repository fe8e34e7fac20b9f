"""The bounds of what nitrate readings count for: how many, over how long, how far back, and beside which changes."""

from __future__ import annotations

import datetime as dt

import pytest
from watching import TANK, case_of

from scheduler.care.figures.nitrogen import by_readings
from scheduler.care.measured_nitrate import points

FIRST = dt.date(2026, 11, 1)


def record(days, rate=6.0, share=0.5, *, changes=True, start=FIRST):
    """Return readings on days after a first one, of a tank in which nitrate rises evenly; each is followed by a change."""
    level, lines, before = 10.0, [], 0
    for n, day in enumerate(days):
        level += rate * (day - before)
        # What a kit tells is never quite even: a tenth up, a tenth down.
        lines.append(f"{start + dt.timedelta(days=day)} nitrate {level + 0.1 * (-1) ** n:.1f}")
        if changes:
            lines.append(f"{start + dt.timedelta(days=day)} did water-change {share}")
            level *= 1.0 - share
        before = day
    return lines


@pytest.mark.parametrize(
    ("days", "told"),
    [
        ([0, 3, 7, 10, 14], True),
        ([0, 3, 7, 10, 13], False),
        ([0, 5, 10, 14], False),
        ([0, 5, 10, 30], False),
    ],
)
def test_five_readings_over_fourteen_days_tell_a_rate_and_less_does_not(days, told):
    assert (by_readings(case_of(record(days))) is not None) == told


@pytest.mark.parametrize(("back", "counted"), [(120, 2), (121, 1)])
def test_readings_of_120_days_before_the_last_count(back, counted):
    last = dt.date(2027, 1, 31)
    lines = [f"{last - dt.timedelta(days=back)} nitrate 20", f"{last} nitrate 30"]
    assert len(points(case_of(lines))) == counted


@pytest.mark.parametrize(
    ("days", "odd"), [([0, 3, 7, 10, 14], None), ([0, 3, 7, 10, 14, 17], FIRST + dt.timedelta(days=7))]
)
def test_of_five_readings_none_is_left_out_and_of_six_one_is(days, odd):
    lines = record(days)
    lines[4] = f"{lines[4][:10]} nitrate 160"
    found = by_readings(case_of(lines))
    assert found is not None and found.odd == odd


SLOW = record([0, 4, 8, 12, 16, 20], 0.3, changes=False)


@pytest.mark.parametrize(
    ("change", "lacks"),
    [
        ([], "no water change is on record between them"),
        # One on the day of the last reading, after it, lies not between them; the day before does.
        (
            [f"{FIRST + dt.timedelta(days=20)} did water-change 0.5"],
            "no water change is on record between them",
        ),
        (
            [f"{FIRST - dt.timedelta(days=1)} did water-change 0.5"],
            "no water change is on record between them",
        ),
        ([f"{FIRST + dt.timedelta(days=19)} did water-change 0.01"], ""),
        ([f"{FIRST} did water-change 0.01"], ""),
    ],
)
def test_less_often_needs_a_change_on_record_between_the_readings(change, lacks):
    found = by_readings(case_of([*SLOW, *change]))
    assert found is not None
    assert (found.direction, found.lacks) == ("less often", lacks)


def test_a_change_without_a_share_is_the_usual_half():
    def rate(lines):
        found = by_readings(case_of(lines))
        assert found is not None
        return found.rate.rate

    lines = record([0, 3, 7, 10, 14, 17])
    bare = [line.removesuffix(" 0.5") if "did" in line else line for line in lines]
    assert rate(bare) == pytest.approx(rate(lines)) == pytest.approx(6.0, abs=0.1)


@pytest.mark.parametrize(("rate", "direction"), [(6.0, "more often"), (0.3, "less often"), (1.8, "as it is")])
def test_what_is_planned_by_is_the_rate_or_its_upper_end(rate, direction):
    found = by_readings(case_of(record([0, 4, 8, 12, 16, 20, 24], rate), TANK))
    assert found is not None
    assert (found.direction, found.lacks) == (direction, "")
    assert (
        found.rise
        == {"more often": found.rate.rate, "less often": found.rate.high, "as it is": None}[direction]
    )


def test_a_tank_in_which_nitrate_falls_between_changes_is_not_planned_by():
    # The level falls by 1 mg/L a day without any change on record.
    falling = [
        f"{FIRST + dt.timedelta(days=4 * n)} nitrate {60 - 4 * n + 0.1 * (-1) ** n:.1f}" for n in range(7)
    ]
    found = by_readings(case_of(falling))
    assert found is not None and found.rate.high < 0.0
    assert found.lacks == "between changes it cannot fall: a change is not on record, or plants take it up"
    assert found.rise is None
