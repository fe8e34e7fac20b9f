"""The models of the description format: one class a table, fields named as in the TOML.

All of them are frozen and complete when built. Plain numbers are in the unit that the name of the kind fixes:
lengths cm, areas m2, volumes L, masses g, temperatures degC, powers W, flows L/h, concentrations mg/L.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag

from scheduler.description.fields import (
    Area,
    AwaySpan,
    Concentration,
    Cycled,
    Day,
    Duties,
    Duty,
    Email,
    Flow,
    Id,
    Interval,
    Length,
    LocaleTag,
    LogUrl,
    Mass,
    Minutes,
    Name,
    Part,
    Phone,
    Power,
    RuleText,
    ShortName,
    Skill,
    Temperature,
    Text,
    TimeOfDay,
    Volume,
    Weekday,
    WeekdayName,
    Weekdays,
    Window,
    Zone,
    contacts_or_text,
)
from scheduler.description.prices import PriceText
from scheduler.locales import Formats, formats_of
from scheduler.quantities import System
from scheduler.species import Sheet, Sheets

UV_KINDS = ("mercury vapour", "metal halide", "T5 HO tube", "T8 tube", "compact")
"""The kinds of lamp that are there for their ultraviolet."""

WARM_KINDS = ("heat", "mercury vapour", "metal halide")
"""The kinds of lamp that warm a basking place."""

Flag = Annotated[bool, Field(strict=True)]
Share = Annotated[float, Field(ge=0.001, le=1, strict=True)]
Ratio = Annotated[float, Field(ge=1, le=100, strict=True)]
Ph = Annotated[float, Field(ge=3, le=11, strict=True)]


class Table(BaseModel):
    """What all tables share: unknown keys are refused, nothing changes after loading."""

    # Built when first used: the whole file then needs one validator, not one for each of its tables.
    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, allow_inf_nan=False, defer_build=True
    )


class Times(Table):
    """When the jobs of each part of the day start, and from when on mails of the day's rounds go; local time."""

    morning: TimeOfDay = dt.time(7, 30)
    evening: TimeOfDay = dt.time(18, 30)
    remind: TimeOfDay | None = None


class TapWater(Table):
    """What comes out of the tap, from the utility's report and a thermometer."""

    disinfectant: Literal["none", "chlorine", "chloramine", "unknown"] = "unknown"
    disinfectant_level: Concentration | None = None
    nitrate: Concentration | None = None
    alkalinity: Concentration | None = None
    ph: Ph | None = None
    cold: Temperature | None = None
    hot: Temperature | None = None


class Kit(Table):
    """What the keeper's test kits read as: the element N, or the ion or molecule."""

    ammonia: Literal["N", "NH3", "NH4"] | None = None
    nitrite: Literal["N", "NO2"] | None = None
    nitrate: Literal["N", "NO3"] | None = None


class HouseValues(Table):
    """The `[site.house_values]` table: what this project chose, for the keeper to choose otherwise.

    What is not given stays None here; the care rules know the project's choice, so that they can tell whose value it is.
    """

    nitrate_look: Concentration | None = None
    nitrate_act: Concentration | None = None
    nitrate_over_tap: Concentration | None = None
    change_least_days: Annotated[int, Field(ge=1, le=14, strict=True)] | None = None
    ammonia_clean: Concentration | None = None
    ammonia_dose: Concentration | None = None
    ammonia_look: Concentration | None = None
    ammonia_act: Concentration | None = None
    nitrite_look: Concentration | None = None
    nitrite_act: Concentration | None = None
    weight_loss: Share | None = None
    weight_loss_young: Share | None = None
    no_food: Interval | None = None
    no_food_young: Interval | None = None
    nitrogen: Literal["all", "fish"] | None = None
    humidity: Annotated[float, Field(gt=0, le=1, strict=True)] | None = None
    evaporation_activity: Annotated[float, Field(ge=0.1, le=2, strict=True)] | None = None
    top_up_fall: Length | None = None
    size_ratio_look: Ratio | None = None
    size_ratio_act: Ratio | None = None
    females_per_male: Ratio | None = None
    free_rim: Length | None = None
    bring_in: Temperature | None = None
    feed_less: Temperature | None = None
    ph_low: Ph | None = None
    ph_high: Ph | None = None
    ph_step: Annotated[float, Field(ge=0.1, le=5, strict=True)] | None = None
    pail: Volume | None = None
    reference_mass: Mass | None = None
    hose_from: Volume | None = None
    warm_up: Minutes | None = None
    feed_after: Minutes | None = None
    lamps_ahead: Interval | None = None
    supplies_ahead: Interval | None = None


class Contact(Table):
    """Somebody to be called: a `[[site.contact]]`, and for what."""

    name: Name
    phone: Phone
    duties: Annotated[Duties, Field(alias="for")]


def _form(value: object) -> str:
    return "text" if isinstance(value, str) else "tables"


Contacts = Annotated[
    Annotated[Name, Tag("text")] | Annotated[tuple[Contact, ...], Field(max_length=50), Tag("tables")],
    Discriminator(_form),
    BeforeValidator(contacts_or_text),
]
"""Whom to call; or, as text, whom a page says to tell when the description has a mistake."""


class Place(Table):
    """The `[site]` table."""

    name: Name
    id: Id = ""
    time_zone: Zone = "UTC"
    units: System = "metric"
    locale: LocaleTag | None = None
    start: Day | None = None
    latitude: Annotated[float, Field(ge=-90, le=90, strict=True)] | None = None
    room_low: Temperature | None = None
    room_high: Temperature | None = None
    contact: Contacts | None = None
    log: LogUrl | None = None
    not_logged: Annotated[tuple[Id, ...], Field(max_length=100)] = ()
    former: Annotated[tuple[Name, ...], Field(max_length=1000)] = ()
    times: Times = Field(default_factory=Times.model_construct)
    tap_water: TapWater = Field(default_factory=TapWater.model_construct)
    test_kit: Kit = Field(default_factory=Kit.model_construct)
    house_values: HouseValues = Field(default_factory=HouseValues.model_construct)

    @property
    def zone(self) -> ZoneInfo:
        """Return the time zone."""
        return ZoneInfo(self.time_zone)

    @property
    def formats(self) -> Formats:
        """Return how dates, times of day and numbers are written here for people."""
        return formats_of(self.locale)

    @property
    def contacts(self) -> tuple[Contact, ...]:
        """Return the people to be called, in the order of the file."""
        return self.contact if isinstance(self.contact, tuple) else ()

    def called_for(self, duty: Duty) -> tuple[Contact, ...]:
        """Return the people to be called for something."""
        return tuple(contact for contact in self.contacts if duty in contact.duties)

    @property
    def told_of_mistakes(self) -> str:
        """Return whom a page says to tell when the description has a mistake; "" where nobody is named."""
        if isinstance(self.contact, str):
            return self.contact
        return next((f"{c.name} ({c.phone})" for c in self.called_for("coordinator")), "")

    def time_of(self, part: Part) -> dt.time:
        """Return when the jobs of a part of the day start."""
        return self.times.morning if part == "morning" else self.times.evening


class Keeper(Table):
    """A person who does jobs."""

    name: Name
    id: Id = ""
    weekdays: Weekdays | None = None
    minutes: Minutes | None = None
    share: Annotated[float, Field(ge=0, le=1000, strict=True)] = 1.0
    can: tuple[Skill, ...] | None = None
    away: tuple[AwaySpan, ...] = ()
    rounds_a_week: Annotated[int, Field(ge=1, le=7, strict=True)] | None = None
    prefers: Annotated[tuple[Name, ...], Field(max_length=100)] = ()
    avoids: Annotated[tuple[Name, ...], Field(max_length=100)] = ()
    email: Email | None = None
    remind: Annotated[tuple[Literal["morning", "changes"], ...], Field(max_length=2)] = ()


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
    job: dict[str, JobOverride] = {}
    extra_job: tuple[ExtraJob, ...] = ()


class Description(Table):
    """The whole file."""

    site: Place
    keeper: tuple[Keeper, ...] = ()
    enclosure: tuple[Enclosure, ...] = ()


class Site:
    """A validated description together with the species sheets that it rests on."""

    __slots__ = ("enclosures", "keepers", "place", "sheets")

    def __init__(self, description: Description, sheets: Sheets) -> None:
        """Order enclosures, keepers and residents by id, so that the order of tables in the file changes nothing."""
        self.place = description.site
        self.keepers = tuple(sorted(description.keeper, key=lambda k: k.id))
        self.enclosures = tuple(map(_ordered, sorted(description.enclosure, key=lambda e: e.id)))
        self.sheets = sheets

    def with_enclosures(self, enclosures: tuple[Enclosure, ...]) -> Site:
        """Return the site with other enclosures in the place of its own, in the same order."""
        other = Site.__new__(Site)
        other.place, other.keepers, other.sheets, other.enclosures = (
            self.place,
            self.keepers,
            self.sheets,
            enclosures,
        )
        return other

    def in_plain_formats(self) -> Site:
        """Return the site without its locale, as the command line writes and reads it."""
        if self.place.locale is None:
            return self
        other = self.with_enclosures(self.enclosures)
        other.place = self.place.model_copy(update={"locale": None})
        return other

    def sheet(self, resident: Resident) -> Sheet | None:
        """Return the species sheet of a resident, or nothing when the keeper does not know the species.

        A name without a sheet is a mistake that the checks report; here it gives nothing, so that others can be found.
        """
        return None if resident.species is None else self.sheets.get(resident.species)

    @property
    def skills_are_used(self) -> bool:
        """Tell whether jobs ask for skills here: only once some keeper has listed any."""
        return any(keeper.can is not None for keeper in self.keepers)


def _ordered(enclosure: Enclosure) -> Enclosure:
    if len(enclosure.resident) < 2:
        return enclosure
    return enclosure.model_copy(update={"resident": tuple(sorted(enclosure.resident, key=lambda r: r.id))})


def can_do(site: Site, keeper: Keeper, skills: tuple[str, ...]) -> bool:
    """Tell whether a keeper has the skills that a job asks for."""
    return not site.skills_are_used or set(skills) <= set(keeper.can or ())


__all__ = [
    "UV_KINDS",
    "Conditioner",
    "Contact",
    "Description",
    "Enclosure",
    "ExtraJob",
    "Feed",
    "Filter",
    "Heater",
    "HouseValues",
    "JobOverride",
    "Keeper",
    "Kit",
    "Lamp",
    "Place",
    "Resident",
    "Site",
    "Substrate",
    "TapWater",
    "Times",
    "Weekday",
    "WeekdayName",
    "can_do",
]
