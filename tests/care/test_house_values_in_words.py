"""No house value stands as a digit in a note or a sentence: where the keeper chooses another, none of ours is left."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from support import recorded
from support.care.watching import IN_US, NEW, TANK
from support.samples import EVERY_FILE

from scheduler import care
from scheduler.care import Case, check
from scheduler.description import load
from scheduler.description.site import HouseValues
from scheduler.history import NO_HISTORY
from scheduler.species import load_sheets

SAMPLES = sorted((Path(__file__).parents[2] / "sample_configs").glob("*.toml"))

UNUSUAL = {
    "nitrate_look": "37 mg/L", "nitrate_act": "83 mg/L", "ammonia_clean": "0.29 mg/L", "ammonia_dose": "1.7 mg/L", "ammonia_look": "0.013 mg/L",
    "ammonia_act": "0.073 mg/L", "nitrite_look": "0.17 mg/L", "nitrite_act": "0.67 mg/L", "weight_loss": 0.13,
    "weight_loss_young": 0.07, "no_food": "9 days", "no_food_young": "4 days", "nitrogen": "all", "humidity": 0.43,
    "evaporation_activity": 0.83, "top_up_fall": "3.7 cm", "pail": "5.7 L", "reference_mass": "18.3 kg", "hose_from": "47 L", "lamps_ahead": "23 days", "warm_up": 27, "feed_after": 53,
    "supplies_ahead": "19 days", "size_ratio_look": 1.3, "size_ratio_act": 1.7, "females_per_male": 3, "free_rim": "6.1 cm",
    "bring_in": "13.1 degC", "nitrate_over_tap": "23 mg/L", "change_least_days": 6, "feed_less": "18.3 degC", "ph_low": 6.3, "ph_high": 8.7, "ph_step": 1.2,
}  # fmt: skip

OURS = {
    "nitrate_look": r"\b40 mg/L|(limit is|under|look at) 40\b(?! L)",
    "nitrate_act": r"\b80 mg/L|(limit is|act at) 80\b",
    "nitrate_over_tap": r"\b20 over what the tap|stand 20 mg/L",
    "change_least_days": r"more often than every 7 days|more often than weekly",
    "ammonia_clean": r"(up to|most|limit is) 0\.25\b",
    "ammonia_dose": r"(to|For|on|show|of) 2 mg/L|x 2 mg/L",
    "ammonia_look": r"\b0\.02 mg/L|(limit is|look at) 0\.02\b",
    "ammonia_act": r"(from|act at|limit is) 0\.05\b",
    "nitrite_look": r"\b0\.1 mg/L|(limit is|look at|than) 0\.1\b|0\.1 and 0\.5",
    "nitrite_act": r"(limit is|act at) 0\.5\b|0\.1 and 0\.5",
    "weight_loss": r"More than 10 %|limit (is|of) 10 %|weight, 10 %",
    "weight_loss_young": r"hatchling 5 %|limit (is|of) 5 %",
    "no_food": r"food is 5 days|high: 5 days",
    "no_food_young": r"food is 2 days|at most, 2 where",
    "humidity": r"50 % humidity|humidity 50 %",
    "evaporation_activity": r"activity 0\.75",
    "top_up_fall": r"at most 2 cm",
    "size_ratio_look": r"from 1\.5 times",
    "size_ratio_act": r"from 2 times",
    "females_per_male": r"fewer than 2 to|least 2 females",
    "free_rim": r"than 5 cm|rim of 5 cm",
    "bring_in": r"water under 15 °C|(?<!temperature: )under 15 °C",
    "feed_less": r"under 20 °C (half|from)|water under 20 °C",
    "ph_low": r"acted on from 6 down|pH from 6 down",
    "ph_high": r"acted on from 9 up|from 9 up,",
    "ph_step": r"acted on from 1 on|changed by 1:",
    "pail": r"at most 6 L|pail 6 L",
    "reference_mass": r"mass 20 kg|mass of 20 kg|limit of 7\.1 kg|7\.1 kg are the limit",
    "hose_from": r"hose from 40 L|over 40 L",
    "warm_up": r"(for|count|after|within) 30 minutes (after|before|and)|back after 30 minutes, and (hold|read)",
    "feed_after": r"on for 60 minutes|count 60 minutes",
    "lamps_ahead": r"ordered 4 weeks|in about (28 days|4 weeks)",
    "supplies_ahead": r"ordered 14 days|less 14 days|in about (14 days|2 weeks)",
}
"""How each of the project's own choices is printed. `nitrogen` is a word."""

LINES = [
    "2026-12-01 ph 7.5", "2026-12-01 ammonia 0.6", "2026-12-01 nitrite 0.9", "2026-12-01 nitrate 90", "2026-11-25 weight.wren 300", "2026-12-01 weight.wren 250",
    "2026-12-01 temperature 16", "2026-12-01 basking 45",
]  # fmt: skip
CLEAN = ["2026-12-01 ammonia 0", "2026-12-01 nitrite 0"]
CHLORAMINE = (
    '[site.tap_water]\ndisinfectant = "chloramine"\ndisinfectant_level = "2.1 mg/L"\nph = 7.5\n[[enclosure]]'
)
HATCHLING = TANK.replace('carapace = "12 cm", mass = "300 g"', 'carapace = "4 cm", mass = "12 g"')
STOCKED = TANK.replace(
    "feed = {",
    'conditioner = {treats = "4000 L", opened = 2026-11-01}\nfeed = {pack = "200 g", opened = 2026-11-01, ',
)
MIXED = TANK.replace('depth = "40 cm"', 'depth = "48 cm"\ncovered = false').replace(
    "resident = [{",
    'resident = [{name = "Oak", sex = "male", species = "painted turtle", carapace = "16 cm"}, '
    '{name = "Elm", sex = "female", species = "painted turtle", carapace = "4 cm"}, '
    '{name = "Ash", sex = "female", species = "painted turtle", carapace = "15 cm"}, {',
)
POND = TANK.replace('name = "Quillet"', 'name = "Quillet"\nkind = "pond"\noutdoors = true')
MADE_UP = {
    "lamps on late": (TANK.replace("hours_a_day = 12", 'on_at = "08:30", hours_a_day = 10'), []),
    "alkaline water": (TANK, ["2026-11-28 ph 7.5", "2026-12-01 ph 9.6"]),
    "a pond outdoors": (POND, ["2026-12-01 temperature 12"]),
    "a mixed tank": (MIXED, LINES),
    "an alarm": (TANK, LINES),
    "a hatchling": (HATCHLING, LINES),
    "in US units": (IN_US, LINES),
    "a new filter": (NEW, LINES),
    "a new filter, clean": (NEW, CLEAN),
    "chloramine": (TANK.replace("[[enclosure]]", CHLORAMINE, 1), LINES),
    "with packs": (STOCKED, ["2026-12-01 nitrate 60", "2026-12-01 weight.wren 280"]),
    "much food and nitrate of the tap": (
        TANK.replace("[[enclosure]]", '[site.tap_water]\nnitrate = "24 mg/L"\n[[enclosure]]', 1).replace(
            "grams = 3", "grams = 9"
        ),
        [],
    ),
    "acid water": (TANK, ["2026-12-01 ph 6.5", "2026-12-01 ammonia 1"]),
}


def words(text: str, lines: list[str], house: HouseValues) -> list[str]:
    """Return every note, consequence, figure and finding of a site, each as a person reads it with its sources."""
    site = load(text, load_sheets(), (check,))
    site.settings = site.settings.model_copy(update={"house_values": house})
    history = recorded.history("2026-10-20", lines, "quillet") if lines else NO_HISTORY
    found: list[str] = []
    for case in care.cases(site, dt.date(2026, 12, 1), care.with_implied(site, history)):
        found += [f"{job.key}: {job.title}\n{job.notes().text(explain=True)}" for job in care.jobs_of(case)]
        found += [f"{c.key}: {c.text} [{c.source}]" for c in care.consequences(case)]
        review = care.review(case)
        found += [f"{f.key}: {f.text} [{f.source}]" for f in review.findings]
        found += [f"{f.key}: {f.how()} [{f.source}]" for f in review.figures]
    return found


def ours(texts: list[str]) -> dict[str, str]:
    """Return the house values of which the project's own digits are printed, each with a text that does."""
    found = {}
    for text in texts:
        for name, pattern in OURS.items():
            said = re.search(pattern, text)
            if said:
                found.setdefault(name, text[max(0, said.start() - 80) : said.end() + 20])
    return found


@pytest.mark.parametrize("name", MADE_UP)
def test_no_house_value_of_ours_is_left_where_the_keeper_chose_another(name):
    text, lines = MADE_UP[name]
    assert ours(words(text, lines, HouseValues.model_validate(UNUSUAL))) == {}


@pytest.mark.parametrize("file", EVERY_FILE)
def test_no_house_value_of_ours_is_left_in_the_samples(file):
    assert ours(words(file.read_text("utf-8"), [], HouseValues.model_validate(UNUSUAL))) == {}


def test_every_house_value_is_printed_somewhere():
    # Else the patterns above would look for words that nobody writes any more.
    assert set(UNUSUAL) == set(HouseValues.model_fields) == {*OURS, "nitrogen"}
    texts = [t for text, lines in MADE_UP.values() for t in words(text, lines, HouseValues())]
    texts += [t for file in SAMPLES for t in words(file.read_text("utf-8"), [], HouseValues())]
    assert set(ours(texts)) == set(OURS)


@pytest.mark.parametrize("key", ["cycle-test", "water-test"])
def test_the_tests_print_one_ladder(key):
    (job,) = [j for j in care.jobs_of(Case(load(NEW, load_sheets(), (check,)), load(NEW if key == "cycle-test" else TANK, load_sheets(), (check,)).enclosures[0])) if j.key == key]  # fmt: skip
    steps = job.notes().steps
    assert any(
        "Clean are up to 0.25 mg/L of ammonia in all and less than 0.1 mg/L of nitrite (both as N). Un-ionised ammonia wants a look "
        "from 0.02 mg/L on, and acting on from 0.05; nitrite from 0.1 and 0.5." in step
        for step in steps
    )
    assert (
        "Not clean, with animals in the water: change 25 to 50 % today, feed nothing, test again tomorrow. Ammonia at a pH under 7: "
        "first bind it with a conditioner that binds ammonia, by its label, then change 20 % a day, with a test of pH and ammonia "
        "before each." in steps
    )
