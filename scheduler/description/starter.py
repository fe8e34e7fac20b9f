"""A starter description: answers to TOML text, with comments that say what each line is for.

No files, no clock.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

import tomli_w

from scheduler.description.identity import slug
from scheduler.description.loader import Check, load
from scheduler.description.questions import (
    QUESTIONS,
    Answers,
    Question,
    animals_of,
    questions_for,
)
from scheduler.errors import DescriptionError, Path, Problem, clip
from scheduler.species import Sheets

__all__ = ["QUESTIONS", "Answers", "Problems", "Question", "starter_problems", "starter_text"]

Problems = tuple[tuple[str, Problem], ...]

# A line `key = example   # comment` gets the answer to its question; without one it is switched off. A
# table that is switched off is on as soon as one of its lines has an answer. Everything else is copied as it
# stands, the table of the animal once for each.
_TEMPLATE = """\
# What lives here and in what, for `pondround`. Lines that begin with # and no space are switched off: take the #
# away and write your own value. Sizes and amounts carry a unit and stand in quotes; dates, numbers and true/false
# stand without.

[site]
name = "Home"                      # the place
id = "home"                        # leave it as it is when you change the name: the record goes by it, here and below
time_zone = "Europe/Dublin"        # IANA name: the hours of the calendar
units = "metric"                   # "metric" or "us": how amounts are printed; either may be written
#locale = "en-IE"                  # how dates, hours and numbers are written; left out: 5 December 2026, 07:30, 7.4
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

#[[enclosure.lamp]]                # a second one
#kind = "heat"
#power = "60 W"
#installed = 2026-11-20
#hours_a_day = 12

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

_HEADER = re.compile(r"#?(\[{1,2})([a-z_.]+)\]{1,2}(.*)")
_LINE = re.compile(r"#?([a-z_]+) = (.+?)(?:\s+# (.*))?")
_COMMENTS_AT = 35

_ANIMAL = "[[enclosure.resident]]"


def starter_text(answers: Answers) -> str:
    """Return the description that the answers make, by the keys of the questions; what is missing is switched
    off."""
    given = _values(answers)
    tables = {path[:-1] for path in given}
    counts: Counter[str] = Counter()
    table: Path = ()
    lines: list[str] = []
    for line in _template(animals_of(answers)):
        if header := _HEADER.fullmatch(line):
            table = _table(header, counts)
            is_off = line.startswith("#") and table in tables
            lines.append(line[1:].replace(" #", "  #", 1) if is_off else line)
        elif pair := _LINE.fullmatch(line):
            lines.append(_written(line, pair, given.get((*table, pair[1]))))
        else:
            lines.append(line)
    return "\n".join(lines) + "\n"


def _values(answers: Answers) -> dict[Path, object]:
    """Return the answers as values of TOML by their places in the file, without those that are empty."""
    values = {question.path: _value(question, answers) for question in questions_for(answers)}
    given = {path: value for path, value in values.items() if value is not None}
    # A name may be corrected later: the id is written down, so that nothing is lost by it.
    taken: set[str] = set()
    for path, name in list(given.items()):
        if path[-1] == "name":
            own = slug(" ".join(str(name).split()))
            if "resident" in path:
                own = _free(own, taken)
                taken.add(own)
            given[*path[:-1], "id"] = own
    return given


def _free(name: str, taken: set[str]) -> str:
    """Return an id, or that with the first number that no other has."""
    return next(free for n in range(1, 99) if (free := name if n == 1 else f"{name}-{n}") not in taken)


def _template(animals: int) -> Iterator[str]:
    """Yield the lines of the template, with the table of the animal so many times."""
    lines = _TEMPLATE.splitlines()
    first = next(at for at, line in enumerate(lines) if line.startswith(_ANIMAL))
    end = lines.index("", first) + 1
    yield from lines[:first]
    for _ in range(animals):
        yield from lines[first:end]
    yield from lines[end:]


def _table(header: re.Match[str], counts: Counter[str]) -> Path:
    """Return the place of a table in the file; `counts` is how many of each array of tables were met, and is
    led on."""
    _, name, _ = header.groups()
    if header[1] == "[[":
        counts[name] += 1
    path: Path = ()
    so_far = ""
    for part in name.split("."):
        so_far = f"{so_far}.{part}".lstrip(".")
        path = (*path, part, counts[so_far] - 1) if counts[so_far] else (*path, part)
    return path


def _written(line: str, pair: re.Match[str], value: object) -> str:
    """Return a line with its value, or switched off where it has none."""
    if value is None:
        if line.startswith("#"):
            return line
        written = f"#{pair[1]} = {pair[2]}"
    else:
        written = tomli_w.dumps({pair[1]: value}).rstrip("\n")
    comment = f"# {pair[3]}" if pair[3] else ""
    return f"{written:<{_COMMENTS_AT - 1}} {comment}".rstrip()


def _value(question: Question, answers: Answers) -> object:
    """Return an answer as a value of TOML; None where it is empty.

    What cannot be read stays text: the description's own type refuses it, and says what to write instead.
    """
    answer = (answers.get(question.key) or question.default).strip()
    if not answer:
        return None
    try:
        return _READ[question.kind](answer)
    except (ValueError, KeyError):
        return answer


def _number(text: str) -> int | float:
    # Python reads more as numbers than people write: 1_000, nan, digits of other scripts.
    if re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})?", text, re.ASCII) is None:
        raise ValueError(text)
    return int(text) if text.isdecimal() else float(text)


def _share(text: str) -> float:
    """Return a share as percent are written on a label, 40 or 40 %, or as a share, 0.4."""
    number = _number(text.removesuffix("%").strip())
    return number if number < 1 else number / 100


_READ: Mapping[str, Callable[[str], object]] = {
    "text": str,
    "date": dt.date.fromisoformat,
    "number": _number,
    "share": _share,
    "flag": {"yes": True, "no": False}.__getitem__,
}


def starter_problems(answers: Answers, sheets: Sheets, checks: tuple[Check, ...] = ()) -> Problems:
    """Return what is wrong with the answers, each problem with the key of its question ("" where it has
    none).

    The whole text is loaded as it would be later: an answer passes here if and only if it passes there.
    """
    asked = {question.path: question for question in questions_for(answers)}
    try:
        load(starter_text(answers), sheets, checks)
    except DescriptionError as error:
        found = ((asked.get(problem.path), problem) for problem in error.problems)
        return tuple((q.key, _as_asked(q, p, answers)) if q is not None else ("", p) for q, p in found)
    return ()


_EXPECTED = {
    "share": ("percent, over 0 and under 100", "write 40"),
    "flag": ("yes or no", ""),
}


def _as_asked(question: Question, problem: Problem, answers: Answers) -> Problem:
    """Return a problem for somebody who sees no file, where it stands there in another form than it was asked
    for."""
    if problem.message.endswith(" is missing"):
        return replace(problem, hint="choose one, or leave out what belongs to it")
    if question.kind in _EXPECTED:
        expected, hint = _EXPECTED[question.kind]
        message = f"found {clip(answers.get(question.key, ''))}; expected {expected}"
        return replace(problem, message=message, hint=hint)
    return problem
