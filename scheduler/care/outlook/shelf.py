"""The shelf of the site: how much of each product the span needs, and the days on which to order it.

Enclosures that give a product one name share it: what they use is added up, and the pack in use is one for
all.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from scheduler.care.engine.case import Case
from scheduler.care.figures.feeding import PACK
from scheduler.care.outlook.line import OutlookLine, Purchase, Unknown
from scheduler.care.outlook.orders import Order, orders
from scheduler.care.outlook.products import CONDITIONER, FOOD, Product, grouped, listed, use_of
from scheduler.handbook import feeding
from scheduler.history import JobRef


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What comes of the site's products."""

    lines: tuple[OutlookLine, ...]
    purchases: tuple[Purchase, ...]
    unknown: tuple[Unknown, ...]


def shelf(
    cases: Iterable[Case], wanted: frozenset[str], first: dt.date, last: dt.date, changes: Mapping[str, int]
) -> Stock:
    """Return the orders and needs of the products that the wanted enclosures use, by id.

    `cases` are all enclosures of the site. `changes` are the water changes planned in the span, by enclosure.
    """
    every = list(cases)
    lines: list[OutlookLine] = []
    purchases: list[Purchase] = []
    unknown: list[Unknown] = []
    for ware in (FOOD, CONDITIONER):
        uses = [use for case in every if (use := use_of(ware, case, first, last, changes)) is not None]
        for product in grouped(ware, uses, wanted):
            unknown += [
                Unknown(enclosure=use.case.enclosure, text=f"{product.what}: {use.missing}")
                for use in product.uses
                if use.missing
            ]
            found, why = _orders(product, first, last)
            lines += found
            if why:
                unknown += [
                    Unknown(enclosure=use.case.enclosure, text=f"{product.what}: {why}")
                    for use in product.uses
                    if not use.missing
                ]
            if product.need > 0.0 or found:
                purchases.append(_purchase(product, found, dated=not why))
    kept = [u for u in unknown if u.enclosure.id in wanted]
    return Stock(lines=tuple(lines), purchases=tuple(purchases), unknown=tuple(kept))


def _orders(product: Product, first: dt.date, last: dt.date) -> tuple[list[OutlookLine], str]:
    """Return the lines of the orders of a product; or why their days cannot be told."""
    ware = product.ware
    lacking = tuple(
        f"{ware.table}.{key}"
        for key, value in ((ware.full, product.full), ("opened", product.opened))
        if value is None
    )
    if lacking:
        return [], f"the days to order: {listed(lacking)} not in the description"
    assert product.full is not None and product.opened is not None
    opened = product.opened
    rates = [use.daily for use in product.uses]
    known = [rate for rate in rates if rate is not None]
    if len(known) < len(rates):
        return [], "the days to order: what all its users take is not known"
    days = feeding.supply_days(product.full, math.fsum(known))
    if days < 1.0:
        return [], f"the days to order: a {ware.container} would not last a day"
    case = product.uses[0].case
    names = ((use.case, JobRef(use.case.enclosure.id, "supplies", ware.variant)) for use in product.uses)
    ordered = any((day := c.history.last.get(name)) is not None and day >= opened for c, name in names)
    found = orders(opened, days, case.house.supplies_ahead_days, first, last, have=2 if ordered else 1)
    return [_line(product, order) for order in found], ""


def _line(product: Product, order: Order) -> OutlookLine:
    ware, case = product.ware, product.uses[0].case
    count = f"{order.count} {ware.container}s of " if order.count > 1 else ""
    if order.state == "ended":
        text = (
            f"order {count}{product.what}, and write the day on which it was opened: "
            f"by the reckoning the {ware.container} in use ended on {case.date(order.end)}"
        )
    elif order.state == "late":
        text = (
            f"order {count}{product.what}, unless it is on its way: what is there ends on "
            f"{case.date(order.end)}"
        )
    else:
        text = f"order {count}{product.what}: what is there ends on {case.date(order.end)}"
    only = product.uses[0].case.enclosure if len(product.uses) == 1 else None
    return OutlookLine(
        day=order.day,
        enclosure=only,
        kind="supply",
        job="supplies",
        text=text,
        source=PACK,
        quantity=order.count,
        unit=ware.container,
        cost=product.price.times(order.count) if product.price is not None else None,
        paid=True,
    )


def _purchase(product: Product, lines: list[OutlookLine], *, dated: bool) -> Purchase:
    ware = product.ware
    packs: int | None = None
    if dated:
        packs = sum(line.quantity or 0 for line in lines)
    elif product.full is not None:
        # The billionth keeps a need of whole packs, summed in floats, from taking one more.
        packs = math.ceil(product.need / product.full - 1e-9)
    made = Purchase(
        what=product.what,
        quantity=product.need,
        unit=ware.unit,
        enclosures=tuple(use.case.enclosure for use in product.uses if use.need),
        packs=packs,
        container=ware.container,
    )
    return replace(made, cost=product.price.times(packs)) if dated and packs and product.price else made
