"""A feed being written, which goes on from the one that it will replace."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import IO

from scheduler.calendar.component import Component, Recurring, Writer
from scheduler.calendar.continuity import PublishedEntry, keep_start, later, lead, read_earlier, revision
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

    The day, the first year of any entry, whether rules keep their starts, and whether what is gone is
    cancelled.
    """

    today: dt.date
    first_year: int
    keep_starts: bool
    cancel: bool = False


@dataclass(frozen=True, slots=True)
class Earlier:
    """A feed as it stands, which a draft goes on from: its entries by UID, and its time of change where it is
    whole.

    `book` is what was published of it beyond the feed itself. `reread` returns its bytes again, and `begins`
    tells whether they begin with some others.
    """

    entries: Mapping[bytes, PublishedEntry]
    modified: bytes
    book: Book
    reread: Callable[[], bytes]
    begins: Callable[[bytes], bool]


def earlier_feed(
    kind: str, reread: Callable[[], bytes], begins: Callable[[bytes], bool], book: Book
) -> Earlier:
    """Read a feed that is to be replaced; `kind` is that of its components."""
    text = reread()
    entries = read_earlier(text, kind)
    modified = _MODIFIED.search(text[:600])
    # A feed that is not whole has no time of change to go on from.
    whole = text.endswith(footer()) and text.count(b"\r\nEND:" + kind.encode()) == len(entries)
    return Earlier(entries, modified[1] if modified and whole else b"", book, reread, begins)


class Draft:
    """A feed being written beside the one that it will replace."""

    def __init__(self, feed: Feed, view: View, earlier: Earlier) -> None:
        """Begin a feed, whose stamps and sequence numbers go on from those of the earlier one."""
        self.name = name_of(feed)
        self._feed, self._view, self._earlier = feed, view, earlier
        self._now: dict[bytes, Revision] = {}
        self._spool: IO[bytes] = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - closed by finish and drop
        self._kept = 0
        self.size = 0
        self.entries = 0

    @property
    def _kind(self) -> str:
        return self._feed.options.kind

    @cached_property
    def _stamp(self) -> bytes:
        return stamp_of(self._view.today, self._feed.site.settings.zone)

    def add(self, writer: Writer, entries: Iterable[Component | Recurring]) -> None:
        """Write a run of entries. One with a rule goes on from the day on which it began in the earlier
        feed."""
        self.put(self._made(writer, entries))

    def _made(self, writer: Writer, entries: Iterable[Component | Recurring]) -> Iterator[Component]:
        for entry in entries:
            if isinstance(entry, Component):
                yield entry
                continue
            kept = entry
            if self._view.keep_starts:
                kept = keep_start(entry, self._earlier.entries, self._view.today)
            left = kept.without_out()
            if left is not None:
                yield writer.recurring(left)

    def put(self, components: Iterable[Component]) -> None:
        """Write a run of entries, and look at it before it counts."""
        blocks: list[bytes] = []
        kind, now, stamp = self._kind.encode(), self._now, self._stamp
        earlier, known = self._earlier.entries, self._earlier.book
        for component in components:
            uid = component.uid.encode()
            if uid in now:
                raise FeedError(f"{self.name} holds two entries with one UID")
            was = earlier.get(uid)
            now[uid] = one = revision(component.body, was, known.get(uid), stamp)
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
        """Write what the earlier feed had and this one has not, as far as it stays for a while: ended, or
        cancelled."""
        cancel = self._view.cancel
        before = self._earlier.entries
        gone = {uid for uid, was in before.items() if uid not in self._now and (was.rule or cancel)}
        if not gone:
            return
        leaving = Leaving(self._kind, self._view.today, self._feed.site.settings.zone, cancel)
        for uid, was in read_earlier(self._earlier.reread(), self._kind, bodies=True).items():
            body = leaving.last(was) if uid in gone else None
            if body is not None:
                self.put([Component(uid.decode(), body)])

    def book(self) -> dict[bytes, Revision]:
        """Return what is known of the feed's entries once it is written."""
        left = {uid: Revision(w.stamp, w.sequence, w.digest) for uid, w in self._earlier.entries.items()}
        return turned(self._earlier.book, left, self._now, self._view.today)

    def write(self, stream: IO[bytes], *, parse: bool) -> int:
        """Write the whole feed and return its size in bytes.

        With `parse`, icalendar has to read its head first.
        """
        self._part()
        modified = self._earlier.modified
        unchanged = self._kept == self.entries == len(self._earlier.entries) and modified
        stamp = later(self._stamp, modified)
        top = self._header(modified if unchanged else stamp)
        if unchanged and not self._earlier.begins(top):
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
        return header(self._feed, stamp, self._view.first_year, empty=not self.entries)

    def drop(self) -> None:
        """Let go of the entries."""
        self._spool.close()
        self._earlier, self._now = replace(self._earlier, entries={}, book={}), {}


def name_of(feed: Feed) -> str:
    """Return the file name of a feed."""
    return f"{feed.stem}.ics"
