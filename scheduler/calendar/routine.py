"""Routine: what is done day after day, one entry for each part of the day, as rules by weekday.

What falls on a weekday may change: a watch ends, another feeding rhythm begins. Each weekday is cut into the
stretches in which it holds the same jobs. The last one, without end, has the number 0, those before it are
counted back from there, so that a stretch which is over takes no name from any other.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler.calendar.identity import make_uid
from scheduler.description.fields import Part
from scheduler.plan import Series
from scheduler.rules import WEEKDAYS, Rule

WEEK = dt.timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Stretch:
    """The days of one weekday from `first` to `last`, both of them included, that hold the same jobs.

    Without end where `last` is None. `out` are days of it on which only a part of them is left to be done, or
    nothing.
    """

    weekday: int
    number: int
    first: dt.date
    last: dt.date | None
    series: tuple[Series, ...]
    out: tuple[dt.date, ...] = ()

    @property
    def rule(self) -> Rule:
        """Return the rule of its days."""
        return Rule(freq="WEEKLY", byday=(WEEKDAYS[self.weekday],))

    @property
    def is_left(self) -> bool:
        """Tell whether any of its days is not out: of others there is no entry."""
        if self.last is None:
            return True
        weeks = (self.last - self.first).days // 7
        return any(self.first + n * WEEK not in self.out for n in range(weeks + 1))

    def spans(self, day: dt.date) -> bool:
        """Tell whether a day is one of its days, with those that are out."""
        return self.first <= day and self.is_of(day)

    def is_of(self, day: dt.date) -> bool:
        """Tell whether a day is one of its days, or would be if it had begun before."""
        return day.weekday() == self.weekday and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left of a routine on a day of which some is done. Its `number` is its place among such days."""

    number: int
    day: dt.date
    series: tuple[Series, ...]


def is_routine(series: Series) -> bool:
    """Tell whether a series stands in the entry of its part of the day: it is routine, and of the same
    weekdays every week."""
    rule = series.rule
    return (
        series.job.routine
        and rule is not None
        and rule.interval == 1
        and rule.freq in ("DAILY", "WEEKLY")
        and rule.count is None
    )


class Routine:
    """The routine of a part of the day, of an enclosure or of the site, from a day on."""

    def __init__(self, path: Sequence[str], part: Part, some: Iterable[Series], start: dt.date) -> None:
        """Cut the weeks into stretches.

        `path` is what its entries are named by, `start` the first day that is of it.
        """
        self.part = part
        self._path = [*path, "routine", part]
        held = tuple(some)
        met = {id(one): {day for day in one.gone if day not in one.chosen} for one in held}
        days = sorted({day for gone in met.values() for day in gone})
        self.stretches: list[Stretch] = []
        self.rests: list[Rest] = []
        for stretch in _stretches(held, start):
            # Also days before it: an entry may go on from an earlier start than that of the view.
            out = tuple(
                day
                for day in days
                if stretch.is_of(day) and any(day in met[id(one)] for one in stretch.series)
            )
            self.stretches.append(replace(stretch, out=out))
        left = [
            (day, tuple(one for one in s.series if day not in met[id(one)]))
            for s in self.stretches
            for day in s.out
            if s.spans(day)
        ]
        for number, (day, series) in enumerate(
            sorted((one for one in left if one[1]), key=lambda one: one[0])
        ):
            self.rests.append(Rest(number, day, series))

    def uid(self, one: Stretch | Rest) -> str:
        """Return the UID of an entry: by weekday and number, or by its place among the days of which some is
        left."""
        if isinstance(one, Rest):
            return make_uid(*self._path, "left", str(one.number))
        return make_uid(*self._path, WEEKDAYS[one.weekday], str(one.number))

    def uid_on(self, day: dt.date) -> str | None:
        """Return the UID of the entry in which the routine of a day stands; None where there is none."""
        for rest in self.rests:
            if rest.day == day:
                return self.uid(rest)
        found = next((s for s in self.stretches if s.spans(day) and day not in s.out), None)
        return self.uid(found) if found is not None else None

    def running(self, weekday: int) -> Stretch | None:
        """Return the first stretch of a weekday of which a day is left whole: its notes say what was done of
        late."""
        return next((s for s in self.stretches if s.weekday == weekday and s.is_left), None)


def _stretches(held: tuple[Series, ...], start: dt.date) -> Iterator[Stretch]:
    """Yield the stretches of weekly series from a day on: weekday by weekday, in the order of time."""
    for weekday in range(7):
        yield from _of_weekday(held, weekday, start + dt.timedelta(days=(weekday - start.weekday()) % 7))


def _of_weekday(held: tuple[Series, ...], weekday: int, start: dt.date) -> Iterator[Stretch]:
    spans: list[tuple[dt.date, dt.date | None, Series]] = []
    for one in held:
        assert one.rule is not None and one.first is not None
        if one.rule.freq == "WEEKLY" and WEEKDAYS[weekday] not in one.rule.byday:
            continue
        first = max(start, one.first + dt.timedelta(days=(weekday - one.first.weekday()) % 7))
        last = one.until and one.until - dt.timedelta(days=(one.until.weekday() - weekday) % 7)
        if last is None or first <= last:
            spans.append((first, last, one))
    begins = sorted(
        {*(first for first, _, _ in spans), *(last + WEEK for _, last, _ in spans if last is not None)}
    )
    found: list[tuple[dt.date, dt.date | None, tuple[Series, ...]]] = []
    for number, begin in enumerate(begins):
        end = begins[number + 1] - WEEK if number + 1 < len(begins) else None
        here = tuple(s for first, last, s in spans if first <= begin and (last is None or begin <= last))
        if here:
            found.append((begin, end, here))
    endless = bool(found) and found[-1][1] is None
    for after, (first, last, here) in zip(reversed(range(len(found))), found, strict=True):
        yield Stretch(weekday, after if endless else after + 1, first, last, here)
