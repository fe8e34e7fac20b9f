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
