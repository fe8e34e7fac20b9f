"""When lamps burn, and what waits for them: parts of the day, notes, findings."""

import datetime as dt
import re

import pytest
from support.care.watching import TANK

from scheduler import care
from scheduler.care import check
from scheduler.description import load
from scheduler.species import load_sheets


def case(hours="", *, times="", text=TANK, kind="mercury vapour", more=""):
    """Return the tank with one lamp of some hours, and an animal that came in October."""
    lamp = ", ".join([f'kind = "{kind}"', "installed = 2026-10-03", *hours.split("\n")]).rstrip(", ")
    body = re.sub(r"lamp = .*", f"lamp = [{{{lamp}}}]", text).replace(
        "[[enclosure]]", f"{times}\n[[enclosure]]", 1
    )
    (found,) = care.cases(load(body + more, load_sheets(), (check,)), dt.date(2026, 12, 1))
    return found


def parts(found):
    """Return the part of the day of each job that looks at basking, reads UVI, or feeds."""
    keys = ("basking-watch", "basking-review", "uvi-reading", "feed")
    return {job.key: job.part for job in care.jobs_of(found) if job.key in keys}


def note(found, key):
    """Return the steps of the first job of a key."""
    return next(job for job in care.jobs_of(found) if job.key == key).notes().brief()


@pytest.mark.parametrize(
    ("hours", "basking", "meal"),
    # The round is at 07:30 and 18:30; lamps count after 30 minutes, a meal comes after 60: house values.
    [
        ("hours_a_day = 12", "morning", "morning"),
        ('on_at = "06:30"\nhours_a_day = 12', "morning", "morning"),
        ('on_at = "06:45"\nhours_a_day = 12', "morning", "evening"),
        ('on_at = "07:00"\nhours_a_day = 12', "morning", "evening"),
        ('on_at = "07:01"\nhours_a_day = 12', "evening", "evening"),
        # Off at 18:30: nobody basks in the evening, and the job keeps its place.
        ('on_at = "08:30"\nhours_a_day = 10', "morning", "morning"),
        # Past midnight: on from 20:00 to 08:00.
        ('on_at = "20:00"\nhours_a_day = 12', "morning", "morning"),
        ('on_at = "17:00"\nhours_a_day = 24', "morning", "morning"),
        # With the seasons, from eight hours on: off by 14:00 in winter.
        ('on_at = "06:00"\nhours_a_day = "daylight"', "morning", "morning"),
    ],
)
def test_what_needs_the_lamps_waits_for_them(hours, basking, meal):
    assert parts(case(hours)) == {
        "basking-watch": basking,
        "basking-review": basking,
        "uvi-reading": basking,
        "feed": meal,
    }


def test_a_keepers_own_part_of_the_day_stands():
    own = '[enclosure.job.feed]\npart = "morning"\n'
    assert parts(case('on_at = "08:30"\nhours_a_day = 12', more=own))["feed"] == "morning"


def test_the_house_values_say_how_long():
    later = "[site.house_values]\nwarm_up = 90\nfeed_after = 20"
    assert parts(case('on_at = "06:45"\nhours_a_day = 12', times=later)) == {
        "basking-watch": "evening",
        "basking-review": "evening",
        "uvi-reading": "evening",
        "feed": "morning",
    }


def findings(found):
    """Return what the review says of the lamps' hours."""
    keys = ("basking-watch", "uvi-reading", "feed")
    return {
        f.key: (f.verdict, f.text) for f in care.review(found).findings if f.key in keys and "on_at" in f.text
    }


def test_where_no_part_of_the_day_finds_them_on_the_review_says_which_hour_would():
    said = findings(case('on_at = "08:30"\nhours_a_day = 10'))
    assert said == {
        "basking-watch": (
            "look",
            "Nobody can be seen basking at 07:30 or 18:30: lamps count 30 minutes after they go on, and mercury vapour 08:30 to 18:30 are their hours. Set the timer, and write "
            'on_at = "07:00" or earlier with hours that reach it, or change site.times.',
        ),
        "uvi-reading": (
            "look",
            "No UVI can be read at 07:30 or 18:30: lamps count 30 minutes after they go on, and mercury vapour 08:30 to 18:30 are their hours. Set the timer, and write "
            'on_at = "07:00" or earlier with hours that reach it, or change site.times.',
        ),
        "feed": (
            "look",
            "Food lies cold at 07:30 or 18:30: lamps count 60 minutes after they go on, and mercury vapour 08:30 to 18:30 are their hours. Set the timer, and write "
            'on_at = "06:30" or earlier with hours that reach it, or change site.times.',
        ),
    }


@pytest.mark.parametrize("hours", ["", "hours_a_day = 12", 'on_at = "06:00"\nhours_a_day = 14'])
def test_lamps_of_unknown_hours_and_those_that_reach_are_not_spoken_of(hours):
    assert findings(case(hours)) == {}


def test_a_lamp_goes_off_before_the_second_meal():
    twice = TANK.replace("meals_a_week = 3", "meals_a_week = 14")
    said = findings(case('on_at = "06:00"\nhours_a_day = 12', text=twice))
    assert said["feed"][1].startswith("Food lies cold at 18:30: ")
    assert findings(case('on_at = "06:00"\nhours_a_day = 13', text=twice)) == {}


def test_a_keepers_own_part_is_held_against_the_hours():
    early = 'on_at = "06:00"\nhours_a_day = 12'
    own = '[enclosure.job.feed]\npart = "evening"\n'
    assert findings(case(early)) == {}
    assert findings(case(early, more=own))["feed"][1].startswith("Food lies cold at 18:30: ")
    assert findings(case(early, more=own + "off = true\n")) == {}


def test_in_winter_lamps_that_follow_the_daylight_are_off_in_the_morning():
    # Dublin, 1 December: 8 hours of light around noon, 08:00 to 16:00 by the timer's quarter hours.
    winter = TANK.replace("[[enclosure]]", "latitude = 53.3\n[[enclosure]]", 1)
    assert "daylight" not in str(findings(case('hours_a_day = "daylight"')))
    assert set(findings(case('hours_a_day = "daylight"', text=winter))) == {
        "basking-watch",
        "uvi-reading",
        "feed",
    }


def test_the_timers_note_names_on_and_off():
    assert "The timer keeps: mercury vapour 06:45 to 18:45." in note(
        case('on_at = "06:45"\nhours_a_day = 12'), "lamp-timer"
    )
    assert "Lamps with fixed hours burn 12 hours a day." in note(case("hours_a_day = 12"), "lamp-timer")
    seasonal = note(case('on_at = "06:00"\nhours_a_day = "daylight"'), "lamp-timer")
    assert "They go on at 06:00 all year, and burn for these hours." in seasonal
    assert "Their middle is noon" in note(case('hours_a_day = "daylight"'), "lamp-timer")


def test_what_is_plugged_in_again_is_found_on_at_its_hours():
    assert "lamp on at its hours (mercury vapour 06:45 to 18:45)" in note(
        case('on_at = "06:45"\nhours_a_day = 12'), "lamp-clean"
    )


def test_the_daily_look_reads_the_basking_surface_once_its_lamp_is_warm():
    later = " once its lamp has been on for 30 minutes"
    assert later in note(case('on_at = "07:15"\nhours_a_day = 12'), "daily-look")
    assert later not in note(case('on_at = "06:45"\nhours_a_day = 12'), "daily-look")


def test_nobody_waits_for_a_musk_turtle_to_bask():
    # Basks little out of water: Toronto Zoo, turtle species guide (the sheet's source).
    musk = TANK.replace("painted turtle", "musk turtle")
    assert set(parts(case("hours_a_day = 12", text=musk))) == {"uvi-reading", "feed"}
    assert set(findings(case('on_at = "08:30"\nhours_a_day = 10', text=musk))) == {"uvi-reading", "feed"}
    assert set(parts(case("hours_a_day = 12"))) == {"basking-watch", "basking-review", "uvi-reading", "feed"}


FITTINGS = [
    # kind, what it is bought for, what it is fitted into: common practice, no published source
    ("mercury vapour", "self-ballasted, for a ceramic socket and no dimmer", "in a ceramic socket and on no dimmer"),
    ("metal halide", "for the ballast that you have", "on its own ballast, never in a socket of the mains"),
    ("T5 HO tube", "a tube for your T5 HO ballast, of its wattage and length", "on a T5 HO ballast of its wattage and length"),
    ("T8 tube", "a tube for your T8 ballast, of its wattage and length", "on a T8 ballast of its wattage and length"),
    ("compact", "for an E27 socket (E26 in North America)", "in a ceramic E27 socket (E26 in North America)"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "bought", "fitted"), FITTINGS, ids=[row[0] for row in FITTINGS])
def test_each_kind_of_lamp_has_its_socket_or_ballast(kind, bought, fitted):
    found = case("hours_a_day = 12", kind=kind)
    assert bought in note(found, "uv-lamp-order")
    assert fitted in note(found, "uv-lamp-replace")


def test_the_meter_is_held_on_a_rod():
    said = note(case("hours_a_day = 12"), "uvi-reading")
    assert "Tape the meter's sensor to a rod as long as the basking distance" in said
    assert "Let the lamps burn, come back after 30 minutes" in said
