"""The steps of a set-up: what each is called, and its questions as fields of a form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scheduler.description.common_sizes import COMMON_SIZES
from scheduler.description.questions import (
    EQUIPMENT,
    FOOD,
    PLACE,
    TANK,
    UNITS,
    Question,
    of_animal,
)
from scheduler.species import Sheets
from scheduler.web.setup.draft import Draft, units_of


@dataclass(frozen=True, slots=True)
class Step:
    """One page: its name in the address, its title, what the list of steps calls it, where it leads."""

    name: str
    title: str
    short: str
    on: str


STEPS = (
    Step("place", "The place", "Place", "On to the units"),
    Step("units", "Units", "Units", "On to the enclosure"),
    Step("enclosure", "The enclosure", "Enclosure", "On to the equipment"),
    Step("equipment", "Filter, heater, lamps", "Equipment", "On to the animals"),
    Step("animals", "Animals", "Animals", "On to the food"),
    Step("food", "Food, and a last look", "Food", "Write it down"),
)
NAMES = tuple(step.name for step in STEPS)

WHAT: Mapping[str, Mapping[str, str]] = {
    "units": {"metric": "litres, centimetres, grams, °C", "us": "US gallons, inches, pounds, °F"},
}
"""What a choice is called where its own word does not say it."""

SHOWN = {"degC": "°C", "degF": "°F"}


@dataclass(frozen=True, slots=True)
class Field:
    """A question as a field: `options` and `groups` are (value, text) to choose from, `units` those of a
    unit."""

    name: str
    label: str
    help: str
    value: str
    wrong: str = ""
    options: tuple[tuple[str, str], ...] = ()
    groups: Mapping[str, list[tuple[str, str]]] | None = None
    radio: bool = False
    units: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together, under a heading; `sizes` may be measured, or known from elsewhere.
    Those that few need are `folded`."""

    title: str
    fields: tuple[Field, ...]
    sizes: bool = False
    folded: bool = False

    @property
    def is_used(self) -> bool:
        """Tell whether something was written into it."""
        return any(one.value or one.wrong for one in self.fields)


def questions_of(step: str, animals: int) -> tuple[Question, ...]:
    """Return the questions of a step."""
    if step == "animals":
        return tuple(q for number in range(1, animals + 1) for q in of_animal(number))
    return {"place": PLACE, "units": UNITS, "enclosure": TANK, "equipment": EQUIPMENT, "food": FOOD}[step]


def names_of(step: str, animals: int) -> list[str]:
    """Return the names of the fields of a step."""
    found = []
    for question in questions_of(step, animals):
        found += [question.key, *([f"{question.key}-unit"] if units_of(question.key) else [])]
    more = {"enclosure": ["by", "holds", "holds-unit", "common"], "food": ["file"]}
    return found + more.get(step, [])


class Fields:
    """Makes fields of a draft: with what was typed, what is wrong with it, and what can be chosen."""

    def __init__(
        self,
        draft: Draft,
        wrong: Mapping[str, str],
        sheets: Sheets,
        zones: Mapping[str, list[tuple[str, str]]],
    ) -> None:
        """Take the draft, what is wrong by the keys of the questions, the species, and the time zones."""
        self._draft, self._wrong, self._sheets, self._zones = draft, wrong, sheets, zones

    def groups(self, step: str) -> list[Group]:
        """Return the fields of a step."""
        made = {q.key: self._field(q) for q in questions_of(step, self._draft.animals)}
        if step == "animals":
            rows = range(1, self._draft.animals + 1)
            return [
                Group(
                    "The animal" if len(rows) == 1 else f"Animal {n}",
                    tuple(made[q.key] for q in of_animal(n)),
                )
                for n in rows
            ]
        if step == "enclosure":
            sizes = ("length", "width", "height", "water_depth")
            others = tuple(one for key, one in made.items() if key not in sizes)
            return [
                Group("What it is", others[:2]),
                Group("How large it is", tuple(made[key] for key in sizes), sizes=True),
                Group("Lid and age", others[2:]),
            ]
        if step == "equipment":
            return [
                Group(title, tuple(one for key, one in made.items() if key in keys), folded="second" in title)
                for title, keys in (
                    ("Filter", {"filter", "flow"}),
                    ("Heater", {"heater", "set_to"}),
                    ("A lamp", {key for key in made if key.startswith("lamp")}),
                    ("A second lamp", {key for key in made if key.startswith("second")}),
                )
            ]
        return [Group("", tuple(made.values()))]

    def size_fields(self) -> tuple[Field, Field]:
        """Return the fields for who knows what the enclosure holds, or a common size."""
        draft = self._draft
        sizes = sorted(COMMON_SIZES, key=lambda size: size.system != draft.system)
        return (
            Field(
                "holds", "How much it holds", "", draft.typed.get("holds", ""), self._wrong.get("holds", ""),
                units=_units("holds"), unit=draft.unit("holds"), mode="decimal",
            ),
            Field(
                "common", "Common size", "", draft.typed.get("common", ""), self._wrong.get("common", ""),
                options=(("", "choose"), *((size.text, size.text) for size in sizes)),
            ),
        )  # fmt: skip

    def file_field(self, name: str) -> Field:
        """Return the field for the name of the file."""
        return Field(
            "file",
            "Name of the file",
            "All of it is written into this text file, which you can read, change and keep.",
            self._draft.typed.get("file", name),
            self._wrong.get("file", ""),
        )

    def _field(self, q: Question) -> Field:
        draft, key = self._draft, q.key
        value = draft.typed.get(key, q.default)
        label, about = _worded(q)
        choices = self._choices(q)
        plain = q.kind in ("number", "share") or bool(units_of(key))
        return Field(
            key,
            label,
            about,
            value,
            self._wrong.get(key, ""),
            options=choices,
            groups=self._zones if key == "time_zone" else None,
            radio=key == "units",
            units=_units(key),
            unit=draft.unit(key) if units_of(key) else "",
            mode="decimal" if plain else "",
        )

    def _choices(self, q: Question) -> tuple[tuple[str, str], ...]:
        none = () if q.default else (("", "not said" if q.kind == "flag" else "none"),)
        if q.path[-1] == "species":
            sheets = self._sheets.values()
            names = sorted({sheet.names[0] if sheet.names else sheet.species for sheet in sheets})
            return (("", "another, or not known"), *((name, name) for name in names))
        called = WHAT.get(q.key, {})
        choices = tuple((one, called.get(one, one)) for one in q.choices)
        return (*none, *choices) if choices else ()


def _worded(q: Question) -> tuple[str, str]:
    """Return a question as a label, which tells it from its like, and its help."""
    number = q.path[3] if "resident" in q.path else 0
    label = q.text + (f", animal {int(number) + 1}" if number else "")
    such = "2026-11-28" if q.kind == "date" else q.example if q.key == "locale" else ""
    example = f"Such as {such}." if such else ""
    return label, f"{q.help} {example}".strip()


def _units(key: str) -> tuple[tuple[str, str], ...]:
    return tuple((unit, SHOWN.get(unit, unit)) for unit in units_of(key))
