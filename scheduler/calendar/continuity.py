"""What changed since the last export: DTSTAMP, LAST-MODIFIED and SEQUENCE move only with the content.

The feed that is being replaced is the record: an entry whose content is the same keeps its three lines, so
that the bytes stay equal while nothing changes and no calendar program reports news (RFC 5545, sections
3.8.7.2 to 3.8.7.4).
"""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from hashlib import blake2b

from scheduler.calendar.component import Recurring
from scheduler.calendar.revisions import Revision

_LEAD = re.compile(
    rb"UID:([0-9a-f-]{36})\r\nDTSTAMP:(\d{8}T\d{6}Z)\r\nLAST-MODIFIED:\d{8}T\d{6}Z\r\nSEQUENCE:(\d{1,9})\r\n"
)
_RULE = re.compile(rb"\r\nRRULE:([^\r\n]*(?:\r\n [^\r\n]*)*)")

_START = re.compile(rb"DTSTART[^:]{0,80}:(\d{4})(\d\d)(\d\d)")

KEEP_START_DAYS = 90
"""A rule keeps the start that it had in the earlier feed for so long. House value: history for a season."""


@dataclass(frozen=True, slots=True)
class PublishedEntry:
    """How an entry stood in the earlier feed; its body only where that was asked for, its rule where it
    recurs."""

    stamp: bytes
    sequence: int
    digest: bytes
    start: dt.date
    body: bytes = b""
    rule: bytes = b""


def digest(body: bytes) -> bytes:
    """Return a short fingerprint of an entry's content."""
    return blake2b(body, digest_size=12).digest()


def read_earlier(feed: bytes, kind: str, *, bodies: bool = False) -> dict[bytes, PublishedEntry]:
    """Return the entries of an earlier feed by UID.

    What does not look like this program's writing is passed over.
    """
    # At the start of a line: a name may read BEGIN:VEVENT too.
    begin, end = (re.compile(f"^{word}:{kind}\r\n".encode(), re.M) for word in ("BEGIN", "END"))
    found: dict[bytes, PublishedEntry] = {}
    for block in begin.split(feed)[1:]:
        lead = _LEAD.match(block)
        last = end.search(block)
        start = _START.match(block, lead.end()) if lead else None
        if lead and start and last:
            body = block[lead.end() : last.end()]
            with contextlib.suppress(ValueError):  # the 99th of a damaged feed
                day = dt.date(*map(int, start.groups()))
                kept = body if bodies else b""
                found[lead[1]] = PublishedEntry(
                    lead[2], int(lead[3]), digest(body), day, kept, _rule_in(body)
                )
    return found


def _rule_in(body: bytes) -> bytes:
    """Return the rule of an entry, unfolded; nothing where it does not recur."""
    at = body.find(b"\r\nRRULE:")
    if at < 0:
        return b""
    found = _RULE.match(body, at)
    return found[1].replace(b"\r\n ", b"") if found else b""


def keep_start(entry: Recurring, earlier: Mapping[bytes, PublishedEntry], today: dt.date) -> Recurring:
    """Return an entry with a rule from the start that it had before, if it is still the same.

    A view begins today, and tomorrow a day later: without this every rule would begin anew with every export,
    and nothing would ever be unchanged.
    """
    was = earlier.get(entry.uid.encode())
    if was is None or entry.moves:
        return entry
    if not today - dt.timedelta(days=KEEP_START_DAYS) <= was.start < entry.first:
        return entry
    if entry.until is None and b";UNTIL=" in was.rule:
        # It was ended, and is back: in between there was none of it.
        return entry
    days = list(entry.rule.dates(was.start, entry.first))
    return (
        replace(entry, first=was.start) if days and (days[0], days[-1]) == (was.start, entry.first) else entry
    )


def later(stamp: bytes, earlier: bytes) -> bytes:
    """Return the stamp of a change, which is later than that of the change before.

    Two changes of one day, or a clock that was set back, would else give a revision that is no younger than
    the one it replaces (RFC 5546, section 2.1.4).
    """
    if stamp > earlier:
        return stamp
    form = "%Y%m%dT%H%M%SZ"
    try:
        moment = dt.datetime.strptime(earlier.decode(), form).replace(tzinfo=dt.UTC)
    except ValueError:  # the 99th of a damaged feed
        return stamp
    return (moment + dt.timedelta(seconds=1)).strftime(form).encode()


def revision(body: bytes, was: PublishedEntry | None, known: Revision | None, stamp: bytes) -> Revision:
    """Return the revision that an entry with this content is, of which `was` stood in the earlier feed.

    `known` is what was published of it last, here or elsewhere. What has not changed keeps its stamp and
    number; a change is the next number after all that was published.
    """
    mark = digest(body)
    if was is not None and was.digest == mark:
        return Revision(was.stamp, was.sequence, mark)
    if known is not None and (was is None or known.sequence > was.sequence) and known.digest == mark:
        return Revision(known.stamp, known.sequence, mark)
    before = [one for one in (was, known) if one is not None]
    if not before:
        return Revision(stamp, 0, mark)
    number = max(one.sequence for one in before) + 1
    return Revision(later(stamp, max(one.stamp for one in before)), number, mark)


def lead(kind: bytes, uid: bytes, one: Revision) -> bytes:
    """Return the leading lines of an entry."""
    return b"BEGIN:%b\r\nUID:%b\r\nDTSTAMP:%b\r\nLAST-MODIFIED:%b\r\nSEQUENCE:%d\r\n" % (
        kind,
        uid,
        one.stamp,
        one.stamp,
        one.sequence,
    )
