"""A description as it is served: read again when it changes.

With a mistake in it the last one without goes on, everywhere.
"""

from __future__ import annotations

import threading
import time
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.errors import DescriptionError, LogError, Problem, SchedulerError, clip
from scheduler.workflow.clock import now_utc
from scheduler.workflow.site_files import read_text, site_of_texts, texts_beside
from scheduler.workflow.site_log import log_there

if TYPE_CHECKING:
    from scheduler.log import Log
    from scheduler.log.last_good import LastGood

KEEP_SECONDS = 2.0
"""So long one waits until the log has kept a description; where somebody else writes it goes on by itself."""

LOG_ITSELF = "postgresql://***"
"""What stands for the URL of the log in a description that the log keeps: it may hold a password, and whoever
reads it knows it."""


AGAIN_SECONDS = 60.0
"""A log that did not take a description is asked again after so long."""


@dataclass(frozen=True, slots=True)
class ReadDescription:
    """A description that was read: the site, a fingerprint of all the text, and that text with the sheets
    beside it."""

    site: Site
    content: str
    text: str
    sheets: Mapping[str, str] = field(repr=False)


class LiveDescription:
    """The description of a file. One thread at a time uses it, but for what it says of itself."""

    def __init__(self, file: Path, place: str, talk: Callable[[str], None]) -> None:
        """Read it. DescriptionError when it is wrong, and the log knows none from before; `place` is its name
        there."""
        self._file, self._place, self._talk = file, place, talk
        self.problem = ""
        """The first mistake, where there is one and an earlier description goes on."""
        self.reads = False
        """Whether it is being read at this moment."""
        self._seen = self._trace()
        self._keeping: threading.Thread | None = None
        self._kept, self._keep_again = "", 0.0
        try:
            self.now = self._read()
        except DescriptionError as error:
            last = self._last_at_start()
            if last is None:
                raise
            self.now = last
            self._tell(error)

    def look(self) -> None:
        """Read it again where it has changed."""
        trace = self._trace()
        if trace == self._seen:
            return
        self._seen, self.reads = trace, True
        try:
            self.now = self._read()
        except DescriptionError as error:
            self._tell(error)
            return
        finally:
            self.reads = False
        if self.problem:
            self._talk(f"{self._file.name}: read again, all is well")
        self.problem = ""
        # Another process may have kept what stood there meanwhile.
        self._kept = ""

    def agree(self, log: Log) -> None:
        """See that all processes have the same: keep in the log what is well, and take from it what is when
        this one is not.

        LogError where the log cannot be read.
        """
        if self.problem:
            self._take_last(log)
        elif self._kept != self.now.content and time.monotonic() >= self._keep_again:
            self._keep(log)

    # --- the file ---

    def _trace(self) -> tuple[object, ...]:
        """Return what tells a changed description: times and sizes of the file and of the species sheets
        beside it."""
        files = [self._file, *sorted(self._file.parent.glob("*.species.toml"))]
        found: list[object] = []
        for file in files:
            try:
                state = file.stat()
                found.append((file.name, state.st_mtime_ns, state.st_size, state.st_ino))
            except OSError:
                found.append((file.name, None))
        return tuple(found)

    def _read(self) -> ReadDescription:
        return _read(read_text(self._file), texts_beside(self._file))

    def _tell(self, error: DescriptionError) -> None:
        first = error.problems[0]
        self.problem = f"{first.where}: {first.message}" if first.path else first.message
        count = len(error.problems)
        more = f" (and {count - 1} more; pondround check {self._file.name} lists them)" if count > 1 else ""
        self._talk(f"{self._file.name}: {self.problem}{more}; what was read before goes on")

    # --- the log ---

    def _take_last(self, log: Log) -> None:
        """Go on with what was last well, whichever process has read that."""
        from scheduler.log.last_good import content_of, last_described

        if content_of(log, self._place) in ("", self.now.content):
            return
        last = last_described(log, self._place)
        if last is not None:
            try:
                self.now = _read_kept(last, self.now.site.settings.log)
            except DescriptionError:
                # It was well for another version.
                return

    def _keep(self, log: Log) -> None:
        if self._keeping is not None and self._keeping.is_alive():
            return
        self._keeping = threading.Thread(target=self._store, args=(log, self.now, self._seen), daemon=True)
        self._keeping.start()
        self._keeping.join(KEEP_SECONDS)

    def _store(self, log: Log, read: ReadDescription, seen: tuple[object, ...]) -> None:
        from scheduler.log.last_good import LastGood, keep_described, last_described

        text = _without_log(read.text, read.site.settings.log)
        if text is None:
            return
        new = LastGood(read.content, text, read.sheets)
        try:
            # By the whole text: one that was kept with its URL is kept anew.
            if last_described(log, self._place) != new:
                keep_described(
                    log,
                    read.site.settings.id,
                    self._place,
                    new,
                    now=now_utc(),
                    is_so=lambda: self._trace() == seen,
                )
            self._kept = read.content
        except LogError:
            self._keep_again = time.monotonic() + AGAIN_SECONDS

    def _last_at_start(self) -> ReadDescription | None:
        """Return what was last well before this process began; None where there is no file, no log, or
        nothing in it."""
        from scheduler.log.last_good import last_described

        if not self._file.exists():
            return None
        try:
            named = _log_named(self._file)
            log = log_there(named, self._file)
            if log is None:
                return None
            with log:
                last = last_described(log, self._place)
            return None if last is None else _read_kept(last, named)
        except SchedulerError:
            return None


def _read(text: str, sheets: Mapping[str, str]) -> ReadDescription:
    """Return what a text describes.

    DescriptionError for whatever is wrong with it, also what nobody has thought of.
    """
    told = "".join(sheets[name] for name in sorted(sheets))
    content = blake2b(f"{text}\0{told}".encode(), digest_size=16).hexdigest()
    try:
        return ReadDescription(site_of_texts(text, sheets), content, text, sheets)
    except SchedulerError:
        raise
    except Exception as error:
        said = f"it cannot be read: {type(error).__name__}: {clip(str(error))}"
        raise DescriptionError([Problem(path=(), message=said)]) from error


def _without_log(text: str, url: str | None) -> str | None:
    """Return a description without the URL of its log, where that may hold a password; None where it is
    written otherwise."""
    if url is None or ("@" not in url and "password" not in url.lower()):
        return text
    return text.replace(url, LOG_ITSELF) if url in text else None


def _read_kept(last: LastGood, url: str | None) -> ReadDescription:
    """Return what a kept description describes, with the URL of the log in which it was found."""
    return _read(last.text.replace(LOG_ITSELF, url or LOG_ITSELF), last.sheets)


def _log_named(file: Path) -> str | None:
    """Return the log that a description names that is wrong elsewhere; None where it names none, or nobody
    can tell."""
    try:
        text = read_text(file)
    except DescriptionError:
        return None
    # Of a text that is no TOML the table of the site may be.
    for part in (text, text.partition("\n[[")[0]):
        try:
            named = tomllib.loads(part)["site"]["log"]
        except (ValueError, KeyError, TypeError, RecursionError):
            continue
        return named if isinstance(named, str) else None
    return None
