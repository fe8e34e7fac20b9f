"""Which values a job asks for: the one home for the fields of its sheet, and for what counts as done by its
readings.

A job is done by its readings where all that it needs were taken on one day. Somebody who records readings one
by one may leave some of them out: what `suffices` then counts as the job all the same, unless a sheet of that
day was left `UNFINISHED`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.care.lamps import named
from scheduler.description.site import Enclosure

UNFINISHED = "unfinished"
"""The name in the log of a remark that a sheet was left with values missing; `of` is the key of its job."""


class AskedQuantity(NamedTuple):
    """What one value is: the name of its quantity, and whom or what it is of (a resident's id, a lamp's)."""

    name: str
    of: str = ""


class Value(NamedTuple):
    """A value that a job asks for.

    Where it is not `needed` the job is done without it. `since` is the arrival of an animal.
    """

    name: str
    of: str = ""
    needed: bool = True
    since: dt.date | None = None

    @property
    def measured(self) -> AskedQuantity:
        """Return what it is."""
        return AskedQuantity(self.name, self.of)


@dataclass(frozen=True, slots=True)
class Asks:
    """The values that a job asks for, and which names of quantities alone are taken as the whole of it."""

    values: tuple[Value, ...]
    suffices: tuple[frozenset[str], ...] = ()

    def on(self, day: dt.date) -> tuple[Value, ...]:
        """Return the values of a day: an animal that has not come yet is not weighed."""
        return tuple(value for value in self.values if value.since is None or value.since <= day)

    def missing(self, there: Collection[AskedQuantity], day: dt.date) -> tuple[Value, ...]:
        """Return the values that a day lacks before the job is done; where it needs none, all while there is
        none."""
        asked = self.on(day)
        needed = tuple(value for value in asked if value.needed)
        if not needed:
            return () if any(value.measured in there for value in asked) else asked
        return tuple(value for value in needed if value.measured not in there)

    def met_by(self, there: Collection[AskedQuantity], day: dt.date, *, unfinished: bool = False) -> bool:
        """Tell whether readings of a day are the job; of a sheet that was left `unfinished` all that is
        needed has to be there."""
        asked = [value for value in self.on(day) if value.needed]
        if asked and all(value.measured in there for value in asked):
            return True
        names = {one.name for one in there}
        return not unfinished and any(some <= names for some in self.suffices)


def _values(names: Iterable[str], *, needed: bool = True) -> tuple[Value, ...]:
    return tuple(Value(name, needed=needed) for name in names)


TOXIC = frozenset({"ammonia", "nitrite"})

WATER_TEST = Asks(
    (*_values(("ammonia", "nitrite", "nitrate", "ph")), *_values(("temperature",), needed=False)),
    (frozenset({"nitrate"}), TOXIC),
)
CYCLE_TEST = Asks(_values(("ammonia", "nitrite", "nitrate", "ph")), (TOXIC,))
FOLLOW_UP = Asks(
    (*_values(("ammonia", "nitrite")), *_values(("ph", "temperature"), needed=False)), WATER_TEST.suffices
)
TEMPERATURE = Asks(_values(("temperature",), needed=False))
"""A check during which the temperature is read; the check is more than the reading."""


def uvi(enclosure: Enclosure) -> Asks:
    """Return the UV Index under each lamp of an enclosure that gives ultraviolet."""
    lamps = [variant for variant, lamp in named(enclosure.lamp) if lamp.gives_uv]
    return Asks(tuple(Value("uvi", variant) for variant in lamps), (frozenset({"uvi"}),) if lamps else ())


def uvi_of(variant: str) -> Asks:
    """Return the UV Index under one lamp."""
    return Asks((Value("uvi", variant),))


def sizes(enclosure: Enclosure) -> Asks:
    """Return the weight of each animal of an enclosure, and its length where somebody measures it too."""
    animals = sorted(enclosure.resident, key=lambda r: r.id)
    return Asks(
        tuple(
            value
            for r in animals
            for value in (
                Value("weight", r.id, since=r.arrived),
                Value("length", r.id, needed=False, since=r.arrived),
            )
        )
    )


def weights(enclosure: Enclosure) -> Asks:
    """Return the weight of each animal of an enclosure."""
    animals = sorted(enclosure.resident, key=lambda r: r.id)
    return Asks(tuple(Value("weight", r.id, since=r.arrived) for r in animals))


def weight_of(resident: str) -> Asks:
    """Return the weight of one animal."""
    return Asks((Value("weight", resident),))
