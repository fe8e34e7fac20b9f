"""The `[[enclosure]]` tables: equipment, residents, food, and what the keeper changes about jobs."""

from __future__ import annotations

import datetime as dt
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


DepartureReason = Literal["adopted", "returned", "transferred", "released", "escaped", "died", "other"]
"""How an animal leaves a site."""


class Substrate(Table):
    """What lies on the floor of the enclosure."""

    kind: Literal["bare", "sand", "river stones"] = Field(description="what lies on the floor")
    depth: Length | None = Field(None, description="how deep it lies")
    smallest_stone: Length | None = Field(
        None, description="the smallest stone: what fits into a mouth is swallowed"
    )


class Filter(Table):
    """The filter."""

    kind: Literal["canister", "internal", "hang-on", "sump"] = Field(
        "canister", description="how it is built"
    )
    flow: Flow | None = Field(None, description="rated flow, as on the label")
    media_trays: Annotated[int, Field(ge=1, le=50, strict=True)] | None = Field(
        None, description="how many trays hold media"
    )
    media_area: Area | None = Field(None, description="surface of the biological media")


class Heater(Table):
    """A heater in the water."""

    power: Power | None = Field(None, description="rated power, as on the label")
    set_to: Temperature | None = Field(None, description="temperature that its thermostat is set to")
    body: Literal["titanium", "plastic", "glass"] | None = Field(None, description="what its body is made of")


class Lamp(Table):
    """A lamp over the basking place or the tank."""

    kind: Literal["mercury vapour", "metal halide", "T5 HO tube", "T8 tube", "compact", "heat", "light"] = (
        Field(description="how it makes its light")
    )
    id: Id = Field("", description="what tells it apart from the enclosure's other lamps")
    power: Power | None = Field(None, description="rated power, as on the label")
    length: Length | None = Field(None, description="lit length of a tube; without it by the power")
    installed: Day | None = Field(None, description="since when this bulb or tube burns")
    on_at: TimeOfDay | None = Field(None, description="when the timer switches it on")
    hours_a_day: Annotated[float, Field(ge=0.1, le=24, strict=True)] | Literal["daylight"] | None = Field(
        None,
        description="hours that it burns in a day; daylight follows the season, around noon or from `on_at` on",  # noqa: E501
    )
    uvi: Annotated[float, Field(ge=0, le=30, strict=True)] | None = Field(
        None, description="UV Index that was read, new or after burn-in"
    )
    uvi_at: Length | None = Field(None, description="distance from the lamp at which it was read")
    basking_distance: Length | None = Field(None, description="distance from the lamp to the basking place")
    price: PriceText | None = Field(None, description="what one bulb or tube costs")

    @property
    def gives_uv(self) -> bool:
        """Tell whether the lamp is there for its ultraviolet."""
        return self.kind in UV_KINDS


class Resident(Table):
    """An animal, or a group of like animals."""

    name: Name = Field(description="what it is called; a group (`count` over 1) needs none")
    id: Id = Field("", description="what its record is kept under; by default made from the name")
    species: Annotated[str, Field(min_length=1, max_length=80)] | None = Field(
        None, description="name of a species that has a sheet"
    )
    count: Annotated[int, Field(ge=1, le=1000, strict=True)] = Field(
        1, description="how many animals these are"
    )
    sex: Literal["female", "male", "unknown"] = Field(
        "unknown", description="sex of the animal or of the whole group"
    )
    carapace: Length | None = Field(
        None, description="straight length of the carapace; of a group the longest"
    )
    shell_width: Length | None = Field(None, description="greatest width of the shell")
    mass: Mass | None = Field(None, description="mass of one animal")
    measured: Day | None = Field(None, description="day on which the sizes were taken")
    born: Day | None = Field(None, description="day of hatching, or nearly")
    arrived: Day | None = Field(None, description="day on which it comes or came")
    here_since: Day | None = Field(
        None, description="since when it is here, if it came from another enclosure of the site"
    )
    departed: Day | None = Field(
        None, description="day on which it left the site: from then on nothing is planned for it"
    )
    departed_as: DepartureReason | None = Field(None, description="how it left")
    quarantine: Flag = Field(False, description="whether it is kept apart as a newcomer")
    brumates: Flag = Field(False, description="whether you and its vet let it winter in the cold")
    moved_from: Annotated[tuple[Name, ...], Field(max_length=100)] | None = Field(
        None, description="enclosures where it lived before, where that is not clear"
    )

    @property
    def here_from(self) -> dt.date | None:
        """Return since when it is in this enclosure; None where it has been all along."""
        return self.here_since or self.arrived


class Food(Table):
    """The staple food, as its label says, and the meal.

    Enclosures that give it one name share it; `price` is of one pack.
    """

    name: Name | None = Field(None, description="the food; enclosures that name the same one share it")
    protein: Annotated[float, Field(gt=0, lt=1, strict=True)] | None = Field(
        None, description="crude protein as a share, as on the label"
    )
    grams: Annotated[float, Field(gt=0, le=10_000, strict=True)] | None = Field(
        None, description="grams of one meal as fed, for all of them"
    )
    meals_a_week: Annotated[int, Field(ge=1, le=14, strict=True)] | None = Field(
        None, description="meals in a week; without it by stage of life"
    )
    pack: Mass | None = Field(None, description="what a full pack holds")
    opened: Day | None = Field(
        None, description="when the pack was opened: with `pack` it says when to order"
    )
    price: PriceText | None = Field(None, description="what one pack costs")


class Conditioner(Table):
    """The water conditioner in use for this enclosure: how much water a full bottle treats, by its label, and
    what it holds.

    Enclosures that give it one name share it; `price` is of one bottle.
    """

    name: Name | None = Field(None, description="the conditioner; enclosures that name the same one share it")
    treats: Volume | None = Field(None, description="how much water a full bottle treats, by its label")
    bottle: Volume | None = Field(
        None, description="what a full bottle holds: with `treats` it gives the mL of a dose"
    )
    opened: Day | None = Field(
        None, description="when the bottle was opened: with `treats` it says when to order"
    )
    price: PriceText | None = Field(None, description="what one bottle costs")


class JobOverride(Table):
    """What the keeper changes about one job of one enclosure. `price` is what one time costs."""

    off: Flag = Field(False, description="true leaves the job out")
    every: Interval | None = Field(None, description="interval, instead of its own")
    rule: RuleText | None = Field(None, description="recurrence rule (RFC 5545), instead of an interval")
    on: Annotated[tuple[Day, ...], Field(min_length=1, max_length=1000)] | None = Field(
        None, description="single days, instead of an interval"
    )
    share: Share | None = Field(None, description="share of the water; of water-change alone")
    window: Window | None = Field(None, description="how early or late it does no harm")
    weekdays: Weekdays | None = Field(None, description="weekdays on which it may fall")
    minutes: Minutes | None = Field(None, description="minutes that it takes")
    part: Part | None = Field(None, description="part of the day in which it is done")
    price: PriceText | None = Field(None, description="what one time costs")
    note: Text = Field("", description="a step of your own, after the others")


class ExtraJob(Table):
    """A duty of the keeper's own.

    `short` is its title where there is little room; a `routine` is shown with the daily work.
    """

    key: Id = Field(description="its key: an identity, not to be changed later")
    title: Name = Field(description="what is to be done")
    short: ShortName | None = Field(None, description="the title where there is little room, the work first")
    routine: Flag = Field(False, description="true shows it with the daily look and the feeding")
    every: Interval | None = Field(None, description="interval since it was last done")
    rule: RuleText | None = Field(None, description="recurrence rule (RFC 5545), instead of an interval")
    on: Annotated[tuple[Day, ...], Field(min_length=1, max_length=1000)] | None = Field(
        None, description="single days, instead of an interval"
    )
    window: Window | None = Field(None, description="how early or late it does no harm")
    weekdays: Weekdays | None = Field(None, description="weekdays on which it may fall")
    minutes: Minutes = Field(10, description="minutes that it takes")
    part: Part = Field("morning", description="part of the day in which it is done")
    can: tuple[Skill, ...] = Field((), description="skills that it asks for")
    lift: Mass | None = Field(None, description="the heaviest load that is lifted")
    note: Text = Field("", description="how it is done")


class Enclosure(Table):
    """One tank, tub or pond with its equipment and residents."""

    name: Name = Field(description="what it is called")
    id: Id = Field("", description="what files and calendar entries call it; by default made from the name")
    kind: Literal["tank", "tub", "pond"] = Field("tank", description="what it is")
    outdoors: Flag = Field(False, description="whether it stands in the weather")
    room: Name | None = Field(None, description="where it stands; rounds go room by room")
    length: Length | None = Field(None, description="inside length")
    width: Length | None = Field(None, description="inside width")
    height: Length | None = Field(None, description="inside height")
    water_depth: Length | None = Field(None, description="depth of the water")
    covered: Flag | None = Field(None, description="whether a lid keeps the water from evaporating")
    pane: Length | None = Field(None, description="thickness of the walls")
    empty_mass: Mass | None = Field(None, description="mass of the empty enclosure with its stand")
    set_up: Day | None = Field(None, description="day on which it is or was set up")
    retired: Day | None = Field(
        None, description="day from which it is no longer in use: nothing is planned for it"
    )
    cycled: Cycled | None = Field(None, description="whether the filter works, or since when")
    driftwood: Flag | None = Field(None, description="whether there is driftwood in it")
    substrate: Substrate | None = None
    filter: Filter | None = None
    heater: tuple[Heater, ...] = ()
    lamp: tuple[Lamp, ...] = ()
    resident: tuple[Resident, ...] = ()
    feed: Food = Field(default_factory=Food.model_construct)
    conditioner: Conditioner = Field(default_factory=Conditioner.model_construct)
    job: dict[str, JobOverride] = Field(default={})
    extra_job: tuple[ExtraJob, ...] = ()

    def __repr__(self) -> str:
        """Return its identity on one line: its tables hold all of it."""
        return f"<Enclosure {self.id}>"
