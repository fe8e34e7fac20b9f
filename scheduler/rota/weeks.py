"""The items of a rota, week by week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.rota.availability import Availability
from scheduler.rota.eligibility import can_anybody
from scheduler.rota.model import Item, Slot


@dataclass(frozen=True, slots=True)
class Week:
    """The items of a week, by its Monday; what it leaves goes to the next where its window reaches there."""

    monday: dt.date
    items: Sequence[Item]


def weeks_of(
    items: Iterable[Item],
    availability: Availability,
    incumbent: Mapping[int, Slot],
    first: dt.date,
    last: dt.date,
) -> list[Week]:
    """Return the weeks from `first` to `last`, each with its items.

    An item is of the week of its `incumbent` slot; else of its due day; else of one in which somebody can
    take it.
    """
    by_monday: dict[dt.date, list[Item]] = {}
    for item in items:
        slot = incumbent.get(item.number)
        monday = _week_for(item, availability) if slot is None else monday_of(slot[0])
        by_monday.setdefault(monday, []).append(item)
    begin = monday_of(first)
    mondays = (begin + dt.timedelta(days=7 * n) for n in range((last - begin).days // 7 + 1))
    return [Week(monday, by_monday.get(monday, [])) for monday in mondays]


def _week_for(item: Item, availability: Availability) -> dt.date:
    home = monday_of(item.occurrence.day)
    for monday in sorted({monday_of(day) for day in item.days}, key=lambda m: (m != home, m)):
        if can_anybody(availability, item.job, [day for day in item.days if monday_of(day) == monday]):
            return monday
    return home


def widened(item: Item) -> Item:
    """Return an item with all days of its window."""
    return replace(item, days=tuple(sorted({*item.days, *item.outer})))


def monday_of(day: dt.date) -> dt.date:
    """Return the Monday of a day's week."""
    return day - dt.timedelta(days=day.weekday())


def days_of_week(monday: dt.date, first: dt.date, last: dt.date) -> tuple[dt.date, ...]:
    """Return the days of a week from `first` to `last`."""
    days = (monday + dt.timedelta(days=n) for n in range(7))
    return tuple(day for day in days if first <= day <= last)


def inside(monday: dt.date, items: Iterable[Item]) -> list[Item]:
    """Return the items of a week with those of their days that lie in it."""
    end = monday + dt.timedelta(days=6)
    cut = []
    for item in items:
        days = tuple(day for day in item.days if monday <= day <= end)
        cut.append(item if days == item.days else replace(item, days=days))
    return cut
