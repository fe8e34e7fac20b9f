"""The starter description: whatever a keeper may answer, the text loads, and what is left out can be switched on."""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples

from scheduler import care
from scheduler.description import load
from scheduler.description.starter import QUESTIONS, starter_problems, starter_text
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets

ANSWERS = {
    "name": "Alder Yard",
    "time_zone": "America/Halifax",
    "units": "us",
    "enclosure": "Reed",
    "kind": "tub",
    "length": "60 in",
    "width": "30 in",
    "height": "24 in",
    "water_depth": "18 in",
    "set_up": "2026-11-07",
    "animal": "Pippin",
    "species": "musk turtle",
    "carapace": "3.5 in",
    "arrived": "2026-12-05",
}

# The lines that follow from ANSWERS, in the order of the text; switched-off lines begin with #.
WRITTEN = """\
[site]
name = "Alder Yard"
id = "alder-yard"
time_zone = "America/Halifax"
units = "us"
[[enclosure]]
name = "Reed"
id = "reed"
kind = "tub"
length = "60 in"
width = "30 in"
height = "24 in"
water_depth = "18 in"
set_up = 2026-11-07
[[enclosure.resident]]
name = "Pippin"
id = "pippin"
species = "musk turtle"
carapace = "3.5 in"
arrived = 2026-12-05
"""


def live_lines(text: str) -> str:
    """Return the lines that are not switched off, without their comments."""
    lines = (re.sub(r"\s+# .*", "", line) for line in text.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("#"))


def switched_on(text: str) -> str:
    """Return the text with every switched-off line switched on, as its first lines tell the keeper to do it."""
    return re.sub(r"^#(?=[a-z\[])", "", text, flags=re.MULTILINE)


def test_every_answer_stands_in_its_line_and_nothing_else_is_switched_on():
    assert live_lines(starter_text(ANSWERS)) == WRITTEN
    # What else is asked stands in test_questions.py.
    assert set(ANSWERS) < {question.key for question in QUESTIONS}


def test_what_is_not_answered_is_switched_off_with_an_example():
    text = starter_text({"animal": "Pippin"})
    assert live_lines(text) == (
        '[site]\nname = "Home"\nid = "home"\nunits = "metric"\n'
        '[[enclosure]]\nname = "Tank"\nid = "tank"\nkind = "tank"\n'
        '[[enclosure.resident]]\nname = "Pippin"\nid = "pippin"\n'
    )
    assert '#length = "120 cm" ' in text
    assert "#arrived = 2026-11-28 " in text


@pytest.mark.parametrize("answers", [{}, ANSWERS], ids=["nothing answered", "everything answered"])
def test_every_line_that_is_switched_off_may_be_switched_on(answers):
    text = switched_on(starter_text(answers))
    site = load(text, load_sheets(), (care.check,))
    (tank,) = site.enclosures
    place, tap = site.settings, site.settings.tap_water
    assert site.keepers and place.room_low and place.room_high and place.latitude
    assert tap.hot and tap.nitrate and tap.ph and tap.alkalinity and place.house_values.nitrate_look
    assert tank.filter and tank.heater and tank.lamp and tank.substrate and tank.feed.grams
    assert tank.covered and tank.feed.opened and tank.conditioner.opened
    assert tank.resident[0].quarantine and tank.resident[0].measured
    assert re.findall(r"^#[^ ].*", text, flags=re.MULTILINE) == []


def test_the_text_fits_an_editor_and_ends_with_a_line_break():
    for answers in ({}, ANSWERS):
        text = starter_text(answers)
        assert text.endswith("\n") and "\r" not in text
        assert max(map(len, text.splitlines())) <= 120


REFUSED = [
    # answers, the question it concerns, the problem's message and hint: in the words of `pondround check`
    (
        {"length": "36"},
        "length",
        'found "36" without a unit, expected a length with its unit',
        'write "91 cm" or "36 in"',
    ),
    (
        {"length": "3 furlongs"},
        "length",
        'found "3 furlongs": unknown unit "furlongs", expected a length with its unit',
        'write "91 cm" or "36 in"',
    ),
    (
        {"time_zone": "Dublin"},
        "time_zone",
        'found "Dublin"; expected the name of an IANA time zone',
        'write "Europe/Dublin"',
    ),
    ({"units": "imperial"}, "units", 'found "imperial"; expected "metric" or "us"', ""),
    ({"kind": "tnak"}, "kind", 'found "tnak"; expected "tank", "tub" or "pond"', 'nearest: "tank"'),
    (
        {"set_up": "7 Nov"},
        "set_up",
        'found "7 Nov"; expected a date without quotes',
        "write 2026-11-20 (year, month, day)",
    ),
    (
        {"set_up": "1066-10-14"},
        "set_up",
        "found 1066-10-14, which is not believable",
        "expected 1950-01-01 to 2199-12-31",
    ),
    (
        {"length": "30 in", "width": "40 in"},
        "width",
        "the width (101.6 cm) is larger than the length (76.2 cm)",
        "swap the two",
    ),
    (
        {"height": "50 cm", "water_depth": "60 cm"},
        "water_depth",
        "the water (60 cm) is deeper than the enclosure is high (50 cm)",
        "measure from the floor to the water line",
    ),
    (
        {"set_up": "2026-11-20", "arrived": "2026-11-19"},
        "arrived",
        "arrived on 2026-11-19, before the enclosure was set up on 2026-11-20",
        "write when it came into this enclosure",
    ),
    (
        {"name": "a\nb"},
        "name",
        'found "a\\u000ab", a name with a line break or control character',
        "write it on one line",
    ),
    (
        {"animal": "\udce9"},
        "animal",
        'found "\\udce9", a name with a line break or control character',
        "write it on one line",
    ),
    ({"name": "n" * 81}, "name", "found a name of 81 characters", "write at most 80 characters"),
]


@pytest.mark.parametrize(
    ("answers", "key", "message", "hint"),
    REFUSED,
    ids=[f"{r[1]}: {list(r[0].values())[-1]!r:.20}" for r in REFUSED],
)
def test_a_wrong_answer_is_told_as_the_description_would_tell_it(answers, key, message, hint):
    ((found_key, problem),) = starter_problems(answers, load_sheets())
    assert (found_key, problem.message, problem.hint) == (key, message, hint)


def test_all_wrong_answers_are_told_in_one_run():
    wrong = {**ANSWERS, "length": "long", "units": "si", "arrived": "soon", "species": "tortoise of no kind"}
    assert [key for key, _ in starter_problems(wrong, load_sheets())] == [
        "units",
        "length",
        "species",
        "arrived",
    ]


# Anything that can be typed, quotes, backslashes, brackets, emoji, other scripts and TOML's own marks among it.
names = st.one_of(
    st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=80),
    st.text("\"'\\#[]{}=.,\t 🐢é水", min_size=1, max_size=40).map(lambda name: name.replace("\t", " ")),
).filter(lambda name: name.strip())
zones = st.sampled_from(
    ["Europe/Dublin", "America/Argentina/Ushuaia", "Asia/Kolkata", "Pacific/Chatham", "UTC"]
)


@st.composite
def sizes(draw, least_cm: float, most_cm: float) -> tuple[str, float]:
    """Draw a length as it may be written, and in cm."""
    unit, cm = draw(st.sampled_from([("cm", 1.0), ("in", 2.54), ("mm", 0.1)]))
    number = draw(st.integers(math.ceil(10 * least_cm / cm), math.floor(10 * most_cm / cm))) / 10
    return f"{number} {unit}", number * cm


@st.composite
def valid_answers(draw):
    """Answers that keep to the format's own limits; each may be missing."""
    # An enclosure is longer than the longest carapace below.
    length, width = sorted((draw(sizes(70, 500)), draw(sizes(10, 500))), key=lambda size: -size[1])
    height, depth = sorted((draw(sizes(10, 200)), draw(sizes(10, 200))), key=lambda size: -size[1])
    set_up, arrived = sorted(draw(st.dates(dt.date(1950, 1, 1), dt.date(2199, 12, 31))) for _ in "ab")
    every = {
        "name": draw(names),
        "time_zone": draw(zones),
        "units": draw(st.sampled_from(["metric", "us"])),
        "enclosure": draw(names),
        "kind": draw(st.sampled_from(["tank", "tub", "pond"])),
        "length": length[0],
        "width": width[0],
        "height": height[0],
        "water_depth": depth[0],
        "set_up": str(set_up),
        "animal": draw(names),
        "species": draw(
            st.sampled_from(
                [name for sheet in load_sheets().values() for name in (sheet.species, *sheet.names)]
            )
        ),
        "carapace": draw(sizes(2, 60))[0],
        "arrived": str(arrived),
    }
    kept = draw(st.sets(st.sampled_from(sorted(every))))
    return {key: value for key, value in every.items() if key in kept}


@given(valid_answers())
@settings(max_examples=examples(150), deadline=None)
def test_the_text_loads_and_says_what_was_answered(answers):
    assert starter_problems(answers, load_sheets()) == ()
    text = starter_text(answers)
    site = load(text, load_sheets(), (care.check,))
    tank = tomllib.loads(text)["enclosure"][0]
    for key in ("name", "enclosure", "animal"):
        answers.setdefault(key, {"name": "Home", "enclosure": "Tank", "animal": "Turtle"}[key])
    assert site.settings.name == " ".join(answers["name"].split())
    assert site.enclosures[0].name == " ".join(answers["enclosure"].split())
    assert site.enclosures[0].resident[0].name == " ".join(answers["animal"].split())
    # The ids are those that the names have without them: a description of before loses nothing.
    bare = re.sub(r"^id = .*\n", "", text, flags=re.MULTILINE)
    named = load(bare, load_sheets(), (care.check,))
    assert [site.settings.id, *((e.id, e.resident[0].id) for e in site.enclosures)] == [
        named.settings.id,
        *((e.id, e.resident[0].id) for e in named.enclosures),
    ]
    for key in ("length", "width", "height", "water_depth"):
        assert tank.get(key) == answers.get(key)
    assert str(tank.get("set_up")) == str(answers.get("set_up"))


@given(st.fixed_dictionaries({}, optional={question.key: st.text(max_size=120) for question in QUESTIONS}))
@settings(max_examples=examples(150), deadline=None)
def test_no_answer_breaks_out_of_its_line(answers):
    """Whatever is answered: it is refused with a problem, or the tables of the text are those of the template."""
    if starter_problems(answers, load_sheets()):
        with pytest.raises(DescriptionError):
            load(starter_text(answers), load_sheets())
        return
    data = tomllib.loads(starter_text(answers))
    assert {"site", "enclosure"} <= set(data) <= {"site", "keeper", "enclosure"}
    assert set(data["site"]) <= {"name", "id", "time_zone", "units", "locale"}
    (tank,) = data["enclosure"]
    assert set(tank) <= {
        "name",
        "id",
        "kind",
        "length",
        "width",
        "height",
        "water_depth",
        "set_up",
        "resident",
        "covered",
        "filter",
        "heater",
        "lamp",
        "feed",
    }
    assert set(tank["resident"][0]) <= {"name", "id", "species", "carapace", "arrived"}
