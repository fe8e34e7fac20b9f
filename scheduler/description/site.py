"""The models of the description format: one class a table, fields named as in the TOML.

All of them are frozen and complete when built. Plain numbers are in the unit that the name of the kind fixes:
lengths cm, areas m2, volumes L, masses g, temperatures degC, powers W, flows L/h, concentrations mg/L.
"""

from __future__ import annotations

import datetime as dt
import operator
from typing import Annotated, Literal

from pydantic import Field

from scheduler.description.enclosure import (
    UV_KINDS,
    Conditioner,
    Enclosure,
    ExtraJob,
    Filter,
    Food,
    Heater,
    JobOverride,
    Lamp,
    Resident,
    Substrate,
)
from scheduler.description.fields import (
    AwaySpan,
    Email,
    Id,
    Minutes,
    Name,
    Skill,
    Weekday,
    WeekdayName,
    Weekdays,
)
from scheduler.description.place import Contact, HouseValues, SiteSettings, TapWater, TestKit, Times
from scheduler.description.table import Table
from scheduler.species import Sheet, Sheets


class Keeper(Table):
    """A person who does jobs."""

    name: Name = Field(description="what the person is called")
    id: Id = Field("", description="what files and calendar entries call them; by default made from the name")
    weekdays: Weekdays | None = Field(None, description="when they come; without it every day")
    minutes: Minutes | None = Field(None, description="most minutes of one day")
    share: Annotated[float, Field(ge=0, le=1000, strict=True)] = Field(
        1.0, description="fair share of the work, against the others'"
    )
    can: tuple[Skill, ...] | None = Field(
        None, description="skills that jobs ask for: adult, electrics, lifting, testing"
    )
    away: tuple[AwaySpan, ...] = Field((), description="spans of days away")
    rounds_a_week: Annotated[int, Field(ge=1, le=7, strict=True)] | None = Field(
        None, description="most rounds in a week"
    )
    prefers: Annotated[tuple[Name, ...], Field(max_length=100)] = Field(
        (), description="enclosures or jobs that they like to take"
    )
    avoids: Annotated[tuple[Name, ...], Field(max_length=100)] = Field(
        (), description="enclosures or jobs that they would rather not take"
    )
    email: Email | None = Field(None, description="where mails of the round go")
    remind: Annotated[tuple[Literal["morning", "changes"], ...], Field(max_length=2)] = Field(
        (), description="which mails: in the morning of a round, and when a round changes"
    )


class Description(Table):
    """The whole file."""

    site: SiteSettings
    keeper: tuple[Keeper, ...] = ()
    enclosure: tuple[Enclosure, ...] = ()


class Site:
    """A validated description together with the species sheets that it rests on."""

    __slots__ = ("all_enclosures", "enclosures", "keepers", "settings", "sheets", "whole")

    def __init__(self, description: Description, sheets: Sheets) -> None:
        """Order enclosures, keepers and residents by id, so that the order of tables in the file changes
        nothing."""
        self.settings = description.site
        self.keepers = tuple(sorted(description.keeper, key=lambda k: k.id))
        self.enclosures = tuple(map(_ordered, sorted(description.enclosure, key=lambda e: e.id)))
        self.all_enclosures = self.enclosures
        """All enclosures with all residents, also those that are no longer here (see `on`)."""
        self.whole = {e.id: e for e in self.all_enclosures}
        """The same by their ids."""
        self.sheets = sheets

    def __repr__(self) -> str:
        """Return what and how large it is, on one line."""
        return f"<Site {self.settings.id}, enclosures: {len(self.enclosures)}, keepers: {len(self.keepers)}>"

    def with_enclosures(self, enclosures: tuple[Enclosure, ...]) -> Site:
        """Return the site with other enclosures in the place of its own, in the same order."""
        other = Site.__new__(Site)
        other.settings, other.keepers, other.sheets = self.settings, self.keepers, self.sheets
        other.enclosures, other.all_enclosures, other.whole = enclosures, self.all_enclosures, self.whole
        return other

    def on(self, day: dt.date) -> Site:
        """Return the site as it is on a day: without enclosures that are retired by then, and without animals
        that have left."""
        here = tuple(_on(e, day) for e in self.enclosures if e.retired is None or day < e.retired)
        if len(here) == len(self.enclosures) and all(map(operator.is_, here, self.enclosures)):
            return self
        return self.with_enclosures(here)

    def in_plain_formats(self) -> Site:
        """Return the site without its locale, as the command line writes and reads it."""
        if self.settings.locale is None:
            return self
        other = self.with_enclosures(self.enclosures)
        other.settings = self.settings.model_copy(update={"locale": None})
        return other

    def sheet(self, resident: Resident) -> Sheet | None:
        """Return the species sheet of a resident, or nothing when the keeper does not know the species.

        A name without a sheet is a mistake that the checks report; here it gives nothing, so that others can
        be found.
        """
        return None if resident.species is None else self.sheets.get(resident.species)

    @property
    def skills_are_used(self) -> bool:
        """Tell whether jobs ask for skills here: only once some keeper has listed any."""
        return any(keeper.can is not None for keeper in self.keepers)


def _on(enclosure: Enclosure, day: dt.date) -> Enclosure:
    here = tuple(r for r in enclosure.resident if r.departed is None or day < r.departed)
    if len(here) == len(enclosure.resident):
        return enclosure
    return enclosure.model_copy(update={"resident": here})


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
    "Filter",
    "Food",
    "Heater",
    "HouseValues",
    "JobOverride",
    "Keeper",
    "Lamp",
    "Resident",
    "Site",
    "SiteSettings",
    "Substrate",
    "TapWater",
    "TestKit",
    "Times",
    "Weekday",
    "WeekdayName",
    "can_do",
]
