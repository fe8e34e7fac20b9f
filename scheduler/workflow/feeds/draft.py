"""A feed being written, which goes on from the one that it will replace."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import IO

from scheduler.calendar.component import Component, Recurring, Writer
from scheduler.calendar.continuity import keep_start, later, lead, read_earlier, revision
from scheduler.calendar.endings import Leaving
from scheduler.calendar.feed import Feed, footer, header, stamp_of
from scheduler.calendar.revisions import Book, Revision, turned
from scheduler.calendar.verify import FeedError, referee, verify

IN_MEMORY = 1_000_000
"""Entries of a feed are kept in memory up to so many bytes, and in a temporary file beyond."""
_MODIFIED = re.compile(rb"\r\nLAST-MODIFIED:(\d{8}T\d{6}Z)\r\n")


@dataclass(frozen=True, slots=True)
class View:
    """What the feeds of one export share.

    The day, the first year of any entry, whether rules keep their starts, and whether what is gone is cancelled.
    """

    today: dt.date
    first_year: int
    keep_starts: bool
    cancel: bool = False


class Draft:
    """A feed being written beside the one that it will replace."""

    def __init__(
        self,
        feed: Feed,
        reread: Callable[[], bytes],
        view: View,
        begins: Callable[[bytes], bool],
        known: Book,
    ) -> None:
        """Read the earlier feed, whose stamps and sequence numbers go on, as do those that are `known` of it.

        `begins` tells whether it begins with some bytes.
        """
        self.name = name_of(feed)
        self._feed, self._begins, self._first_year = feed, begins, view.first_year
        self._zone = feed.site.place.zone
        self._stamp, self._today = stamp_of(view.today, self._zone), view.today
        self._cancel, self._reread, self._known = view.cancel, reread, known
        self._now: dict[bytes, Revision] = {}
        before = reread()
        self._kept_from = view.today if view.keep_starts else None
        self._kind = feed.options.kind
        self._earlier = read_earlier(before, self._kind)
        modified = _MODIFIED.search(before[:600])
        # A feed that is not whole has no time of change to go on from.
        whole = before.endswith(footer()) and before.count(b"\r\nEND:" + self._kind.encode()) == len(
            self._earlier
        )
        self._modified = modified[1] if modified and whole else b""
        self._spool: IO[bytes] = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - closed by finish and drop
        self._kept = 0
        self.size = 0
        self.entries = 0

    def add(self, writer: Writer, entries: Iterable[Component | Recurring]) -> None:
        """Write a run of entries. One with a rule goes on from the day on which it began in the earlier feed."""
        self.put(self._made(writer, entries))

    def _made(self, writer: Writer, entries: Iterable[Component | Recurring]) -> Iterator[Component]:
        for entry in entries:
            if isinstance(entry, Component):
                yield entry
                continue
            since = self._kept_from
            kept = entry if since is None else keep_start(entry, self._earlier, since)
            left = kept.without_out()
            if left is not None:
                yield writer.recurring(left)

    def put(self, components: Iterable[Component]) -> None:
        """Write a run of entries, and look at it before it counts."""
        blocks: list[bytes] = []
        kind, now, earlier, known = self._kind.encode(), self._now, self._earlier, self._known
        for component in components:
            uid = component.uid.encode()
            if uid in now:
                raise FeedError(f"{self.name} holds two entries with one UID")
            was = earlier.get(uid)
            now[uid] = one = revision(component.body, was, known.get(uid), self._stamp)
            blocks.append(lead(kind, uid, one))
            blocks.append(component.body)
            self._kept += was is not None and was.digest == one.digest
            self.entries += 1
        if not blocks:
            return
        run = b"".join(blocks)
        verify(run, self._kind, complete=False)
        self._spool.write(run)
        self.size += len(run)

    def _part(self) -> None:
        """Write what the earlier feed had and this one has not, as far as it stays for a while: ended, or cancelled."""
        gone = {
            uid for uid, was in self._earlier.items() if uid not in self._now and (was.rule or self._cancel)
        }
        if not gone:
            return
        leaving = Leaving(self._kind, self._today, self._zone, self._cancel)
        for uid, was in read_earlier(self._reread(), self._kind, bodies=True).items():
            body = leaving.last(was) if uid in gone else None
            if body is not None:
                self.put([Component(uid.decode(), body)])

    def book(self) -> dict[bytes, Revision]:
        """Return what is known of the feed's entries once it is written."""
        left = {uid: Revision(w.stamp, w.sequence, w.digest) for uid, w in self._earlier.items()}
        return turned(self._known, left, self._now, self._today)

    def write(self, stream: IO[bytes], *, parse: bool) -> int:
        """Write the whole feed and return its size in bytes. With `parse`, icalendar has to read its head first."""
        self._part()
        unchanged = self._kept == self.entries == len(self._earlier) and self._modified
        stamp = later(self._stamp, self._modified)
        top = self._header(self._modified if unchanged else stamp)
        if unchanged and not self._begins(top):
            top = self._header(stamp)
        # The entries were looked at run by run as they came, and their UIDs across the runs.
        verify(top + footer(), self._kind)
        self._spool.seek(0)
        if parse:
            referee(top + self._spool.read(IN_MEMORY) + footer(), self._kind)
            self._spool.seek(0)
        stream.write(top)
        shutil.copyfileobj(self._spool, stream, 1 << 20)
        stream.write(footer())
        self._spool.close()
        return len(top) + self.size + len(footer())

    def _header(self, stamp: bytes) -> bytes:
        return header(self._feed, stamp, self._first_year, empty=not self.entries)

    def drop(self) -> None:
        """Let go of the entries."""
        self._spool.close()
        self._earlier, self._now, self._known = {}, {}, {}


def name_of(feed: Feed) -> str:
    """Return the file name of a feed."""
    return f"{feed.stem}.ics"
