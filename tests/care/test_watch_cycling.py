"""A new filter: which tests pass, what is said of those that do not, and what the plan tests."""

from __future__ import annotations

import datetime as dt

import pytest
from watching import NEW, case_of, said

from scheduler import care

FIRST = ["2026-11-01 nitrate 5", "2026-11-10 ammonia 0", "2026-11-10 nitrite 0"]
SECOND = ["2026-11-12 ammonia 0", "2026-11-12 nitrite 0", "2026-11-12 nitrate 15"]


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (FIRST[1:], "a second clean test a day or more later and nitrate that rises"),
        (FIRST, "a second clean test a day or more later and nitrate that rises"),
        ([*FIRST, "2026-11-10 nitrate 15"], "a second clean test a day or more later"),
        ([*FIRST, *SECOND[:2]], "nitrate that rises"),
        (
            ["2026-11-01 nitrate 5", "2026-11-10 20:00 ammonia 0", "2026-11-10 20:00 nitrite 0",
             "2026-11-11 19:30 ammonia 0", "2026-11-11 19:30 nitrite 0", "2026-11-11 nitrate 15"],
            "a day between the two tests",
        ),
        # A high value between begins anew, whatever was read with it.
        ([*FIRST, "2026-11-11 nitrite 0.5", *SECOND], "a second clean test a day or more later"),
        ([*FIRST, "2026-11-11 ammonia 0.5", "2026-11-11 nitrite 0", *SECOND], "a second clean test a day or more later"),
    ],
)  # fmt: skip
def test_what_still_lacks_is_said(lines, words):
    last = lines[-1][:10]
    day = f"{int(last[8:])} November 2026"
    told = [t for t in said(lines, NEW) if "filter" in t and "Ammonia and nitrite" in t]
    assert told == [
        f"look: Ammonia and nitrite were clean on {day}. For a working filter this still lacks {words}. "
        "Go on with the daily cycle test."
    ]
    assert case_of(lines, NEW).enclosure.cycled is False


def test_a_test_that_is_not_clean_says_nothing_of_the_filter():
    assert said(["2026-10-10 ammonia 2", "2026-10-10 nitrite 1"], NEW) == []


def test_a_filter_that_works_is_told_once_and_for_all():
    assert said([*FIRST, *SECOND], NEW) == [
        "fine: Ammonia and nitrite were clean in two tests a day or more apart, the second on 12 November 2026, and "
        "nitrate rose. The filter works, if the full ration was fed meanwhile. The daily cycle test ends, the weekly "
        "water test begins. Write cycled = 2026-11-12 into the description."
    ]
    # The keeper who writes that has the same plan as before.
    written = NEW.replace("cycled = false", "cycled = 2026-11-12")

    def plan(lines, text):
        return [(job.key, job.variant, job.cadence) for job in care.jobs_of(case_of(lines, text))]

    assert plan([*FIRST, *SECOND], NEW) == plan([*FIRST, *SECOND], written)
    # What is measured afterwards is the business of the water test, not of the cycle test.
    later = [*FIRST, *SECOND, "2026-12-01 ammonia 1", "2026-12-01 nitrite 0"]
    assert case_of(later, NEW).enclosure.cycled == dt.date(2026, 11, 12)
    # And taken back, the filter is new again.
    assert case_of([*FIRST, *SECOND[:-1]], NEW).enclosure.cycled is False


def test_the_day_of_the_second_test_is_the_last_of_the_cycle_tests():
    case = case_of([*FIRST, *SECOND, "2026-11-19 ammonia 0", "2026-11-19 nitrite 0"], NEW)
    done = [(e.name, e.day.isoformat()) for e in case.history.done("quillet")]
    assert done == [
        ("cycle-test", "2026-11-10"),
        ("cycle-test", "2026-11-12"),
        ("water-test", "2026-11-19"),
    ]
