"""The `[site]` table: the place, its tap water, its test kits, and what the keeper chose otherwise."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, Discriminator, Field, Tag

from scheduler.description.fields import (
    Concentration,
    Day,
    Duties,
    Duty,
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
    Temperature,
    TimeOfDay,
    Volume,
    Zone,
    contacts_or_text,
)
from scheduler.description.table import Ph, Ratio, Share, Table
from scheduler.locales import Formats, formats_of
from scheduler.quantities import System


class Times(Table):
    """When the jobs of each part of the day start, and from when on mails of the day's rounds go; local
    time."""

    morning: TimeOfDay = Field(dt.time(7, 30), description="when the morning's jobs start")
    evening: TimeOfDay = Field(dt.time(18, 30), description="when the evening's jobs start")
    remind: TimeOfDay | None = Field(
        None, description="from when on mails of the day's rounds go; without it two hours before the morning"
    )


class TapWater(Table):
    """What comes out of the tap, from the utility's report and a thermometer."""

    disinfectant: Literal["none", "chlorine", "chloramine", "unknown"] = Field(
        "unknown", description="what the waterworks add; unknown counts as chloramine at the US legal ceiling"
    )
    disinfectant_level: Concentration | None = Field(None, description="how much of it, as Cl2")
    nitrate: Concentration | None = Field(
        None, description="nitrate of the tap, as NO3: with the food it decides how often water is changed"
    )
    alkalinity: Concentration | None = Field(None, description="alkalinity of the tap, as CaCO3")
    ph: Ph | None = Field(None, description="pH of the tap")
    cold: Temperature | None = Field(None, description="temperature of the cold tap")
    hot: Temperature | None = Field(None, description="temperature of the hot tap")


class TestKit(Table):
    """What the keeper's test kits read as: the element N, or the ion or molecule."""

    ammonia: Literal["N", "NH3", "NH4"] | None = Field(None, description="what the ammonia kit reads as")
    nitrite: Literal["N", "NO2"] | None = Field(None, description="what the nitrite kit reads as")
    nitrate: Literal["N", "NO3"] | None = Field(None, description="what the nitrate kit reads as")


class HouseValues(Table):
    """What this project chose, for the keeper to choose otherwise.

    What is not given stays None here; the care rules know the project's choice, so that they can tell whose
    value it is.
    """

    nitrate_look: Concentration | None = Field(
        None, description="water is changed often enough to stay under it"
    )
    nitrate_act: Concentration | None = Field(None, description="from it on the review says: act")
    nitrate_over_tap: Concentration | None = Field(
        None, description="where the tap brings much: so far over it nitrate may stand"
    )
    change_least_days: Annotated[int, Field(ge=1, le=14, strict=True)] | None = Field(
        None,
        description="days between changes where the filter works, on the food alone; readings may bring more",
    )
    ammonia_clean: Concentration | None = Field(
        None, description="ammonia in all, as N: up to it a test is clean"
    )
    ammonia_dose: Concentration | None = Field(
        None, description="as N: what a filter is started on where no animal lives yet"
    )
    ammonia_look: Concentration | None = Field(
        None, description="un-ionised, as N, freed or measured: from it on look"
    )
    ammonia_act: Concentration | None = Field(
        None, description="un-ionised, as N, freed or measured: from it on act"
    )
    nitrite_look: Concentration | None = Field(None, description="measured, as N: under it a test is clean")
    nitrite_act: Concentration | None = Field(None, description="measured, as N: from it on act")
    weight_loss: Share | None = Field(
        None, description="share of the best weight in a year: weighed again within 3 days, then the vet"
    )
    weight_loss_young: Share | None = Field(None, description="the same of a hatchling")
    no_food: Interval | None = Field(
        None, description="longest time without food while ammonia or nitrite is high"
    )
    no_food_young: Interval | None = Field(None, description="the same where a hatchling lives")
    nitrogen: Literal["all", "fish"] | None = Field(
        None, description="how much of the food's nitrogen reaches the water: all, or as growing fish excrete"
    )
    humidity: Annotated[float, Field(gt=0, le=1, strict=True)] | None = Field(
        None, description="of the room's air"
    )
    evaporation_activity: Annotated[float, Field(ge=0.1, le=2, strict=True)] | None = Field(
        None, description="how the surface moves: 0.5 still, 1 splashing"
    )
    top_up_fall: Length | None = Field(None, description="most that the line may fall between top-ups")
    size_ratio_look: Ratio | None = Field(
        None, description="the longest animal of an enclosure against the shortest: from it on look"
    )
    size_ratio_act: Ratio | None = Field(
        None, description="the longest animal of an enclosure against the shortest: from it on act"
    )
    females_per_male: Ratio | None = Field(None, description="where they live together")
    free_rim: Length | None = Field(
        None,
        description="over the water of an open enclosure; while you choose none, also half the longest carapace",  # noqa: E501
    )
    bring_in: Temperature | None = Field(
        None, description="water outdoors under which animals that do not brumate come in"
    )
    feed_less: Temperature | None = Field(
        None, description="water outdoors under which animals get half of a meal"
    )
    ph_low: Ph | None = Field(None, description="of the water: from it down act")
    ph_high: Ph | None = Field(None, description="of the water: from it up act")
    ph_step: Annotated[float, Field(ge=0.1, le=5, strict=True)] | None = Field(
        None, description="from one reading to the next: from it on act"
    )
    pail: Volume | None = Field(None, description="as full as it is carried, in one hand")
    reference_mass: Mass | None = Field(
        None,
        description="ISO 11228-1: 25 kg men to 45, 20 kg women to 45 and men over 45, 15 kg women over 45",
    )
    hose_from: Volume | None = Field(None, description="from such a change on, a hose")
    warm_up: Minutes | None = Field(
        None, description="minutes after which a lamp counts: for basking, and for its UVI"
    )
    feed_after: Minutes | None = Field(None, description="minutes that the lamps have been on before a meal")
    lamps_ahead: Interval | None = Field(
        None, description="how long before its replacement a lamp is ordered"
    )
    supplies_ahead: Interval | None = Field(
        None, description="how long before they run out food and conditioner are ordered"
    )


class Contact(Table):
    """Somebody to be called, and for what."""

    name: Name = Field(description="who it is")
    phone: Phone = Field(description="the number, as it is dialled; whoever has a feed or a page has it")
    duties: Annotated[
        Duties, Field(alias="for", description="what they are called for; notes that say so have the number")
    ]


def _form(value: object) -> str:
    return "text" if isinstance(value, str) else "tables"


Contacts = Annotated[
    Annotated[Name, Tag("text")] | Annotated[tuple[Contact, ...], Field(max_length=50), Tag("tables")],
    Discriminator(_form),
    BeforeValidator(contacts_or_text),
]
"""Whom to call; or, as text, whom a page says to tell when the description has a mistake."""


class SiteSettings(Table):
    """The place, and what holds for all of it."""

    name: Name = Field(description="what the place is called")
    id: Id = Field("", description="what files and calendar entries call it; by default made from the name")
    time_zone: Zone = Field("UTC", description="IANA name of the time zone, such as Europe/Dublin")
    units: System = Field("metric", description="how amounts are printed")
    locale: LocaleTag | None = Field(None, description="how dates, hours and numbers are written for people")
    start: Day | None = Field(None, description="first day to plan; without it today")
    latitude: Annotated[float, Field(ge=-90, le=90, strict=True)] | None = Field(
        None, description="degrees north, south below 0: seasons and the length of days hang on it"
    )
    room_low: Temperature | None = Field(
        None, description="the coldest the room gets: what the heaters have to make up for"
    )
    room_high: Temperature | None = Field(None, description="the warmest the room gets")
    contact: Contacts | None = Field(
        None, description="whom to call; as text, whom a page says to tell when the description has a mistake"
    )
    log: LogUrl | None = Field(
        None, description="where the record is kept; without it a file beside the description"
    )
    not_logged: Annotated[tuple[Id, ...], Field(max_length=100)] = Field(
        (), description="keys of jobs that are never recorded"
    )
    former: Annotated[tuple[Name, ...], Field(max_length=1000)] = Field(
        (), description="ids of enclosures, keepers and animals that are gone for good"
    )
    times: Times = Field(default_factory=Times.model_construct)
    tap_water: TapWater = Field(default_factory=TapWater.model_construct)
    test_kit: TestKit = Field(default_factory=TestKit.model_construct)
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
