"""What nitrate readings count for: how many, over how long, how far back, beside which changes, and what is planned by."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import TANK, case_of

from scheduler.care.figures.nitrogen import by_readings
from scheduler.care.measured_nitrate import judge, points, seen_since

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
        ([0, 7, 14], True),
        ([0, 3, 7, 10, 14], True),
        ([0, 3, 7, 10, 13], False),
        ([0, 14], False),
        ([0, 30], False),
    ],
)
def test_three_readings_over_fourteen_days_tell_a_rate_and_less_does_not(days, told):
    assert (by_readings(case_of(record(days))) is not None) == told


@pytest.mark.parametrize("last", [dt.date(2027, 1, 31), dt.date(2027, 6, 1), dt.date(2027, 7, 26)])
def test_readings_count_from_the_beginning_of_the_half_year_before(last):
    since = seen_since(last)
    assert 180 <= (last - since).days < 360
    lines = [f"{day} nitrate 20" for day in (since - dt.timedelta(days=1), since, last)]
    assert [day for day, _ in points(case_of(lines))] == [since, last]


def test_the_beginning_moves_once_in_half_a_year():
    # So that what is planned does not move because an old reading was dropped with each new one.
    begun = [seen_since(dt.date(2026, 1, 1) + dt.timedelta(days=n)) for n in range(720)]
    assert len(set(begun)) == 720 // 180 + 1 and begun == sorted(begun)


@pytest.mark.parametrize("place", [2, 4, 5])
def test_a_reading_that_stands_alone_is_left_out_and_named(place):
    lines = record([0, 3, 7, 10, 14, 17])
    calm = by_readings(case_of(lines))
    lines[2 * place] = f"{lines[2 * place][:10]} nitrate 250"
    found = by_readings(case_of(lines))
    assert found is not None and calm is not None
    assert found.odd == dt.date.fromisoformat(lines[2 * place][:10])
    assert (calm.rate.n, found.rate.n) == (6, 5)
    assert found.rate.rate == pytest.approx(calm.rate.rate, rel=0.1)


def test_two_readings_that_agree_are_not_odd():
    # From 2 mg/L a day to 6: the second high reading says that the first one was right.
    lines = record(range(0, 64, 7), 2.0)
    level = float(lines[-2].split()[-1]) * 0.5 + 7 * 6.0
    high = [f"2027-01-10 nitrate {level:.0f}", "2027-01-10 did water-change 0.5"]
    once, twice = (
        by_readings(case_of([*lines, *high, *more]))
        for more in ([], [f"2027-01-17 nitrate {level * 0.5 + 42:.0f}"])
    )
    assert once is not None and once.odd == dt.date(2027, 1, 10) and once.rise is None
    assert twice is not None and twice.odd is None and twice.rate.low > 3.0
    assert twice.lacks == "only the last reading does so far"


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
    lines = record([0, 3, 7, 10, 14, 17])
    bare = [line.removesuffix(" 0.5") if "did" in line else line for line in lines]
    assert by_readings(case_of(bare)) == by_readings(case_of(lines)) is not None


@pytest.mark.parametrize(("rate", "direction"), [(6.0, "more often"), (0.3, "less often"), (1.8, "as it is")])
def test_what_is_planned_by_lies_in_the_upper_half_of_the_range(rate, direction):
    found = by_readings(case_of(record([0, 4, 8, 12, 16, 20, 24], rate), TANK))
    assert found is not None
    assert (found.direction, found.lacks) == (direction, "")
    assert found.rate.low < rate < found.rate.high
    if direction == "as it is":
        assert found.rise is None
    else:
        assert found.rise is not None and found.rate.rate < found.rise < found.rate.high


def test_a_tank_in_which_nitrate_falls_between_changes_is_not_planned_by():
    # The level falls by 1 mg/L a day without any change on record.
    falling = [
        f"{FIRST + dt.timedelta(days=4 * n)} nitrate {60 - 4 * n + 0.1 * (-1) ** n:.1f}" for n in range(7)
    ]
    found = by_readings(case_of(falling))
    assert found is not None
    assert found.lacks == "between changes it cannot fall: a change is not on record, or plants take it up"
    assert found.rise is None


# --- The rule alone: half is changed each week for water without nitrate, 40 mg/L at most ---


def days_at(rise):
    return max(1, min(14, int(20 / max(rise, 0.1))))


def weekly(values, unwritten=()):
    """Return what weekly readings say; half the water is changed after each, but for those that nobody wrote down."""
    days = range(0, 7 * len(values), 7)
    changes = [(day, 0.5) for n, day in enumerate(days) if n not in unwritten]
    return judge(list(zip(days, values, strict=True)), changes, 0.0, 2.0, days_at, zero=FIRST)


def test_colours_that_stay_the_same_leave_the_plan_alone():
    # 2 mg/L a day are 28 before a change: 20 on the chart, at times 40; 20 / 2 = 10 days.
    for values in ([20.0] * 12, [20.0, 40.0] * 6, [20.0, 20.0, 40.0] * 4):
        found = weekly(values)
        assert (found.direction, found.rise) == ("as it is", None)


def test_one_colour_too_high_moves_nothing_and_two_in_a_row_do():
    calm = [20.0] * 8
    assert weekly([*calm, 160.0]).rise is None
    assert weekly([*calm, 160.0]).odd == FIRST + dt.timedelta(days=56)
    moved = weekly([*calm, 80.0, 80.0, 80.0])
    assert moved.direction == "more often" and moved.rise is not None and days_at(moved.rise) < 10


def test_a_change_that_nobody_wrote_down_moves_nothing():
    # 3 mg/L a day and the food's 2: the plan has moved; without the sixth change on record it stays where it was.
    level, values = 20.0, []
    for _ in range(12):
        values.append(round(level, 1))
        level = level / 2 + 21.0
    whole, gap = weekly(values), weekly(values, unwritten=(5,))
    assert whole.rise is not None and gap.rise is not None
    assert days_at(gap.rise) == days_at(whole.rise)


def test_the_last_reading_alone_is_said_to_ask():
    found = weekly([20.0, 20.0, 20.0, 10.0])
    assert (found.direction, found.rise) == ("less often", None)
    assert found.lacks == "only the last reading does so far"
