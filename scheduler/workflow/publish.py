"""Files that are replaced all together or not at all."""

from __future__ import annotations

import datetime as dt
import errno
import io
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import IO

from scheduler.calendar.component import Component, Writer
from scheduler.calendar.continuity import cancelled, keep_start, later, lead, read_earlier
from scheduler.calendar.feed import Feed, footer, header, stamp_of
from scheduler.calendar.verify import FeedError, referee, verify
from scheduler.errors import WriteError
from scheduler.plan import Series

IN_MEMORY = 1_000_000
"""Entries of a feed are kept in memory up to so many bytes, and in a temporary file beyond."""

PREFIX, SUFFIX = ".pondround-", ".tmp"
LEFT_SECONDS = 3600.0
"""A temporary file that is older was left by an export that was killed."""

REFEREE_FEEDS = 1
"""Of so many feeds of an export icalendar reads the head; every feed passes the program's own check."""

SYNC_ONE_BY_ONE = 64
"""Up to so many files each is flushed to the disk by itself; for more the whole system is asked once."""

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

    def __init__(self, feed: Feed, before: bytes, view: View, begins: Callable[[bytes], bool]) -> None:
        """Read the earlier feed, whose stamps and sequence numbers go on; `begins` tells whether it begins with some bytes."""
        self.name = name_of(feed)
        self._feed, self._begins, self._first_year = feed, begins, view.first_year
        self._stamp, self._today = stamp_of(view.today, feed.site.place.zone), view.today
        self._cancel = view.cancel
        self._kept_from = view.today if view.keep_starts else None
        self._kind = feed.options.kind
        self._earlier = read_earlier(before, self._kind, bodies=view.cancel)
        modified = _MODIFIED.search(before[:600])
        # A feed that is not whole has no time of change to go on from.
        whole = before.endswith(footer()) and before.count(b"\r\nEND:" + self._kind.encode()) == len(
            self._earlier
        )
        self._modified = modified[1] if modified and whole else b""
        self._spool: IO[bytes] = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - closed by finish and drop
        self._kept = 0
        self._uids: set[str] = set()
        self.size = 0
        self.entries = 0

    def add(self, writer: Writer, series: Series, tail: bytes) -> None:
        """Write the entries of a series, which share `tail`."""
        if series.rule is not None and series.first is not None and self._kept_from is not None:
            series = keep_start(series, writer.rule_uid(series), self._earlier, self._kept_from)
        self.put(writer.components(series, tail))

    def put(self, components: Iterable[Component]) -> None:
        """Write a run of entries, and look at it before it counts."""
        blocks: list[bytes] = []
        for component in components:
            head, same = lead(self._kind, component.uid, component.body, self._earlier, self._stamp)
            blocks.append(head)
            blocks.append(component.body)
            if component.uid in self._uids:
                raise FeedError(f"{self.name} holds two entries with one UID")
            self._uids.add(component.uid)
            self._kept += same
            self.entries += 1
        if not blocks:
            return
        run = b"".join(blocks)
        verify(run, self._kind, complete=False)
        self._spool.write(run)
        self.size += len(run)

    def _cancel_gone(self) -> None:
        """Write what the earlier feed had and this one has not as cancelled, where that is asked for."""
        for uid, was in self._earlier.items() if self._cancel else ():
            name = uid.decode()
            found = None if name in self._uids else cancelled(was, self._kind, self._today)
            if found is not None:
                self.put([Component(name, found[0])])

    def write(self, stream: IO[bytes], *, parse: bool) -> int:
        """Write the whole feed and return its size in bytes. With `parse`, icalendar has to read its head first."""
        self._cancel_gone()
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
        self.drop()
        return len(top) + self.size + len(footer())

    def _header(self, stamp: bytes) -> bytes:
        return header(self._feed, stamp, self._first_year, empty=not self.entries)

    def drop(self) -> None:
        """Let go of the entries."""
        self._spool.close()
        self._earlier = {}


def name_of(feed: Feed) -> str:
    """Return the file name of a feed."""
    return f"{feed.stem}.ics"


class Shelf:
    """Feeds in memory, each going on from an earlier one. To be closed: of a site's feed two are begun, and one is chosen."""

    def __init__(self, earlier: Callable[[str], bytes]) -> None:
        """Take what returns the bytes of an earlier feed by its file name, or none."""
        self._earlier = earlier
        self._drafts: list[Draft] = []
        self.feeds: dict[str, bytes] = {}

    def draft(self, feed: Feed, view: View) -> Draft:
        """Begin a feed."""
        before = self._earlier(name_of(feed))
        draft = Draft(feed, before, view, before.startswith)
        self._drafts.append(draft)
        return draft

    def finish(self, draft: Draft) -> int:
        """Keep a draft as a feed, and return its size."""
        stream = io.BytesIO()
        size = draft.write(stream, parse=not self.feeds)
        self.feeds[draft.name] = stream.getvalue()
        return size

    def close(self) -> None:
        """Let go of what was begun."""
        for draft in self._drafts:
            draft.drop()


class Folder:
    """A folder of feeds: drafts become temporary files in it, and all take their places at the end."""

    def __init__(self, path: Path, now: float) -> None:
        """Aim at a folder; it is made when it does not exist. `now` is in seconds, as the files' times are."""
        self._path, self._now = path, now
        self._ready: list[tuple[Path, Path, int, int]] = []
        self._drafts: list[Draft] = []

    def __enter__(self) -> Folder:
        """Make the folder. WriteError when that is not possible."""
        try:
            self._path.mkdir(parents=True, exist_ok=True)
            self._sweep()
        except (OSError, ValueError) as error:
            raise _failure(self._path, error) from None
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
        old = self._path / name_of(feed)
        draft = Draft(feed, _read(old), view, lambda top: _starts_with(old, top))
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
        self._drafts.remove(draft)
        return size

    def publish(self) -> tuple[tuple[Path, int, int], ...]:
        """Put every finished feed into its place, and return (file, entries, bytes) of each.

        A feed whose bytes did not change is left alone: its date of change is what a web host tells its readers.
        """
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
