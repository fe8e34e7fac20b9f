"""Files that are replaced all together or not at all."""

from __future__ import annotations

import datetime as dt
import errno
import io
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import IO, Protocol

from scheduler.calendar.component import Component, Recurring, Writer
from scheduler.calendar.continuity import keep_start, later, lead, read_earlier, revision
from scheduler.calendar.endings import Leaving
from scheduler.calendar.feed import Feed, footer, header, stamp_of
from scheduler.calendar.revisions import Book, Revision, joined, only_gone, read_book, turned, write_book
from scheduler.calendar.verify import FeedError, referee, verify
from scheduler.errors import WriteError

IN_MEMORY = 1_000_000
"""Entries of a feed are kept in memory up to so many bytes, and in a temporary file beyond."""

PREFIX, SUFFIX = ".pondround-", ".tmp"
ASIDE = ".pondround-published"
"""The hidden file beside the feeds: of what was published and is not in them any more, the last revision."""

LEFT_SECONDS = 3600.0
"""A temporary file that is older was left by an export that was killed."""

REFEREE_FEEDS = 1
"""Of so many feeds of an export icalendar reads the head; every feed passes the program's own check."""

SYNC_ONE_BY_ONE = 64
"""Up to so many files each is flushed to the disk by itself; for more the whole system is asked once."""

_FEED = re.compile(rb"^feed ([a-z0-9.-]+)\n", re.M)
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


class Shelf:
    """Feeds in memory, each going on from an earlier one. To be closed: of a site's feed two are begun, and one is chosen."""

    def __init__(self, earlier: Callable[[str], bytes], books: Mapping[str, bytes]) -> None:
        """Take what returns the bytes of an earlier feed by its file name, or none, and what is known of each."""
        self._earlier, self._known = earlier, books
        self._drafts: list[Draft] = []
        self.feeds: dict[str, bytes] = {}
        self.books: dict[str, bytes] = {}

    def draft(self, feed: Feed, view: View) -> Draft:
        """Begin a feed."""
        name = name_of(feed)
        before = self._earlier(name)
        known = read_book(self._known.get(name, b""))
        draft = Draft(feed, lambda: before, view, before.startswith, known)
        self._drafts.append(draft)
        return draft

    def finish(self, draft: Draft) -> int:
        """Keep a draft as a feed, and return its size."""
        stream = io.BytesIO()
        size = draft.write(stream, parse=not self.feeds)
        self.feeds[draft.name] = stream.getvalue()
        self.books[draft.name] = write_book(draft.book())
        draft.drop()
        return size

    def close(self) -> None:
        """Let go of what was begun."""
        for draft in self._drafts:
            draft.drop()


class Memory(Protocol):
    """Where it is kept what was published, beyond the files themselves."""

    def known(self) -> Mapping[str, bytes]:
        """Return the book of each feed by its file name."""
        ...

    def keep(self, books: Mapping[str, bytes]) -> bool:
        """Keep the books of some feeds, and tell whether that was possible."""
        ...


class Folder:
    """A folder of feeds: drafts become temporary files in it, and all take their places at the end.

    What was published and is not in the files any more is kept in `memory`, else in a hidden file beside them.
    """

    def __init__(self, path: Path, now: float, memory: Memory | None = None) -> None:
        """Aim at a folder; it is made when it does not exist. `now` is in seconds, as the files' times are."""
        self._path, self._now, self._memory = path, now, memory
        self._aside: dict[str, bytes] = {}
        self._known: Mapping[str, bytes] = {}
        self._books: dict[str, bytes] = {}
        self._ready: list[tuple[Path, Path, int, int]] = []
        self._drafts: list[Draft] = []

    def __enter__(self) -> Folder:
        """Make the folder. WriteError when that is not possible."""
        try:
            self._path.mkdir(parents=True, exist_ok=True)
            self._sweep()
            self._aside = _read_aside(_read(self._path / ASIDE))
        except (OSError, ValueError) as error:
            raise _failure(self._path, error) from None
        if self._memory is not None:
            self._known = self._memory.known()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take away what was not published; turn a refusal of the system into a WriteError."""
        for draft in self._drafts:
            draft.drop()
        for temporary, _, _, _ in self._ready:
            temporary.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _failure(self._path, error) from None

    def _sweep(self) -> None:
        """Take away what an export left that was killed; a younger file may belong to one that is running."""
        for left in self._path.glob(f"{PREFIX}*{SUFFIX}"):
            if self._now - left.stat().st_mtime > LEFT_SECONDS:
                left.unlink(missing_ok=True)

    def draft(self, feed: Feed, view: View) -> Draft:
        """Begin a feed."""
        name = name_of(feed)
        old = self._path / name
        known = joined(read_book(self._aside.get(name, b"")), read_book(self._known.get(name, b"")))
        draft = Draft(feed, lambda: _read(old), view, lambda top: _starts_with(old, top), known)
        self._drafts.append(draft)
        return draft

    def finish(self, draft: Draft) -> int:
        """Write a draft into a temporary file of the folder, and return its size."""
        handle, name = tempfile.mkstemp(prefix=PREFIX, suffix=SUFFIX, dir=self._path)
        temporary, final = Path(name), self._path / draft.name
        self._ready.append((temporary, final, draft.entries, 0))
        with os.fdopen(handle, "wb") as stream:
            size = draft.write(stream, parse=len(self._ready) <= REFEREE_FEEDS)
            stream.flush()
            if len(self._ready) <= SYNC_ONE_BY_ONE:
                os.fsync(stream.fileno())
        # Readers on a web host are other users than the keeper.
        temporary.chmod(0o644)
        self._ready[-1] = (temporary, final, draft.entries, size)
        book = draft.book()
        self._books[draft.name] = write_book(book if self._memory is not None else only_gone(book))
        draft.drop()
        self._drafts.remove(draft)
        return size

    def _remember(self) -> None:
        """Keep what is known, before any file is replaced: whoever is killed in between knows too much, not too little."""
        if self._memory is not None and self._memory.keep(self._books):
            return
        # The files beside it tell the rest.
        gone = {name: write_book(only_gone(read_book(book))) for name, book in self._books.items()}
        text = _write_aside(self._aside | gone)
        aside = self._path / ASIDE
        if text == _write_aside(self._aside) or not (text or aside.exists()):
            return
        handle, name = tempfile.mkstemp(prefix=PREFIX, suffix=SUFFIX, dir=self._path)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
            Path(name).replace(aside)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise

    def publish(self) -> tuple[tuple[Path, int, int], ...]:
        """Put every finished feed into its place, and return (file, entries, bytes) of each.

        A feed whose bytes did not change is left alone: its date of change is what a web host tells its readers.
        """
        self._remember()
        if len(self._ready) > SYNC_ONE_BY_ONE:
            os.sync()
        for placed, (temporary, final, _, _) in enumerate(self._ready):
            try:
                if _same(temporary, final):
                    temporary.unlink()
                else:
                    temporary.replace(final)
            except OSError as error:
                if not placed:
                    raise
                raise WriteError(
                    f"{final}: {error.strerror}. Each file is whole, but only the first {placed} of {len(self._ready)} are "
                    "new; export again"
                ) from None
        done = tuple((final, entries, size) for _, final, entries, size in self._ready)
        self._ready = []
        return done


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except FileNotFoundError:
        return b""


def _read_aside(text: bytes) -> dict[str, bytes]:
    """Return the books of a hidden file by the name of their feeds."""
    parts = _FEED.split(text)
    return {name.decode(): book for name, book in zip(parts[1::2], parts[2::2], strict=True)}


def _write_aside(books: Mapping[str, bytes]) -> bytes:
    return b"".join(b"feed %b\n%b" % (name.encode(), books[name]) for name in sorted(books) if books[name])


def _starts_with(file: Path, top: bytes) -> bool:
    with file.open("rb") as stream:
        return stream.read(len(top)) == top


def _same(a: Path, b: Path) -> bool:
    return b.exists() and a.stat().st_size == b.stat().st_size and a.read_bytes() == b.read_bytes()


def _failure(path: Path, error: OSError | ValueError) -> WriteError:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    more = {errno.ENOSPC: "; make room", errno.EACCES: "; choose a folder that you may write to"}
    tip = more.get(error.errno or 0, "") if isinstance(error, OSError) else ""
    # A calendar that is in the way is named; otherwise the folder says more than a temporary file.
    named = str(getattr(error, "filename", None) or "")
    where = named if named.endswith(".ics") else str(path)
    shown = "".join(c if c.isprintable() else "?" for c in where)
    return WriteError(f"nothing was written to {shown}: {reason}{tip}. The old files are untouched")
