"""The seasons of a place: the months in which what comes once a year comes, and which are cold for an
enclosure outdoors."""

from __future__ import annotations

import datetime as dt

from scheduler.care.engine.case import Case
from scheduler.care.engine.job import ByRule, Cadence, Every
from scheduler.quantities import Span
from scheduler.rules import Rule
from scheduler.sources import Source

SOME_YEAR = dt.date(2024, 1, 1)
"""Where a yearly series begins when the description has no date: any year before the first export will do."""

NO_LATITUDE = "Write latitude into the [site] table: then this comes once a year, at the right end of it."

TROPICS = 23.5
"""Degrees of latitude up to which no season is planned as cold."""

COLD_NORTH = (11, 12, 1, 2, 3)
"""Months in which a pond north of the tropics is left alone; south of them half a year later. House value."""

COLD = Source("outdoors November to March are the cold months, May to September in the south", "house value")

AUTUMN_MONTHS = 2
"""The vet sees an animal that winters outdoors in so many months before the cold ones. House value."""


def months_of(latitude: float | None, *, north: int, south: int) -> tuple[int, ...]:
    """Return the months in which a season's check comes: both of them, in order, while the latitude is
    unknown."""
    if latitude is None:
        return tuple(sorted((north, south)))
    return (north,) if latitude >= 0 else (south,)


def yearly(case: Case, month: int) -> ByRule:
    """Return what comes on the first of a month every year: the start of the rule names the day."""
    start = dt.date((case.anchor or SOME_YEAR).year, month, 1)
    if case.anchor is not None and start < case.anchor:
        start = start.replace(year=start.year + 1)
    return ByRule(rule=Rule(freq="YEARLY"), start=start)


def cold_months(case: Case) -> tuple[int, ...]:
    """Return the cold months of an enclosure outdoors, in their order; none indoors, in the tropics, and
    without a latitude."""
    latitude = case.site.settings.latitude
    if not case.enclosure.outdoors or latitude is None or abs(latitude) <= TROPICS:
        return ()
    return COLD_NORTH if latitude > 0 else tuple((month + 5) % 12 + 1 for month in COLD_NORTH)


def warm_months(case: Case) -> tuple[int, ...]:
    """Return the other months, in the order of the calendar; none where no month is cold."""
    cold = cold_months(case)
    return tuple(month for month in range(1, 13) if month not in cold) if cold else ()


def outside_the_cold(case: Case, days: int, anchor: dt.date | None) -> Cadence:
    """Return what comes every so many days; in whole weeks, and not in the cold months, where an enclosure
    has any."""
    warm = warm_months(case)
    if not warm:
        return Every(span=Span(days), anchor=anchor)
    return ByRule(rule=Rule(freq="WEEKLY", interval=max(1, days // 7), bymonth=warm), start=anchor)


def season_begins(case: Case, day: dt.date) -> dt.date | None:
    """Return the first day of the cold season that is on or comes next; None where there is none."""
    cold = cold_months(case)
    if not cold:
        return None
    begins = dt.date(day.year, cold[0], 1)
    on = day.month in cold
    if on and begins > day:
        return begins.replace(year=day.year - 1)
    return begins if on or begins >= day else begins.replace(year=day.year + 1)


def autumn_of(begins: dt.date) -> dt.date:
    """Return the first day of the autumn before a cold season."""
    month = begins.month - AUTUMN_MONTHS
    return (
        begins.replace(month=month) if month > 0 else begins.replace(year=begins.year - 1, month=month + 12)
    )


def named(months: tuple[int, ...]) -> str:
    """Return months in a row by the first and the last of them: `November to March`."""
    first, last = (dt.date(2024, month, 1).strftime("%B") for month in (months[0], months[-1]))
    return f"{first} to {last}"
