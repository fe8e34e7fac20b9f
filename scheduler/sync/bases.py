"""What was agreed last with a collection, resource by resource, as the log keeps it."""

from __future__ import annotations

import datetime as dt

from scheduler.calendar import Writer
from scheduler.log.caldav_resources import StoredResource
from scheduler.sync.ledger import Ledger
from scheduler.sync.merge import RemoteChange
from scheduler.sync.resource import Base, base_of, done_content, open_content, text_of


class Bases:
    """The bases of one collection by UID, in the order of their days. What changes is in the log at once."""

    def __init__(self, writer: Writer, ledger: Ledger, url: str, today: dt.date) -> None:
        """Read what the log has of the collection at `url`."""
        self._writer, self._ledger, self._url, self._today = writer, ledger, url, today
        found = (base_of(writer, stored) for stored in ledger.put_there(url).values())
        ordered = sorted(
            (base for base in found if base is not None), key=lambda base: (base.day, base.stored.uid)
        )
        self.by_uid: dict[str, Base] = {base.stored.uid: base for base in ordered}

    def keep(self, uid: str, url: str, tag: str, text: str) -> None:
        """Keep a text as agreed, with its address and entity tag."""
        stored = StoredResource(uid, url, tag, text)
        self._ledger.remember(self._url, stored)
        base = base_of(self._writer, stored)
        assert base is not None
        self.by_uid[uid] = base

    def restore(self, base: Base) -> None:
        """Keep what was agreed before."""
        stored = base.stored
        self.keep(stored.uid, stored.href, stored.etag, stored.body)

    def forget(self, uid: str) -> None:
        """Forget a resource."""
        self._ledger.forget(self._url, uid)
        del self.by_uid[uid]

    def agree(self, change: RemoteChange) -> None:
        """Keep that the server has what was agreed, at an address and with a tag that may be new."""
        self.keep(change.base.stored.uid, change.url, change.tag, change.base.stored.body)

    def agree_done(self, change: RemoteChange, day: dt.date, time: dt.time | None, *, ticked: bool) -> None:
        """Keep that an entry was done, which the server says too."""
        content = done_content(self._writer, change.base.content, day, time, ticked=ticked)
        self._agree_on(change, content)

    def agree_open(self, change: RemoteChange) -> None:
        """Keep that an entry is not done after all, as the server says too."""
        self._agree_on(change, open_content(change.base.content))

    def _agree_on(self, change: RemoteChange, content: bytes) -> None:
        base = change.base
        text = text_of(self._writer, base.stored.uid, content, base.day.year, today=self._today, was=base.was)
        self.keep(base.stored.uid, change.url, change.tag, text)
