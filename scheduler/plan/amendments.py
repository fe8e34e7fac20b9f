"""What people bend by hand: an occurrence that comes on another day, or not at all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace

from scheduler.history import Amendment, History, JobRef, parse_amendment
from scheduler.locales import PLAIN, Formats
from scheduler.plan.series import Series

Chosen = Mapping[dt.date, Amendment]
"""Days on which something comes because somebody said so, with what was said."""


def amendments_of(history: History, job: JobRef) -> list[Amendment]:
    """Return what was said of the occurrences of a job, in the order in which it was said."""
    return [
        parse_amendment(entry)
        for entry in history.amendments(job.enclosure)
        if entry.kind != "once" and entry.job == job
    ]


def bend(
    amendments: Iterable[Amendment], comes: Callable[[dt.date], bool]
) -> tuple[frozenset[dt.date], Chosen]:
    """Return which days of a series are left out, and which come instead with what was said of them.

    `comes` tells whether a day is one of the series as it is without them. What was said of a day that is
    none any more, since the description or a reading has changed the series, changes nothing.
    """
    out: set[dt.date] = set()
    chosen: dict[dt.date, Amendment] = {}
    for one in amendments:
        # Of what was put off twice it is said from which day it was put off at first.
        first = chosen[one.due].due if one.due in chosen else one.due
        if one.due not in chosen and (one.due in out or not comes(one.due)):
            continue
        # What is open has missed all its days up to the one on which it was said; they go with it.
        for number in range((max(one.due, one.said) - one.due).days + 1):
            day = one.due + dt.timedelta(days=number)
            chosen.pop(day, None)
            if comes(day):
                out.add(day)
        if one.to is None:
            continue
        if one.to in out:
            out.discard(one.to)
        elif not comes(one.to):
            chosen[one.to] = replace(one, due=first)
    return frozenset(out), chosen


def put_off_from(said: Amendment, formats: Formats = PLAIN) -> str:
    """Return what is said of an occurrence that somebody put off: from which day, and why."""
    return f"Put off from {formats.date(said.due)}{f': {said.why}' if said.why else '.'}"


def bent_days(days: Iterable[dt.date], out: Collection[dt.date], chosen: Iterable[dt.date]) -> list[dt.date]:
    """Return days without those that are left out, and with those that come instead, in order."""
    return sorted({*(day for day in days if day not in out), *chosen})


def bent(series: Series, out: frozenset[dt.date], chosen: Chosen, first: dt.date) -> Series:
    """Return a series with days left out and others instead of them, which lie on `first` or later."""
    chosen = {day: said for day, said in chosen.items() if day >= first}
    if series.rule is None:
        return replace(series, dates=tuple(bent_days(series.dates, out, chosen)), chosen=chosen)
    return replace(series, skipped=out, chosen=chosen)


def standing(amendments: Iterable[Amendment], last: dt.date | None, period: int) -> Amendment | None:
    """Return what holds of the next time of a job by interval, given when it was last done; None where
    nothing does.

    Whoever did it after that was said, or so near the day of which it was said that it counts as that time,
    has begun the next interval.
    """
    holding = [
        one
        for one in amendments
        if last is None or (last <= one.said and 2 * (one.due - last).days >= period)
    ]
    return holding[-1] if holding else None
