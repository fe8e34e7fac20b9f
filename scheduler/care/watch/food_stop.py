"""No food while the water is poisonous, and not for longer than the animals stand it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care import contacts
from scheduler.care.engine.case import Case, join
from scheduler.care.stages import stage_at, stages
from scheduler.care.watch.alarms import alarms
from scheduler.care.watch.registry import Consequence, once, watch
from scheduler.locales import PLAIN, Formats
from scheduler.quantities import Span
from scheduler.sources import Source

THIRD = "a third of the usual amount, taken out after 5 minutes"
"""What is fed after that: a meal as small as that adds little to the ammonia. House value."""


@dataclass(frozen=True, slots=True)
class FoodStop:
    """No food from `since` on for `days`, which are the keeper's own where `own` says so; `young` are the
    hatchlings there."""

    since: dt.date
    days: int
    own: bool
    young: tuple[str, ...]
    what: str
    source: Source
    vet: str = contacts.UNNAMED["vet"]
    formats: Formats = PLAIN

    @property
    def last(self) -> dt.date:
        """Return the last day without food."""
        return self.since + dt.timedelta(days=self.days - 1)

    @property
    def again(self) -> dt.date:
        """Return the day from which on a little is fed, and the vet is asked."""
        return self.since + dt.timedelta(days=self.days)

    @property
    def sentence(self) -> str:
        """Say until when nothing is fed, on whatever day it is read."""
        return (
            f"Since {self.formats.date(self.since)} there is too much {self.what} in the water: feed "
            f"nothing until a test is clean, and not longer than to {self.formats.date(self.last)}."
        )

    @property
    def then(self) -> str:
        """Say what is done after that."""
        return (
            f"No clean test by then: from {self.formats.date(self.again)} on call {self.vet}, and feed "
            f"{THIRD}."
        )


@once
def food_stop(case: Case) -> FoodStop | None:
    """Return since when and for how long nothing is fed; None while no alarm asks for it, or a test was clean
    since."""
    watched = alarms(case)
    since = watched.unfed_since
    if since is None:
        return None
    house = case.house
    young = tuple(
        sorted(
            r.name
            for r in case.enclosure.resident
            if (r.here_from is None or r.here_from <= since) and stage_at(stages(case, r), since) == 0
        )
    )
    name = "no_food_young" if young else "no_food"
    return FoodStop(
        since=since,
        days=house.no_food_young_days if young else house.no_food_days,
        own=house.own(name),
        young=young,
        what=join(tuple(alarm.what for alarm in watched.open)),
        source=house.source(name),
        vet=contacts.whom(case, "vet"),
        formats=case.formats,
    )


@watch
def unfed(case: Case) -> Iterator[Consequence]:
    """Say how long nothing is fed, and once that is over what to do instead."""
    stop = food_stop(case)
    if stop is None:
        return
    whose = "Your" if stop.own else "The house"
    who = (
        f" for {join(stop.young)}, still a hatchling"
        if len(stop.young) == 1
        else " for hatchlings"
        if stop.young
        else ""
    )
    limit = f"{whose} limit without food is {Span(stop.days)}{who}."
    over = case.today is not None and case.today >= stop.again
    yield Consequence(
        key="feed",
        verdict="act" if over else "look",
        reading=f"Since {case.date(stop.since)} there is too much {stop.what} in the water.",
        rule=limit,
        source=stop.source,
        plan=f"Call {stop.vet} today, and feed {THIRD}, until a test is clean."
        if over
        else (
            f"Feed nothing until a test is clean, and not longer than to {case.date(stop.last)}. From "
            f"{case.date(stop.again)} on call {stop.vet}, and feed {THIRD}."
        ),
        gist="the time without food is over; call the vet" if over else "no food until a test is clean",
    )
