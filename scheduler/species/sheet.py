"""The form of a species sheet.

A sheet is a TOML file. Every value is a table that carries its source and status; where no figure is
published the table says `status = "not found"` and what to ask the keeper, so that nothing is guessed on the
way.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Callable, Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

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


Continent = Literal["Africa", "Asia", "Australia", "Europe", "North America", "South America"]


class _Part(BaseModel):
    # Built when first used: the whole sheet then needs one validator, not one for each of its parts.
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True)


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


class Basks(_Sourced):
    """How often animals of the species bask out of the water, where that is not often."""

    how: Literal["rarely"]


class Zone(_Sourced):
    """The Ferguson zone of ultraviolet exposure, 1 to 4; absent where none is published."""

    zone: Annotated[int, Field(ge=1, le=4)] | None = None
    ask: str = ""


class Origin(_Sourced):
    """The continents that the species lives on by nature."""

    continents: Annotated[tuple[Continent, ...], Field(min_length=1)]


class Brumation(_Sourced):
    """Whether animals of the species winter in the cold by nature."""

    natural: bool


class AdultSize(_Sourced):
    """Straight carapace length of adults of one sex, in cm; absent where none is published."""

    low: Length | None = None
    high: Length | None = None
    plan: Length | None = None
    """What room is planned for, where a note of the sheet asks for another size than the middle of the
    range."""

    past: Length | None = None
    """What room is planned for once an animal is longer than the range."""
    form: dict[str, Length] = Field(default_factory=dict)
    """The same for a form: by the last word of its scientific name, or a common name."""
    ask: str = ""

    def room_cm(self, written: str, carapace: float | None) -> float | None:
        """Return the carapace to plan room for: of the form that the keeper names, of one past the range,
        else of all."""
        words = _plain(written)
        named = [cm for form, cm in self.form.items() if _plain(form) in (words, *words.split()[2:])]
        if named:
            return named[0]
        if self.past is not None and carapace is not None and self.high is not None and carapace > self.high:
            return self.past
        return self.typical_cm if self.plan is None else self.plan

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


def _three_stages(stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
    names = [stage.name for stage in stages]
    if names != ["hatchling", "juvenile", "adult"]:
        raise ValueError("expected the stages hatchling, juvenile and adult, in this order")
    shares = [stage.until_share for stage in stages]
    if shares[0] is None or shares[1] is None or shares[2] is not None or shares[0] >= shares[1]:
        raise ValueError("expected a growing until_share for hatchling and juvenile, and none for adult")
    return stages


class GrowthCurve(_Sourced):
    """Asymptotic growth, dL/dt = k (A - L): asymptote A in cm, k per year, of carapace or plastron."""

    sex: Literal["male", "female"]
    measure: Literal["carapace", "plastron"]
    asymptote: Length
    k: float


Subject = Literal[
    "law", "size", "water", "basking", "ultraviolet", "air", "cover", "winter", "food", "growth"
]
"""What a note is about; the jobs on it say it too. Air: how the animal comes up to breathe."""


class SpeciesNote(_Sourced):
    """A remark that a keeper of the species should know. `about` is absent where no job is on it."""

    text: str
    about: Subject | None = None

    @property
    def words(self) -> str:
        """Return the text as it is read: a sheet is plain ASCII, and writes degC."""
        return self.text.replace("degC", "°C").replace("degF", "°F")


class Sheet(_Part):
    """One species."""

    species: str
    names: tuple[str, ...]
    water: Band
    water_young: Band
    basking: Band
    uv: Zone
    basks: Basks | None = None
    origin: Origin | None = None
    brumation: Brumation | None = None
    adult_female: AdultSize
    adult_male: AdultSize
    stage: Annotated[tuple[Stage, ...], AfterValidator(_three_stages)]
    growth: tuple[GrowthCurve, ...] = ()
    note: tuple[SpeciesNote, ...] = ()

    @property
    def stage_shares(self) -> tuple[float, float]:
        """Return the shares of the adult carapace at which hatchling and juvenile end."""
        ends = [stage.until_share for stage in self.stage if stage.until_share is not None]
        return (ends[0], ends[1])

    def adult_cm(self, sex: str) -> float | None:
        """Return the expected adult carapace in cm; for an unknown sex that of the larger one, to be safe on
        space."""
        sizes = {"female": [self.adult_female], "male": [self.adult_male]}.get(
            sex, [self.adult_female, self.adult_male]
        )
        known = [size.typical_cm for size in sizes if size.typical_cm is not None]
        return max(known) if known else None

    def room_cm(self, sex: str, written: str = "", carapace: float | None = None) -> float | None:
        """Return the adult carapace in cm to plan room for, by the sheet's notes and the sex; unknown: the
        larger one.

        `written` is the species as the keeper writes it, `carapace` what the animal measures now.
        """
        female, male = (size.room_cm(written, carapace) for size in (self.adult_female, self.adult_male))
        known = [cm for cm in {"female": [female], "male": [male]}.get(sex, [female, male]) if cm is not None]
        return max(known, default=None)

    def sexes_differ(self, written: str = "", carapace: float | None = None) -> bool:
        """Tell whether the size to plan room for hangs on the sex."""
        return len({size.room_cm(written, carapace) for size in (self.adult_female, self.adult_male)}) > 1


Reader = Callable[[], Sheet]


class Sheets(Mapping[str, Sheet]):
    """The sheets at hand, found by scientific name, by a trinomial of it, or by a common name.

    A sheet is read when it is first asked for: most sites keep one or two species.
    """

    def __init__(self, readers: Mapping[str, Reader]) -> None:
        """Take what reads each sheet, by scientific name."""
        self._readers = dict(sorted(readers.items()))
        self._scientific = {_plain(name): name for name in self._readers}

    def __getitem__(self, name: str) -> Sheet:
        """Return the sheet for a name as a keeper writes it; KeyError when there is none."""
        words = _plain(name).split()
        known = self._scientific.get(" ".join(words[:2])) or self._common.get(" ".join(words))
        if known is None:
            raise KeyError(name)
        return self._readers[known]()

    @functools.cached_property
    def _common(self) -> dict[str, str]:
        return {_plain(common): name for name, read in self._readers.items() for common in read().names}

    def __iter__(self) -> Iterator[str]:
        """Iterate over the scientific names."""
        return iter(self._readers)

    def __len__(self) -> int:
        """Return the number of species."""
        return len(self._readers)

    def adding(self, more: Mapping[str, Sheet]) -> Sheets:
        """Return these sheets and the keeper's own, which win over the package's of the same species."""
        return Sheets({**self._readers, **{name: lambda sheet=sheet: sheet for name, sheet in more.items()}})  # type: ignore[misc]


def _plain(name: str) -> str:
    """Return a name as it is compared: red-eared slider and Red Eared Slider are one."""
    return " ".join(name.lower().replace("-", " ").split())


def read_sheet(text: str) -> Sheet:
    """Return the sheet that a TOML text describes. pydantic.ValidationError or tomllib.TOMLDecodeError when
    it is not one."""
    data: dict[str, Any] = tomllib.loads(text)
    return Sheet.model_validate(data)
