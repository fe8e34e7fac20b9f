"""What a merge decided, done: requests that write, and the log before and after each of them.

Whatever happens in between, nothing is lost and nothing doubled. What is new is noted in the log first, put
where nothing may be (If-None-Match), and taken as ours where it is there after all. What is to change is
noted in the log first, with the entity tag that it had: found with that tag it was not changed, with another
one it was. Nothing is ever changed or deleted but what the log has, and only while it is as it was seen
(If-Match).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.calendar import Writer
from scheduler.calendar.continuity import PublishedEntry
from scheduler.calendar.feed import stamp_of
from scheduler.errors import clip
from scheduler.sheets.terminal import safe
from scheduler.sync.address import path_of
from scheduler.sync.bases import Bases
from scheduler.sync.discovery import Collection
from scheduler.sync.errors import SyncError
from scheduler.sync.merge import Action, Adopt, Delete, Forget, Keep, Put, RemoteState, Replace, resource_url
from scheduler.sync.outcome import Tally
from scheduler.sync.remote import RemoteEntry
from scheduler.sync.resource import PENDING, Base, sent_of, text_of
from scheduler.sync.survey import GONE, read_reply

if TYPE_CHECKING:
    from scheduler.sync.session import Reply, Session

PRECONDITION_FAILED = 412


class Executor:
    """Does what was decided about one collection, and counts it."""

    def __init__(
        self,
        session: Session,
        collection: Collection,
        bases: Bases,
        tally: Tally,
        *,
        writer: Writer,
        today: dt.date,
    ) -> None:
        """Take where to write; nothing is asked of the server yet."""
        self._session, self._collection, self._bases, self._tally = session, collection, bases, tally
        self._writer, self._today = writer, today
        self._written: set[str] = set()
        self.changed_meanwhile = False

    def do(self, action: Action, remote: RemoteState) -> None:
        """Do one thing to a collection that stands as was seen. SyncError where the server refuses."""
        match action:
            case Put():
                self._put(action)
            case Adopt():
                self._adopt(action.uid, self._text(action))
            case Replace():
                self._replace(action, remote)
            case Delete():
                self._delete(action.base, remote)
            case Forget():
                self._bases.forget(action.uid)
            case Keep():
                self._tally.unchanged += action.uid not in self._written

    def _text(self, action: Put | Adopt) -> str:
        return text_of(
            self._writer, action.uid, action.content, action.year, today=self._today, was=action.was
        )

    def _put(self, action: Put) -> None:
        uid, text, url = action.uid, self._text(action), resource_url(self._collection.url, action.uid)
        sent, before = sent_of(self._writer, text), self._bases.by_uid.get(uid)
        # Whoever breaks off here knows it later, also when it is no longer wanted then.
        self._bases.keep(uid, url, PENDING, text)
        reply = self._session.put(url, sent, {"If-None-Match": "*"})
        if reply.good:
            self._bases.keep(uid, url, reply.etag, text)
            self._written.add(uid)
            self._tally.put += 1
            return
        if before is None:
            self._bases.forget(uid)
        else:
            self._bases.restore(before)
        if not _is_not_as_it_was(reply) and not reply.says("no-uid-conflict"):
            raise self._refused(reply)
        self._adopt(uid, text)

    def _adopt(self, uid: str, text: str) -> None:
        """Take as ours what is there under our UID: put by a sync that was broken off, or moved.

        It is looked at next.
        """
        url = resource_url(self._collection.url, uid)
        remote = read_reply(self._session.ask("GET", url), self._writer)
        where = url if remote is not None and remote.uid == uid else None
        where = where or self._session.of_uid(self._collection.url, self._writer.options.kind, uid)
        if where is None:
            raise SyncError(
                f"something else stands at {clip(url, 200)}, where one of ours belongs; it is left "
                "alone: move it elsewhere"
            )
        self._bases.keep(uid, where, "", text)
        self.changed_meanwhile = True

    def _replace(self, action: Replace, remote: RemoteState) -> None:
        base = action.base
        uid, url = base.stored.uid, base.stored.href
        entry, tag = remote.entries.get(uid), self._tag(url, remote)
        if entry is None:
            entry = read_reply(self._session.ask("GET", url), self._writer)
        was = self._beyond(base.was, entry)
        text = text_of(self._writer, uid, action.content, action.year, today=self._today, was=was)
        self._bases.keep(uid, url, PENDING + tag, text)
        sent = sent_of(self._writer, text, entry.kept if entry is not None else b"")
        reply = self._session.put(url, sent, {"If-Match": tag})
        if reply.good:
            self._bases.keep(uid, url, reply.etag, text)
            self._written.add(uid)
            self._tally.changed += 1
        elif _is_not_as_it_was(reply) or reply.status in GONE:
            # Somebody was quicker. What was agreed before still is, and what they wrote is looked at next.
            self._bases.restore(base)
            self.changed_meanwhile = True
        else:
            raise self._refused(reply)

    def _beyond(self, was: PublishedEntry, entry: RemoteEntry | None) -> PublishedEntry:
        """Return what a text has to be younger than: ours, and what somebody wrote since, unless that is not
        to be believed."""
        if entry is None:
            return was
        tomorrow = stamp_of(self._today + dt.timedelta(days=2), self._writer.zone)
        stamp = max(was.stamp, entry.stamp) if entry.stamp < tomorrow else was.stamp
        return replace(was, stamp=stamp, sequence=max(was.sequence, entry.sequence))

    def _delete(self, base: Base, remote: RemoteState) -> None:
        url = base.stored.href
        reply = self._session.ask("DELETE", url, headers={"If-Match": self._tag(url, remote)})
        if reply.good or reply.status in GONE:
            self._bases.forget(base.stored.uid)
            self._tally.removed += 1
        elif _is_not_as_it_was(reply):
            self.changed_meanwhile = True
        else:
            raise self._refused(reply)

    def _tag(self, url: str, remote: RemoteState) -> str:
        """Return the entity tag of an address as it was listed. SyncError where the server gives none."""
        tag = remote.tags.get(path_of(url), ("", ""))[1]
        if not tag:
            raise SyncError(
                f"{self._session.address.host} gives no entity tags, without which nobody can tell what "
                "others changed"
            )
        return tag

    def _refused(self, reply: Reply) -> SyncError:
        why = {
            401: "you may not change it; check whose it is",
            403: "you may not change it; check whose it is, and whether it takes to-dos",
            413: "it finds them too large",
            507: "it is full; make room there",
        }.get(reply.status, "try again, or ask whoever runs the server")
        said = "".join(f", {condition.rpartition('}')[2]}" for condition in reply.conditions)
        return SyncError(
            f"the collection {clip(self._collection.name)} takes nothing more (status "
            f"{reply.status}{safe(said)}): {why}"
        )


def _is_not_as_it_was(reply: Reply) -> bool:
    """Tell whether a condition on the entity tag was not met; some servers refuse a text with the same
    status, and say why."""
    return reply.status == PRECONDITION_FAILED and not reply.conditions
