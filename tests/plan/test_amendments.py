"""The plan, bent by hand: each case is a record of a few lines and the days that follow from it."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.recorded import history, listed, load, planned

from scheduler import care
from scheduler.history import Amendment
from scheduler.plan.amendments import bend, bent_days

TANK = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
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
extra_job = [
  {key = "pane", title = "Wipe the pane", rule = "FREQ=WEEKLY;BYDAY=TU,FR"},
  {key = "barrel", title = "Rinse the barrel", on = [2026-12-10, 2026-12-20]},
]
"""
BEGUN = "2026-12-01"
DID = "2026-12-05 did water-change"


@pytest.mark.parametrize(
    ("today", "lines", "days"),
    [
        # The interval is 14 days: due on the 19th, and from there on.
        ("2026-12-06", [DID], ["2026-12-19", "2027-01-02"]),
        (
            "2026-12-06",
            [DID, "2026-12-06 postponed water-change 2026-12-19/2026-12-23"],
            ["2026-12-23", "2027-01-06"],
        ),
        ("2026-12-06", [DID, "2026-12-06 skipped water-change 2026-12-19"], ["2027-01-02", "2027-01-16"]),
        # Put off, and put off again: the last word counts.
        (
            "2026-12-22",
            [
                DID,
                "2026-12-19 postponed water-change 2026-12-19/2026-12-22",
                "2026-12-22 postponed water-change 2026-12-22/2026-12-26",
            ],
            ["2026-12-26", "2027-01-09"],
        ),
        # Not done on the day that was chosen either: it is open since then.
        (
            "2026-12-24",
            [DID, "2026-12-06 postponed water-change 2026-12-19/2026-12-23"],
            ["2026-12-24 due since 2026-12-23", "2027-01-06"],
        ),
        # What is overdue, put off: it is not shown until then.
        (
            "2026-12-26",
            [DID, "2026-12-26 postponed water-change 2026-12-19/2026-12-30"],
            ["2026-12-30", "2027-01-13"],
        ),
        # Done all the same, before the day that was chosen, and on the day on which it was said.
        (
            "2026-12-20",
            [DID, "2026-12-06 postponed water-change 2026-12-19/2026-12-23", "2026-12-20 did water-change"],
            ["2026-12-20 done", "2027-01-03"],
        ),
        (
            "2026-12-19",
            [DID, "2026-12-19 postponed water-change 2026-12-19/2026-12-23", "2026-12-19 did water-change"],
            ["2026-12-19 done", "2027-01-02"],
        ),
        # Recorded later for the day before it was said: that was this time.
        (
            "2026-12-19",
            [DID, "2026-12-19 postponed water-change 2026-12-19/2026-12-23", "2026-12-18 did water-change"],
            ["2027-01-01", "2027-01-15"],
        ),
        # Done, and the next time put off on the same day: that holds.
        (
            "2026-12-05",
            [DID, "2026-12-05 postponed water-change 2026-12-19/2026-12-23"],
            ["2026-12-05 done", "2026-12-23"],
        ),
    ],
)
def test_by_interval(today: str, lines: list[str], days: list[str]) -> None:
    assert listed(planned(TANK, today, history(BEGUN, lines)), "water-change", 45)[: len(days)] == days


@pytest.mark.parametrize(
    ("today", "lines", "days"),
    [
        # Tuesdays and Fridays.
        ("2026-12-07", ["2026-12-04 did pane"], ["2026-12-08", "2026-12-11", "2026-12-15"]),
        (
            "2026-12-07",
            ["2026-12-04 did pane", "2026-12-07 skipped pane 2026-12-08"],
            ["2026-12-11", "2026-12-15"],
        ),
        (
            "2026-12-07",
            ["2026-12-04 did pane", "2026-12-07 postponed pane 2026-12-08/2026-12-10"],
            ["2026-12-10", "2026-12-11", "2026-12-15"],
        ),
        # Done on the day that was chosen, it has not met the one on the day after.
        (
            "2026-12-10",
            ["2026-12-04 did pane", "2026-12-07 postponed pane 2026-12-08/2026-12-10", "2026-12-10 did pane"],
            ["2026-12-10 done", "2026-12-11", "2026-12-15"],
        ),
        # Left undone on the day that was chosen.
        (
            "2026-12-11",
            ["2026-12-04 did pane", "2026-12-07 postponed pane 2026-12-08/2026-12-10"],
            ["2026-12-11 overdue since 2026-12-10", "2026-12-15", "2026-12-18"],
        ),
        # What was missed since the last time goes with it, and is not open beside it.
        (
            "2026-12-16",
            ["2026-12-04 did pane", "2026-12-16 postponed pane 2026-12-08/2026-12-17"],
            ["2026-12-17", "2026-12-18", "2026-12-22"],
        ),
        (
            "2026-12-16",
            ["2026-12-04 did pane", "2026-12-16 skipped pane 2026-12-08"],
            ["2026-12-18", "2026-12-22"],
        ),
        # Moved there and back again.
        (
            "2026-12-07",
            [
                "2026-12-04 did pane",
                "2026-12-07 postponed pane 2026-12-08/2026-12-10",
                "2026-12-07 postponed pane 2026-12-10/2026-12-08",
            ],
            ["2026-12-08", "2026-12-11"],
        ),
        # Of a day that is none of the rule's, as after a change of the description: nothing.
        (
            "2026-12-07",
            ["2026-12-04 did pane", "2026-12-06 postponed pane 2026-12-09/2026-12-12"],
            ["2026-12-08", "2026-12-11"],
        ),
    ],
)
def test_by_calendar(today: str, lines: list[str], days: list[str]) -> None:
    assert listed(planned(TANK, today, history(BEGUN, lines)), "pane", 15)[: len(days)] == days


@pytest.mark.parametrize(
    ("today", "lines", "days"),
    [
        ("2026-12-07", [], ["2026-12-10", "2026-12-20"]),
        ("2026-12-07", ["2026-12-07 skipped barrel 2026-12-10"], ["2026-12-20"]),
        ("2026-12-07", ["2026-12-07 postponed barrel 2026-12-10/2026-12-13"], ["2026-12-13", "2026-12-20"]),
        (
            "2026-12-14",
            ["2026-12-07 postponed barrel 2026-12-10/2026-12-13"],
            ["2026-12-14 overdue since 2026-12-13", "2026-12-20"],
        ),
    ],
)
def test_single_days(today: str, lines: list[str], days: list[str]) -> None:
    assert listed(planned(TANK, today, history(BEGUN, ["2026-12-02 ph 7.4", *lines])), "barrel", 30) == days


def test_a_job_that_comes_once() -> None:
    """It is a job like others: done once it is gone, left undone it is open, said of two days it comes twice."""
    said = "2026-12-02 once mend-the-lid 2026-12-06"
    assert listed(planned(TANK, "2026-12-02", history(BEGUN, [said])), "mend-the-lid") == ["2026-12-06"]
    late = planned(TANK, "2026-12-09", history(BEGUN, [said]))
    assert listed(late, "mend-the-lid") == ["2026-12-09 overdue since 2026-12-06"]
    done = planned(TANK, "2026-12-09", history(BEGUN, [said, "2026-12-07 did mend-the-lid"]))
    assert listed(done, "mend-the-lid") == []
    put_off = [said, "2026-12-05 postponed mend-the-lid 2026-12-06/2026-12-12"]
    assert listed(planned(TANK, "2026-12-09", history(BEGUN, put_off)), "mend-the-lid") == ["2026-12-12"]
    twice = history(BEGUN, [said, "2026-12-03 once mend-the-lid 2026-12-20"])
    assert listed(planned(TANK, "2026-12-04", twice), "mend-the-lid") == ["2026-12-06", "2026-12-20"]


DAYS = st.integers(0, 40).map(lambda n: dt.date(2026, 12, 1) + dt.timedelta(days=n))


@given(st.sets(DAYS), st.lists(st.tuples(DAYS, st.none() | DAYS), max_size=8))
@settings(max_examples=examples(300))
def test_nothing_comes_twice_and_nothing_is_lost(
    days: set[dt.date], said: list[tuple[dt.date, dt.date | None]]
) -> None:
    """Of what was put off there is as much as before, unless it falls on a day on which it comes anyway; of what was
    said of no day of the series nothing follows."""
    out, chosen = bend([Amendment(due, to, due) for due, to in said], days.__contains__)
    left = bent_days(days, out, chosen)
    assert left == sorted(set(left)) and out <= days and not set(chosen) & days
    assert len(left) <= len(days)
    known = set(days)
    for due, to in said:
        if due in known:
            known.discard(due)
            known |= {to} - {None}
    assert set(left) == known


def test_what_must_not_wait_is_told_with_what_to_do_instead() -> None:
    site = load(
        TANK.replace('carapace = "12 cm"', 'carapace = "12 cm", arrived = 2026-11-28, quarantine = true')
    )
    jobs = {job.key: care.must_not_wait(job) for job in care.jobs(site)}
    assert jobs["quarantine-watch"] == (
        "it belongs to quarantine. Instead, ask somebody else to look: what shows itself in quarantine shows itself early"
    )
    assert jobs["daily-look"] == jobs["pane"] == ""
