"""At which minute entries stand: routine at the hour of its part, other jobs at fixed slots along the walk."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from support import told
from support.feeds import export, read
from support.recorded import history, load

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.calendar.slots import Slots, walk
from scheduler.clocks import unsure_times

TODAY = dt.date(2026, 12, 1)

SITE = """
[site]
name = "Fen Lane"
time_zone = "{zone}"
[site.times]
morning = "{morning}"
evening = "{evening}"
"""


def site(enclosures: int, *, zone: str = "Europe/Dublin", morning: str = "06:45", evening: str = "18:30"):
    names = "".join(f'[[enclosure]]\nname = "Tank {n:02}"\n' for n in range(1, enclosures + 1))
    return load(SITE.format(zone=zone, morning=morning, evening=evening) + names)


def table(slots: Slots, enclosure: str) -> str:
    """Return the slots of the kinds of work in an enclosure: `07:15 water-test`."""
    kinds = ("water-test", "weigh-measure", "water-change", "top-up", "wipe-down", "filter-check", "media-rinse", "heater-check", "rcd-test")  # fmt: skip
    return "\n".join(f"{slots.of_job(enclosure, key, 'morning'):%H:%M} {key}" for key in kinds)


def test_one_enclosure_begins_half_an_hour_after_its_routine():
    slots = Slots(site(1))
    assert slots.of_part("morning") == dt.time(6, 45) and slots.of_part("evening") == dt.time(18, 30)
    assert table(slots, "tank-01") == (
        "07:15 water-test\n07:15 weigh-measure\n07:30 water-change\n08:15 top-up\n08:15 wipe-down\n"
        "08:15 filter-check\n08:15 media-rinse\n08:30 heater-check\n08:45 rcd-test"
    )


def test_the_kinds_keep_their_distances_in_each_enclosure_of_the_walk():
    slots = Slots(site(3))
    assert table(slots, "tank-01").splitlines()[0] == "07:45 water-test"
    assert table(slots, "tank-02") == (
        "08:30 water-test\n08:30 weigh-measure\n08:45 water-change\n09:30 top-up\n09:30 wipe-down\n"
        "09:30 filter-check\n09:30 media-rinse\n09:45 heater-check\n10:00 rcd-test"
    )


@pytest.mark.parametrize(
    ("enclosures", "hours"),
    [
        (1, "07:30"),
        (3, "08:00 08:45 09:30"),
        (7, "08:00 08:30 09:00 09:30 10:00 10:30 11:00"),
        (
            24,
            "08:00 08:15 08:30 08:45 09:00 09:15 09:30 09:45 10:00 10:15 10:30 10:45 11:00 "
            "08:00 08:15 08:30 08:45 09:00 09:15 09:30 09:45 10:00 10:15 10:30",
        ),
    ],
)
def test_the_walk_is_in_steps_of_a_quarter_of_an_hour_and_three_hours_at_most(enclosures, hours):
    """Water changes; of three tanks 45 minutes apart. A longer walk begins anew: several people are on it."""
    made = site(enclosures)
    slots = Slots(made)
    found = [slots.of_job(e.id, "water-change", "morning") for e in walk(made)]
    assert " ".join(f"{hour:%H:%M}" for hour in found) == hours


def test_the_walk_goes_from_room_to_room():
    toml = "".join(
        f'[[enclosure]]\nname = "{name}"\nroom = "{room}"\n'
        for name, room in [("Den tank", "den"), ("Attic tub", "attic"), ("Bow tank", "den")]
    )
    made = load(SITE.format(zone="Europe/Dublin", morning="07:00", evening="18:30") + toml)
    slots = Slots(made)
    assert [(e.name, f"{slots.of_job(e.id, 'water-test', 'morning'):%H:%M}") for e in walk(made)] == [
        ("Attic tub", "08:00"),
        ("Bow tank", "08:45"),
        ("Den tank", "09:30"),
    ]


@pytest.mark.parametrize("enclosures", [1, 3, 24])
@pytest.mark.parametrize("evening", ["18:30", "21:00", "22:50", "23:45"])
def test_no_entry_begins_in_the_night_or_before_its_part(enclosures, evening):
    """It would stand on the next day, or before the routine."""
    made = site(enclosures, evening=evening)
    slots = Slots(made)
    start = dt.time.fromisoformat(evening)
    found = [
        slots.of_job(e.id, key, "evening")
        for e in made.enclosures
        for key in ("water-test", "heater-check", "x")
    ]
    assert min(found) >= start
    assert max(found) <= max(dt.time(23, 30), start)


@pytest.mark.parametrize(
    ("zone", "morning", "evening"),
    [
        ("Pacific/Easter", "07:00", "20:00"),  # 21:00 to 23:00
        ("Asia/Beirut", "07:00", "22:30"),
        ("America/Santiago", "07:00", "22:00"),  # at midnight
        ("Africa/Cairo", "07:00", "22:30"),
    ],
)
def test_no_slot_lies_in_an_hour_that_is_skipped_or_comes_twice(zone, morning, evening):
    """RFC 5545, section 3.3.5 and 3.3.10 differ on such a time, and readers too. Hours: IANA time zone database."""
    made = site(7, zone=zone, morning=morning, evening=evening)
    slots = Slots(made)
    unsure = unsure_times(made.settings.zone, 2026, 10)
    assert unsure
    found = {
        slots.of_job(e.id, key, part)
        for e in made.enclosures
        for key in ("water-test", "water-change", "top-up", "heater-check", "x")
        for part in ("morning", "evening")
    }
    assert [at for at in found for begin, end in unsure if begin <= at < end] == []


def test_a_job_that_takes_longer_moves_no_other_and_a_late_one_keeps_its_slot(tmp_path: Path):
    tank = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-11-30
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
"""
    first, last = TODAY, TODAY + dt.timedelta(days=13)
    before = export(tmp_path, tank, TODAY, 366, Options())["fen-lane.ics"]
    longer = tank + "[enclosure.job.water-change]\nminutes = 110\n"
    after = export(tmp_path, longer, TODAY, 366, Options())["fen-lane.ics"]
    assert before != after
    assert told.shown(told.days(before, first, last)) == told.shown(told.days(after, first, last))
    # What was never recorded is late, at the hour that it would have had.
    made = read(tmp_path, tank)
    plan = workflow.make_plan(made, last, last, 60, history("2026-12-01", ["2026-12-01 did daily-look"]))
    done = workflow.export(plan, tmp_path / "late", Options(), keep_starts=True)
    (path,) = (path for path, _, _ in done.files if path.name == "fen-lane.ics")
    hours = {
        line.split(" ", 1)[1]
        for line in told.shown(told.days(path.read_bytes(), last, last))
        if "Late: " in line
    }
    assert hours == {"08:00 Late: test water", "09:00 Late: top up", "09:00 Late: wipe down"}
