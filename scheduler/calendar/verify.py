"""The last look at a feed before it replaces the old one: one bad entry can empty a calendar.

Cheap enough for every feed: each line has the form of a content line, no control characters, components nest, every
entry has what RFC 5545 asks for, no UID stands twice. Small feeds are parsed by the icalendar package as well.
"""

from __future__ import annotations

import re

from scheduler.errors import WriteError

PARSE_UP_TO = 64
"""Feeds of up to so many entries are also parsed in full by icalendar, which takes about 0.6 ms an entry."""

_BAD_BYTE = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]|\r(?!\n)|(?<!\r)\n")
_LONG_LINE = re.compile(rb"[^\r\n]{76}")
_LINE = re.compile(rb"[A-Z][A-Z0-9-]*(?:;[A-Z][A-Z0-9-]*=(?:\"[^\"\r\n]*\"|[^\";:,\r\n]*))*:[^\r\n]*\r\n")
_UID = re.compile(rb"^BEGIN:(?:VEVENT|VTODO)\r\nUID:([^\r\n]*)\r\n", re.M)
_NEEDED = (b"\r\nDTSTAMP:", b"\r\nDTSTART", b"\r\nSUMMARY:", b"\r\nSEQUENCE:")


class FeedError(WriteError):
    """A feed that must not be published; that is a bug of this program, and the old feed stays."""


def verify(feed: bytes, kind: str, *, complete: bool = True) -> int:
    """Return the number of entries of a feed, or raise FeedError.

    With `complete=False` the bytes are a run of entries without the calendar around them.
    """
    if _BAD_BYTE.search(feed):
        raise FeedError("the feed holds a control character or a bare line break")
    if _LONG_LINE.search(feed):
        raise FeedError("the feed holds a line of more than 75 octets")
    try:
        feed.decode("utf-8")
    except UnicodeDecodeError:
        raise FeedError("the feed is not UTF-8") from None
    unfolded = feed.replace(b"\r\n ", b"")
    if _LINE.sub(b"", unfolded):
        raise FeedError("the feed holds a line that is no property")
    if complete and not (feed.startswith(b"BEGIN:VCALENDAR\r\n") and feed.endswith(b"\r\nEND:VCALENDAR\r\n")):
        raise FeedError("the feed is cut short")
    begin, end = f"BEGIN:{kind}\r\n".encode(), f"END:{kind}\r\n".encode()
    count = feed.count(begin)
    if feed.count(end) != count:
        raise FeedError("the feed holds an entry without an end")
    for needed in _NEEDED:
        # The header has none of these, the time zone only DTSTART.
        if feed.count(needed) < count:
            raise FeedError(f"the feed holds an entry without {needed[2:].decode().rstrip(':')}")
    uids = _UID.findall(feed)
    if len(uids) != count or len(set(uids)) != count:
        raise FeedError("the feed holds two entries with one UID, or one without")
    if complete and count <= PARSE_UP_TO:
        _parse(feed, kind, count)
    return count


def _parse(feed: bytes, kind: str, count: int) -> None:
    from icalendar import Calendar

    try:
        parsed = Calendar.from_ical(feed)
    except ValueError as error:
        raise FeedError(f"the feed cannot be parsed: {error}") from None
    found = parsed.walk(kind)
    if len(found) != count or any(component.errors for component in parsed.walk()):
        raise FeedError("the feed reads back as something else")
