"""What is asked to begin a description: in order, each with where its answer goes.

The terminal and the pages of the set-up ask the same questions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, get_args

from scheduler.description.enclosure import Enclosure, Filter, Lamp
from scheduler.errors import Path

Answers = Mapping[str, str]

MOST_ANIMALS = 12
"""So many animals are asked about; a file that has more is written on by hand. House value."""

ENCLOSURE: Path = ("enclosure", 0)
RESIDENT: Path = (*ENCLOSURE, "resident", 0)


def _choices(model: type[Any], field: str) -> tuple[str, ...]:
    """Return what a field of a description may say, of a field that is a choice."""
    return get_args(model.model_fields[field].annotation)


@dataclass(frozen=True, slots=True)
class Question:
    """One question: where its answer goes in the description, how it is put, and what an empty answer means.

    Without a default an empty answer leaves the line out, switched off and with an example in its place. It
    is asked only where the question `after` was answered.
    """

    key: str
    path: Path
    text: str
    help: str
    default: str = ""
    example: str = ""
    choices: tuple[str, ...] = ()
    kind: Literal["text", "date", "number", "share", "flag"] = "text"
    after: str = ""

    @property
    def prompt(self) -> str:
        """Return the question as it is put where nothing else shows what may be answered."""
        if self.choices:
            *others, last = self.choices
            return f"{self.text}, {', '.join(others)} or {last}"
        return f"{self.text}, such as {self.example}" if self.example else self.text


SPECIES = Question(
    "species",
    (*RESIDENT, "species"),
    "Species",
    "It gives the temperatures, the ultraviolet and the food; leave it out where it has no sheet here.",
)

_ANIMAL = (
    Question(
        "animal",
        (*RESIDENT, "name"),
        "Name of the animal",
        "What you call it; its weights and meals are recorded under the name.",
        default="Turtle",
    ),
    SPECIES,
    Question(
        "carapace",
        (*RESIDENT, "carapace"),
        "Length of its carapace in a straight line",
        "The upper shell, from front to back, not along the curve: it tells the stage of life.",
    ),
    Question(
        "arrived",
        (*RESIDENT, "arrived"),
        "Day it comes or came",
        "Two weeks of watching whether it basks begin then; year, month, day.",
        kind="date",
    ),
)

LAMPS = _choices(Lamp, "kind")


def _lamp(number: int) -> tuple[Question, ...]:
    path: Path = (*ENCLOSURE, "lamp", number)
    key, of = ("lamp", "lamp") if number == 0 else ("second_lamp", "second lamp")
    return (
        Question(
            key,
            (*path, "kind"),
            f"Kind of {of}",
            "Ultraviolet and a warm dry place are two things; mercury vapour and metal halide give both."
            if number == 0
            else "Such as one for warmth beside a tube for ultraviolet.",
            choices=LAMPS,
            after="" if number == 0 else "lamp",
        ),
        Question(
            f"{key}_power", (*path, "power"), f"Power of the {of}", "In watts, as on the bulb or tube.",
            example='"39 W"', after=key,
        ),
        Question(
            f"{key}_installed", (*path, "installed"), f"Day on which the {of} was new",
            "Ultraviolet fades long before the light does: the next one is ordered by this day.",
            kind="date", after=key,
        ),
        Question(
            f"{key}_hours", (*path, "hours_a_day"), f"Hours that the {of} burns in a day",
            "What its timer is set to, such as 12.", kind="number", after=key,
        ),
    )  # fmt: skip


_SIZES = (
    Question(
        "length", (*ENCLOSURE, "length"), "Inside length", "Along the long side, from pane to pane.",
        example='"91 cm" or "36 in"',
    ),
    Question("width", (*ENCLOSURE, "width"), "Inside width", "From front to back."),
    Question("height", (*ENCLOSURE, "height"), "Inside height", "From the floor to the rim."),
    Question(
        "water_depth", (*ENCLOSURE, "water_depth"), "Depth of the water",
        "From the floor to the water line on a usual day: with it the litres are known.",
    ),
)  # fmt: skip

PLACE = (
    Question(
        "name", ("site", "name"), "Name of the place",
        "It names the calendar: a house, a street, a classroom.", default="Home",
    ),
    Question(
        "time_zone", ("site", "time_zone"), "Time zone", "The hours of the calendar are those of this zone.",
    ),
    Question(
        "keeper", ("keeper", 0, "name"), "Your name",
        "It stands beside what you record; leave it out where you are alone with it.",
    ),
)  # fmt: skip

UNITS = (
    Question(
        "units", ("site", "units"), "Units",
        "How amounts are told to you; what you write yourself may have any unit.",
        default="metric", choices=("metric", "us"),
    ),
    Question(
        "locale", ("site", "locale"), "How dates, hours and numbers are written",
        "By language and region; left out it is 5 December 2026, 07:30, 7.4.", example="en-IE or de-AT",
    ),
)  # fmt: skip

TANK = (
    Question(
        "enclosure", (*ENCLOSURE, "name"), "Name of the enclosure",
        "It stands before its jobs. Not the name of an animal: animals move.", default="Tank",
    ),
    Question(
        "kind", (*ENCLOSURE, "kind"), "Kind", "A tank has panes, a tub is of one piece, a pond is larger.",
        default="tank", choices=_choices(Enclosure, "kind"),
    ),
    *_SIZES,
    Question(
        "covered", (*ENCLOSURE, "covered"), "Is it covered",
        "A lid keeps water and warmth in, and the animal too.", choices=("yes", "no"), kind="flag",
    ),
    Question(
        "set_up", (*ENCLOSURE, "set_up"), "Day it is or was set up",
        "Intervals count from here; a day to come brings the fitting-out. Year, month, day.",
        example="2026-11-20", kind="date",
    ),
)  # fmt: skip

EQUIPMENT = (
    Question(
        "filter", (*ENCLOSURE, "filter", "kind"), "Kind of filter", "Leave it out where there is none.",
        choices=_choices(Filter, "kind"),
    ),
    Question(
        "flow", (*ENCLOSURE, "filter", "flow"), "Flow of the filter", "As rated, on its label.",
        example='"1200 L/h" or "315 gal/h"', after="filter",
    ),
    Question(
        "heater", (*ENCLOSURE, "heater", 0, "power"), "Power of the heater",
        "In watts, as on its label; leave it out where there is none.", example='"200 W"',
    ),
    Question(
        "set_to", (*ENCLOSURE, "heater", 0, "set_to"), "Temperature it is set to",
        "What its thermostat shows; the species says what suits.",
        example='"25 degC" or "77 degF"', after="heater",
    ),
    *_lamp(0),
    *_lamp(1),
)  # fmt: skip

FOOD = (
    Question(
        "grams", (*ENCLOSURE, "feed", "grams"), "Grams of one meal",
        "As fed, for all animals together; weigh one meal. What is left after 5 minutes was too much.",
        kind="number",
    ),
    Question(
        "protein", (*ENCLOSURE, "feed", "protein"), "Crude protein in percent",
        "As on the label of the staple food. With the grams it says how often water has to be changed.",
        kind="share",
    ),
)  # fmt: skip

QUESTIONS = (*PLACE, *UNITS, *TANK, *EQUIPMENT, *_ANIMAL, *FOOD)
"""In an order in which each answer can be checked against those before it."""


def of_animal(number: int) -> tuple[Question, ...]:
    """Return the questions about one animal, counted from 1."""
    if number == 1:
        return _ANIMAL
    return tuple(
        replace(
            question,
            key=f"{question.key}-{number}",
            path=(*ENCLOSURE, "resident", number - 1, question.path[-1]),
            default=f"{question.default} {number}" if question.default else "",
        )
        for question in _ANIMAL
    )


_NUMBERED = {f"{question.key}-{n}": n for n in range(2, MOST_ANIMALS + 1) for question in _ANIMAL}


def animals_of(answers: Answers) -> int:
    """Return about how many animals the answers are: one at least."""
    return max([1, *(_NUMBERED[key] for key in answers if key in _NUMBERED)])


def questions_for(answers: Answers) -> tuple[Question, ...]:
    """Return the questions that some answers are to, those of each further animal after those of the
    first."""
    more = tuple(q for number in range(2, animals_of(answers) + 1) for q in of_animal(number))
    return (*PLACE, *UNITS, *TANK, *EQUIPMENT, *_ANIMAL, *more, *FOOD)
