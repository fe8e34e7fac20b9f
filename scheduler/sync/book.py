"""One collection and what the log has of it: looked at, then brought to what it should be.

Whatever happens in between, nothing is lost and nothing doubled. What is new is noted in the log first, put where nothing may
be (If-None-Match), and taken as ours where it is there after all. What is to change is noted in the log first, with the entity
tag that it had: found with that tag it was not changed, with another one it was. Nothing is ever changed or deleted but what
the log has, and only while it is as it was seen (If-Match).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import urljoin

from scheduler.calendar import Writer
from scheduler.calendar.continuity import Was
from scheduler.calendar.feed import stamp_of
from scheduler.description.site import Keeper
from scheduler.errors import clip
from scheduler.history import Entry
from scheduler.log.caldav_resources import Put
from scheduler.sheets.terminal import safe
from scheduler.sync.address import path_of
from scheduler.sync.discovery import Collection
from scheduler.sync.errors import SyncError
from scheduler.sync.ledger import Ledger
from scheduler.sync.outcome import Kind, Outcome, Tally
from scheduler.sync.plan import Plan
from scheduler.sync.remote import Seen, read_seen
from scheduler.sync.resource import (
    PENDING,
    Agreed,
    Wanted,
    agreed_of,
    done_content,
    open_content,
    same_content,
    sent_of,
    text_of,
)
from scheduler.sync.rules import Change, judge
from scheduler.workflow import DONE_DAYS

if TYPE_CHECKING:
    from scheduler.sync.session import Connection, Reply

_REMARKS: Mapping[str, Kind] = {"done": "reopened", "cancelled": "put back", "broken": "mended"}

GONE = (404, 410)
NOT_AS_IT_WAS = 412


class Book:
    """A collection of one keeper, or of everybody, as the log has it and as it is.

    Of a keeper who `left` nothing is wanted any more: what was ticked is read, and what is still to be done goes.
    """

    def __init__(
        self,
        connection: Connection,
        ledger: Ledger,
        collection: Collection,
        keeper: Keeper | None,
        *,
        writer: Writer,
        today: dt.date,
        left: bool = False,
    ) -> None:
        """Read what the log has; nothing is asked of the server yet."""
        self._connection, self._ledger, self._writer, self._today = connection, ledger, writer, today
        self.collection, self.keeper, self.left = collection, keeper, left
        self.tally = Tally(collection.name, collection.url, keeper.id if keeper else "")
        found = (agreed_of(writer, put) for put in ledger.put_there(collection.url).values())
        ordered = sorted((one for one in found if one is not None), key=lambda one: (one.day, one.put.uid))
        self.agreed = {one.put.uid: one for one in ordered}
        self.changed_meanwhile = False
        self._listed: dict[str, tuple[str, str]] = {}
        self._gone: set[str] = set()
        self._left: dict[str, str] = {}
        self._to_write: dict[str, str] = {}
        self._written: set[str] = set()
        self._seen: dict[str, Seen] = {}

    # --- what is there ---

    def look(self) -> list[Change]:
        """Return what is not as it was agreed. SyncError where the collection cannot be read."""
        url = self.collection.url
        listed = self._connection.listed(url)
        if listed is None:
            raise SyncError(
                f"the collection {clip(self.collection.name)} cannot be read; look whether it is there"
            )
        self._listed, self.changed_meanwhile = listed, False
        self._gone, self._left, self._to_write, self._seen = set(), {}, {}, {}
        unknown = listed.keys() - {path_of(a.put.href) for a in self.agreed.values()} - {path_of(url)}
        found = (self._look_at(agreed, bool(unknown)) for agreed in self.agreed.values())
        return [change for change in found if change is not None]

    def _look_at(self, agreed: Agreed, elsewhere: bool) -> Change | None:
        uid = agreed.put.uid
        where, tag = self._listed.get(path_of(agreed.put.href), ("", ""))
        if where and tag and tag == agreed.tag:
            if agreed.pending:
                self._to_write[uid] = "pending"
            return None
        if not where and elsewhere:
            # Some programs write what they change to another address.
            where = self._connection.of_uid(self.collection.url, self._writer.options.kind, uid) or ""
            tag = self._listed.get(path_of(where), ("", ""))[1]
        reply = self._connection.ask("GET", where) if where else None
        if reply is None or reply.status in GONE:
            self._gone.add(uid)
            return None
        if not reply.good:
            # Written over, it would lose a tick that may be in it.
            self._left[uid] = f"the server does not give it (status {reply.status})"
            return None
        seen = read_seen(reply.text, self._writer.options.kind, self._writer.zone)
        change = judge(agreed, seen, where, tag)
        if change.verdict == "replaced":
            self._left[uid] = "something else stands in its place"
        elif seen is not None:
            self._seen[uid] = seen
        return change

    # --- what was agreed ---

    def agree(self, change: Change) -> None:
        """Keep that the server has what was agreed, at an address and with a tag that may be new."""
        self._keep(change.agreed.put.uid, change.url, change.tag, change.agreed.put.body)

    def agree_done(self, change: Change, day: dt.date, time: dt.time | None, *, ticked: bool) -> None:
        """Keep that an entry was done, which the server says too."""
        agreed = change.agreed
        self._agree_on(change, done_content(self._writer, agreed.content, day, time, ticked=ticked))

    def agree_open(self, change: Change) -> None:
        """Keep that an entry is not done after all, as the server says too."""
        self._agree_on(change, open_content(change.agreed.content))

    def _agree_on(self, change: Change, content: bytes) -> None:
        agreed = change.agreed
        text = text_of(
            self._writer, agreed.put.uid, content, agreed.day.year, today=self._today, was=agreed.was
        )
        self._keep(agreed.put.uid, change.url, change.tag, text)

    def write_again(self, change: Change) -> None:
        """Have the server's text replaced by ours, whatever is in it and wherever it is now."""
        put = change.agreed.put
        self._to_write[put.uid] = change.verdict
        if change.url != put.href:
            self._keep(put.uid, change.url, put.etag, put.body)

    def _keep(self, uid: str, url: str, tag: str, text: str) -> None:
        put = Put(uid, url, tag, text)
        self._ledger.remember(self.collection.url, put)
        kept = agreed_of(self._writer, put)
        assert kept is not None
        self.agreed[uid] = kept

    def _forget(self, uid: str) -> None:
        self._ledger.forget(self.collection.url, uid)
        del self.agreed[uid]

    # --- what should be there ---

    def write(self, wanted: Mapping[str, Wanted], plan: Plan, outcome: Outcome) -> None:
        """Bring the collection to what is wanted, by UID, and to what the log says is done.

        SyncError where the server refuses.
        """
        who = self.tally.keeper
        self.tally.unchanged = 0
        # What goes first, so that what moves between collections is never in two of them for long.
        met = plan.met(self.agreed.values())
        for uid in [uid for uid in self.agreed if uid not in wanted]:
            self._write_over(uid, met.get(uid), plan)
        for uid, one in wanted.items():
            agreed = self.agreed.get(uid)
            if agreed is None:
                self._put_new(one.uid, one.content, one.year)
            elif uid in self._left:
                outcome.remark("left alone", who, agreed, why=self._left[uid])
                self._leave(uid)
            elif one.helps and agreed.done is not None:
                # Nobody records that a hand was lent; who ticked it has done it.
                self._leave(uid)
            elif uid in self._gone:
                if not agreed.unsent:
                    outcome.remark("put back", who, agreed)
                self._put_new(uid, one.content, one.year, agreed.was)
            elif same_content(agreed, one.content) and uid not in self._to_write:
                self._leave(uid)
            else:
                why = "done" if agreed.done is not None else self._to_write.get(uid, "")
                if why in _REMARKS:
                    outcome.remark(_REMARKS[why], who, agreed)
                self._put_over(agreed, one.content, one.year)

    def _leave(self, uid: str) -> None:
        self.tally.unchanged += uid not in self._written

    def _write_over(self, uid: str, entry: Entry | None, plan: Plan) -> None:
        """Write what is no longer to be done: it stays as done for a while where it was, else it goes."""
        agreed = self.agreed[uid]
        if uid in self._gone:
            self._forget(uid)
        elif uid in self._left:
            self._leave(uid)
        elif agreed.done is None and entry is not None and self._recent(entry.day):
            job = plan.jobs.get(agreed.job.job) if agreed.job is not None else None
            content = done_content(self._writer, agreed.content, entry.day, entry.time, job=job)
            self._put_over(agreed, content, agreed.day.year)
        elif not self._stays(agreed, plan):
            self._delete(agreed)
        elif uid in self._to_write:
            self._put_over(agreed, agreed.content, agreed.day.year)
        else:
            self._leave(uid)

    def _stays(self, agreed: Agreed, plan: Plan) -> bool:
        """Tell whether what is not in the plan stays as it is: what is done does for a while, as long as the log has it."""
        if agreed.done is None or not self._recent(agreed.done):
            return False
        return agreed.job is None or plan.has_done(agreed)

    def _recent(self, day: dt.date) -> bool:
        return day >= self._today - dt.timedelta(days=DONE_DAYS)

    # --- requests that write ---

    def _put_new(self, uid: str, content: bytes, year: int, was: Was | None = None) -> None:
        text = text_of(self._writer, uid, content, year, today=self._today, was=was)
        url = urljoin(self.collection.url, f"{uid}.ics")
        if path_of(url) in self._listed:
            self._adopt(uid, url, text)
            return
        sent, before = sent_of(self._writer, text), self.agreed.get(uid)
        # Whoever breaks off here knows it later, also when it is no longer wanted then.
        self._keep(uid, url, PENDING, text)
        reply = self._connection.put(url, sent, {"If-None-Match": "*"})
        if reply.good:
            self._keep(uid, url, reply.etag, text)
            self._written.add(uid)
            self.tally.put += 1
            return
        if before is None:
            self._forget(uid)
        else:
            self._keep(uid, before.put.href, before.put.etag, before.put.body)
        if not _not_as_it_was(reply) and not reply.says("no-uid-conflict"):
            raise self._refused(reply)
        self._adopt(uid, url, text)

    def _adopt(self, uid: str, url: str, text: str) -> None:
        """Take as ours what is there under our UID: put by a sync that was broken off, or moved. It is looked at next."""
        there = self._connection.ask("GET", url)
        seen = read_seen(there.text, self._writer.options.kind, self._writer.zone) if there.good else None
        where = url if seen is not None and seen.uid == uid else None
        where = where or self._connection.of_uid(self.collection.url, self._writer.options.kind, uid)
        if where is None:
            raise SyncError(
                f"something else stands at {clip(url, 200)}, where one of ours belongs; it is left alone: move it elsewhere"
            )
        self._keep(uid, where, "", text)
        self.changed_meanwhile = True

    def _put_over(self, agreed: Agreed, content: bytes, year: int) -> None:
        uid, url = agreed.put.uid, agreed.put.href
        seen, tag = self._seen.get(uid), self._tag(url)
        if seen is None:
            there = self._connection.ask("GET", url)
            seen = read_seen(there.text, self._writer.options.kind, self._writer.zone) if there.good else None
        text = text_of(
            self._writer, uid, content, year, today=self._today, was=self._beyond(agreed.was, seen)
        )
        self._keep(uid, url, PENDING + tag, text)
        sent = sent_of(self._writer, text, seen.kept if seen is not None else b"")
        reply = self._connection.put(url, sent, {"If-Match": tag})
        if reply.good:
            self._keep(uid, url, reply.etag, text)
            self._written.add(uid)
            self.tally.changed += 1
        elif _not_as_it_was(reply) or reply.status in GONE:
            # Somebody was quicker. What was agreed before still is, and what they wrote is looked at next.
            self._keep(uid, url, agreed.put.etag, agreed.put.body)
            self.changed_meanwhile = True
        else:
            raise self._refused(reply)

    def _beyond(self, was: Was, seen: Seen | None) -> Was:
        """Return what a text has to be younger than: ours, and what somebody wrote since, unless that is not to be believed."""
        if seen is None:
            return was
        tomorrow = stamp_of(self._today + dt.timedelta(days=2), self._writer.zone)
        stamp = max(was.stamp, seen.stamp) if seen.stamp < tomorrow else was.stamp
        return replace(was, stamp=stamp, sequence=max(was.sequence, seen.sequence))

    def _delete(self, agreed: Agreed) -> None:
        uid, url = agreed.put.uid, agreed.put.href
        reply = self._connection.ask("DELETE", url, headers={"If-Match": self._tag(url)})
        if reply.good or reply.status in GONE:
            self._forget(uid)
            self.tally.removed += 1
        elif _not_as_it_was(reply):
            self.changed_meanwhile = True
        else:
            raise self._refused(reply)

    def _tag(self, url: str) -> str:
        """Return the entity tag of an address as it was listed. SyncError where the server gives none."""
        tag = self._listed.get(path_of(url), ("", ""))[1]
        if not tag:
            raise SyncError(
                f"{self._connection.address.host} gives no entity tags, without which nobody can tell what others changed"
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
            f"the collection {clip(self.collection.name)} takes nothing more (status {reply.status}{safe(said)}): {why}"
        )


def _not_as_it_was(reply: Reply) -> bool:
    """Tell whether a condition on the entity tag was not met; some servers refuse a text with the same status, and say why."""
    return reply.status == NOT_AS_IT_WAS and not reply.conditions
