"""When the clocks of a time zone change."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

_STEP = dt.timedelta(days=7)
_SECOND = dt.timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Onset:
    """One change of a zone's offset; `local` is the wall clock before the change, as RFC 5545 writes
    onsets."""

    local: dt.datetime
    before: dt.timedelta
    after: dt.timedelta
    name: str


def transitions(zone: ZoneInfo, first_year: int, years: int) -> Iterator[Onset]:
    """Yield the changes of offset in so many years from the start of `first_year` on."""
    moment = dt.datetime(first_year, 1, 1, tzinfo=dt.UTC)
    end = dt.datetime(first_year + years, 1, 1, tzinfo=dt.UTC)
    before = offset_at(zone, moment)
    while moment < end:
        later = moment + _STEP
        after = offset_at(zone, later)
        if after != before:
            low, high = moment, later
            while high - low > _SECOND:
                middle = low + (high - low) // 2
                low, high = (middle, high) if offset_at(zone, middle) == before else (low, middle)
            high = high.replace(microsecond=0)
            yield Onset(
                (high + before).replace(tzinfo=None), before, after, high.astimezone(zone).tzname() or ""
            )
        moment, before = later, after


def offset_at(zone: ZoneInfo, moment: dt.datetime) -> dt.timedelta:
    """Return the offset from UTC at an instant."""
    offset = moment.astimezone(zone).utcoffset()
    assert offset is not None  # a ZoneInfo always knows
    return offset


def unsure_times(zone: ZoneInfo, first_year: int, years: int) -> set[tuple[dt.time, dt.time]]:
    """Return the spans of local time that a change of the clocks skips or repeats, as (first, end), without
    the dates.

    A span that runs over midnight is given as two.
    """
    spans: set[tuple[dt.time, dt.time]] = set()
    for change in transitions(zone, first_year, years):
        other = change.local + change.after - change.before
        first, end = min(change.local, other), max(change.local, other)
        if first.date() == end.date():
            spans.add((first.time(), end.time()))
        else:
            spans |= {(first.time(), dt.time.max), (dt.time.min, end.time())}
    return spans
