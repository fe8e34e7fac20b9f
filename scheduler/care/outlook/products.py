"""Products: food and water conditioner, which enclosures use them, and how much."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from scheduler.care.engine.case import Case, join
from scheduler.care.engine.figure import NotKnown
from scheduler.care.figures.change import conditioned_l
from scheduler.care.figures.feeding import conditioned_a_day, topped_up_a_day
from scheduler.description.prices import Price


@dataclass(frozen=True, slots=True, kw_only=True)
class Ware:
    """A kind of product: its table and keys in the description, and its words."""

    table: Literal["feed", "conditioner"]
    full: Literal["pack", "treats"]
    variant: str
    word: str
    unit: Literal["g", "L"]
    container: Literal["pack", "bottle"]


FOOD = Ware(table="feed", full="pack", variant="food", word="food", unit="g", container="pack")
CONDITIONER = Ware(
    table="conditioner",
    full="treats",
    variant="conditioner",
    word="water conditioner",
    unit="L",
    container="bottle",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What one enclosure uses: a day on the mean, in the whole span, and what is missing to tell."""

    case: Case
    daily: float | None
    need: float | None
    missing: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A product with the enclosures that use it, and what is known of its pack."""

    ware: Ware
    name: str
    uses: tuple[Use, ...]
    full: float | None
    opened: dt.date | None
    price: Price | None

    @property
    def what(self) -> str:
        """Return the product in words."""
        return f'{self.ware.word} "{self.name}"' if self.name else self.ware.word

    @property
    def need(self) -> float:
        """Return what is known to be needed in the span."""
        return math.fsum(use.need or 0.0 for use in self.uses)


def use_of(ware: Ware, case: Case, first: dt.date, last: dt.date, changes: Mapping[str, int]) -> Use | None:
    """Return what an enclosure uses of a kind; None where it uses none."""
    need: float | None = None
    try:
        if ware is FOOD:
            daily = case.number("ration")
            since = max(first, case.inhabited_from or first)
            return Use(case=case, daily=daily, need=daily * max(0, (last - since).days + 1))
        if not case.chlorine_level:
            return None
        litres = conditioned_l(case)
        since = max(first, case.anchor or first)
        topped = topped_up_a_day(case) * max(0, (last - since).days + 1)
        need = litres * changes.get(case.enclosure.id, 0) + topped
        return Use(case=case, daily=conditioned_a_day(case), need=need)
    except NotKnown as missing:
        if not missing.applies:
            return None
        why = f"{listed(missing.needs)} not in the description" if missing.needs else missing.why
        return Use(case=case, daily=None, need=need, missing=why)


def listed(keys: tuple[str, ...]) -> str:
    """Return keys of the description with their verb: `feed.pack and feed.opened are`."""
    return f"{join(keys)} {'is' if len(keys) == 1 else 'are'}"


def grouped(ware: Ware, uses: list[Use], wanted: frozenset[str]) -> Iterator[Product]:
    """Yield the products that the wanted enclosures use, in the order of the first of them.

    What has no name belongs to its enclosure; what has not even a pack is put together for a single sum.
    """
    found: dict[str, list[Use]] = {}
    for use in uses:
        own = getattr(use.case.enclosure, ware.table)
        if own.name:
            key = f"name {own.name.casefold()}"
        elif getattr(own, ware.full) is not None:
            key = f"id {use.case.enclosure.id}"
        else:
            if use.case.enclosure.id not in wanted:
                continue
            key = "nothing is known"
        found.setdefault(key, []).append(use)
    for some in found.values():
        if not any(use.case.enclosure.id in wanted for use in some):
            continue
        tables = [getattr(use.case.enclosure, ware.table) for use in some]
        yield Product(
            ware=ware,
            name=tables[0].name or "",
            uses=tuple(some),
            full=next((v for t in tables if (v := getattr(t, ware.full)) is not None), None),
            opened=next((t.opened for t in tables if t.opened is not None), None),
            price=next((t.price for t in tables if t.price is not None), None),
        )
