"""A folder of feeds, replaced all together or not at all."""

from __future__ import annotations

import errno
import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Protocol

from scheduler.calendar.feed import Feed
from scheduler.calendar.revisions import joined, only_gone, read_book, write_book
from scheduler.errors import WriteError
from scheduler.workflow.feeds.draft import Draft, View, earlier_feed, name_of

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

    What was published and is not in the files any more is kept in `memory`, else in a hidden file beside
    them.
    """

    def __init__(self, path: Path, now: float, memory: Memory | None = None) -> None:
        """Aim at a folder; it is made when it does not exist.

        `now` is in seconds, as the files' times are.
        """
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
        earlier = earlier_feed(
            feed.options.kind, lambda: _read(old), lambda top: _starts_with(old, top), known
        )
        draft = Draft(feed, view, earlier)
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
        """Keep what is known, before any file is replaced: whoever is killed in between knows too much, not
        too little."""
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

        A feed whose bytes did not change is left alone: its date of change is what a web host tells its
        readers.
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
                    f"{final}: {error.strerror}. Each file is whole, but only the first {placed} of "
                    f"{len(self._ready)} are "
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
