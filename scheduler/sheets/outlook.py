"""The outlook as lines for a terminal, month by month, and as the documented JSON object."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Iterator
from itertools import groupby

from scheduler.care.engine.case import join
from scheduler.care.outlook import Outlook, OutlookLine, Purchase
from scheduler.description.prices import show_amount
from scheduler.description.site import Enclosure
from scheduler.quantities import System, show_date, show_mass, show_volume
from scheduler.sheets.terminal import LEAST_WIDTH, cells, duration, safe, wrapped

DAY = 10
"""Columns of a line's day: `  Tue  1  `."""


def outlook_lines(outlook: Outlook, width: int) -> Iterator[str]:
    """Yield the lines of an outlook: the months, what to buy, what is not known, and what it costs."""
    width = max(width, LEAST_WIDTH)
    span = f"{show_date(outlook.first)} to {show_date(outlook.last)}"
    yield from wrapped(f"{safe(outlook.name)}, {span}", width, 0)
    routine = (
        "What comes daily, weekly and monthly is in the hours, not in the lines; `pondround jobs` lists it."
    )
    yield from wrapped(routine, width, 0)
    yield ""
    months = {
        month: list(lines)
        for month, lines in groupby(outlook.lines, key=lambda line: line.day.replace(day=1))
    }
    for month in _months(outlook.first, outlook.last):
        title = f"{month:%B %Y}"
        care = f"{duration(outlook.minutes.get(f'{month.year:04}-{month.month:02}', 0))} of care"
        yield title + care.rjust(width - len(title))
        for day, lines in groupby(months.get(month, ()), key=lambda line: line.day):
            yield from _day(outlook, day, list(lines), width)
        yield ""
    if outlook.purchases:
        yield "To buy"
        for purchase in outlook.purchases:
            cost = str(purchase.cost) if purchase.cost is not None else ""
            yield from _priced(_bought(outlook, purchase), cost, width, 4, "  - ")
        yield ""
    if outlook.unknown:
        yield "Not known"
        for text, names in _by_text((u.text, u.enclosure) for u in outlook.unknown).items():
            yield from wrapped(safe(_where(outlook, names) + text), width, 4, "  - ")
        yield ""
    yield from _costs(outlook, width)


def _months(first: dt.date, last: dt.date) -> Iterator[dt.date]:
    """Yield the first day of each month of a span."""
    for number in range(first.year * 12 + first.month - 1, last.year * 12 + last.month):
        yield dt.date(number // 12, number % 12 + 1, 1)


def _day(outlook: Outlook, day: dt.date, lines: list[OutlookLine], width: int) -> Iterator[str]:
    """Yield the lines of a day; what is the same in several enclosures, and costs nothing, stands once."""
    label = f"  {day:%a} {day.day:2}  "
    free = _by_text((line.text, line.enclosure) for line in lines if line.cost is None)
    for line in lines:
        if line.cost is None:
            names = free.pop(line.text, None)
            if names is None:
                continue
            cost = ""
        else:
            names, cost = [line.enclosure], str(line.cost)
        yield from _priced(_where(outlook, names) + line.text, cost, width, DAY, label)
        label = ""


def _by_text(pairs: Iterable[tuple[str, Enclosure | None]]) -> dict[str, list[Enclosure | None]]:
    found: dict[str, list[Enclosure | None]] = {}
    for text, enclosure in pairs:
        found.setdefault(text, []).append(enclosure)
    return found


def _where(outlook: Outlook, enclosures: Iterable[Enclosure | None]) -> str:
    """Return whose a line is, where that is not plain: `Reed and Sedge: `; nothing for the whole site."""
    found = tuple(e for e in enclosures if e is not None)
    if not found or (found == outlook.enclosures and len(found) == 1):
        return ""
    named = tuple(e.name for e in found)
    everywhere = len(named) == len(outlook.enclosures) > 3
    return (f"all {len(named)} enclosures" if everywhere else join(named)) + ": "


def _bought(outlook: Outlook, p: Purchase) -> str:
    packs = ""
    if p.packs is not None:
        packs = (
            f", {p.packs or 'no'} {p.container}{'' if p.packs == 1 else 's'}{'' if p.packs else ' to order'}"
        )
    return f"{_where(outlook, p.enclosures)}{p.what}: {_amount(p, outlook.units)}{packs}"


def _amount(p: Purchase, units: System) -> str:
    if p.unit == "g":
        return show_mass(p.quantity, units)
    return f"for {show_volume(p.quantity, units)} of treated water" if p.unit == "L" else f"{p.quantity:g}"


def _priced(text: str, cost: str, width: int, indent: int, first: str) -> Iterator[str]:
    """Yield a text in lines, with what it costs at the end of the first."""
    room = width - (len(cost) + 2 if cost else 0)
    for number, line in enumerate(wrapped(safe(text), room, indent, first)):
        yield line + " " * (width - cells(line) - len(cost)) + cost if cost and not number else line


def _costs(outlook: Outlook, width: int) -> Iterator[str]:
    """Yield the sums by currency, and how many lines are not in them."""
    sums = tuple(f"{show_amount(amount)} {code}" for code, amount in outlook.costs.items())
    count = outlook.unpriced
    left = f"{count} line{'' if count == 1 else 's'} that cost{'s' if count == 1 else ''} something"
    if sums:
        yield from wrapped(f"Costs: {join(sums)}.", width, 0)
        if count:
            yield from wrapped(f"Not in it: {left} and {'has' if count == 1 else 'have'} no price.", width, 0)
    elif count:
        text = f"Costs: not known. Write `price` to have them: there {'is' if count == 1 else 'are'} {left}."
        yield from wrapped(text, width, 0)
    else:
        yield "Costs: none."


def outlook_object(outlook: Outlook) -> str:
    """Return the outlook as the documented JSON object."""
    return json.dumps(
        {
            "from": outlook.first.isoformat(),
            "to": outlook.last.isoformat(),
            "lines": [
                {
                    "date": line.day.isoformat(),
                    "enclosure": line.enclosure.id if line.enclosure is not None else None,
                    "kind": line.kind,
                    "job": line.job,
                    "text": line.text,
                    "quantity": line.quantity,
                    "unit": line.unit,
                    "cost": show_amount(line.cost.amount) if line.cost is not None else None,
                    "currency": line.cost.currency if line.cost is not None else None,
                    "source": line.source.text,
                    "status": line.source.status,
                }
                for line in outlook.lines
            ],
            "buy": [
                {
                    "what": p.what,
                    "quantity": p.quantity if isinstance(p.quantity, int) else float(f"{p.quantity:.6g}"),
                    "unit": p.unit,
                    "packs": p.packs,
                    "cost": show_amount(p.cost.amount) if p.cost is not None else None,
                    "currency": p.cost.currency if p.cost is not None else None,
                    "enclosures": [e.id for e in p.enclosures],
                }
                for p in outlook.purchases
            ],
            "unknown": [{"enclosure": u.enclosure.id, "text": u.text} for u in outlook.unknown],
            "costs": {code: show_amount(amount) for code, amount in outlook.costs.items()},
            "minutes": dict(outlook.minutes),
        },
        ensure_ascii=False,
    )
