"""The `[[enclosure]]` tables: equipment, residents, food, and what the keeper changes about jobs."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from scheduler.description.fields import (
    Area,
    Cycled,
    Day,
    Flow,
    Id,
    Interval,
    Length,
    Mass,
    Minutes,
    Name,
    Part,
    Power,
    RuleText,
    ShortName,
    Skill,
    Temperature,
    Text,
    TimeOfDay,
    Volume,
    Weekdays,
    Window,
)
from scheduler.description.prices import PriceText
from scheduler.description.table import Flag, Share, Table

UV_KINDS = ("mercury vapour", "metal halide", "T5 HO tube", "T8 tube", "compact")
"""The kinds of lamp that are there for their ultraviolet."""

WARM_KINDS = ("heat", "mercury vapour", "metal halide")
"""The kinds of lamp that warm a basking place."""


class Substrate(Table):
    """What lies on the floor of the enclosure."""

    kind: Literal["bare", "sand", "river stones"]
    depth: Length | None = None
    smallest_stone: Length | None = None


class Filter(Table):
    """The filter."""

    kind: Literal["canister", "internal", "hang-on", "sump"] = "canister"
    flow: Flow | None = None
    media_trays: Annotated[int, Field(ge=1, le=50, strict=True)] | None = None
    media_area: Area | None = None


class Heater(Table):
    """A heater in the water."""

    power: Power | None = None
    set_to: Temperature | None = None
    body: Literal["titanium", "plastic", "glass"] | None = None


class Lamp(Table):
    """A lamp over the basking place or the tank."""

    kind: Literal["mercury vapour", "metal halide", "T5 HO tube", "T8 tube", "compact", "heat", "light"]
    id: Id = ""
    power: Power | None = None
    length: Length | None = None
    installed: Day | None = None
    on_at: TimeOfDay | None = None
    hours_a_day: Annotated[float, Field(ge=0.1, le=24, strict=True)] | Literal["daylight"] | None = None
    uvi: Annotated[float, Field(ge=0, le=30, strict=True)] | None = None
    uvi_at: Length | None = None
    basking_distance: Length | None = None
    price: PriceText | None = None

    @property
    def gives_uv(self) -> bool:
        """Tell whether the lamp is there for its ultraviolet."""
        return self.kind in UV_KINDS


class Resident(Table):
    """An animal, or a group of like animals."""

    name: Name
    id: Id = ""
    species: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    count: Annotated[int, Field(ge=1, le=1000, strict=True)] = 1
    sex: Literal["female", "male", "unknown"] = "unknown"
    carapace: Length | None = None
    shell_width: Length | None = None
    mass: Mass | None = None
    measured: Day | None = None
    born: Day | None = None
    arrived: Day | None = None
    quarantine: Flag = False
    brumates: Flag = False
    moved_from: Annotated[tuple[Name, ...], Field(max_length=100)] | None = None


class Feed(Table):
    """The staple food, as its label says, and the meal. Enclosures that give it one name share it; `price` is of one pack."""

    name: Name | None = None
    protein: Annotated[float, Field(gt=0, lt=1, strict=True)] | None = None
    grams: Annotated[float, Field(gt=0, le=10_000, strict=True)] | None = None
    meals_a_week: Annotated[int, Field(ge=1, le=14, strict=True)] | None = None
    pack: Mass | None = None
    opened: Day | None = None
    price: PriceText | None = None


class Conditioner(Table):
    """The water conditioner in use for this enclosure: how much water a full bottle treats, by its label, and what it holds.

    Enclosures that give it one name share it; `price` is of one bottle.
    """

    name: Name | None = None
    treats: Volume | None = None
    bottle: Volume | None = None
    opened: Day | None = None
    price: PriceText | None = None


class JobOverride(Table):
    """What the keeper changes about one job of one enclosure. `price` is what one time costs."""

    off: Flag = False
    every: Interval | None = None
    rule: RuleText | None = None
    on: Annotated[tuple[Day, ...], Field(min_length=1, max_length=1000)] | None = None
    share: Share | None = None
    window: Window | None = None
    weekdays: Weekdays | None = None
    minutes: Minutes | None = None
    part: Part | None = None
    price: PriceText | None = None
    note: Text = ""


class ExtraJob(Table):
    """A duty of the keeper's own. `short` is its title where there is little room; a `routine` is shown with the daily work."""

    key: Id
    title: Name
    short: ShortName | None = None
    routine: Flag = False
    every: Interval | None = None
    rule: RuleText | None = None
    on: Annotated[tuple[Day, ...], Field(min_length=1, max_length=1000)] | None = None
    window: Window | None = None
    weekdays: Weekdays | None = None
    minutes: Minutes = 10
    part: Part = "morning"
    can: tuple[Skill, ...] = ()
    lift: Mass | None = None
    note: Text = ""


class Enclosure(Table):
    """One tank, tub or pond with its equipment and residents."""

    name: Name
    id: Id = ""
    kind: Literal["tank", "tub", "pond"] = "tank"
    outdoors: Flag = False
    room: Name | None = None
    length: Length | None = None
    width: Length | None = None
    height: Length | None = None
    water_depth: Length | None = None
    covered: Flag | None = None
    pane: Length | None = None
    empty_mass: Mass | None = None
    set_up: Day | None = None
    cycled: Cycled | None = None
    driftwood: Flag | None = None
    substrate: Substrate | None = None
    filter: Filter | None = None
    heater: tuple[Heater, ...] = ()
    lamp: tuple[Lamp, ...] = ()
    resident: tuple[Resident, ...] = ()
    feed: Feed = Field(default_factory=Feed.model_construct)
    conditioner: Conditioner = Field(default_factory=Conditioner.model_construct)
    job: dict[str, JobOverride] = Field(default={})
    extra_job: tuple[ExtraJob, ...] = ()
