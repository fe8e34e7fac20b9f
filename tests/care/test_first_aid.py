"""First aid: what stands in the note of water that is too warm or too cold, and in the plan for a power cut, word for word.

No rate of warming or cooling was found published: the notes say so, and the vet stands first. Half an hour between readings
and a day before food are house values; no flame and no generator indoors is CDC's advice on carbon monoxide, from memory; the
hours come from the heat balance of the handbook (computed, see tests/handbook).
"""

from __future__ import annotations

import pytest
from support.care.watching import TANK, case_of, follows, notes

from scheduler import care

CALLED = """
[[site.contact]]
name = "Dr. Osei"
phone = "01632 960117"
for = "vet"
[[site.contact]]
name = "Maud"
phone = "01632 960118"
for = ["coordinator", "electrician"]
"""


def described(
    *, called: str = "", room: str = "", cover: str = "", without: str = "", kind: str = "tank"
) -> str:
    """Return the tank with contacts, the room's coldest, a cover or another kind; without the line of some equipment."""
    text = TANK.replace("[[enclosure]]", f'{room}\n{called}\n[[enclosure]]\nkind = "{kind}"\n{cover}', 1)
    return "\n".join(line for line in text.splitlines() if not (without and line.startswith(without)))


def steps(celsius: float, text: str) -> str:
    found = notes([f"2026-12-01 temperature {celsius}"], "heater-check/temperature-2026-12-01", text)
    return found.split("\n\n")[0]


def plan(text: str) -> str:
    return notes([], "cold-season-check/october", text).split("\n\n")[0]


WARM = """\
1. The water was 33 °C on 1 December 2026, in one reading so far; these animals want 22-26 °C. Unplug the heater first. Then call Dr. Osei (vet, 01632 960117) and follow what is said there. No published rate found for how fast an animal may be cooled.
2. Switch the lamps off, UV and heat. Keep the sun out, open a window, and open the cover by a gap too narrow for the animals. A fan stands aside, where neither it nor its cord can fall into the water. The filter goes on running.
3. Let it cool slowly, by itself, to 26 °C. Never put ice, cold water or a cold cloth on an animal, and no ice into the water. Read the water again every 30 minutes.
4. Tell the coordinator: Maud, 01632 960118.
5. Then look into the heater. Plug it in again only to check it, and stay with it; one that stuck once is replaced.
6. Read the water with a second thermometer: it should show 25 °C, within 1 °C (2 °F).
7. Turn the set point down until the heater goes off, then back: it must switch both times. For a dial under water unplug everything first, and plug in again to look.
8. Unplug every heater and lamp with dry hands; come back after 30 minutes, when cool, and unplug the filter too.
9. Look for cracks, lime and loose cords. A heater that is damaged or did not switch stays unplugged: put in a spare or a new one today.
10. Plug in again, and see: filter flowing.
11. Once the water is down to 26 °C, plug in again, and see: heater under water, set to 25 °C; lamp on at its hours (T5 HO tube 12 h).
12. Close the cover. Come back after 30 minutes, and look again."""

COLD = """\
1. The water was 16 °C on 1 December 2026, in one reading so far; these animals want 22-26 °C. Give no food. Call Dr. Osei (vet, 01632 960117) and follow what is said there. No published rate found for how fast an animal may be warmed.
2. With dry hands, and none in the water, look at the heater's plug, its timer or thermostat, and the breaker and ground-fault device. One that trips again stays off: call Maud (electrician, 01632 960118).
3. Unplug what is broken, wet inside or cracked. A hand goes in only with everything unplugged; plug in again after it what is whole.
4. Warm it slowly: a sound heater under water, set to 25 °C, a warm room, the cover on. 200 W take about 11 h to 22 °C in your coldest room.
5. Never pour hot water in or over an animal, lay it on a heating pad or hang a lamp nearer. Read the water again every 30 minutes.
6. Tell the coordinator: Maud, 01632 960118.
7. Read the water with a second thermometer: it should show 25 °C, within 1 °C (2 °F).
8. Turn the set point down until the heater goes off, then back: it must switch both times. For a dial under water unplug everything first, and plug in again to look.
9. Unplug every heater and lamp with dry hands; come back after 30 minutes, when cool, and unplug the filter too.
10. Look for cracks, lime and loose cords. A heater that is damaged or did not switch stays unplugged: put in a spare or a new one today.
11. Plug in again, and see: filter flowing; heater under water, set to 25 °C; lamp on at its hours (T5 HO tube 12 h).
12. Food again 24 hours after the water has come to 22-26 °C."""


@pytest.mark.parametrize(("celsius", "whole"), [(33, WARM), (16, COLD)])
def test_first_aid_stands_before_the_check_of_the_heater(celsius: float, whole: str) -> None:
    text = described(called=CALLED, room='room_low = "14 degC"', cover="covered = true")
    assert steps(celsius, text) == whole


WARM_WITHOUT_HEATER = """\
1. The water was 33 °C on 1 December 2026, in one reading so far; these animals want 22-26 °C. Call a vet who knows reptiles and follow what is said there. No published rate found for how fast an animal may be cooled.
2. Switch the lamps off, UV and heat. Keep the sun out, open a window, and open the cover by a gap too narrow for the animals. A fan stands aside, where neither it nor its cord can fall into the water. The filter goes on running.
3. Let it cool slowly, by itself, to 26 °C. Never put ice, cold water or a cold cloth on an animal, and no ice into the water. Read the water again every 30 minutes.
4. Once the water is back switch on again, and see: lamp on at its hours (T5 HO tube 12 h).
5. Close the cover. Come back after 30 minutes, and look again."""


def test_a_tank_without_a_heater_has_first_aid_too() -> None:
    assert steps(33, described(without="heater")) == WARM_WITHOUT_HEATER
    # Out of the band and short of an alarm nothing is unplugged and nobody is called.
    assert not follows(["2026-12-01 temperature 28"], described(without="heater"))


@pytest.mark.parametrize(
    ("kind", "without", "comes"),
    [
        ("tub", "", True),
        ("tub", "heater", True),
        ("pond", "", True),
        ("pond", "heater", True),
        ("pond", "outdoors", False),
    ],
)
def test_tubs_and_ponds_indoors_have_it_and_a_pond_outdoors_has_none(
    kind: str, without: str, comes: bool
) -> None:
    outdoors = without == "outdoors"
    text = described(
        kind=kind, without="heater" if outdoors else without, cover="outdoors = true" if outdoors else ""
    )
    for celsius in (12, 33):
        jobs = follows([f"2026-12-01 temperature {celsius}"], text)
        assert ("heater-check/temperature-2026-12-01" in jobs) == comes
    look = next(job for job in care.jobs_of(case_of([], text)) if job.key == "daily-look").notes().text()
    assert ("heater and lamps off at the plug" in look) == comes


POWER_CUT = """\
1. Read the coldest temperature of the room over a night. The description says 14 °C at the coldest.
2. See that the heater holds its set point on a cold morning, and keep a spare one.
3. Chrysemys picta: Wild animals winter in water with shells at 0.5-14 °C (33-57 °F). Indoors, do not let an animal hang between 10 and 18 °C (50 and 64 °F), too cold to digest and too warm to rest, and never winter a new, thin or sick one without a vet.
4. Write latitude into the [site] table: then this comes once a year, at the right end of it.
5. Power cut: light no flame, grill, camping or gas stove indoors to warm the room, and run no generator indoors, in a garage, or near windows and doors: carbon monoxide kills without a smell.
6. Unplug filter, heater and lamp, so that nothing comes on unwatched. Only with everything under them unplugged lay blankets round the sides and over the cover, and leave a hand's breadth open for air.
7. In your coldest room (14 °C) the water falls to 22 °C within 6 hours, 18 °C (alarm) within 19 hours, 15 °C (no food) within 45 hours. Give no food while the filter stands or the water is too cold.
8. A battery air pump keeps air in the water and the filter's bacteria alive. A filter that stood for more than 2 hours is emptied of its old water before it runs again.
9. With the power back take the blankets off first. Then plug in again, and see: filter flowing; heater under water, set to 25 °C; lamp on at its hours (T5 HO tube 12 h).
10. Come back after 10 minutes, and see that all of it runs. Test ammonia and nitrite on the next day."""


def test_the_plan_for_a_power_cut_says_what_happens_when() -> None:
    text = described(room='room_low = "14 degC"', cover="covered = true")
    assert plan(text).startswith(POWER_CUT)
    # The hours to the alarm are the figure's: one sum, two places.
    assert int(case_of([], text).number("power_cut_time")) == 19


def test_what_is_not_there_is_neither_unplugged_nor_plugged_in() -> None:
    bare = plan(described(without="heater"))
    assert "Unplug filter and lamp, so" in bare and "heater" not in bare and "the water falls" not in bare
    nothing = "\n".join(
        line for line in TANK.splitlines() if not line.startswith(("heater", "lamp", "filter"))
    )
    assert "Power cut" not in plan(nothing)
