"""How an entry leaves a feed: a rule ends by UNTIL before it goes, a single entry just goes, or is cancelled
first.

One widespread reader goes on showing a recurring entry that left a feed until it is restarted, and heeds an
UNTIL. Programs that take files in, instead of subscribing, keep whatever is only left out: for them there is
STATUS:CANCELLED (RFC 5546, section 3.2.5), which strikes an entry out whole, so that nothing that has a past
gets it.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduler.calendar.continuity import PublishedEntry
from scheduler.calendar.feed import day_of_stamp
from scheduler.calendar.text import fold
from scheduler.calendar.titles import DONE, LATE
from scheduler.history import DONE_DAYS
from scheduler.rules import parse

CANCELLED_DAYS = 60
"""A cancelled entry stays in the feed for so many days. House value."""

ENDED_DAYS = 90
"""A rule that ended stays in the feed for so many days.

House value: readers on a boat or in a drawer catch up in a season.
"""


_START = re.compile(rb"DTSTART[^:]*:(\d{8})(?:T(\d{6}))?")


@dataclass(frozen=True, slots=True)
class Leaving:
    """The feed that entries leave: what they are in it, the day, the zone, and whether what is gone is
    cancelled."""

    kind: str
    today: dt.date
    zone: ZoneInfo
    cancel: bool

    def last(self, was: PublishedEntry) -> bytes | None:
        """Return the body with which an entry stays that is gone from the plan; None where it leaves.

        With `cancel` what is still to come, what was open and what was taken back is cancelled. What does not
        look like this program's writing leaves.
        """
        lines = was.body.replace(b"\r\n ", b"").split(b"\r\n")[:-1]
        try:
            since = day_of_stamp(was.stamp, self.zone)
            if b"STATUS:CANCELLED" in lines:
                return was.body if self.cancel and (self.today - since).days <= CANCELLED_DAYS else None
            if was.rule:
                return self._ended(was, lines, since)
        except ValueError:
            return None
        return self._cancelled(lines) if self.cancel and self._misleads(was, lines) else None

    def _misleads(self, was: PublishedEntry, lines: list[bytes]) -> bool:
        """Tell whether whoever keeps a single entry is misled by it: it is still to come, was open, or was
        taken back."""
        summary = _line(lines, b"SUMMARY:").removeprefix(b"SUMMARY:")
        if was.start >= self.today or summary.startswith(LATE.encode()):
            return True
        return summary.startswith(DONE.encode()) and (self.today - was.start).days <= DONE_DAYS

    def _ended(self, was: PublishedEntry, lines: list[bytes], since: dt.date) -> bytes | None:
        """Return a rule as it ends: with its last day before today, or without any where nothing of it lies
        behind."""
        start, time = _start_of(lines)
        rule = parse(was.rule.decode()).ending(self.zone, time or dt.time())
        out = {_day_of(line) for line in lines if line.startswith(b"EXDATE")}
        if isinstance(rule.until, dt.date) and all(
            day < self.today or day in out for day in rule.dates(start, rule.until)
        ):
            # It is over already, or was ended here before.
            return was.body if (self.today - max(rule.until, since)).days <= ENDED_DAYS else None
        past = [day for day in rule.dates(start, self.today - dt.timedelta(days=1)) if day not in out]
        if self.cancel and not past:
            return self._cancelled(lines)
        last = past[-1] if past else start
        end = f"{last:%Y%m%d}"
        if time is not None:
            # UNTIL is in UTC wherever DTSTART has a zone (RFC 5545, section 3.3.10).
            end = f"{dt.datetime.combine(last, time, self.zone).astimezone(dt.UTC):%Y%m%dT%H%M%SZ}"
        kept: list[bytes] = []
        for line in lines:
            if line.startswith(b"RRULE:"):
                kept.append(f"RRULE:{rule.text()};UNTIL={end}".encode())
                # The start may be taken out (RFC 5545, section 3.8.5.1): then nothing is left.
                kept += [] if past else [_line(lines, b"DTSTART").replace(b"DTSTART", b"EXDATE", 1)]
            elif not line.startswith(b"EXDATE") or (past and _day_of(line) < last):
                kept.append(line)
        return _folded(kept)

    def _cancelled(self, lines: list[bytes]) -> bytes:
        kept = [line for line in lines[:-1] if not line.startswith(b"STATUS:")]
        return _folded([*kept, b"STATUS:CANCELLED", f"END:{self.kind}".encode()])


def _line(lines: list[bytes], name: bytes) -> bytes:
    return next((line for line in lines if line.startswith(name)), b"")


def _start_of(lines: list[bytes]) -> tuple[dt.date, dt.time | None]:
    """Return day and hour of an entry's start; ValueError where there is none."""
    found = _START.match(_line(lines, b"DTSTART"))
    if found is None:
        raise ValueError("no start")
    time = None if found[2] is None else dt.time.fromisoformat(found[2].decode())
    return dt.date.fromisoformat(found[1].decode()), time


def _day_of(line: bytes) -> dt.date:
    """Return the day of an EXDATE; ValueError where there is none."""
    return dt.date.fromisoformat(line.rpartition(b":")[2][:8].decode())


def _folded(lines: list[bytes]) -> bytes:
    return b"".join(fold(line.decode()) for line in lines)
