"""Ponds: indoors reviewed like a tub; outdoors with what makes sense there, and nobody left in the cold."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import case_of, first_step, follows, load, notes, said

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
            "Read the water every day: under 15 °C bring Dove and Wren in, the same day. Have a warm, filtered enclosure ready before autumn.",
        ),
        (
            "fine",
            "It stands outdoors: from November to March the plan changes no water, and weighs nobody who winters there; without readings of the water it "
            "feeds nobody either. Getting ready, the looks in the cold and the check after it are planned.",
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
    assert told[:1] == [
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


# --- Seasons -----------------------------------------------------------------------------------------------------

SOUTH = "latitude = -33.9"  # Sydney
NORTH = "latitude = 53.3"

MONTHS = [
    # latitude, cold months, the first of: getting ready, spring check, the vet's autumn check (months: house values)
    (NORTH, {11, 12, 1, 2, 3}, 10, 4, 9),
    (SOUTH, {5, 6, 7, 8, 9}, 4, 10, 3),
]


def planned(text, lines=()):
    return {f"{j.key}/{j.variant}": j for j in care.jobs_of(case_of(list(lines), text))}


@pytest.mark.parametrize(("latitude", "cold", "ready", "spring", "vet"), MONTHS)
def test_a_pond_outdoors_has_seasons_of_its_hemisphere(latitude, cold, ready, spring, vet):
    jobs = planned(BOTH_REST.replace(NORTH, latitude))
    month = {
        key: job.cadence.start.month for key, job in jobs.items() if key.startswith(("cold", "vet-check/b"))
    }
    season = "october" if ready == 10 else "april"
    assert month[f"cold-season-check/{season}"] == ready
    assert (month["cold-season-check/spring"], month["vet-check/before-winter"]) == (spring, vet)
    assert set(jobs["cold-season-check/winter"].cadence.rule.bymonth) == cold
    # No change of water, no meal and no weighing in the cold.
    for key in ("water-change/", "feed/adult", "weigh-measure/", "cuttlebone/"):
        days = jobs[key].cadence.rule.dates(dt.date(2026, 10, 3), dt.date(2028, 10, 2))
        assert not {day.month for day in days} & cold, key


def test_who_comes_in_is_weighed_all_year():
    assert planned(OUTDOORS)["weigh-measure/"].cadence == care.Every(
        span=planned(TUB)["weigh-measure/"].cadence.span, anchor=dt.date(2026, 10, 20)
    )
    assert "vet-check/before-winter" not in planned(OUTDOORS)


@pytest.mark.parametrize("latitude", ["latitude = 12", "latitude = -23.5", ""])
def test_in_the_tropics_and_where_nobody_knows_the_place_no_months_are_cold(latitude):
    jobs = planned(BOTH_REST.replace(NORTH, latitude))
    assert not {"cold-season-check/winter", "cold-season-check/spring", "vet-check/before-winter"} & set(jobs)
    assert isinstance(jobs["water-change/"].cadence, care.Every)


@pytest.mark.parametrize("text", [TUB, INDOORS], ids=["tub", "indoor pond"])
def test_nothing_of_an_indoor_pond_has_seasons(text):
    resting = text.replace('"300 g"', '"300 g", brumates = true')
    jobs = planned(resting)
    assert {key for key in jobs if key.startswith("cold")} == {"cold-season-check/october"}
    said = " ".join(job.notes().text() for job in jobs.values())
    for word in (" ice:", "de-icer", "fence", "overflow", "RCD or GFCI, dry plugs", "half of the meal"):
        assert word not in said, word
    assert isinstance(jobs["water-change/"].cadence, care.Every)
    # Who winters in a cold room by its vet's plan is weighed there.
    assert "weigh in the cold room, in two minutes" in jobs["weigh-measure/"].notes().brief()


def test_where_the_water_is_read_it_says_who_is_fed():
    jobs = planned(OUTDOORS, ["2026-12-01 temperature 16"])
    assert jobs["feed/adult"].cadence.rule.bymonth == ()
    brief = jobs["feed/adult"].notes().brief()
    assert "under 15 °C feed nobody; under 20 °C half of the meal, and only where they come for it." in brief
    cold = planned(OUTDOORS, COLD)["feed/adult"].notes().brief()
    assert "On 3 December 2026 it was 12 °C: nothing until it is over 15 °C again." in cold


SAID = [
    # job, words (common practice, no published source)
    ("cold-season-check/october", "Stretch a net over the water for the leaves"),
    ("cold-season-check/october", "Foxes, rats, raccoons, herons and crows"),
    ("cold-season-check/october", "the overflow is open and screened"),
    ("cold-season-check/october", "keeps a hole in the ice, so that gas can go out and air come in"),
    ("cold-season-check/winter", "Never step onto the ice"),
    ("cold-season-check/winter", "Never hit or break ice"),
    ("cold-season-check/winter", "pan of hot water that stands on the ice"),
    ("cold-season-check/winter", "do not lift out, weigh or turn over"),
    ("cold-season-check/spring", "Never empty the pond."),
    ("cold-season-check/spring", "Change up to 30 % of the water"),
    ("daily-look/", "Who rests on the bottom in the cold is left there"),
    ("vet-check/before-winter", "may winter in the cold this year"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "words"), SAID)
def test_what_the_notes_of_the_seasons_say(key, words):
    assert words in planned(BOTH_REST)[key].notes().text()


@pytest.mark.parametrize(
    "key", ["cold-season-check/october", "cold-season-check/winter", "cold-season-check/spring"]
)
def test_electricity_outdoors_is_for_the_licensed(key):
    text = planned(BOTH_REST)[key].notes().text()
    assert "ground-fault device (RCD, GFCI)" in text and "licensed electrician, by local codes" in text


SEEN = [
    # record, today, whether it is acted on (the cold begins on 1 November, the autumn two months before: house values)
    ([], "2026-10-31", False),
    ([], "2026-11-01", True),
    ([], "2027-02-01", True),
    (["2026-10-25 did vet-check"], "2026-11-01", False),
    (["2026-10-25 did vet-check/before-winter"], "2027-02-01", False),
    (["2026-10-25 did vet-check"], "2027-11-02", True),
]


@pytest.mark.parametrize(("lines", "today", "acts"), SEEN)
def test_no_animal_winters_without_a_vets_check_of_that_autumn(lines, today, acts):
    found = [
        f.text
        for f in care.review(case_of(lines, BOTH_REST, today)).findings
        if (f.key, f.verdict) == ("vet-check", "act")
    ]
    assert found == (
        [
            "The cold has begun, and no vet check of this autumn is recorded for Dove and Wren: have them seen at once, or bring them in."
        ]
        if acts
        else []
    )
