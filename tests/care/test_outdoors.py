"""Ponds: indoors reviewed like a tub; outdoors with what makes sense there, and nobody left in the cold."""

from __future__ import annotations

import datetime as dt

import pytest
from watching import case_of, first_step, follows, load, notes, said

from scheduler import care

TUB = """
[site]
name = "Plover Yard"
time_zone = "Europe/Dublin"
latitude = 53.3
room_low = "14 degC"
room_high = "26 degC"
[[enclosure]]
name = "Quillet"
kind = "tub"
set_up = 2026-10-03
cycled = true
length = "200 cm"
width = "100 cm"
height = "60 cm"
water_depth = "50 cm"
covered = false
filter = {kind = "canister", flow = "4000 L/h"}
resident = [
  {name = "Wren", species = "painted turtle", carapace = "12 cm", mass = "300 g", arrived = 2026-10-20},
  {name = "Dove", species = "painted turtle", carapace = "13 cm", mass = "330 g", arrived = 2026-10-20},
]
feed = {grams = 3, protein = 0.4, meals_a_week = 3}
"""
INDOORS = TUB.replace('"tub"', '"pond"')
OUTDOORS = TUB.replace('"tub"', '"pond"\noutdoors = true')
BOTH_REST = OUTDOORS.replace('"300 g"', '"300 g", brumates = true').replace(
    '"330 g"', '"330 g", brumates = true'
)
ONE_RESTS = OUTDOORS.replace('"300 g"', '"300 g", brumates = true')
COLD = ["2026-12-01 temperature 16", "2026-12-02 temperature 14.9", "2026-12-03 temperature 12"]


def review(text):
    (case,) = care.cases(load(text), dt.date(2026, 12, 1))
    return care.review(case)


def test_an_indoor_pond_is_reviewed_like_a_tub():
    tub, pond = review(TUB), review(INDOORS)
    assert [(f.key, f.value) for f in pond.figures] == [(f.key, f.value) for f in tub.figures]
    as_tub = [f.text.replace("for the pond", "for the tub") for f in pond.findings]
    assert as_tub == [f.text for f in tub.findings]
    assert "act" in {f.verdict for f in pond.findings if f.key == "heater_power"}, (
        "a room of 14 degC, and no heater"
    )


def test_outdoors_nothing_is_said_of_rooms_and_covers():
    found = review(OUTDOORS)
    told = " ".join(f.text for f in found.findings if not f.unknown)
    assert "room" not in told and "Cover every opening" not in told and "UV lamp" not in told
    assert [(f.verdict, f.text) for f in found.findings if f.key == "cold-season-check"][:2] == [
        (
            "look",
            "It stands outdoors, and the plan knows no seasons: feeding, water changes and filter service go on as in summer, and nothing is planned for "
            "ice, overflow, predators or the spring. In the cold let a reptile vet say what is fed, changed and drained, and switch off what does not "
            "fit: [enclosure.job.KEY] with off = true.",
        ),
        (
            "look",
            "Read the water every day: under 15 °C bring Dove and Wren in, the same day. Have a warm, filtered enclosure ready before autumn.",
        ),
    ]


def test_cold_water_outdoors_brings_the_animals_in():
    assert said(COLD, OUTDOORS) == [
        "act: The water outdoors was 12 °C on 3 December 2026. Animals that do not brumate come in from water under 15 °C. Bring Dove and Wren in "
        "today: that is due at once, and its note says how."
    ]
    # It is due since the first day of the cold ones in a row.
    assert follows(COLD, OUTDOORS) == {"cold-season-check/bring-in-2026-12-02": ["2026-12-02"]}
    assert (
        first_step(COLD, "cold-season-check/bring-in-2026-12-02", OUTDOORS)
        == "The water outdoors was 12 °C on 3 December 2026; under 15 °C animals that do not brumate come in."
    )
    assert "Do not feed before the water has come to 22-26 °C." in notes(
        COLD, "cold-season-check/bring-in-2026-12-02", OUTDOORS
    )
    (found,) = [f for f in care.review(case_of(COLD, OUTDOORS)).findings if f.verdict == "act"]
    assert (
        found.text
        == "The water was 12 °C on 3 December 2026: under 15 °C, and Dove and Wren may not stay in it. Bring in today."
    )


WHO = [
    # description, lines, who comes in (15 degC: house value)
    (OUTDOORS, ["2026-12-01 temperature 15"], None),
    (OUTDOORS, ["2026-12-01 temperature 12", "2026-12-02 temperature 16"], None),
    (ONE_RESTS, COLD, "Dove"),
    (BOTH_REST, COLD, None),
    # No sheet says that an animal of the tropics brumates: the keeper's word is not enough.
    (BOTH_REST.replace("painted turtle", "Pelusios castaneus"), COLD, "Dove and Wren"),
    # Indoors the heater is looked at, and not the door.
    (INDOORS, COLD, None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "lines", "who"), WHO)
def test_who_is_brought_in(text, lines, who):
    found = [line for line in said(lines, text) if "Bring" in line]
    assert [f"Bring {who} in today" in line for line in found] == ([True] if who else [])


def test_brumating_is_the_keepers_word_and_a_vets():
    told = [f.text for f in review(BOTH_REST).findings if f.key == "cold-season-check"]
    assert told[1:2] == [
        "You wrote that Dove and Wren brumate. Only after a vet's check of this autumn, and never a new, thin or sick animal. Do not feed, lift out or "
        "weigh outdoors in the cold; the plan cools no water."
    ]
    tropical = review(BOTH_REST.replace("painted turtle", "Pelusios castaneus"))
    (found,) = [f for f in tropical.findings if f.verdict == "act"]
    assert found.text.startswith(
        "brumates = true is written for Dove and Wren, but no species sheet says that such animals brumate"
    )


def test_no_note_outdoors_cools_anything_or_reads_a_room():
    for job in care.jobs_of(case_of([], OUTDOORS)):
        text = job.notes().text()
        assert "coldest temperature of the room" not in text, job.word
    look = notes([], "daily-look/", OUTDOORS)
    assert (
        "Read the water temperature. Under 15 °C: bring Dove and Wren in today; nobody is fed. Over 30 °C: shade it now."
        in look
    )
