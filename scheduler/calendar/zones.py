"""VTIMEZONE: the compact form that every reader gets right, two observances with a yearly rule each.

The rules are read off the zone's own transitions over 28 years (the cycle of weekdays and leap years) and then held
against all of them. A zone whose changes follow no yearly rule gets one RDATE property an onset: one reader takes
only the first value of a list.
"""

from __future__ import annotations

import calendar
import datetime as dt
import functools
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduler.rules import WEEKDAYS

YEARS = 28
"""Years looked at: after 28 years (within 1901-2099) dates fall on the same weekdays again."""

FIRST_YEAR = 2025
_STEP = dt.timedelta(days=7)
_SECOND = dt.timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Onset:
    """One change of a zone's offset; `local` is the wall clock before the change, as RFC 5545 writes onsets."""

    local: dt.datetime
    before: dt.timedelta
    after: dt.timedelta
    name: str


def transitions(zone: ZoneInfo, first_year: int) -> Iterator[Onset]:
    """Yield the changes of offset in the 28 years from `first_year` on."""
    moment = dt.datetime(first_year, 1, 1, tzinfo=dt.UTC)
    end = dt.datetime(first_year + YEARS, 1, 1, tzinfo=dt.UTC)
    before = _offset(zone, moment)
    while moment < end:
        later = moment + _STEP
        after = _offset(zone, later)
        if after != before:
            low, high = moment, later
            while high - low > _SECOND:
                middle = low + (high - low) // 2
                low, high = (middle, high) if _offset(zone, middle) == before else (low, middle)
            high = high.replace(microsecond=0)
            yield Onset((high + before).replace(tzinfo=None), before, after, high.astimezone(zone).tzname() or "")
        moment, before = later, after


def _offset(zone: ZoneInfo, moment: dt.datetime) -> dt.timedelta:
    offset = moment.astimezone(zone).utcoffset()
    assert offset is not None  # a ZoneInfo always knows
    return offset


@functools.lru_cache(maxsize=64)
def vtimezone(key: str, first_year: int) -> bytes:
    """Return the VTIMEZONE of a zone for events from the start of `first_year` on. Nothing for UTC: it needs none."""
    if key in ("UTC", "Etc/UTC"):
        return b""
    zone = ZoneInfo(key)
    start = min(FIRST_YEAR, first_year - 1)
    groups: dict[tuple[dt.timedelta, dt.timedelta, str], list[Onset]] = {}
    for onset in transitions(zone, start):
        groups.setdefault((onset.before, onset.after, onset.name), []).append(onset)
    lines = ["BEGIN:VTIMEZONE", f"TZID:{key}"]
    if not groups:
        moment = dt.datetime(start, 1, 1, tzinfo=dt.UTC).astimezone(zone)
        offset = _offset(zone, moment)
        lines += _observance("STANDARD", "19700101T000000", [], offset, offset, moment.tzname() or "")
    regular = len(groups) == 2 and all(_rule([o.local for o in onsets]) for onsets in groups.values())
    if groups and not regular:
        # Where onsets are listed, the time before the first of them has to be covered too.
        moment = dt.datetime(start, 1, 1, tzinfo=dt.UTC)
        offset = _offset(zone, moment)
        lines += _observance("STANDARD", f"{start - 1}0101T000000", [], offset, offset, moment.astimezone(zone).tzname() or "")
    for (before, after, name), onsets in groups.items():
        kind = "DAYLIGHT" if after > before else "STANDARD"
        first = onsets[0].local
        extra = [f"RRULE:{_rule([o.local for o in onsets])}"] if regular else [f"RDATE:{o.local:%Y%m%dT%H%M%S}" for o in onsets[1:]]
        lines += _observance(kind, f"{first:%Y%m%dT%H%M%S}", extra, before, after, name)
    return "\r\n".join([*lines, "END:VTIMEZONE", ""]).encode("ascii")


def _observance(kind: str, start: str, extra: list[str], before: dt.timedelta, after: dt.timedelta, name: str) -> list[str]:
    return [
        f"BEGIN:{kind}",
        f"DTSTART:{start}",
        *extra,
        f"TZOFFSETFROM:{_utc_offset(before)}",
        f"TZOFFSETTO:{_utc_offset(after)}",
        f"TZNAME:{name}",
        f"END:{kind}",
    ]


def _utc_offset(offset: dt.timedelta) -> str:
    seconds = int(offset.total_seconds())
    sign, seconds = ("-", -seconds) if seconds < 0 else ("+", seconds)
    hours, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    return f"{sign}{hours:02}{minutes:02}" + (f"{seconds:02}" if seconds else "")


def _rule(onsets: list[dt.datetime]) -> str:
    """Return the yearly rule that makes exactly these onsets, or nothing when there is none."""
    if len(onsets) != YEARS or [o.year for o in onsets] != list(range(onsets[0].year, onsets[0].year + YEARS)):
        return ""
    same = {(o.month, o.weekday(), o.time()) for o in onsets}
    if len(same) != 1:
        # The same date every year is a rule too, whatever its weekday.
        if len({(o.month, o.day, o.time()) for o in onsets}) == 1:
            return f"FREQ=YEARLY;BYMONTH={onsets[0].month};BYMONTHDAY={onsets[0].day}"
        return ""
    month, weekday = onsets[0].month, WEEKDAYS[onsets[0].weekday()]
    from_end = {(calendar.monthrange(o.year, o.month)[1] - o.day) // 7 for o in onsets}
    if from_end == {0}:
        return f"FREQ=YEARLY;BYMONTH={month};BYDAY=-1{weekday}"
    days = sorted({o.day for o in onsets})
    if days != list(range(days[0], days[0] + 7)):
        return ""
    if days[0] in (1, 8, 15, 22):
        return f"FREQ=YEARLY;BYMONTH={month};BYDAY={days[0] // 7 + 1}{weekday}"
    return f"FREQ=YEARLY;BYMONTH={month};BYMONTHDAY={','.join(map(str, days))};BYDAY={weekday}"
