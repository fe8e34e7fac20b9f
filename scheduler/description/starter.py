"""A starter description: answers to TOML text, with comments that say what each line is for.

No files, no clock.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass

import tomli_w

from scheduler.description.identity import slug
from scheduler.description.loader import load
from scheduler.errors import DescriptionError, Path, Problem
from scheduler.species import Sheets

Answers = Mapping[str, str]
Problems = tuple[tuple[str, Problem], ...]

_ENCLOSURE: Path = ("enclosure", 0)
_RESIDENT: Path = (*_ENCLOSURE, "resident", 0)


@dataclass(frozen=True, slots=True)
class Question:
    """One question: where its answer goes in the description, how it is put, and what an empty answer means.

    Without a default an empty answer leaves the line out, switched off and with an example in its place.
    """

    key: str
    path: Path
    text: str
    default: str = ""
    is_date: bool = False


QUESTIONS = (
    Question("name", ("site", "name"), "Name of the place", "Home"),
    Question("time_zone", ("site", "time_zone"), "Time zone"),
    Question("units", ("site", "units"), "Units, metric or us", "metric"),
    Question("enclosure", (*_ENCLOSURE, "name"), "Name of the enclosure", "Tank"),
    Question("kind", (*_ENCLOSURE, "kind"), "Kind, tank, tub or pond", "tank"),
    Question("length", (*_ENCLOSURE, "length"), 'Inside length, such as "91 cm" or "36 in"'),
    Question("width", (*_ENCLOSURE, "width"), "Inside width"),
    Question("height", (*_ENCLOSURE, "height"), "Inside height"),
    Question("water_depth", (*_ENCLOSURE, "water_depth"), "Depth of the water"),
    Question("set_up", (*_ENCLOSURE, "set_up"), "Day it is or was set up, such as 2026-11-20", is_date=True),
    Question("animal", (*_RESIDENT, "name"), "Name of the animal", "Turtle"),
    Question("species", (*_RESIDENT, "species"), "Species"),
    Question("carapace", (*_RESIDENT, "carapace"), "Length of its carapace in a straight line"),
    Question("arrived", (*_RESIDENT, "arrived"), "Day it comes or came", is_date=True),
)
"""In an order in which each answer can be checked against those before it."""

# A line `key = example   # comment` of a table that a question asks about gets the answer, or is switched
# off. Everything else is copied as it stands.
_TEMPLATE = """\
# What lives here and in what, for `pondround`. Lines that begin with # and no space are switched off: take the #
# away and write your own value. Sizes and amounts carry a unit and stand in quotes; dates, numbers and true/false
# stand without.

[site]
name = "Home"                      # the place
id = "home"                        # leave it as it is when you change the name: the record goes by it, here and below
time_zone = "Europe/Dublin"        # IANA name: the hours of the calendar
units = "metric"                   # "metric" or "us": how amounts are printed; either may be written
#latitude = 53.3                   # puts the cold season check on the right side of the year
#room_low = "16 degC"              # coldest the room gets: what the heaters have to make up for
#room_high = "28 degC"             # warmest the room gets: how hot the water ends when a thermostat sticks

#[site.times]                      # when the jobs of the morning and of the evening start
#morning = "07:30"
#evening = "18:30"

#[site.tap_water]                  # from the utility's report and a thermometer: what a water change has to neutralise
#disinfectant = "chloramine"       # "none", "chlorine", "chloramine" or "unknown"
#disinfectant_level = "1.5 mg/L"
#cold = "10 degC"                  # with hot and the heater's set point: the litres of hot and cold
#hot = "55 degC"
#nitrate = "12 mg/L"               # as NO3: what a water change brings; with the food, how often to change
#ph = 7.6                          # how much of the ammonia that chloramine frees is poisonous
#alkalinity = "120 mg/L"           # as CaCO3: what the filter uses up between changes

#[site.house_values]               # limits and habits of your own; what is left out is the project's choice
#nitrate_look = "40 mg/L"          # water is changed often enough to stay under it
#nitrate_act = "80 mg/L"
#pail = "6 L"                      # as full as it is carried in one hand

#[[site.contact]]                  # whom to call: the number stands in the notes where somebody is to be called
#name = "Dr. Marlowe"
#phone = "+44 1632 960117"
#for = "vet"                       # "vet", "electrician", "coordinator", "authority", or a list of them

#[[keeper]]                        # one for each person who shares the work
#name = "Noor"
#id = "noor"
#weekdays = ["Wed", "Sat", "Sun"]
#minutes = 60                      # most in one day
#can = ["adult", "electrics", "lifting"]
#away = ["2026-12-20/2026-12-28"]  # both days included

[[enclosure]]
name = "Tank"
id = "tank"
kind = "tank"                      # "tank", "tub" or "pond"
length = "120 cm"                  # inside; the four sizes give the litres, the pails and the line to drain to
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"              # from the floor to the water line
#covered = true                    # how much evaporates, and what the heaters have to make up for
set_up = 2026-11-20                # intervals count from here; a day to come brings the fitting-out
#cycled = false                    # false brings a water test a day; true, or the date when the filter worked
#driftwood = false                 # true or left out: boil it on the day before the set-up

#[enclosure.substrate]
#kind = "river stones"             # "bare", "sand" or "river stones"
#depth = "3 cm"

#[enclosure.filter]
#kind = "canister"                 # "canister", "internal", "hang-on" or "sump"
#flow = "1200 L/h"
#media_trays = 4
#media_area = "2.5 m2"             # of the biological media: litres of it x the maker's m2 for each

#[[enclosure.heater]]
#power = "200 W"
#set_to = "25 degC"
#body = "titanium"                 # "titanium", "plastic" or "glass"

#[[enclosure.lamp]]                # one for each; lamps for ultraviolet are ordered and replaced in time
#kind = "T5 HO tube"               # "T8 tube", "compact", "mercury vapour", "metal halide", "heat" or "light"
#power = "39 W"
#installed = 2026-11-20
#on_at = "06:30"                   # by the timer: what needs the lamps is planned after it
#hours_a_day = 12                  # or "daylight"
#uvi = 3.0                         # as read at the distance below
#uvi_at = "30 cm"
#basking_distance = "30 cm"

[[enclosure.resident]]             # one for each animal, or with `count` for a group of like ones
name = "Turtle"
id = "turtle"                      # goes with the animal when it moves to another enclosure
species = "painted turtle"         # gives temperatures, UV zone and food
sex = "unknown"                    # "female", "male" or "unknown"
carapace = "12 cm"                 # with the species: the stage of life, and so the meals
#measured = 2026-11-28             # the day of that; left out, it counts as the day of arrival
arrived = 2026-11-28               # brings two weeks of watching for basking
#quarantine = true                 # needs `arrived`; 90 days, with weighing and tests

#[enclosure.feed]
#grams = 3                         # one meal, all residents together
#protein = 0.40                    # as on the label: with the grams, the nitrate of a day
#pack = "500 g"                    # a full pack, and the day it was opened: when to order the next
#opened = 2026-11-28

#[enclosure.conditioner]           # the water conditioner in use
#treats = "1000 L"                 # a full bottle, by its label
#opened = 2026-11-28
"""  # noqa: E501

_LINE = re.compile(r"([a-z_]+) = (.+?)(?:\s+# (.*))?")
_COMMENTS_AT = 35


def starter_text(answers: Answers) -> str:
    """Return the description that the answers make, by the keys of the questions; what is missing is switched
    off."""
    given = {question.path: _value(question, answers) for question in QUESTIONS}
    # A name may be corrected later: the id is written down, so that nothing is lost by it.
    given |= {
        (*path[:-1], "id"): slug(" ".join(str(name).split()))
        for path, name in given.items()
        if path[-1] == "name"
    }
    table: Path = ()
    lines: list[str] = []
    for line in _TEMPLATE.splitlines():
        header = re.match(r"\[+([a-z_.]+)\]+", line)
        pair = _LINE.fullmatch(line)
        if header:
            table = {"site": ("site",), "enclosure": _ENCLOSURE, "enclosure.resident": _RESIDENT}[header[1]]
        if pair is None:
            lines.append(line)
            continue
        value = given.get((*table, pair[1]))
        written = f"#{pair[1]} = {pair[2]}" if value is None else tomli_w.dumps({pair[1]: value}).rstrip("\n")
        comment = f"# {pair[3]}" if pair[3] else ""
        lines.append(f"{written:<{_COMMENTS_AT - 1}} {comment}".rstrip())
    return "\n".join(lines) + "\n"


def _value(question: Question, answers: Answers) -> str | dt.date | None:
    answer = (answers.get(question.key) or question.default).strip()
    if not answer:
        return None
    if question.is_date:
        try:
            return dt.date.fromisoformat(answer)
        except ValueError:
            # Left as text it is refused by the description's own type, which says what to write instead.
            return answer
    return answer


def starter_problems(answers: Answers, sheets: Sheets) -> Problems:
    """Return what is wrong with the answers, each problem with the key of its question ("" where it has
    none).

    The whole text is loaded as it would be later: an answer passes here if and only if it passes there.
    """
    keys = {question.path: question.key for question in QUESTIONS}
    try:
        load(starter_text(answers), sheets)
    except DescriptionError as error:
        return tuple((keys.get(problem.path, ""), problem) for problem in error.problems)
    return ()
