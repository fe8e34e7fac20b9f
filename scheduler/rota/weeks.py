"""The items of a rota, week by week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from scheduler.rota.availability import Roster
from scheduler.rota.eligibility import can_anybody
from scheduler.rota.model import Item


@dataclass(slots=True)
class Weeks:
    """The items of each week by its Monday; what a week leaves goes to the next where its window reaches there."""

    first: dt.date
    last: dt.date
    by_monday: dict[dt.date, list[Item]] = field(default_factory=dict)

    def add(self, item: Item, roster: Roster, held: dt.date | None = None) -> None:
        """Put an item into the week of the day that it keeps; else of its due day; else where somebody can take it."""
        if held is not None:
            self.by_monday.setdefault(monday_of(held), []).append(item)
            return
        home = monday_of(item.occurrence.day)
        weeks = sorted({monday_of(day) for day in item.days}, key=lambda m: (m != home, m))
        chosen = next(
            (
                monday
                for monday in weeks
                if can_anybody(roster, item.job, [day for day in item.days if monday_of(day) == monday])
            ),
            home,
        )
        self.by_monday.setdefault(chosen, []).append(item)

    def __iter__(self) -> Iterator[tuple[dt.date, list[Item]]]:
        """Yield each week with its items."""
        monday = monday_of(self.first)
        while monday <= self.last:
            yield monday, self.by_monday.get(monday, [])
            monday += dt.timedelta(days=7)


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


def inside(monday: dt.date, some: Iterable[Item]) -> list[Item]:
    """Return the items of a week with those of their days that lie in it."""
    end = monday + dt.timedelta(days=6)
    made = []
    for item in some:
        days = tuple(day for day in item.days if monday <= day <= end)
        made.append(item if days == item.days else replace(item, days=days))
    return made
