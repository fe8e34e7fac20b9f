"""What the last reading of each quantity is worth, in a word: the rules about readings, asked for one of them."""

from __future__ import annotations

import datetime as dt

import pytest

import scheduler
from scheduler import care
from scheduler.care.newest_readings import newest_readings
from scheduler.history import Entry, History

DAY = dt.date(2026, 12, 14)

WEIR = """\
[site]
name = "Weir"
start = 2026-12-01

[[enclosure]]
name = "Sedge"
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
set_up = 2026-03-01
cycled = true
heater = [{power = "200 W", set_to = "25 degC", body = "titanium"}]
"""

FERN = """
[[enclosure.resident]]
name = "Fern"
species = "painted turtle"
carapace = "15 cm"
"""

POND = FERN.join([WEIR.replace("heater =", 'kind = "pond"\noutdoors = true\n# heater ='), ""])


def found(text: str, *readings: tuple[int, str, float]) -> list[tuple[str, float, str | None]]:
    """Return the last reading of each quantity with its verdict; readings are (days ago, quantity, value)."""
    site = scheduler.loads(text)
    entries = [
        Entry(
            kind="reading",
            enclosure="sedge",
            name=name,
            day=DAY - dt.timedelta(days=days),
            value=value,
            recorded=dt.datetime.combine(DAY - dt.timedelta(days=days), dt.time(12)),
            number=number,
        )
        for number, (days, name, value) in enumerate(readings, 1)
    ]
    history = History(DAY - dt.timedelta(days=60), readings=entries)
    (case,) = care.cases(site, DAY, history)
    return [(one.entry.name, one.entry.value or 0.0, one.verdict) for one in newest_readings(case)]


@pytest.mark.parametrize(
    ("name", "value", "verdict"),
    [
        # House values and the sheet of the species (scheduler/guide/limits.md): both sides of each limit.
        ("temperature", 24.0, "fine"),
        ("temperature", 28.9, "look"),
        ("temperature", 31.0, "act"),
        ("nitrate", 35.0, "fine"),
        ("nitrate", 51.0, "look"),
        ("nitrate", 120.0, "act"),
        ("nitrite", 0.0, "fine"),
        ("nitrite", 3.0, "act"),
        ("ammonia", 0.0, "fine"),
        ("ammonia", 0.5, "look"),
        ("ammonia", 4.0, "act"),
        ("ph", 7.4, "fine"),
        ("ph", 5.5, "act"),
        ("alkalinity", 150.0, "fine"),
        ("alkalinity", 5.0, "act"),
    ],
)
def test_a_reading_in_a_word(name: str, value: float, verdict: str | None) -> None:
    assert found(WEIR + FERN, (0, name, value)) == [(name, value, verdict)]


def test_a_clean_test_is_fine_while_its_alarm_goes_on() -> None:
    """An alarm is over with the clean tests of two days; the reading itself is what it is."""
    assert found(WEIR + FERN, (2, "ammonia", 4.0), (1, "ammonia", 0.0)) == [("ammonia", 0.0, "fine")]


def test_where_there_is_nothing_to_hold_it_against_there_is_no_word() -> None:
    assert found(WEIR, (0, "temperature", 33.0), (0, "ammonia", 2.0)) == [
        ("temperature", 33.0, None),
        ("ammonia", 2.0, None),
    ]
    assert found(POND, (0, "temperature", 18.0)) == [("temperature", 18.0, None)]


def test_outdoors_the_water_is_held_against_what_animals_come_in_for() -> None:
    assert found(POND, (0, "temperature", 12.0)) == [("temperature", 12.0, "act")]


def test_of_each_quantity_the_last_one_in_the_order_of_reading_off() -> None:
    assert found(
        WEIR + FERN, (9, "ph", 7.0), (8, "nitrate", 80.0), (1, "temperature", 24.0), (1, "nitrate", 20.0)
    ) == [("temperature", 24.0, "fine"), ("nitrate", 20.0, "fine"), ("ph", 7.0, "fine")]
