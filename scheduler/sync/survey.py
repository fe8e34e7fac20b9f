"""A look at a collection: what is not there, what is not as it was agreed, and what must be left alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from scheduler.calendar import Writer
from scheduler.errors import clip
from scheduler.sync.address import path_of
from scheduler.sync.discovery import Collection
from scheduler.sync.errors import SyncError
from scheduler.sync.merge import RemoteChange, RemoteState, judge
from scheduler.sync.remote import RemoteEntry, read_entry
from scheduler.sync.resource import Base

if TYPE_CHECKING:
    from scheduler.sync.session import Reply, Session

GONE = (404, 410)
"""Statuses of what is not there any more (RFC 9110, sections 15.5.5 and 15.5.11)."""


def survey(
    session: Session, collection: Collection, bases: Mapping[str, Base], writer: Writer
) -> tuple[RemoteState, list[RemoteChange]]:
    """Return how a collection stands and what others changed in it. SyncError where it cannot be read.

    Only what has another entity tag than was agreed is fetched.
    """
    tags = session.listed(collection.url)
    if tags is None:
        raise SyncError(f"the collection {clip(collection.name)} cannot be read; look whether it is there")
    ours = {path_of(base.stored.href) for base in bases.values()} | {path_of(collection.url)}
    look = _Survey(session, collection.url, writer, tags, elsewhere=bool(tags.keys() - ours))
    changes = [change for base in bases.values() if (change := look.at(base)) is not None]
    return look.state(), changes


class _Survey:
    """One look at a collection. `elsewhere` tells whether anything stands at an address that is not known."""

    def __init__(
        self,
        session: Session,
        url: str,
        writer: Writer,
        tags: Mapping[str, tuple[str, str]],
        *,
        elsewhere: bool,
    ) -> None:
        self._session, self._url, self._writer = session, url, writer
        self._tags, self._elsewhere = tags, elsewhere
        self._entries: dict[str, RemoteEntry] = {}
        self._gone: set[str] = set()
        self._withheld: dict[str, str] = {}
        self._unsettled: set[str] = set()

    def state(self) -> RemoteState:
        """Return what was seen."""
        gone, unsettled = frozenset(self._gone), frozenset(self._unsettled)
        return RemoteState(self._tags, self._entries, gone, self._withheld, unsettled)

    def at(self, base: Base) -> RemoteChange | None:
        """Look at one resource; return what others changed of it, None where they changed nothing that can be
        read."""
        uid = base.stored.uid
        url, tag = self._tags.get(path_of(base.stored.href), ("", ""))
        if url and tag and tag == base.tag:
            if base.pending:
                self._unsettled.add(uid)
            return None
        if not url and self._elsewhere:
            # Some programs write what they change to another address.
            url = self._session.of_uid(self._url, self._writer.options.kind, uid) or ""
            tag = self._tags.get(path_of(url), ("", ""))[1]
        reply = self._session.ask("GET", url) if url else None
        if reply is None or reply.status in GONE:
            self._gone.add(uid)
            return None
        if not reply.good:
            # Written over, it would lose a tick that may be in it.
            self._withheld[uid] = f"the server does not give it (status {reply.status})"
            return None
        remote = read_reply(reply, self._writer)
        change = judge(base, remote, url, tag)
        if change.verdict == "replaced":
            self._withheld[uid] = "something else stands in its place"
        elif remote is not None:
            self._entries[uid] = remote
        return change


def read_reply(reply: Reply, writer: Writer) -> RemoteEntry | None:
    """Return the entry that an answer holds; None where it holds none that can be read."""
    return read_entry(reply.text, writer.options.kind, writer.zone) if reply.good else None
