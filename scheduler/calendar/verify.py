"""The last look at a feed before it replaces the old one: one bad entry can empty a calendar.

Cheap enough for every feed: each line has the form of a content line, no control characters, components nest,
every entry has what RFC 5545 asks for, no UID stands twice. The icalendar package is the referee beside it;
it takes some 1 ms an entry, so that it reads the head of the first feeds only; tests have it read all of
them.
"""

from __future__ import annotations

import re

from scheduler.calendar.text import LINE_OCTETS
from scheduler.errors import WriteError

_CONTROLS = bytes(set(range(0x20)) - {0x09, 0x0A, 0x0D} | {0x7F})
_PARAMETER = rb";[A-Z][A-Z0-9-]*+=(?:\"[^\"\r\n]*+\"|[^\";:,\r\n]*+)"
_LINES = re.compile(rb"(?:[A-Z][A-Z0-9-]*+(?:" + _PARAMETER + rb")*+:[^\r\n]*+\r\n)*+")
# From the line break before them: looking for one byte is several times faster than trying every start of a
# line.
_NEST = re.compile(rb"\n(BEGIN|END):([^\r\n]*+)\r")
_UID = re.compile(rb"\nBEGIN:(?:VEVENT|VTODO)\r\nUID:([^\r\n]*+)\r")
_NEEDED = (b"\r\nDTSTAMP:", b"\r\nDTSTART", b"\r\nSUMMARY:", b"\r\nSEQUENCE:")


REFEREE_ENTRIES = 4
"""Entries of a feed that icalendar reads back at every export."""


class FeedError(WriteError):
    """A feed that must not be published; that is a bug of this program, and the old feed stays."""


def verify(feed: bytes, kind: str, *, complete: bool = True) -> int:
    """Return the number of entries of a feed, or raise FeedError.

    With `complete=False` the bytes are a run of entries without the calendar around them.
    """
    _check_lines(feed)
    if complete and not (feed.startswith(b"BEGIN:VCALENDAR\r\n") and feed.endswith(b"\r\nEND:VCALENDAR\r\n")):
        raise FeedError("the feed is cut short")
    return _check_entries(feed, kind, complete=complete)


def _check_lines(feed: bytes) -> None:
    """Raise FeedError unless all lines are content lines (RFC 5545, section 3.1)."""
    if len(feed.translate(None, _CONTROLS)) != len(feed):
        raise FeedError("the feed holds a control character")
    if not feed.count(b"\r\n") == feed.count(b"\r") == feed.count(b"\n"):
        raise FeedError("the feed holds a bare line break")
    if max(map(len, feed.split(b"\r\n"))) > LINE_OCTETS:
        raise FeedError(f"the feed holds a line of more than {LINE_OCTETS} octets")
    try:
        feed.decode("utf-8")
    except UnicodeDecodeError:
        raise FeedError("the feed is not UTF-8") from None
    if not _LINES.fullmatch(feed.replace(b"\r\n ", b"")):
        raise FeedError("the feed holds a line that is no property")


def _check_entries(feed: bytes, kind: str, *, complete: bool) -> int:
    """Return the number of entries; raise FeedError unless each of them is whole and has a UID of its own."""
    # At the start of a line: a name may read BEGIN:VEVENT too.
    begin, end = f"\r\nBEGIN:{kind}\r\n".encode(), f"\r\nEND:{kind}\r\n".encode()
    count = feed.count(begin) + feed.startswith(begin[2:])
    if feed.count(end) != count:
        raise FeedError("the feed holds an entry without an end")
    if not _nests(feed):
        raise FeedError("the feed holds components that do not nest")
    for needed in _NEEDED:
        # From the first entry on: the time zone has a DTSTART too.
        if feed.count(needed, max(feed.find(begin), 0) if complete else 0) < count:
            raise FeedError(f"the feed holds an entry without {needed[2:].decode().rstrip(':')}")
    uids = _UID.findall(b"\n" + feed)
    if len(uids) != count or len(set(uids)) != count:
        raise FeedError("the feed holds two entries with one UID, or one without")
    return count


def _nests(feed: bytes) -> bool:
    within: list[bytes] = []
    for word, name in _NEST.findall(b"\n" + feed):
        if word == b"BEGIN":
            within.append(name)
        elif not within or within.pop() != name:
            return False
    return not within


def referee(feed: bytes, kind: str) -> None:
    """Have icalendar read the head of a feed: header, time zone, first entries.

    FeedError when it finds an error there.
    """
    from icalendar import Calendar

    end = f"\r\nEND:{kind}\r\n".encode()
    entries = feed.split(end)
    shown = min(len(entries) - 1, REFEREE_ENTRIES)
    head = end.join(entries[:shown]) + (end if shown else b"")
    try:
        parsed = Calendar.from_ical(head + b"END:VCALENDAR\r\n" if shown else feed)
    except ValueError as error:
        raise FeedError(f"the feed cannot be parsed: {error}") from None
    if len(parsed.walk(kind)) != shown or any(component.errors for component in parsed.walk()):
        raise FeedError("the feed reads back as something else")
