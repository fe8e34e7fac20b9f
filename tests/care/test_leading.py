"""What a day's work is named after. The order is the project's own."""

from __future__ import annotations

from support.care.watching import TANK, case_of

from scheduler import care
from scheduler.care.leading import ORDER, leading

OWN = """
[[enclosure.extra_job]]
key = "net"
title = "mend the net"
every = "1 year"
[[enclosure.extra_job]]
key = "lid"
title = "see to the lid"
every = "1 day"
routine = true
"""


def test_the_order_holds_every_key_once():
    assert sorted(key for key in ORDER if not key.startswith("(")) == sorted(care.KEYS)
    assert len(ORDER) == len(set(ORDER))


def test_the_routine_comes_last():
    places = {key: ORDER.index(key) for key in care.KEYS}
    assert max(places[key] for key in set(care.KEYS) - care.ROUTINE_KEYS) < min(
        places[k] for k in care.ROUTINE_KEYS
    )


def in_order(lines, late=()):
    jobs = list(care.jobs_of(case_of(lines, TANK + OWN)))
    return [job.short for job in sorted(jobs, key=lambda job: leading(job, late=job.key in late))]


def test_what_comes_seldom_leads_and_the_keepers_own_stands_before_the_routine():
    assert in_order([]) == [
        "Vet check", "Replace lamp", "Get ready", "Fit out", "Boil driftwood", "Rinse media", "Weigh", "UVI baseline", "Order lamp",
        "Basking review", "Space review", "Cold season", "Cold season", "Water change", "RCD test", "Filter check", "Heater check", "Cords, hoses",
        "UVI reading", "Clean lamps", "Set lamp timer", "Supplies", "Cuttlebone", "Test water", "Wipe down", "Top up",
        "mend the net", "Feed", "see to the lid", "Watch basking", "Look in",
    ]  # fmt: skip


def test_what_is_late_leads():
    assert in_order([], late=("top-up", "feed"))[:3] == ["Top up", "Feed", "Vet check"]


def test_what_an_alarm_asks_for_leads_before_what_is_late():
    alarm = [
        "2026-12-01 nitrite 3",
        "2026-12-01 ph 7.5",
        "2026-11-28 temperature 12",
        "2026-12-01 temperature 12",
    ]
    assert in_order(alarm, late=("top-up",))[:4] == [
        "Extra change",
        "Too cold: heater",
        "Retest water",
        "Top up",
    ]
