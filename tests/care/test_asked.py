"""Which values each job asks for, when they are the job, and which jobs are ticked together with others."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import TANK, case_of
from support.recorded import load

from scheduler import care
from scheduler.care.asked import CYCLE_TEST, UNFINISHED, WATER_TEST, AskedQuantity
from scheduler.history import Entry, History
from scheduler.readings import QUANTITIES

DAY = dt.date(2026, 12, 1)

GUEST = TANK.replace("arrived = 2026-10-20}", "arrived = 2026-10-20, quarantine = true}")
YOUNG_FILTER = TANK.replace("cycled = true", "cycled = false")


def asked(text: str) -> dict[str, list[str]]:
    """Return by job the values of a day, those in brackets that may be left out."""
    found: dict[str, list[str]] = {}
    for job in care.jobs(load(text)):
        if job.asks is not None:
            words = [".".join(filter(None, value.measured)) for value in job.asks.on(DAY)]
            found[job.key] = [
                w if v.needed else f"({w})" for w, v in zip(words, job.asks.on(DAY), strict=True)
            ]
    return found


def test_the_values_of_each_job() -> None:
    """Held against the steps of the jobs' own notes: who reads them finds a field for each value, and no other field."""
    found = asked(TANK) | asked(GUEST) | asked(YOUNG_FILTER)
    assert found.pop("uvi-reading") == [w for w in asked(TANK)["uvi-reading"] if w.startswith("uvi.")] != []
    found.pop("burn-in-baseline", None)
    assert found == {
        "water-test": ["ammonia", "nitrite", "nitrate", "ph", "(temperature)"],
        "cycle-test": ["ammonia", "nitrite", "nitrate", "ph"],
        "weigh-measure": ["weight.wren", "(length.wren)"],
        "quarantine-weigh": ["weight.wren"],
        **({"heater-check": ["(temperature)"]} if "heater-check" in found else {}),
    }
    jobs = {job.key: job for text in (TANK, GUEST, YOUNG_FILTER) for job in care.jobs(load(text)) if job.asks}
    words = {
        "ammonia": "ammonia",
        "nitrite": "nitrite",
        "nitrate": "nitrate",
        "ph": "pH",
        "weight": "eigh",
        "uvi": "UVI",
        "temperature": "temperature|thermometer",
        "length": "carapace",
    }
    for key, job in jobs.items():
        steps = " ".join(job.notes().steps)
        for value in job.asks.on(DAY) if job.asks else ():
            assert value.name in QUANTITIES
            assert any(word in steps for word in words[value.name].split("|")), (key, value)


def test_an_animal_that_has_not_come_is_not_weighed() -> None:
    two = TANK.replace(
        "arrived = 2026-10-20}]",
        'arrived = 2026-10-20}, {name = "Teal", species = "painted turtle", arrived = 2026-12-15}]',
    )
    (weighing,) = [job for job in care.jobs(load(two)) if job.key == "weigh-measure"]
    assert weighing.asks is not None
    assert {v.of for v in weighing.asks.on(DAY)} == {"wren"}
    assert {v.of for v in weighing.asks.on(dt.date(2026, 12, 15))} == {"wren", "teal"}


@pytest.mark.parametrize(
    ("names", "missing", "met", "met_unfinished"),
    [
        ("", "ammonia nitrite nitrate ph", False, False),
        ("ammonia", "nitrite nitrate ph", False, False),
        ("nitrate", "ammonia nitrite ph", True, False),
        ("ammonia nitrite", "nitrate ph", True, False),
        ("ammonia nitrite nitrate", "ph", True, False),
        ("ammonia nitrite nitrate ph", "", True, True),
        ("ph temperature", "ammonia nitrite nitrate", False, False),
    ],
)
def test_what_is_a_water_test(names: str, missing: str, met: bool, met_unfinished: bool) -> None:
    """Readings one by one are taken as a test where they tell of one; a sheet that was left needs all of them."""
    there = {AskedQuantity(name) for name in names.split()}
    assert " ".join(v.name for v in WATER_TEST.missing(there, DAY)) == missing
    assert WATER_TEST.met_by(there, DAY) is met
    assert WATER_TEST.met_by(there, DAY, unfinished=True) is met_unfinished
    assert CYCLE_TEST.met_by(there, DAY) is ({"ammonia", "nitrite"} <= set(names.split()))


def unfinished(of: str) -> Entry:
    return Entry(
        kind="reading",
        enclosure="quillet",
        name=UNFINISHED,
        of=of,
        day=DAY,
        recorded=dt.datetime(2026, 12, 1),  # noqa: DTZ001 - the log keeps UTC without zone
    )


def test_a_sheet_that_was_left_is_no_test() -> None:
    lines = ["2026-12-01 nitrate 10", "2026-12-01 ammonia 0"]
    site, found = load(TANK), case_of(lines).history
    plain = History(found.begun, {}, [], found.measured("quillet"))
    left = History(found.begun, {}, [], [*found.measured("quillet"), unfinished("water-test")])
    other = History(found.begun, {}, [], [*found.measured("quillet"), unfinished("weigh-measure")])
    for history, done in ((plain, True), (left, False), (other, True)):
        implied = care.with_implied(site, history).done("quillet", "water-test")
        assert any(e.day == DAY for e in implied) is done


@pytest.mark.parametrize(
    ("cadence", "frequent"),
    [
        ('rule = "FREQ=DAILY"', True),
        ('rule = "FREQ=DAILY;INTERVAL=6"', True),
        ('rule = "FREQ=DAILY;INTERVAL=7"', False),
        ('rule = "FREQ=WEEKLY;BYDAY=MO"', False),
        ('rule = "FREQ=WEEKLY;BYDAY=MO,TH"', True),
        ('rule = "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH"', False),
        ('rule = "FREQ=MONTHLY;BYDAY=1MO,2MO,3MO,4MO,1FR,2FR,3FR"', True),
        ('rule = "FREQ=MONTHLY"', False),
        ('every = "6 days"', True),
        ('every = "7 days"', False),
        ('every = "1 month"', False),
        ("on = [2026-12-14, 2026-12-15]", False),
    ],
)
def test_frequent_is_what_comes_more_often_than_weekly(cadence: str, frequent: bool) -> None:
    text = TANK + f'\n[[enclosure.extra_job]]\nkey = "own"\ntitle = "own"\n{cadence}\n'
    (own,) = [job for job in care.jobs(load(text)) if job.key == "own"]
    assert own.is_frequent is frequent
    assert own.is_plain is frequent


def test_what_an_alarm_changes_is_looked_at_by_itself() -> None:
    """A feed that is to wait for a clean test, and the follow-ups of the alarm."""
    calm = {job.key: job for job in case_jobs([])}
    alarm = case_jobs(["2026-12-01 ammonia 4", "2026-12-01 ph 8.5", "2026-12-01 temperature 25"])
    assert calm["feed"].is_plain and calm["daily-look"].is_plain
    assert not calm["water-test"].is_plain and not calm["water-change"].is_plain
    assert [job.title for job in alarm if job.is_plain and job.key == "feed"] == []
    assert {job.key for job in alarm if job.is_plain} == {"daily-look", "basking-watch"}


def case_jobs(lines: list[str]) -> list[care.Job]:
    return list(care.jobs_of(case_of(lines)))
