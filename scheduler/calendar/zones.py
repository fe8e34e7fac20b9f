"""VTIMEZONE: the compact form that every reader gets right, two observances with a yearly rule each.

The rules are read off the zone's own transitions over 28 years (the cycle of weekdays and leap years) and
then held against all of them. They are written as if they had held since 1970, which is today's rules and not
the zone's history: one widespread library looks at 2000 to 2020 to tell a zone from UTC, and sees no summer
time otherwise. A zone whose changes follow no yearly rule gets one RDATE property an onset: one reader takes
only the first value of a list.
"""

from __future__ import annotations

import calendar
import datetime as dt
import functools
from collections.abc import Iterable
from dataclasses import replace
from zoneinfo import ZoneInfo

from scheduler.clocks import Onset, offset_at, transitions
from scheduler.rules import WEEKDAYS

YEARS = 28
"""Years looked at: after 28 years (within 1901-2099) dates fall on the same weekdays again."""

FIRST_YEAR = 2025
LISTED_YEARS = 20
"""So many years of onsets are listed where no rule makes them: one web calendar fails on a long VTIMEZONE.

House value.
"""


REACH = 1970
"""The year from which on the rules of today are written.

Two cycles later, in 2026, its dates have their weekdays again.
"""


UTC_NAMES = ("UTC", "Etc/UTC")


@functools.lru_cache(maxsize=64)
def vtimezone(key: str, first_year: int) -> bytes:
    """Return the VTIMEZONE of a zone for events from the start of `first_year` on."""
    zone = ZoneInfo(key)
    start = min(FIRST_YEAR, first_year - 1)
    changes = list(transitions(zone, start, FIRST_YEAR + YEARS - start))
    ruled = _grouped(change for change in changes if change.local.year >= FIRST_YEAR)
    regular = len(ruled) == 2 and all(_rule(onsets) for onsets in ruled)
    lines = ["BEGIN:VTIMEZONE", f"TZID:{key}"]
    if regular and len(whole := _grouped(changes)) == 2 and all(_rule(onsets) for onsets in whole):
        for onsets in whole:
            lines += _observance(_reaching_back(onsets), [f"RRULE:{_rule(onsets)}"])
        return _joined(lines)
    # A zone without changes, or one whose changes are listed: the time before the first of them is covered
    # too.
    begin = dt.datetime(start, 1, 1, tzinfo=dt.UTC)
    offset = offset_at(zone, begin)
    local = dt.datetime.combine(dt.date(start - 1 if changes else REACH, 1, 1), dt.time())
    lines += _observance(Onset(local, offset, offset, begin.astimezone(zone).tzname() or ""), [])
    end = FIRST_YEAR if regular else FIRST_YEAR + LISTED_YEARS
    for onsets in _grouped(change for change in changes if change.local.year < end):
        lines += _observance(onsets[0], [f"RDATE:{o.local:%Y%m%dT%H%M%S}" for o in onsets[1:]])
    for onsets in ruled if regular else ():
        lines += _observance(onsets[0], [f"RRULE:{_rule(onsets)}"])
    return _joined(lines)


def _joined(lines: list[str]) -> bytes:
    return "\r\n".join([*lines, "END:VTIMEZONE", ""]).encode("ascii")


def _grouped(changes: Iterable[Onset]) -> list[list[Onset]]:
    """Return the changes that are alike but for their time, one after the other."""
    groups: dict[tuple[dt.timedelta, dt.timedelta, str], list[Onset]] = {}
    for onset in changes:
        groups.setdefault((onset.before, onset.after, onset.name), []).append(onset)
    return list(groups.values())


def _reaching_back(onsets: list[Onset]) -> Onset:
    """Return the first onset that the rule of these makes from 1970 on."""
    same = next(onset for onset in onsets if (onset.local.year - REACH) % YEARS == 0)
    return replace(same, local=same.local.replace(year=REACH))


def _observance(first: Onset, more: list[str]) -> list[str]:
    # By the larger offset, not by the zone's own idea of summer: Dublin's is the other way round.
    kind = "DAYLIGHT" if first.after > first.before else "STANDARD"
    return [
        f"BEGIN:{kind}",
        f"DTSTART:{first.local:%Y%m%dT%H%M%S}",
        *more,
        f"TZOFFSETFROM:{_utc_offset(first.before)}",
        f"TZOFFSETTO:{_utc_offset(first.after)}",
        f"TZNAME:{first.name}",
        f"END:{kind}",
    ]


def _utc_offset(offset: dt.timedelta) -> str:
    seconds = int(offset.total_seconds())
    sign, seconds = ("-", -seconds) if seconds < 0 else ("+", seconds)
    hours, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    return f"{sign}{hours:02}{minutes:02}" + (f"{seconds:02}" if seconds else "")


def _rule(changes: list[Onset]) -> str:
    """Return the yearly rule that makes exactly these onsets, or nothing when there is none."""
    onsets = [change.local for change in changes]
    first = onsets[0]
    years = range(first.year, first.year + len(onsets))
    if len(onsets) < YEARS or [o.year for o in onsets] != list(years):
        return ""
    if len({(o.month, o.day, o.time()) for o in onsets}) == 1:
        return f"FREQ=YEARLY;BYMONTH={first.month};BYMONTHDAY={first.day}"
    days = sorted({o.day for o in onsets})
    last_of_month = all(calendar.monthrange(o.year, o.month)[1] - o.day < 7 for o in onsets)
    if len({(o.month, o.weekday(), o.time()) for o in onsets}) != 1 or days != list(
        range(days[0], days[0] + 7)
    ):
        return ""
    weekday = WEEKDAYS[first.weekday()]
    if last_of_month:
        return f"FREQ=YEARLY;BYMONTH={first.month};BYDAY=-1{weekday}"
    if days[0] % 7 == 1:
        return f"FREQ=YEARLY;BYMONTH={first.month};BYDAY={days[0] // 7 + 1}{weekday}"
    return f"FREQ=YEARLY;BYMONTH={first.month};BYMONTHDAY={','.join(map(str, days))};BYDAY={weekday}"
