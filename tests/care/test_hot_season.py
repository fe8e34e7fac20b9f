"""A hot room: a finding, and a job before the hot season of the hemisphere."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import TANK, load

from scheduler import care
from scheduler.care import ByRule


def with_room(high, more=""):
    return TANK.replace("[[enclosure]]", f'room_high = "{high}"\n{more}[[enclosure]]')


def found_in(text):
    (case,) = care.cases(load(text), dt.date(2026, 12, 1))
    return case, [f for f in care.review(case).findings if f.key == "hot-season-check"]


def test_a_room_of_34_degrees_is_acted_on():
    _, (found,) = found_in(with_room("34 degC"))
    assert (found.verdict, found.text) == (
        "act",
        "The room goes up to 34 °C, and the water follows it; over 30 °C is an alarm, and no heater has to fail for that. Before the hot season: shade, a fan across "
        "the water that stands dry and cannot fall in, heat lamps in the cool hours, or a cooler room. The hot-season-check says how.",
    )


ROOMS = [
    # room_high, latitude, the months of the job (over 30 degC the water is an alarm: house value)
    ("34 degC", "latitude = 53.3\n", {"june": 6}),
    ("34 degC", "latitude = -33.9\n", {"december": 12}),
    ("34 degC", "", {"june": 6, "december": 12}),
    ("30 degC", "latitude = 53.3\n", {"june": 6}),
    ("29.9 degC", "latitude = 53.3\n", {}),
]


@pytest.mark.parametrize(("high", "latitude", "months"), ROOMS)
def test_the_job_comes_before_the_hot_season(high, latitude, months):
    case, findings = found_in(with_room(high, latitude))
    jobs = [j for j in care.jobs_of(case) if j.key == "hot-season-check"]
    assert {j.variant: j.cadence.start.month for j in jobs if isinstance(j.cadence, ByRule)} == months
    assert bool(findings) == bool(months)


def test_what_is_switched_off_is_switched_on_again():
    case, _ = found_in(with_room("34 degC", "latitude = 53.3\n"))
    steps = next(j for j in care.jobs_of(case) if j.key == "hot-season-check").notes().steps
    assert steps[-2] == (
        "Over 30 °C: heater unplugged, shade and moving air, and let it fall slowly. No ice and no cold water onto an animal. "
        "Call a vet who knows reptiles where one gapes, is limp or swims askew."
    )
    assert steps[-1] == (
        "Back under 30 °C plug in again with dry hands, and see, then and the next morning: heater under water, set to 25 °C."
    )


def test_heat_lamps_are_plugged_in_again_too():
    text = with_room("34 degC", "latitude = 53.3\n").replace(
        'lamp = [{kind = "T5', 'lamp = [{kind = "heat", hours_a_day = 10}, {kind = "T5'
    )
    (job,) = [j for j in care.jobs_of(found_in(text)[0]) if j.key == "hot-season-check"]
    steps = job.notes().steps
    assert steps[-2].startswith("Over 30 °C: heater and heat lamps unplugged, shade")
    assert steps[-1].endswith(
        "heater under water, set to 25 °C; lamps on at their hours (heat 10 h, T5 HO tube 12 h)."
    )
    assert job.skills == ("adult",)


def test_outdoors_there_is_no_room():
    _, findings = found_in(
        with_room("34 degC").replace('name = "Quillet"', 'name = "Quillet"\nkind = "pond"\noutdoors = true')
    )
    assert findings == []
