"""What was typed into a set-up so far, and the answers that it makes."""

from __future__ import annotations

import re
import secrets
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from scheduler.description.common_sizes import CommonSize, common_size_named, common_size_of
from scheduler.description.questions import MOST_ANIMALS, questions_for
from scheduler.quantities import QuantityError, System, parse

MOST_TYPED = 1000
"""So many characters of a field are kept: names have 80, and more is refused in the description's words."""

MOST_DRAFTS = 50
"""So many browsers may be at it; of more, what was typed longest ago is forgotten. House value."""

UNITS: Mapping[str, tuple[str, ...]] = {
    "length": ("cm", "in", "mm", "m", "ft"),
    "width": ("cm", "in", "mm", "m", "ft"),
    "height": ("cm", "in", "mm", "m", "ft"),
    "water_depth": ("cm", "in", "mm", "m", "ft"),
    "holds": ("L", "gal", "imp gal"),
    "flow": ("L/h", "gal/h", "imp gal/h"),
    "heater": ("W",),
    "set_to": ("degC", "degF"),
    "lamp_power": ("W",),
    "second_lamp_power": ("W",),
    "carapace": ("cm", "in", "mm"),
}
"""The units that a field offers, those of metric sites first."""

US = {"in", "gal", "gal/h", "degF"}

_BARE = re.compile(r"[0-9]+([.,][0-9]+)?|\.[0-9]+")


def units_of(key: str) -> tuple[str, ...]:
    """Return the units that a field offers; empty where it is none with units."""
    return UNITS.get("carapace" if key.startswith("carapace-") else key, ())


@dataclass(slots=True)
class Draft:
    """What was typed, by the names of the fields; which steps were sent to go on; and what is to be told of a
    step that is no mistake."""

    typed: dict[str, str] = field(default_factory=dict)
    sent: set[str] = field(default_factory=set)
    told: str = ""

    @property
    def animals(self) -> int:
        """Return how many animals are asked about."""
        text = self.typed.get("animals", "1")
        number = int(text) if re.fullmatch(r"[0-9]{1,3}", text, re.ASCII) else 1
        return min(max(1, number), MOST_ANIMALS)

    @property
    def system(self) -> System:
        """Return the system of units that was chosen."""
        return "us" if self.typed.get("units") == "us" else "metric"

    def take(self, form: Mapping[str, str], names: Sequence[str]) -> None:
        """Keep the fields of a form that a step has, and no others."""
        for name in names:
            if name in form:
                self.typed[name] = form[name][:MOST_TYPED]

    def unit(self, key: str) -> str:
        """Return the unit that is chosen for a field, at first that of the system."""
        units = units_of(key)
        chosen = self.typed.get(f"{key}-unit", "")
        usual = next((u for u in units if (u in US) == (self.system == "us")), units[0])
        return chosen if chosen in units else usual

    def answers(self) -> dict[str, str]:
        """Return the answers as the questions have them, a number with the unit beside it."""
        more = {f"animal-{n}": "" for n in range(2, self.animals + 1)}
        return {q.key: self.answer(q.key) for q in questions_for(more)}

    def answer(self, key: str) -> str:
        """Return the answer in one field; a bare number takes the unit beside it."""
        text = self.typed.get(key, "").strip()
        return f"{text} {self.unit(key)}" if _BARE.fullmatch(text) and units_of(key) else text

    def size_up(self) -> tuple[str, str]:
        """Take the sizes from where they are said to be known from; return the field that is wrong and why,
        both empty where nothing is.

        A volume alone is no size: those of the nearest common tank are filled in, to be looked at.
        """
        by = self.typed.get("by", "measured")
        self.told = ""
        if by == "common":
            size = common_size_named(self.typed.get("common", ""))
            if size is None:
                return "common", "choose one of the sizes, or write what you measure"
            self._fill(size)
        elif by == "holds":
            return self._size_from_volume()
        return "", ""

    def _size_from_volume(self) -> tuple[str, str]:
        try:
            litres = parse(self.answer("holds"), "volume")
        except QuantityError as error:
            return "holds", f"{error.message}; {error.hint}"
        size = common_size_of(litres, self.system)
        if size is None:
            return "holds", "no common tank holds about so much; measure it, inside, and write the sizes"
        self._fill(size)
        self.told = (
            f"A tank that holds about {self.answer('holds')} is commonly {size.text} to the rim. Its sizes "
            "are filled in below: hold a tape against it, mend what differs, and add the depth of the water."
        )
        return "", ""

    def _fill(self, size: CommonSize) -> None:
        for key, number in (("length", size.length), ("width", size.width), ("height", size.height)):
            self.typed[key], self.typed[f"{key}-unit"] = str(number), size.unit
        self.typed["by"] = "measured"


class Drafts:
    """The drafts of all browsers, by the secret ends of their addresses."""

    def __init__(self) -> None:
        """Begin with none."""
        self._drafts: OrderedDict[str, Draft] = OrderedDict()

    def begin(self, typed: Mapping[str, str]) -> str:
        """Begin a draft with what is known, and return its name."""
        name = secrets.token_urlsafe(9)
        self._drafts[name] = Draft(dict(typed))
        while len(self._drafts) > MOST_DRAFTS:
            self._drafts.popitem(last=False)
        return name

    def get(self, name: str) -> Draft | None:
        """Return a draft; None where there is none of that name any more."""
        if name in self._drafts:
            self._drafts.move_to_end(name)
        return self._drafts.get(name)
