"""A new filter: which tests pass, what is said of those that do not, and what the plan tests."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from support.care.watching import NEW, case_of, follows, notes, said

from scheduler import care
from scheduler.care import On

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


# --- Without animals: the ammonia is dosed -----------------------------------------------------------------------

EMPTY = re.sub(r"(?m)^resident = .*\n|^feed = .*\n", "", NEW)
RISES = ["2026-10-05 nitrate 5", "2026-11-12 nitrate 15"]
DAYS = [f"2026-11-{day} {what} 0" for day in ("10", "12") for what in ("ammonia", "nitrite")]


def done(*days):
    return [f"{day} did ammonia-dose" for day in days]


PASSES = [
    # record of a tank without animals, day it works
    ([*RISES, *DAYS], None),  # two clean tests of water that never had ammonia
    ([*RISES, *DAYS, *done("2026-11-09", "2026-11-11")], dt.date(2026, 11, 12)),
    ([*RISES, *DAYS, *done("2026-11-09")], None),  # one dose, gone once
    ([*RISES, *DAYS, *done("2026-11-08", "2026-11-11")], None),  # gone in two days, not in one
    ([*DAYS, *done("2026-11-09", "2026-11-11")], None),  # nothing became nitrate
    # Nobody recorded a dose, but a reading shows that there was ammonia.
    (["2026-10-20 ammonia 2", "2026-10-20 nitrite 0", *RISES, *DAYS], dt.date(2026, 11, 12)),
]


@pytest.mark.parametrize(("lines", "day"), PASSES)
def test_an_unfed_tank_has_no_pass(lines, day):
    case = case_of(sorted(lines), EMPTY)
    assert (case.enclosure.cycled or None) == day


def test_what_a_clean_test_of_an_unfed_tank_means_is_said():
    assert [t for t in said([*RISES, *DAYS], EMPTY) if "filter" in t] == [
        "look: Ammonia and nitrite were clean on 12 November 2026, in water without animals. That says nothing of the filter: no dose of "
        "ammonia is recorded for the day before. Dose ammonia, record the dose, and test on the next day."
    ]


def test_an_empty_tank_has_no_change_and_no_rinse_before_its_filter_works():
    def keys(lines, text=EMPTY):
        return {f"{j.key}/{j.variant}" for j in care.jobs_of(case_of(lines, text))}

    starting = keys([])
    assert not {k for k in starting if k.startswith(("water-change", "media-rinse", "water-test"))}
    assert {"cycle-test/", "ammonia-dose/", "filter-check/"} <= starting
    works = keys(sorted([*RISES, *DAYS, *done("2026-11-09", "2026-11-11")]))
    assert {"water-change/", "water-change/before-animals", "media-rinse/", "water-test/"} <= works
    assert not {k for k in works if k.startswith("ammonia-dose")}
    # With animals in it from the first day water is changed, and nothing is dosed.
    inhabited = keys([], NEW.replace("2026-10-20", "2026-10-03"))
    assert (
        "water-change/" in inhabited and "ammonia-dose/" not in inhabited and "media-rinse/" not in inhabited
    )


def test_the_large_change_comes_once_and_is_three_quarters():
    (job,) = [
        j
        for j in care.jobs_of(case_of(sorted([*RISES, *DAYS, *done("2026-11-09", "2026-11-11")]), EMPTY))
        if j.variant == "before-animals"
    ]
    assert (job.cadence, job.share) == (On(days=(dt.date(2026, 11, 12),)), 0.75)
    assert "Drain 150 L (75 %)" in job.notes().brief()  # 100 x 50 x 40 cm: 200 L


AGAIN = [
    # record, the day on which it is dosed again (0.25 mg/L: house value)
    (["2026-10-04 did ammonia-dose", "2026-10-20 ammonia 0.25"], ["2026-10-20"]),
    (["2026-10-04 did ammonia-dose", "2026-10-20 ammonia 0.3"], None),
    (["2026-10-04 did ammonia-dose", "2026-10-20 ammonia 0", "2026-10-20 did ammonia-dose"], None),
    (["2026-10-04 did ammonia-dose"], None),
]


@pytest.mark.parametrize(("lines", "days"), AGAIN)
def test_it_is_dosed_again_when_a_dose_is_gone(lines, days):
    found = {k: v for k, v in follows(lines, EMPTY).items() if k.startswith("ammonia-dose")}
    assert list(found.values()) == ([days] if days else [])


def test_never_is_ammonia_dosed_with_an_animal_in_the_water_or_on_its_eve():
    for day, doses in (("2026-10-17", True), ("2026-10-18", False), ("2026-10-25", False)):
        # Wren comes on 20 October.
        found = follows(["2026-10-04 did ammonia-dose", f"{day} ammonia 0"], NEW)
        assert any(k.startswith("ammonia-dose") for k in found) is doses, day


def test_the_dose_in_words():
    text = notes([], "ammonia-dose/", EMPTY)
    # 200 L x 2 mg/L x 53.49 / 14.007 = 1527.5 mg (IUPAC masses); 400 mg of N / (100 mg/g x 0.957 g/mL x 14.007 / 17.031) = 5.1 mL
    assert (
        "For 2 mg/L (as N) in 200 L dissolve 1.55 g of pure ammonium chloride in a jug of tank water; or take 5.1 mL of pure, unscented "
        "ammonia solution of 10 % (of 5 % twice as much), without soap, dye or scent." in text
    )
    assert "never dose with an animal in it" in text and "Never mix it with bleach" in text


def test_each_cycle_test_names_its_ammonia_and_what_it_wants():
    empty, inhabited = (
        notes([], "cycle-test/", EMPTY),
        notes([], "cycle-test/", NEW.replace("2026-10-20", "2026-10-03")),
    )
    assert (
        "the filter starts on ammonia that you dose. Dose to 2 mg/L (as N), and again each time a test shows 0.25 mg/L or less."
        in empty
    )
    assert (
        "gone by the test of the next (ammonia up to 0.25 mg/L, nitrite under 0.1 mg/L), twice running"
        in empty
    )
    assert (
        "change 75 % of the water once, before animals come" in empty
        and "animals and their food" not in empty
    )
    assert (
        "the ammonia of the animals and their food. Feed small meals" in inhabited
        and "you dose" not in inhabited
    )
    assert (
        "150 mg/L (as CaCO3) or more is wanted" in empty
        and "150 mg/L (as CaCO3) or more is wanted" in inhabited
    )
