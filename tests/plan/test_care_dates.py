"""The dates that the trade expects: set-up, settling in, quarantine, life stages, and the customary intervals."""

import datetime as dt
import json
from itertools import pairwise

import pytest
from support.described import days, load, plan
from typer.testing import CliRunner

from scheduler.cli.main import app

PRACTICE = "common practice, no published source"
MINIMAL = """
[site]
name = "Fen Lane"

[[enclosure]]
name = "Sedge"

[[enclosure.resident]]
name = "Fern"
"""


def dates(text, key, first, last):
    """Return the days of a job of the enclosure Sedge as text."""
    first, last = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    found = plan(load(text), first, last)
    return [f"{day}" for day in days(found, "sedge", key)]


def run(*args):
    done = CliRunner().invoke(app, [*map(str, args)])
    assert done.exit_code == 0, done.output
    return done.stdout


# --- The smallest description -----------------------------------------------------------------------------------


def test_three_names_are_enough_for_a_plan(tmp_path):
    file = tmp_path / "enclosures.toml"
    file.write_text(MINIMAL)
    lines = run(
        "jobs", file, "--today", "2026-12-01", "--from", "2026-12-01", "--days", 28, "--format", "json"
    ).splitlines()
    found = [json.loads(line) for line in lines]
    keys = [
        "date",
        "time",
        "enclosure",
        "job",
        "variant",
        "title",
        "minutes",
        "keeper",
        "keeper_id",
        "keeper_name",
    ]
    keys += ["state", "uid", "notes"]
    assert [list(entry) for entry in found] == [keys] * len(found)
    assert {entry["enclosure"] for entry in found} == {"sedge"}
    assert {entry["state"] for entry in found} == {"due"}
    assert {entry["keeper"] for entry in found} == {None}
    # The hours of the calendar: the slots of a site of one enclosure that begins at 07:30, routine first.
    slots = {entry["job"]: entry["time"] for entry in found}
    assert (slots["daily-look"], slots["water-test"], slots["water-change"]) == ("07:30", "08:00", "08:15")
    assert len({(entry["job"], entry["time"]) for entry in found}) == len(slots)
    assert [entry["date"] for entry in found] == sorted(entry["date"] for entry in found)
    assert found[0]["date"] == "2026-12-01"
    assert found[-1]["date"] == "2026-12-28"
    # The UID is stable: a second run says the same, byte for byte.
    again = run("jobs", file, "--today", "2026-12-01", "--days", 28, "--format", "json").splitlines()
    assert again == lines
    by_job = {}
    for entry in found:
        by_job.setdefault(entry["job"], []).append(entry)
    assert len(by_job["daily-look"]) == 28
    assert len(by_job["water-change"]) == 2
    # No filter, no heater, no lamp, no set-up: nothing of what belongs to them.
    assert not {"filter-check", "heater-check", "lamp-clean", "rcd-test", "fit-out", "cycle-test"} & set(
        by_job
    )


def test_one_keeper_has_every_job(tmp_path):
    file = tmp_path / "enclosures.toml"
    file.write_text(MINIMAL + '\n[[keeper]]\nname = "Noor"\n')
    lines = run("jobs", file, "--today", "2026-12-01", "--days", 3, "--format", "json").splitlines()
    assert {json.loads(line)["keeper"] for line in lines} == {"Noor"}


# --- Customary intervals ----------------------------------------------------------------------------------------

TANK = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
set_up = 2027-03-01
filter = {kind = "canister"}
"""


@pytest.mark.parametrize(
    ("key", "every", "source"),
    [
        ("water-change", 14, f"about half the water every two weeks: {PRACTICE}"),
        ("filter-check", 28, f"the filter checked every month: {PRACTICE}"),
        ("daily-look", 1, "leftovers out daily: NSW Department of Education, Animals in Schools"),
    ],
)
def test_customary_intervals(key, every, source):
    found = [dt.date.fromisoformat(day) for day in dates(TANK, key, "2027-03-01", "2028-03-31")]
    assert {(after - before).days for before, after in pairwise(found)} == {every}, source


# --- Set-up -----------------------------------------------------------------------------------------------------

SET_UP = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
set_up = 2028-03-01
cycled = {cycled}
{more}
[[enclosure.resident]]
name = "Fern"
arrived = 2028-03-29
"""


def test_driftwood_is_boiled_the_day_before_and_the_tank_fitted_out_on_its_day():
    text = SET_UP.format(cycled="false", more="")
    # The day before 1 March of a leap year.
    assert dates(text, "treat-driftwood", "2028-02-01", "2028-12-31") == ["2028-02-29"]
    assert dates(text, "fit-out", "2028-02-01", "2028-12-31") == ["2028-03-01"]
    assert dates(text, "pre-arrival-check", "2028-02-01", "2028-12-31") == ["2028-03-28"]
    bare = SET_UP.format(cycled="false", more="driftwood = false")
    assert dates(bare, "treat-driftwood", "2028-02-01", "2028-12-31") == []


@pytest.mark.parametrize(
    ("cycled", "last"),
    [
        ("true", None),
        ("2028-03-20", "2028-03-20"),
        # Nobody can promise a date: the tests go on until the keeper writes one.
        ("false", "2028-12-31"),
    ],
)
def test_the_tests_of_a_new_biofilter_end_when_it_works(cycled, last):
    found = dates(SET_UP.format(cycled=cycled, more=""), "cycle-test", "2028-02-01", "2028-12-31")
    assert found[:1] + found[-1:] == ([] if last is None else ["2028-03-02", last])


# --- Settling in and quarantine ---------------------------------------------------------------------------------

ARRIVAL = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
{more}
[[enclosure.resident]]
name = "Fern"
arrived = 2026-12-01
quarantine = {quarantine}
{other}
"""
MOSS = '[[enclosure.resident]]\nname = "Moss"\narrived = 2026-12-21\nquarantine = {}\n'


def test_basking_is_watched_for_fourteen_days_and_then_decided_on():
    # Basking seen by day 14 after arrival: common practice, no published source.
    text = ARRIVAL.format(more="", quarantine="false", other="")
    watch = dates(text, "basking-watch", "2026-11-01", "2027-03-01")
    assert watch == [f"2026-12-{day:02}" for day in range(2, 16)]
    assert dates(text, "basking-review", "2026-11-01", "2027-03-01") == ["2026-12-15"]
    assert dates(text, "quarantine-watch", "2026-11-01", "2027-03-01") == []


@pytest.mark.parametrize(
    ("length", "other", "release", "source"),
    [
        ("30 days", "", "2026-12-31", "AZA accreditation standards 2007: 30 days at least"),
        # An animal that joins on day 20 of 30 starts the clock again, so that both are free on day 50.
        ("30 days", MOSS.format("true"), "2027-01-20", "AZA 2007: all in, all out; the clock restarts"),
        ("30 days", MOSS.format("false"), "2027-01-20", "whoever joins: AZA 2007"),
        (None, "", "2027-03-01", "90 days: house rule on the AZA minimum"),
        (None, MOSS.format("true"), "2027-03-21", "90 days from the last arrival: house rule"),
        ("6 weeks", "", "2027-01-12", "the keeper's own length"),
    ],
)
def test_quarantine_runs_from_the_last_arrival(length, other, release, source):
    more = f'job.quarantine-release = {{every = "{length}"}}' if length else ""
    text = ARRIVAL.format(more=more, quarantine="true", other=other)
    assert dates(text, "quarantine-release", "2026-11-01", "2027-12-31") == [release], source
    watch = dates(text, "quarantine-watch", "2026-11-01", "2027-12-31")
    assert (watch[0], watch[-1]) == ("2026-12-02", release)
    assert len(watch) == (dt.date.fromisoformat(release) - dt.date(2026, 12, 1)).days
    # Of each animal two to four weeks apart (house value), from its own arrival; all of them known before the release.
    for name, arrived in [
        ("", dt.date(2026, 12, 1)),
        *([("/2026-12-21", dt.date(2026, 12, 21))] if other else []),
    ]:
        found = plan(load(text), dt.date(2026, 11, 1), dt.date(2027, 12, 31))
        tests = [
            day
            for day, _, _, key, variant in found
            if (key, f"/{variant}".rstrip("/")) == ("faecal-test", name)
        ]
        assert (tests[0] - arrived).days == 14
        assert tests[-1] < dt.date.fromisoformat(release)
        assert all(14 <= (after - before).days <= 28 for before, after in pairwise(tests))


def test_an_animal_that_came_before_the_quarantine_began_does_not_move_it():
    older = '[[enclosure.resident]]\nname = "Reed"\narrived = 2026-06-01\n'
    text = ARRIVAL.format(more="", quarantine="true", other=older)
    assert dates(text, "quarantine-release", "2026-11-01", "2027-12-31") == ["2027-03-01"]


# --- Life stages ------------------------------------------------------------------------------------------------

BORN = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
[[enclosure.resident]]
name = "Fern"
species = "Chrysemys picta"
born = 2026-02-28
"""


def test_a_life_stage_changes_the_feeding_on_its_date():
    # Painted turtle, by the project's sheet: a hatchling to 12 months, a juvenile to 6 years (house values); hatchlings
    # are fed daily, adults every second day, taken as 3 days a week (SPCA New Zealand), juveniles 5 (house value).
    before = dates(BORN, "feed", "2027-02-14", "2027-02-27")
    assert len(before) == 14
    juvenile = dates(BORN, "feed", "2027-03-01", "2027-03-28")
    assert len(juvenile) == 4 * 5
    grown = dates(BORN, "feed", "2032-03-01", "2032-03-28")
    assert len(grown) == 4 * 3
    # Fed on the birthday or not: by the rule of the day itself.
    birthday = dt.date(2027, 2, 28)
    day_of = dates(BORN, "feed", "2027-02-28", "2027-02-28")
    weekday_fed = any(dt.date.fromisoformat(day).weekday() == birthday.weekday() for day in juvenile)
    assert bool(day_of) == weekday_fed


def test_no_day_is_fed_twice_when_a_stage_changes():
    found = dates(BORN, "feed", "2026-12-01", "2033-12-31")
    assert len(found) == len(set(found))


@pytest.mark.parametrize(
    ("meals", "a_week"), [(1, 1), (2, 2), (3, 3), (4, 4), (5, 5), (6, 6), (7, 7), (14, 14)]
)
def test_the_keepers_meals_a_week_are_kept(meals, a_week):
    text = MINIMAL + f"\n[enclosure.feed]\nmeals_a_week = {meals}\n"
    found = dates(text, "feed", "2027-01-04", "2027-01-31")
    assert len(found) == 4 * a_week
    assert (
        max((dt.date.fromisoformat(b) - dt.date.fromisoformat(a)).days for a, b in pairwise(found))
        <= -(-7 // a_week) + 1
    )


# --- The keeper's changes ---------------------------------------------------------------------------------------


def test_off_is_off_whatever_else_the_table_says():
    off = MINIMAL + '\n[enclosure.job.water-change]\noff = true\nevery = "7 days"\n'
    assert dates(off, "water-change", "2026-12-01", "2027-12-31") == []


def test_an_empty_override_changes_nothing():
    empty = MINIMAL + "\n[enclosure.job.water-change]\n"
    span = ("2026-12-01", "2027-12-31")
    assert dates(empty, "water-change", *span) == dates(MINIMAL, "water-change", *span) != []


def test_nothing_falls_before_the_start_of_the_plan():
    text = MINIMAL.replace('name = "Fen Lane"', 'name = "Fen Lane"\nstart = 2026-12-24')
    found = plan(load(text), dt.date(2026, 12, 1), dt.date(2027, 1, 31))
    assert min(day for day, *_ in found) == dt.date(2026, 12, 24)
