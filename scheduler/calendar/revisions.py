"""Which revision of each entry was published last: what a feed has to know of the UIDs that it does not hold
any more.

The feed that is being replaced tells of what it holds. An entry that left it, and comes back after an undo or
with a round, is a revision of what was published once, and a reader goes by its number (RFC 5546, section
2.1.4). A book is text, a line an entry: UID, SEQUENCE, DTSTAMP, a fingerprint of the content, and the day on
which it left, or "-".
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

_LINE = re.compile(rb"^([0-9a-f-]{36}) (\d{1,9}) (\d{8}T\d{6}Z) ([0-9a-f]{24}) (-|\d{8})$", re.M)

FORGET_DAYS = 400
"""What left a feed unrevised so long ago is forgotten: it could not come back with a lower number.

House value.
"""


@dataclass(frozen=True, slots=True)
class Revision:
    """An entry as it was published last; `gone` is the day on which it left the feed, as YYYYMMDD, or
    nothing."""

    stamp: bytes
    sequence: int
    digest: bytes
    gone: bytes = b""


Book = Mapping[bytes, Revision]
"""The revisions of a feed by UID."""


def read_book(text: bytes) -> dict[bytes, Revision]:
    """Return the book that a text holds. What does not look like this program's writing is passed over."""
    return {
        uid: Revision(stamp, int(number), bytes.fromhex(digest.decode()), gone.strip(b"-"))
        for uid, number, stamp, digest, gone in _LINE.findall(text)
    }


def write_book(book: Book) -> bytes:
    """Return a book as text."""
    return b"".join(
        b"%b %d %b %b %b\n" % (uid, one.sequence, one.stamp, one.digest.hex().encode(), one.gone or b"-")
        for uid, one in book.items()
    )


def joined(one: Book, other: Book) -> dict[bytes, Revision]:
    """Return what two books know of a feed: of each entry the later revision; the second's where they are the
    same."""
    found = dict(one)
    for uid, revision in other.items():
        was = found.get(uid)
        if was is None or (was.sequence, was.stamp) <= (revision.sequence, revision.stamp):
            found[uid] = revision
    return found


def turned(before: Book, left: Book, now: Book, today: dt.date) -> dict[bytes, Revision]:
    """Return the book after a feed was written: `now` is what it holds, `left` what the one before held.

    What is in neither it nor the feed left today, if it was not gone before.
    """
    found = joined(before, joined(left, now))
    day = f"{today:%Y%m%d}".encode()
    oldest = f"{today - dt.timedelta(days=FORGET_DAYS):%Y%m%d}".encode()
    for uid in [uid for uid in found if uid not in now]:
        one = found[uid]
        if not one.gone:
            found[uid] = replace(one, gone=day)
        elif not one.sequence and one.gone < oldest:
            del found[uid]
    return found


def only_gone(book: Book) -> dict[bytes, Revision]:
    """Return what a book knows beyond the feed itself."""
    return {uid: one for uid, one in book.items() if one.gone}
