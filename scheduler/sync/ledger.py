"""The log as a sync keeps it open: what was put into collections, and what was done."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from scheduler.description import Site
from scheduler.history import DONE_DAYS, Entry
from scheduler.workflow.site_log import open_to_record

if TYPE_CHECKING:
    from scheduler.log.caldav_resources import StoredResource


class Ledger:
    """The log as a sync keeps it open: what was put into collections, and what was done.

    A context manager.
    """

    def __init__(self, file: Path, site: Site) -> None:
        """Open the log; it is made where there is none."""
        self._site, self._log = site.settings.id, open_to_record(file, site)

    def __enter__(self) -> Self:
        """Return the ledger."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the log."""
        self._log.__exit__(kind, error, trace)

    def collections(self) -> list[str]:
        """Return the collections into which something was put that is there still, by their addresses."""
        from scheduler.log.caldav_resources import collections_of

        return collections_of(self._log, self._site)

    def put_there(self, collection: str) -> dict[str, StoredResource]:
        """Return what was put into a collection, by UID."""
        from scheduler.log.caldav_resources import put_there

        return put_there(self._log, self._site, collection)

    def remember(self, collection: str, put: StoredResource) -> None:
        """Keep what was put into a collection, or what was agreed with it."""
        from scheduler.log.caldav_resources import remember_put

        remember_put(self._log, self._site, collection, put)

    def forget(self, collection: str, uid: str) -> None:
        """Forget what is no longer there."""
        from scheduler.log.caldav_resources import forget_put

        forget_put(self._log, self._site, collection, uid)

    def done(self, today: dt.date) -> list[Entry]:
        """Return what was done and stands, as far back as collections show it, in the order of recording."""
        since = today - dt.timedelta(days=2 * DONE_DAYS)
        return list(self._log.entries(self._site, since=since, until=today, kind="done", voided=False))
