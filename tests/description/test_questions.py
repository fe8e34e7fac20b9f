"""The questions of a new description: each has a line of the text, and what it is for; sizes that are commonly sold."""

from __future__ import annotations

import re

import pytest

from scheduler.description import load
from scheduler.description.common_sizes import COMMON_SIZES, common_size_named, common_size_of
from scheduler.description.questions import MOST_ANIMALS, QUESTIONS, animals_of, of_animal, questions_for
from scheduler.description.starter import starter_problems, starter_text
from scheduler.species import load_sheets

ANSWERS = {
    "keeper": "Noor", "locale": "en-IE", "covered": "no", "filter": "canister", "flow": "1200 L/h",
    "heater": "200 W", "set_to": "77 degF", "lamp": "mercury vapour", "lamp_power": "100 W",
    "lamp_installed": "2026-11-20", "lamp_hours": "10.5", "second_lamp": "heat", "second_lamp_power": "60 W",
    "second_lamp_installed": "2026-11-21", "second_lamp_hours": "daylight", "animal": "Fern",
    "animal-2": "Fern", "species-2": "musk turtle", "animal-3": "", "carapace-3": "9 cm", "grams": "2.5",
    "protein": "38 %",
}  # fmt: skip

WRITTEN = """\
[site]
name = "Home"
id = "home"
units = "metric"
locale = "en-IE"
[[keeper]]
name = "Noor"
id = "noor"
[[enclosure]]
name = "Tank"
id = "tank"
kind = "tank"
covered = false
[enclosure.filter]
kind = "canister"
flow = "1200 L/h"
[[enclosure.heater]]
power = "200 W"
set_to = "77 degF"
[[enclosure.lamp]]
kind = "mercury vapour"
power = "100 W"
installed = 2026-11-20
hours_a_day = 10.5
[[enclosure.lamp]]
kind = "heat"
power = "60 W"
installed = 2026-11-21
hours_a_day = "daylight"
[[enclosure.resident]]
name = "Fern"
id = "fern"
[[enclosure.resident]]
name = "Fern"
id = "fern-2"
species = "musk turtle"
[[enclosure.resident]]
name = "Turtle 3"
id = "turtle-3"
carapace = "9 cm"
[enclosure.feed]
grams = 2.5
protein = 0.38
"""


def live_lines(text: str) -> str:
    lines = (re.sub(r"\s+# .*", "", line) for line in text.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("#"))


def test_a_table_is_switched_on_with_its_first_answer_and_animals_have_one_each() -> None:
    assert live_lines(starter_text(ANSWERS)) == WRITTEN
    assert starter_problems(ANSWERS, load_sheets()) == ()


def test_each_question_has_a_line_and_says_what_it_is_for() -> None:
    usual = {"text": "12", "date": "2026-11-20", "number": "1.5", "share": "39", "flag": "yes"}
    for question in QUESTIONS:
        answer = usual[question.kind]
        value = {"number": "1.5", "share": "0.39", "flag": "true", "date": "2026-11-20"}.get(
            question.kind, f'"{answer}"'
        )
        line = f"{question.path[-1]} = {value}"
        assert line in starter_text({question.key: answer}).replace("  ", " "), question.key
        assert re.fullmatch(r"[A-Z].+[.]", question.help), question.key
        assert not question.text.endswith((".", ":", "?"))
    assert len({question.key for question in QUESTIONS}) == len(QUESTIONS)
    assert {q.after for q in QUESTIONS} - {""} <= {q.key for q in QUESTIONS}


def test_animals_are_counted_by_their_answers() -> None:
    assert [
        animals_of(a) for a in ({}, {"species": "x"}, {"carapace-4": ""}, {"grams-3": "", "animal-99": ""})
    ] == [1, 1, 4, 1]
    assert [q.key for q in of_animal(3)] == ["animal-3", "species-3", "carapace-3", "arrived-3"]
    many = {f"animal-{n}": "Moss" for n in range(2, MOST_ANIMALS + 1)}
    assert len(questions_for(many)) == len(QUESTIONS) + 4 * (MOST_ANIMALS - 1)
    (tank,) = load(starter_text(many), load_sheets()).enclosures
    assert len({animal.id for animal in tank.resident}) == MOST_ANIMALS


@pytest.mark.parametrize(
    ("answers", "key", "said"),
    [
        ({"covered": "perhaps"}, "covered", 'found "perhaps"; expected yes or no'),
        ({"grams": "nan"}, "grams", 'found "nan"; expected a number'),
        ({"grams": "1_0"}, "grams", 'found "1_0"; expected a number'),
        ({"grams": "٣"}, "grams", "expected a number"),
        ({"protein": "140"}, "protein", 'found "140"; expected percent, over 0 and under 100; write 40'),
        ({"lamp": "torch"}, "lamp", 'found "torch"; expected "mercury vapour", '),
        ({"lamp_power": "39 W"}, "lamp", "kind is missing; choose one, or leave out what belongs to it"),
        ({"lamp": "heat", "lamp_hours": "25"}, "lamp_hours", "found 25; expected at most 24"),
        ({"set_to": "25"}, "set_to", 'found "25" without a unit'),
        ({"species-2": "painted turtel"}, "species-2", 'no species sheet for "painted turtel"'),
        ({"locale": "klingon"}, "locale", "expected the tag of a locale"),
        ({"keeper": "\x1b[31m"}, "keeper", "control character"),
    ],
    ids=lambda value: str(value)[:30],
)  # fmt: skip
def test_a_wrong_answer_is_told_at_its_question(answers: dict[str, str], key: str, said: str) -> None:
    ((found, problem),) = starter_problems(answers, load_sheets())
    assert (found, said in f"{problem.message}; {problem.hint}") == (key, True), problem


def test_common_sizes_are_found_by_name_and_by_what_they_hold() -> None:
    for size in COMMON_SIZES:
        assert common_size_named(size.text) is size
        assert common_size_of(size.litres, size.system) == size
        assert size.length >= size.width and size.litres > 20
    # 120 x 50 x 50 cm are 300 L; a 40 gallon tank of 36 x 18 x 16 in holds 44.9 US gallons of 231 cubic inches.
    assert common_size_named("120 × 50 × 50 cm, 300 L")
    assert (
        round(next(s for s in COMMON_SIZES if (s.system, s.length) == ("us", 36)).litres / 3.785411784, 1)
        == 44.9
    )
    near = common_size_of(270, "metric")
    assert near is not None and near.text == "120 × 40 × 50 cm, 240 L"
    assert common_size_of(7, "metric") is None and common_size_of(5000, "us") is None
    assert common_size_named("") is None
