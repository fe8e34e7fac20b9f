"""While all keepers are away: fewer and simpler jobs for a pet sitter, the others before or after."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.description.site import Keeper
from scheduler.plan import Occurrence
from scheduler.rota.availability import Availability
from scheduler.rota.items import Quarantined, items
from scheduler.rota.model import Item, Round, Task
from scheduler.rota.rounds import in_order, on_day

DateRange = tuple[dt.date, dt.date]
DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Moved:
    """What waits: the item and the day on which a keeper does it, before the span or after it."""

    item: Item
    day: dt.date


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """A span with a sitter: the sitter's rounds, what is moved out of it, and what can neither wait nor be
    left to a sitter."""

    sitter: Keeper
    span: DateRange
    rounds: tuple[Round, ...]
    before: tuple[Moved, ...]
    after: tuple[Moved, ...]
    cannot: tuple[tuple[Item, str], ...]


def all_away(availability: Availability, first: dt.date, last: dt.date) -> DateRange | None:
    """Return the first run of days from `first` to `last` on which every keeper is away; None where there is
    none."""
    begin: dt.date | None = None
    day = first
    while day <= last:
        if availability.keepers and all(availability.away(keeper, day) for keeper in availability.keepers):
            begin = begin or day
        elif begin is not None:
            return begin, day - DAY
        day += DAY
    return None if begin is None else (begin, last)


def sitting(
    availability: Availability,
    occurrences: Iterable[Occurrence],
    span: DateRange,
    sitter: Keeper,
    today: dt.date,
    *,
    quarantined: Quarantined,
) -> Sitting:
    """Return who does what around a span: the sitter gets what asks for no skill and cannot wait.

    `occurrences` reach beyond the span by the longest window. Nothing is moved to before `today`.
    """
    first, last = span
    rounds: dict[dt.date, list[Item]] = {}
    before: list[Moved] = []
    after: list[Moved] = []
    cannot: list[tuple[Item, str]] = []
    for item in items(occurrences, availability, today, last + 60 * DAY, quarantined):
        if not first <= item.occurrence.day <= last:
            continue
        day = _elsewhere(availability, item, span)
        if day is not None:
            (before if day < first else after).append(Moved(item, day))
        elif item.job.skills or item.job.needs_two:
            asks = " and ".join(f'"{skill}"' for skill in item.job.skills) or "two people"
            cannot.append((item, f"it cannot wait, and asks for {asks}"))
        else:
            day = item.occurrence.day
            rounds.setdefault(day, []).append(on_day(item, day, quarantined))
    made = [
        Round(day, sitter, tuple(Task(i, day, sitter) for i in in_order(own)))
        for day, own in sorted(rounds.items())
    ]
    return Sitting(
        sitter=sitter,
        span=span,
        rounds=tuple(made),
        before=tuple(sorted(before, key=lambda m: (m.day, m.item.number))),
        after=tuple(sorted(after, key=lambda m: (m.day, m.item.number))),
        cannot=tuple(cannot),
    )


def _elsewhere(availability: Availability, item: Item, span: DateRange) -> dt.date | None:
    """Return the nearest day of an item's window outside the span on which somebody can do it, earlier ones
    first."""
    able = [availability.keepers[n] for n in availability.able(item.job.skills)]
    days = [
        day
        for day in item.outer
        if not span[0] <= day <= span[1]
        and (not availability.keepers or any(availability.comes(keeper, day) for keeper in able))
    ]
    return min(days, key=lambda day: (abs((day - item.occurrence.day).days), day), default=None)
