"""The form of a species sheet, and the loader of the sheets that the package ships.

A sheet is a TOML file. Every value is a table that carries its source and status; where no figure is published the
table says `status = "not found"` and what to ask the keeper, so that nothing is guessed on the way.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from importlib import resources
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from scheduler.errors import clip
from scheduler.quantities import Span, parse, parse_span
from scheduler.sources import Source, Status


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"found {clip(value)}; expected a quantity with its unit, in quotes")
    return value


Temperature = Annotated[float, BeforeValidator(lambda v: parse(_text(v), "temperature"))]
Length = Annotated[float, BeforeValidator(lambda v: parse(_text(v), "length"))]
SpanField = Annotated[Span, BeforeValidator(lambda v: parse_span(_text(v)))]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class _Sourced(_Part):
    source: str
    status: Status

    @property
    def cited(self) -> Source:
        """Return where the value comes from."""
        return Source(self.source, self.status)


class Band(_Sourced):
    """A range of temperatures in degC."""

    low: Temperature
    high: Temperature


class Zone(_Sourced):
    """The Ferguson zone of ultraviolet exposure, 1 to 4; absent where none is published."""

    zone: Annotated[int, Field(ge=1, le=4)] | None = None
    ask: str = ""


class AdultSize(_Sourced):
    """Straight carapace length of adults of one sex, in cm; absent where none is published."""

    low: Length | None = None
    high: Length | None = None
    ask: str = ""

    @property
    def typical_cm(self) -> float | None:
        """Return the middle of the range, against which a life stage is judged."""
        return None if self.low is None or self.high is None else (self.low + self.high) / 2


class Stage(_Sourced):
    """A stage of life: it ends at a share of the adult carapace, or where only age is known at an age."""

    name: Literal["hatchling", "juvenile", "adult"]
    until_share: Annotated[float, Field(gt=0, lt=1)] | None = None
    until_age: SpanField | None = None
    meals_a_week: Annotated[int, Field(ge=1, le=14)]
    diet: str


class GrowthCurve(_Sourced):
    """Asymptotic growth, dL/dt = k (A - L): asymptote A in cm, k per year, of carapace or plastron."""

    sex: Literal["male", "female"]
    measure: Literal["carapace", "plastron"]
    asymptote: Length
    k: float


class Note(_Sourced):
    """A remark that a keeper of the species should know."""

    text: str


class Sheet(_Part):
    """One species."""

    species: str
    names: tuple[str, ...]
    water: Band
    water_young: Band
    basking: Band
    uv: Zone
    adult_female: AdultSize
    adult_male: AdultSize
    stage: tuple[Stage, ...]
    growth: tuple[GrowthCurve, ...] = ()
    note: tuple[Note, ...] = ()

    def adult_cm(self, sex: str) -> float | None:
        """Return the expected adult carapace in cm; for an unknown sex that of the larger one, to be safe on space."""
        sizes = {"female": [self.adult_female], "male": [self.adult_male]}.get(
            sex, [self.adult_female, self.adult_male]
        )
        known = [size.typical_cm for size in sizes if size.typical_cm is not None]
        return max(known) if known else None


class Sheets(Mapping[str, Sheet]):
    """The sheets at hand, found by scientific name, by a trinomial of it, or by a common name."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        """Take sheets by scientific name; later ones of the same name have already replaced earlier ones."""
        self._sheets = dict(sorted(sheets.items()))
        self._by_name = {n.lower(): s for s in self._sheets.values() for n in (*s.names, s.species)}

    def __getitem__(self, name: str) -> Sheet:
        """Return the sheet for a name as a keeper writes it; KeyError when there is none."""
        words = " ".join(name.lower().split())
        found = self._by_name.get(words) or self._by_name.get(" ".join(words.split(" ")[:2]))
        if found is None:
            raise KeyError(name)
        return found

    def __iter__(self):  # type: ignore[no-untyped-def]
        """Iterate over the scientific names."""
        return iter(self._sheets)

    def __len__(self) -> int:
        """Return the number of species."""
        return len(self._sheets)

    def adding(self, more: Mapping[str, Sheet]) -> Sheets:
        """Return these sheets and the keeper's own, which win over the package's of the same species."""
        return Sheets({**self._sheets, **more})


def read_sheet(text: str) -> Sheet:
    """Return the sheet that a TOML text describes. pydantic.ValidationError or tomllib.TOMLDecodeError when it is not one."""
    data: dict[str, Any] = tomllib.loads(text)
    return Sheet.model_validate(data)


@functools.cache
def load_sheets() -> Sheets:
    """Return the sheets that the package ships."""
    folder = resources.files(__package__) / "sheets"
    sheets = [
        read_sheet(entry.read_text("utf-8")) for entry in folder.iterdir() if entry.name.endswith(".toml")
    ]
    return Sheets({sheet.species: sheet for sheet in sheets})
