"""The links of a site as they were last seen, by the keyed hashes of their secrets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from hmac import compare_digest
from typing import TYPE_CHECKING

from scheduler.errors import LogError
from scheduler.workflow.clock import now_utc
from scheduler.workflow.feeds.links import hashed

if TYPE_CHECKING:
    from scheduler.log import Log
    from scheduler.log.links import Link

FETCHED_HOURS = 1
"""How exactly it is known when a link was last used.

House value: a calendar program asks several times a day.
"""


USE_AGAIN = dt.timedelta(minutes=1)
"""A log that could not be written is not asked again for so long to note that a link was used."""


@dataclass(frozen=True, slots=True)
class LinkTarget:
    """What a secret opens: a link, and whether it was the secret of a page's own calendar."""

    link: Link
    calendar: bool

    @property
    def is_feed(self) -> bool:
        """Return whether it opens a feed, not a page."""
        return self.calendar or not self.link.is_page


class LinkTable:
    """The links of one site at a time. Read by many threads, and replaced whole by the one that looks."""

    def __init__(self, key: bytes) -> None:
        """Begin without links; `key` is that of the hashes."""
        self._key = key
        self._targets: dict[str, LinkTarget] = {}
        self._of: tuple[str, str, int] = ("", "", 0)
        self._used: dict[int, dt.datetime] = {}

    def refresh(self, log: Log, url: str, site: str, last_change: int) -> None:
        """Read the links of a site in the log at `url`, where they are not those that are known already."""
        from scheduler.log.links import links

        of = (url, site, last_change)
        if of == self._of:
            return
        self._targets = {
            value: LinkTarget(link, calendar)
            for link in links(log, site)
            if link.revoked is None
            for value, calendar in ((link.hash, False), (link.calendar_hash, True))
            if value
        }
        self._of = of

    def find(self, secret: str) -> LinkTarget | None:
        """Return what a secret opens; None where it opens nothing here."""
        own = hashed(self._key, secret)
        target = self._targets.get(own)
        if target is None:
            return None
        kept = target.link.calendar_hash if target.calendar else target.link.hash
        return target if compare_digest(kept, own) else None

    def is_use_noted(self, target: LinkTarget) -> bool:
        """Tell whether a link's use was noted within the hour."""
        last = self._used.get(target.link.number)
        return last is not None and now_utc() - last < dt.timedelta(hours=FETCHED_HOURS)

    def note_use(self, target: LinkTarget, log: Callable[[], Log], site: str) -> None:
        """Note that a link was used, once in an hour.

        Where the log does not take it, that is tried again in a while.
        """
        from scheduler.log.links import note_fetched

        number, now, last = target.link.number, now_utc(), target.link.fetched
        if last is not None and dt.timedelta(0) <= now - last < dt.timedelta(hours=FETCHED_HOURS):
            self._used[number] = last
            return
        self._used[number] = now - dt.timedelta(hours=FETCHED_HOURS) + USE_AGAIN
        try:
            note_fetched(log(), site, number, now)
        except LogError:
            # It is of no use to whoever asked; what they asked for says by itself whether the log is away.
            return
        self._used[number] = now
