"""All sites that are served: of the files that were named, and of every description in the folders that
were."""

from __future__ import annotations

import datetime as dt
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from scheduler.errors import DescriptionError, LogError, UsageError
from scheduler.workflow.feeds.links import SECRET, key_of
from scheduler.workflow.live.freshness import ANSWER_SECONDS, GLANCE_SECONDS, said_of
from scheduler.workflow.live.link_table import LinkTarget
from scheduler.workflow.live.site import LiveSite, Talk

SCAN_SECONDS = 2.0
"""So often it is looked for new descriptions in a folder, and for links that no site at hand knows; of few
sites more often."""


class Sites:
    """The sites, and which of them a secret belongs to. Safe to use from several threads."""

    def __init__(
        self, places: Sequence[Path], talk: Talk, as_of: dt.date | None = None, to_come: Path | None = None
    ) -> None:
        """Read all descriptions. DescriptionError for a named file that is wrong; one in a folder is told and
        left out. One that is `to_come` is served as soon as it is there.
        """
        self._places, self._talk, self._as_of = tuple(places), talk, as_of
        self._to_come: set[Path] = set()
        self._lock = threading.Lock()
        self._live: dict[Path, LiveSite] = {}
        self._refused: dict[Path, int] = {}
        self._scanned = -SCAN_SECONDS
        self._failure = ""
        self._known: dict[str, LiveSite] = {}
        if to_come is not None:
            self.expect(to_come)
        for file in self._files():
            self._begin(file, strict=file in self._places)
        if not self._live and to_come is None and not any(place.is_dir() for place in self._places):
            raise UsageError("name a description to serve")

    def __iter__(self) -> Iterator[LiveSite]:
        """Yield the sites in the order of their files."""
        return iter(list(self._live.values()))

    def expect(self, file: Path) -> None:
        """Serve a description from when it is there on."""
        self._to_come.add(file)
        self._places = (*dict.fromkeys((*self._places, file)),)
        self._scanned = -SCAN_SECONDS

    def site_of(self, secret: str) -> LiveSite | None:
        """Return the site that a secret was last found to belong to; whether it still does is for the site to
        say."""
        return self._known.get(secret)

    def is_link(self, secret: str) -> bool:
        """Tell whether a secret opens something, as far as was last seen; without asking the log."""
        return SECRET.fullmatch(secret) is not None and any(live.find(secret) for live in self)

    def find(self, secret: str) -> tuple[LiveSite, LinkTarget] | None:
        """Return the site and the link that a secret opens; None where it opens nothing, or nothing any more.

        LogError where it opens nothing that is known, and a log cannot be reached.
        """
        if SECRET.fullmatch(secret) is None:
            return None
        self._scan()
        for live in self:
            if live.find(secret) is None:
                continue
            # It was so when somebody looked last; a link may have ended since.
            live.look(now=True)
            found = live.find(secret)
            if found is not None:
                self._known[secret] = live
                return live, found
        self._known.pop(secret, None)
        if self._failure:
            # It may be of the site whose log is away.
            raise LogError(self._failure)
        return None

    def look(self) -> None:
        """See what is new everywhere, where nobody did so a moment ago.

        LogError where somebody is at it and gets no answer.
        """
        self._scan()

    def _scan(self) -> None:
        """See what is new everywhere, where nobody did so a moment ago, and which log cannot be reached."""
        if not self._lock.acquire(timeout=ANSWER_SECONDS):
            raise LogError("a log, or the disk of a description, does not answer")
        try:
            # Who has just made a link opens it at once.
            if time.monotonic() - self._scanned < min(SCAN_SECONDS, GLANCE_SECONDS * max(1, len(self._live))):
                return
            self._scanned = time.monotonic()
            files = self._files()
            for file in files:
                if file not in self._live:
                    self._begin(file, strict=False)
            for file in self._live.keys() - files:
                if file not in self._places:
                    self._talk(f"{file.name}: gone; it is served no more")
                    del self._live[file]
                    self._known = {s: live for s, live in self._known.items() if live.file != file}
            self._failure = ""
            for live in self._live.values():
                try:
                    live.look(now=True)
                except LogError as error:
                    self._failure = str(error)
        finally:
            self._lock.release()

    def _files(self) -> list[Path]:
        found: list[Path] = []
        for place in self._places:
            if place.is_dir():
                found += sorted(f for f in place.glob("*.toml") if not f.name.endswith(".species.toml"))
            elif place not in self._to_come or place.exists():
                found.append(place)
        return list(dict.fromkeys(found))

    def _begin(self, file: Path, *, strict: bool) -> None:
        try:
            changed = file.stat().st_mtime_ns if file.exists() else 0
            if not strict and self._refused.get(file) == changed:
                return
            self._refused[file] = changed
            live = LiveSite(file, key_of(file, make=True), self._talk, self._as_of)
            self._refuse_twin(live)
            self._live[file] = live
        except Exception as error:
            # One file must not cost the others, whatever it is that is wrong with it.
            if strict:
                raise
            self._talk(f"{file.name}: {_said(error)}; it is not served until that is mended")

    def _refuse_twin(self, live: LiveSite) -> None:
        """Raise UsageError where another site has the same name, and keeps the same log: each would be taken
        for the other."""
        for other in self._live.values():
            if other.site.settings.id == live.site.settings.id and other.log_place() == live.log_place():
                raise UsageError(
                    f"{other.file} and {live.file} describe sites of one name, and keep one log; give "
                    "one another name"
                )


def _said(error: Exception) -> str:
    if isinstance(error, DescriptionError):
        first = error.problems[0]
        return f"{first.where}: {first.message}"
    return said_of(error)
