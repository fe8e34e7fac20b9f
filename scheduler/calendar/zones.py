"""VTIMEZONE: the compact form that every reader gets right, two observances with a yearly rule each.

The rules are read off the zone's own transitions over 28 years (the cycle of weekdays and leap years) and then held
against all of them. A zone whose changes follow no yearly rule gets one RDATE property an onset: one reader takes
only the first value of a list.
"""

from __future__ import annotations

import calendar
import datetime as dt
import functools
from zoneinfo import ZoneInfo

from scheduler.clocks import Onset, offset_at, transitions
from scheduler.rules import WEEKDAYS

YEARS = 28
"""Years looked at: after 28 years (within 1901-2099) dates fall on the same weekdays again."""

FIRST_YEAR = 2025
UTC_NAMES = ("UTC", "Etc/UTC")


@functools.lru_cache(maxsize=64)
def vtimezone(key: str, first_year: int) -> bytes:
    """Return the VTIMEZONE of a zone for events from the start of `first_year` on. Nothing for UTC: it needs none."""
    if key in UTC_NAMES:
        return b""
    zone = ZoneInfo(key)
    start = min(FIRST_YEAR, first_year - 1)
    groups: dict[tuple[dt.timedelta, dt.timedelta, str], list[Onset]] = {}
    for onset in transitions(zone, start, FIRST_YEAR + YEARS - start):
        groups.setdefault((onset.before, onset.after, onset.name), []).append(onset)
    lines = ["BEGIN:VTIMEZONE", f"TZID:{key}"]
    regular = len(groups) == 2 and all(_rule(onsets) for onsets in groups.values())
    if not regular:
        # A zone without changes, or one whose changes are listed: the time before the first of them is covered too.
        begin = dt.datetime(start, 1, 1, tzinfo=dt.UTC)
        offset = offset_at(zone, begin)
        local = dt.datetime.combine(dt.date(start - 1 if groups else 1970, 1, 1), dt.time())
        lines += _observance(Onset(local, offset, offset, begin.astimezone(zone).tzname() or ""), [])
    for onsets in groups.values():
        listed = [f"RDATE:{o.local:%Y%m%dT%H%M%S}" for o in onsets[1:]]
        lines += _observance(onsets[0], [f"RRULE:{_rule(onsets)}"] if regular else listed)
    return "\r\n".join([*lines, "END:VTIMEZONE", ""]).encode("ascii")


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
