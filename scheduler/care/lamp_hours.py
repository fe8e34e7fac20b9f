"""When lamps burn, and in which part of the day a job finds them on long enough: the one rule for what needs
warmth or ultraviolet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import NamedTuple

from scheduler.care.engine.case import Case
from scheduler.description.enclosure import WARM_KINDS
from scheduler.description.fields import Part
from scheduler.description.site import Lamp
from scheduler.handbook import daylight

_DAY = 24 * 60
NOON = 12 * 60
PARTS: tuple[Part, ...] = ("morning", "evening")


class Lit(NamedTuple):
    """The minutes after midnight at which a lamp goes on, and for how many it burns; past midnight where it
    reaches over it."""

    on: int
    minutes: int

    @property
    def on_at(self) -> dt.time:
        """Return when it goes on."""
        return _time(self.on)

    @property
    def off_at(self) -> dt.time:
        """Return when it goes off."""
        return _time(self.on + self.minutes)

    def burned(self, time: dt.time) -> int | None:
        """Return for how many minutes it has burned at a time of the day; None while it is off."""
        since = (time.hour * 60 + time.minute - self.on) % _DAY
        return since if since < self.minutes else None


def _time(minutes: int) -> dt.time:
    return dt.time(*divmod(minutes % _DAY, 60))


def lit(case: Case, lamp: Lamp, day: dt.date | None = None) -> Lit | None:
    """Return when a lamp burns, on a day or in every season; None where the description does not say.

    One that follows the daylight goes on at its `on_at`, else it has its middle at noon, which tells nothing
    of every season.
    """
    if isinstance(lamp.hours_a_day, str):
        latitude = case.site.settings.latitude
        if lamp.on_at is None and (day is None or latitude is None):
            return None
        if day is None or latitude is None:
            minutes = round(60 * daylight.SHORTEST_H)
        else:
            # To a quarter of an hour, as a timer is set.
            minutes = 15 * round(4 * daylight.lamp_hours(day, latitude))
        on = NOON - minutes // 2
    elif lamp.hours_a_day is None or lamp.on_at is None:
        return None
    else:
        minutes, on = round(60 * lamp.hours_a_day), 0
    if lamp.on_at is not None:
        on = lamp.on_at.hour * 60 + lamp.on_at.minute
    return Lit(on, minutes)


def warm_lamps(case: Case) -> list[Lamp]:
    """Return the lamps that warm a basking place; where none does, all there are."""
    return [lamp for lamp in case.enclosure.lamp if lamp.kind in WARM_KINDS] or list(case.enclosure.lamp)


def is_on(case: Case, lamps: Iterable[Lamp], minutes: int, part: Part, day: dt.date | None = None) -> bool:
    """Tell whether lamps have burned for so many minutes when a part of the day begins; one of unknown hours
    counts as on."""
    known = (lit(case, lamp, day) for lamp in lamps)
    burned = (one.burned(case.site.settings.time_of(part)) for one in known if one is not None)
    return all(since is not None and since >= minutes for since in burned)


def part_with(case: Case, lamps: Iterable[Lamp], minutes: int) -> Part | None:
    """Return the first part of the day in which lamps have burned so long; None for none."""
    found = list(lamps)
    return next((part for part in PARTS if is_on(case, found, minutes, part)), None)


def told(case: Case, lamp: Lamp) -> str | None:
    """Return the hours of a lamp that keeps the same ones all year, as its timer is set; None where they are
    not known."""
    burns = None if isinstance(lamp.hours_a_day, str) else lit(case, lamp)
    if burns is None:
        return None
    return f"{case.formats.time(burns.on_at)} to {case.formats.time(burns.off_at)}"


def latest_on(case: Case, minutes: int) -> dt.time:
    """Return when lamps have to go on at the latest to have burned for so many minutes in the morning."""
    morning = case.site.settings.times.morning
    return _time(morning.hour * 60 + morning.minute - minutes)
