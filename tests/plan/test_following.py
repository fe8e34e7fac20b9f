"""What was done moves the plan: each case is a record of a few lines and the days that follow from it."""

from __future__ import annotations

import datetime as dt

import pytest
from support.recorded import history, listed, load, planned

from scheduler import workflow
from scheduler.plan import moves, next_days

TANK = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
latitude = 53.3
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {kind = "canister"}
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm"}]
"""
WEEKENDS = TANK + '[[keeper]]\nname = "Noor"\nweekdays = ["Sat", "Sun"]\n'
BEGUN = "2026-12-01"


@pytest.mark.parametrize(
    ("done", "next_day"),
    [
        ("2026-12-05", "2026-12-19"),
        # Early, late, and on a day that was not planned: the interval counts from there.
        ("2026-12-02", "2026-12-16"),
        ("2026-12-08", "2026-12-22"),
    ],
)
def test_the_next_time_is_done_plus_the_interval(done, next_day):
    plan = planned(TANK, done, history(BEGUN, [f"{done} did water-change"]))
    days = listed(plan, "water-change", 35)
    later = (dt.date.fromisoformat(next_day) + dt.timedelta(days=14)).isoformat()
    assert days == [f"{done} done", next_day, later]


def test_done_twice_the_later_one_counts():
    plan = planned(
        TANK, "2026-12-07", history(BEGUN, ["2026-12-05 did water-change", "2026-12-07 did water-change"])
    )
    assert listed(plan, "water-change", 15) == ["2026-12-07 done", "2026-12-21"]


@pytest.mark.parametrize(
    ("today", "first"),
    [
        ("2026-12-19", "2026-12-19"),
        ("2026-12-20", "2026-12-20 due since 2026-12-19"),
        ("2026-12-21", "2026-12-21 due since 2026-12-19"),
        # Its window is two days.
        ("2026-12-22", "2026-12-22 overdue since 2026-12-19"),
        ("2027-03-01", "2027-03-01 overdue since 2026-12-19"),
    ],
)
def test_what_was_not_done_stays_and_says_since_when(today, first):
    days = listed(planned(TANK, today, history(BEGUN, ["2026-12-05 did water-change"])), "water-change", 40)
    assert days[0] == first
    # The next one after it is at least half an interval away, and there is none between.
    assert (dt.date.fromisoformat(days[1]) - dt.date.fromisoformat(today)).days >= 7
    assert not any("since" in day for day in days[1:])


def test_what_fell_due_before_the_record_began_counts_as_done():
    plan = planned(TANK, "2026-12-01", history("2026-12-01", ["2026-12-01 did daily-look"]))
    for key in ("water-change", "filter-check", "vet-check", "weigh-measure"):
        assert listed(plan, key, 400)[0] >= "2026-12-01"
        assert "since" not in listed(plan, key, 400)[0]


def test_without_a_record_nothing_is_open():
    site, day = load(TANK), dt.date(2026, 12, 20)
    bare = workflow.make_plan(site, day, day, 60)
    assert bare.done == ()
    assert all(series.open is None and not series.met and not series.moves for series in bare.series)


@pytest.mark.parametrize(
    ("done", "next_day"),
    [
        ("2026-12-05", "2026-12-19"),  # Saturday to Saturday
        ("2026-12-08", "2026-12-20"),  # a Tuesday: the Sunday two days before is within the window
        ("2026-12-03", "2026-12-19"),  # a Thursday: the Saturday two days after
    ],
)
def test_the_next_time_falls_on_a_day_that_somebody_has(done, next_day):
    days = listed(planned(WEEKENDS, done, history(BEGUN, [f"{done} did water-change"])), "water-change", 40)
    assert days[1] == next_day
    assert all(dt.date.fromisoformat(day).weekday() >= 5 for day in days[1:])


def test_an_overdue_job_is_shown_on_a_day_that_nobody_has_too():
    days = listed(
        planned(WEEKENDS, "2026-12-23", history(BEGUN, ["2026-12-05 did water-change"])), "water-change", 30
    )
    assert days[0] == "2026-12-23 overdue since 2026-12-19"
    assert all(dt.date.fromisoformat(day).weekday() >= 5 for day in days[1:])


# --- by calendar ---


@pytest.mark.parametrize(
    ("done", "today", "expected"),
    [
        # 4 December 2026 is a Friday; the extra job comes on Mondays and Fridays.
        ("2026-12-04", "2026-12-04", ["2026-12-04 done", "2026-12-07", "2026-12-11"]),
        # Late: Saturday's meets Friday.
        ("2026-12-05", "2026-12-05", ["2026-12-05 done", "2026-12-07", "2026-12-11"]),
        # Missed since Friday: one is open, on the days between ...
        ("2026-11-30", "2026-12-06", ["2026-12-06 overdue since 2026-12-04", "2026-12-07", "2026-12-11"]),
        # ... and on the next day the day's own stands for both.
        ("2026-11-30", "2026-12-07", ["2026-12-07 overdue since 2026-12-04", "2026-12-11", "2026-12-14"]),
        # A day early is within its window of a day.
        ("2026-12-03", "2026-12-03", ["2026-12-03 done", "2026-12-07", "2026-12-11"]),
        # Two days early is not: it was done over and above.
        ("2026-12-02", "2026-12-02", ["2026-12-02 done", "2026-12-04", "2026-12-07"]),
    ],
)
def test_a_job_by_calendar_is_open_once(done, today, expected):
    text = (
        TANK
        + '[[enclosure.extra_job]]\nkey = "skim"\ntitle = "skim"\nrule = "FREQ=WEEKLY;BYDAY=MO,FR"\nwindow = "1 day"\n'
    )
    plan = planned(text, today, history("2026-11-30", ["2026-11-30 did skim", f"{done} did skim"]))
    assert listed(plan, "skim", 30)[:3] == expected


def test_a_daily_job_that_was_missed_for_a_week_is_open_once():
    plan = planned(TANK, "2026-12-10", history("2026-12-01", ["2026-12-03 did daily-look"]))
    assert listed(plan, "daily-look", 3) == [
        "2026-12-10 overdue since 2026-12-04",
        "2026-12-11",
        "2026-12-12",
    ]


def test_what_is_never_logged_counts_as_done_on_its_day():
    text = TANK.replace("latitude", 'not_logged = ["daily-look", "water-change"]\nlatitude')
    plan = planned(text, "2026-12-10", history("2026-12-01", ["2026-12-03 did filter-check"]))
    assert listed(plan, "daily-look", 2) == ["2026-12-10", "2026-12-11"]
    site = load(TANK)
    assert listed(plan, "water-change", 40) == listed(
        workflow.make_plan(site, plan.today, plan.today, 60), "water-change", 40
    )


# --- single days ---


ARRIVES = TANK.replace("carapace", "arrived = 2026-12-10, carapace")


@pytest.mark.parametrize(
    ("lines", "today", "expected"),
    [
        ([], "2026-12-20", ["2026-12-24"]),
        ([], "2026-12-24", ["2026-12-24"]),
        ([], "2026-12-25", ["2026-12-25 due since 2026-12-24"]),
        ([], "2027-01-20", ["2027-01-20 overdue since 2026-12-24"]),
        # Days ahead is early, and done.
        (["2026-12-21 did basking-review/2026-12-10"], "2026-12-22", []),
        (["2026-12-28 did basking-review/2026-12-10"], "2026-12-29", []),
    ],
)
def test_a_job_of_a_single_day_stays_until_it_is_done(lines, today, expected):
    found = history(BEGUN, ["2026-12-01 did daily-look", *lines])
    assert listed(planned(ARRIVES, today, found), "basking-review") == expected


def test_of_several_single_days_one_is_open():
    text = ARRIVES.replace("arrived", "quarantine = true, arrived")
    # 14, 42 and 70 days after the arrival: 24 December, 21 January, 18 February.
    found = history(BEGUN, ["2026-12-01 did daily-look"])
    assert listed(planned(text, "2027-01-25", found), "faecal-test") == [
        "2027-01-25 overdue since 2026-12-24",
        "2027-02-18",
    ]
    found = history(BEGUN, ["2026-12-01 did daily-look", "2027-01-22 did faecal-test"])
    assert listed(planned(text, "2027-01-25", found), "faecal-test") == ["2027-02-18"]


# --- filter service keeps off a change ---


def test_the_next_filter_service_keeps_three_days_off_the_next_change():
    before = listed(
        planned(TANK, "2026-12-05", history(BEGUN, ["2026-12-05 did daily-look"])), "filter-check"
    )[0]
    service = dt.date.fromisoformat(before)
    # A change done 13 days before the day of the service: the next one would be on the day after it.
    done = service - dt.timedelta(days=13)
    plan = planned(
        TANK, done.isoformat(), history(BEGUN, ["2026-12-01 did daily-look", f"{done} did water-change"])
    )
    change = dt.date.fromisoformat(listed(plan, "water-change")[1])
    moved = dt.date.fromisoformat(listed(plan, "filter-check")[0])
    assert change == done + dt.timedelta(days=14)
    assert abs((moved - change).days) >= 3
    assert 0 < abs((moved - service).days) <= 3


def test_what_moves_is_told():
    site, today = load(TANK), dt.date(2026, 12, 2)
    before = workflow.make_plan(site, today, today, 366, history(BEGUN, ["2026-12-01 did daily-look"]))
    after = workflow.make_plan(
        site, today, today, 366, history(BEGUN, ["2026-12-01 did daily-look", "2026-12-02 did water-change"])
    )
    (move,) = moves(next_days(before.series, today), next_days(after.series, today))
    assert (move.job.key, move.after, move.open) == ("water-change", dt.date(2026, 12, 16), False)
