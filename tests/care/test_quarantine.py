"""Quarantine: whose tests count from when, the vet at intake, tools and disinfectants, and what a release asks for."""

from __future__ import annotations

import dataclasses

import pytest
from support.care.watching import TANK, case_of, meaning, notes, said

from scheduler import care
from scheduler.care import On, cautions

FIRST = '{name = "Wren", species = "painted turtle", carapace = "12 cm", mass = "300 g", arrived = 2026-10-20, quarantine = true}'
SECOND = (
    '{name = "Dove", species = "painted turtle", carapace = "13 cm", arrived = 2026-11-09, quarantine = true}'
)
THIRD = (
    '{name = "Lark", species = "painted turtle", carapace = "13 cm", arrived = 2026-12-01, quarantine = true}'
)
ROOM = TANK.split("resident =")[0]
ONE = f"{ROOM}resident = [{FIRST}]\nfeed = {{grams = 3}}\n"
THREE = f"{ROOM}resident = [{FIRST}, {SECOND}, {THIRD}]\nfeed = {{grams = 3}}\n"


def days(text, key, lines=()):
    """Return the days of the jobs of a key, by variant."""
    return {
        job.variant: [day.isoformat() for day in job.cadence.days]
        for job in care.jobs_of(case_of(list(lines), text))
        if job.key == key and isinstance(job.cadence, On)
    }


def test_three_arrivals_have_their_own_tests_and_one_release():
    # Days 14, 42 and 70 of each arrival: house value. The release is on day 90 of the last one: AZA 2007, all in, all out.
    assert days(THREE, "faecal-test") == {
        "": ["2026-11-03", "2026-12-01", "2026-12-29"],
        "2026-11-09": ["2026-11-23", "2026-12-21", "2027-01-18"],
        "2026-12-01": ["2026-12-15", "2027-01-12", "2027-02-09"],
    }
    assert days(THREE, "quarantine-release") == {"": ["2027-03-01"]}
    titles = [job.title for job in care.jobs_of(case_of([], THREE)) if job.key == "faecal-test"]
    assert titles == ["faecal test", "faecal test, Dove", "faecal test, Lark"]


def test_the_vet_sees_every_new_animal_in_its_first_week():
    # Day 3, and 3 days around it: house value.
    assert days(THREE, "vet-check") == {
        "intake-2026-10-20": ["2026-10-23"],
        "intake-2026-11-09": ["2026-11-12"],
        "intake-2026-12-01": ["2026-12-04"],
    }
    assert days(TANK, "vet-check") == {}, "out of quarantine"
    assert "Have a vet who knows reptiles look at Dove in the first week" in notes(
        [], "vet-check/intake-2026-11-09", THREE
    )


RELEASES = [
    # what was recorded, what the release says is missing
    ([], "Wren: 0 of 3 tests; Dove: 0 of 3 tests; Lark: 0 of 3 tests"),
    (
        ["2026-11-03 did faecal-test", "2026-12-01 did faecal-test", "2026-12-29 did faecal-test"],
        "Dove: 0 of 3 tests; Lark: 0 of 3 tests",
    ),
    (
        [
            *(f"{day} did faecal-test" for day in ("2026-11-03", "2026-12-01", "2026-12-29")),
            *(f"{day} did faecal-test/2026-11-09" for day in ("2026-11-23", "2026-12-21", "2027-01-18")),
            *(f"{day} did faecal-test/2026-12-01" for day in ("2026-12-15", "2027-01-12")),
        ],
        "Lark: 2 of 3 tests",
    ),
]


@pytest.mark.parametrize(("lines", "missing"), RELEASES)
def test_a_release_names_the_tests_that_the_record_lacks(lines, missing):
    lines = ["2026-10-21 did daily-look", *lines]
    first = notes(lines, "quarantine-release/", THREE).splitlines()[0]
    assert first == f"1. Not yet: the record has {missing}. Have the rest done and recorded first."
    released = [*lines, "2027-03-01 did quarantine-release"]
    (found,) = [c for c in meaning(released, THREE, "2027-03-02") if c.key == "quarantine-release"]
    assert (found.verdict, f"{found.reading} {found.rule} {found.plan}") == (
        "act",
        f"The end of the quarantine was recorded on 1 March 2027; of the faecal tests the record has {missing}. Animals are released when the tests of all "
        "of them are recorded and clean. Keep them apart as before, have the rest tested, and ask the vet. If the tests were done, record them with "
        "their days.",
    )


def test_tests_from_before_the_record_are_not_missed():
    released = ["2027-01-18 did quarantine-release"]
    text = ONE.replace("arrived = 2026-10-20", "arrived = 2026-10-04")
    # The record begins on 20 October, the first test was due on the 18th.
    assert said(released, text) == []


def test_with_all_tests_recorded_a_release_is_one():
    lines = [f"{day} did faecal-test" for day in ("2026-11-03", "2026-12-01", "2026-12-29")]
    text = notes(lines, "quarantine-release/", ONE)
    assert text.startswith(
        "1. Check the record: 90 days since the last arrival (20 October 2026), weight steady, 3 faecal tests of each animal recorded and clean."
    )
    assert said([*lines, "2027-01-18 did quarantine-release"], ONE) == []


def test_every_job_of_the_enclosure_says_how_it_is_kept_apart():
    jobs = list(
        care.jobs_of(
            case_of([], ONE + '[[enclosure.extra_job]]\nkey = "ferns"\ntitle = "Ferns"\nevery = "7 days"\n')
        )
    )
    assert len(jobs) > 20 and jobs[-1].key == "ferns"
    for job in jobs:
        before = isinstance(job.cadence, On) and max(job.cadence.days).isoformat() < "2026-10-20"
        there = {cautions.QUARANTINE, cautions.DISINFECTANT} <= set(job.notes().cautions)
        assert there is not before, job.word
    assert not any(cautions.QUARANTINE in job.notes().cautions for job in care.jobs_of(case_of([], TANK)))


WORDS = [
    # what a vet or CDC would miss, in the caution about disinfectants
    "wash off all dirt first", "by the label", "Never in water with an animal in it", "rinse until no smell is left", "let dry", "Gloves",
    "open window", "no children", "Never mix bleach with acid, vinegar, ammonia", "Not down a drain that leads to open water",
]  # fmt: skip


@pytest.mark.parametrize("words", WORDS)
def test_the_caution_about_disinfectants(words):
    assert words in cautions.DISINFECTANT.text


def test_the_daily_look_and_the_watch_do_not_ask_the_same():
    look, watch = (notes([], key, ONE) for key in ("daily-look/", "quarantine-watch/"))
    signs = ("Vet soon", "Vet today")
    assert all(sign in look for sign in signs)
    assert not any(sign in watch for sign in signs)
    assert "A sign of the daily look's list, or anything new: call a vet who knows reptiles" in watch
    # Where nobody looks daily, the watch has the list itself.
    alone = notes([], "quarantine-watch/", ONE + "[enclosure.job.daily-look]\noff = true\n")
    assert all(sign in alone for sign in signs)


def test_no_step_disinfects_with_animals_in_the_water():
    for job in care.jobs_of(case_of([], ONE)):
        for step in job.notes().steps:
            if "isinfect" in step:
                assert "rinse" in step and "dry" in step, (job.word, step)
                assert "enclosure serves" not in step or "animals out, water out" in step, step


def test_notes_are_the_only_thing_that_changes():
    plain = {j.word: j for j in care.jobs_of(case_of([], ONE.replace(", quarantine = true", "")))}
    for job in care.jobs_of(case_of([], ONE)):
        if job.word in plain and job.key not in ("weigh-measure",):
            same = dataclasses.replace(job, notes=plain[job.word].notes, enclosure=plain[job.word].enclosure)
            assert same == plain[job.word], job.word
