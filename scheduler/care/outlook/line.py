"""What an outlook consists of: dated lines, what is to be bought, and what could not be told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from scheduler.description.prices import Price
from scheduler.description.site import Enclosure
from scheduler.quantities import System
from scheduler.sources import Source

OutlookKind = Literal["lamp", "supply", "vet", "space", "season", "service", "arrival"]
Unit = Literal["g", "L", "lamp", "pack", "bottle", "piece", "test"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlookLine:
    """What comes on a day, for one enclosure or (None) for the site.

    `job` is its key where it is one of the plan. `paid` tells that it costs something even where no price is
    known. `bought` names the thing that the line orders, as it is asked for in a shop.
    """

    day: dt.date
    enclosure: Enclosure | None
    kind: OutlookKind
    job: str | None
    text: str
    source: Source
    quantity: int | None = None
    unit: Unit | None = None
    cost: Price | None = None
    paid: bool = False
    bought: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """What the span needs of one thing, for all the enclosures that use it.

    `quantity` in the unit: food in g, conditioner in L of treated water. `packs` are those that fall to be
    ordered in the span, or where the days of orders are not known those that hold the quantity; `cost` is of
    the lines that order them.
    """

    what: str
    quantity: float
    unit: Unit
    enclosures: tuple[Enclosure, ...]
    packs: int | None = None
    cost: Price | None = None
    container: Literal["pack", "bottle"] = "pack"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """A figure that the outlook lacks, and why; or what has to be written to have it."""

    enclosure: Enclosure
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is coming from `first` to `last`, both included: lines in the order of days.

    `minutes` are those of all planned jobs, by month (2026-12), the routine included that has no line.
    """

    name: str
    units: System
    enclosures: tuple[Enclosure, ...]
    first: dt.date
    last: dt.date
    lines: tuple[OutlookLine, ...]
    purchases: tuple[Purchase, ...]
    unknown: tuple[Unknown, ...]
    minutes: Mapping[str, int]

    @property
    def costs(self) -> dict[str, Decimal]:
        """Return the sum of the lines' costs by currency, in the order of the codes."""
        found: dict[str, Decimal] = {}
        for line in self.lines:
            if line.cost is not None:
                found[line.cost.currency] = found.get(line.cost.currency, Decimal(0)) + line.cost.amount
        return dict(sorted(found.items()))

    @property
    def unpriced(self) -> int:
        """Return how many lines cost something that the description does not say."""
        return sum(line.paid and line.cost is None for line in self.lines)
