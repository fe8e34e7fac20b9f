"""The three-way merge of a collection: what was agreed last (base), what stands there (remote), what the plan
has (local).

What was ticked goes before what was moved; what the log has goes before what stands in the collection; a tick
is never lost. Everything here is pure: the server is asked before (`survey`) and told after (`apply`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal
from urllib.parse import urljoin

from scheduler.calendar import Writer
from scheduler.calendar.continuity import PublishedEntry
from scheduler.history import DONE_DAYS, Entry
from scheduler.sync.address import path_of
from scheduler.sync.done_work import DoneWork
from scheduler.sync.outcome import RemarkKind
from scheduler.sync.remote import RemoteEntry
from scheduler.sync.resource import Base, Local, done_content, same_content

Verdict = Literal["same", "ticked", "unticked", "moved", "cancelled", "broken", "replaced"]

_REMARKS: Mapping[str, RemarkKind] = {"done": "reopened", "cancelled": "put back", "broken": "mended"}


# --- base and remote: what others changed ---


@dataclass(frozen=True, slots=True)
class RemoteChange:
    """A resource of ours whose text is another one than was agreed: what that means, and the day to which it
    was moved."""

    base: Base
    verdict: Verdict
    url: str
    tag: str
    remote: RemoteEntry | None = None
    to: dt.date | None = None


def judge(base: Base, remote: RemoteEntry | None, url: str, tag: str) -> RemoteChange:
    """Return what the entry that stands at an address means, against what was agreed."""
    verdict, to = _judged(base, remote)
    return RemoteChange(base, verdict, url, tag, remote, to)


def _judged(base: Base, remote: RemoteEntry | None) -> tuple[Verdict, dt.date | None]:
    if remote is None or remote.uid != base.stored.uid:
        return "replaced", None
    was_done = base.done is not None
    if _is_to_do(base) and (done := is_done(remote, was_done)) != was_done:
        return ("ticked" if done else "unticked"), None
    if remote.broken:
        return "broken", None
    if remote.status == "CANCELLED":
        return "cancelled", None
    to = day_of(base, remote)
    if was_done or to == base.day:
        return "same", None
    return "moved", to


def is_done(remote: RemoteEntry, was_done: bool) -> bool:
    """Tell whether a to-do is ticked.

    Programs write any of three properties (RFC 5545, sections 3.8.1.8, 3.8.1.11, 3.8.2.1), and who takes a
    tick away may leave two of them behind: so of what was done the status decides.
    """
    if remote.status == "COMPLETED":
        return True
    if was_done and remote.status:
        return False
    return remote.completed is not None or remote.percent == 100


def day_of(base: Base, remote: RemoteEntry) -> dt.date:
    """Return the day for which an entry stands now: that of its DUE, or of DTSTART where it has none.

    Another hour of the same day is no move, nor is a date that was taken away: the plan knows days.
    """
    if remote.due is not None:
        return base.day if remote.due == base.last else remote.due
    return remote.begins or base.day


def _is_to_do(base: Base) -> bool:
    return base.content.endswith(b"END:VTODO\r\n")


# --- base, remote and local: what is to be written ---


@dataclass(frozen=True, slots=True)
class RemoteState:
    """A collection as it was looked at, by the UIDs of our resources.

    `tags` has the address and the entity tag of everything that is listed, by path. `entries` are those that
    are not as they were agreed, `gone` those that are not there, `withheld` those that must not be written
    over, with the reason. `unsettled` are those of which a broken-off sync left open whether the server has
    our text.
    """

    tags: Mapping[str, tuple[str, str]]
    entries: Mapping[str, RemoteEntry]
    gone: frozenset[str]
    withheld: Mapping[str, str]
    unsettled: frozenset[str]


NOTHING_SEEN = RemoteState({}, {}, frozenset(), {}, frozenset())


@dataclass(frozen=True, slots=True)
class Put:
    """Put a resource where nothing may be; it goes on from what it `was`."""

    uid: str
    content: bytes
    year: int
    was: PublishedEntry | None = None


@dataclass(frozen=True, slots=True)
class Adopt:
    """Take as ours what stands at our address already: put by a sync that was broken off, or moved there."""

    uid: str
    content: bytes
    year: int
    was: PublishedEntry | None = None


@dataclass(frozen=True, slots=True)
class Replace:
    """Write a content over a resource, while it is as it was seen."""

    base: Base
    content: bytes
    year: int


@dataclass(frozen=True, slots=True)
class Delete:
    """Delete a resource, while it is as it was seen."""

    base: Base


@dataclass(frozen=True, slots=True)
class Forget:
    """Forget a resource that is neither there nor wanted."""

    uid: str


@dataclass(frozen=True, slots=True)
class Keep:
    """Leave a resource as it is."""

    uid: str


Action = Put | Adopt | Replace | Delete | Forget | Keep


@dataclass(frozen=True, slots=True)
class Step:
    """What is done with one resource, and what its keeper is told about it."""

    action: Action
    remark: RemarkKind | None = None
    why: str | None = None
    base: Base | None = None


@dataclass(frozen=True, slots=True)
class Merge:
    """Everything that decides what becomes of a collection.

    `bases` and `local` are by UID; `rewrite` says of UIDs why ours is to be written over what stands there.
    `url` is the collection's, `done` what the log says is done.
    """

    url: str
    bases: Mapping[str, Base]
    remote: RemoteState
    local: Mapping[str, Local]
    rewrite: Mapping[str, str]
    done: DoneWork
    writer: Writer
    today: dt.date

    def steps(self) -> Iterator[Step]:
        """Yield what is to be done, in the order of doing.

        What goes comes first, so that what moves between collections is never in two of them for long.
        """
        met = self.done.met(self.bases.values())
        for uid, base in self.bases.items():
            if uid not in self.local:
                yield Step(self._of_what_goes(base, met.get(uid)))
        for uid, local in self.local.items():
            base_or_none = self.bases.get(uid)
            yield (
                Step(self._new(local)) if base_or_none is None else self._of_what_stays(base_or_none, local)
            )

    def _of_what_goes(self, base: Base, entry: Entry | None) -> Action:
        """Return what becomes of what is no longer to be done: it stays as done for a while where it was,
        else it goes."""
        uid = base.stored.uid
        if uid in self.remote.gone:
            return Forget(uid)
        if uid in self.remote.withheld:
            return Keep(uid)
        if base.done is None and entry is not None and self._is_recent(entry.day):
            job = self.done.jobs.get(base.job.job) if base.job is not None else None
            content = done_content(self.writer, base.content, entry.day, entry.time, job=job)
            return Replace(base, content, base.day.year)
        if not self._stays_done(base):
            return Delete(base)
        return Replace(base, base.content, base.day.year) if self._has_to_be_rewritten(uid) else Keep(uid)

    def _of_what_stays(self, base: Base, local: Local) -> Step:
        uid = base.stored.uid
        if uid in self.remote.withheld:
            return Step(Keep(uid), "left alone", self.remote.withheld[uid], base)
        if local.helps and base.done is not None:
            # Nobody records that a hand was lent; who ticked it has done it.
            return Step(Keep(uid))
        if uid in self.remote.gone:
            return Step(self._new(local, base.was), None if base.unsent else "put back", base=base)
        if same_content(base, local.content) and not self._has_to_be_rewritten(uid):
            return Step(Keep(uid))
        why = "done" if base.done is not None else self.rewrite.get(uid, "")
        return Step(Replace(base, local.content, local.year), _REMARKS.get(why), base=base)

    def _new(self, local: Local, was: PublishedEntry | None = None) -> Action:
        taken = path_of(resource_url(self.url, local.uid)) in self.remote.tags
        return (Adopt if taken else Put)(local.uid, local.content, local.year, was)

    def _has_to_be_rewritten(self, uid: str) -> bool:
        return uid in self.rewrite or uid in self.remote.unsettled

    def _stays_done(self, base: Base) -> bool:
        """Tell whether what is not in the plan stays: what is done does for a while, as long as the log has
        it."""
        if base.done is None or not self._is_recent(base.done):
            return False
        return base.job is None or self.done.has_done(base)

    def _is_recent(self, day: dt.date) -> bool:
        return day >= self.today - dt.timedelta(days=DONE_DAYS)


def resource_url(collection: str, uid: str) -> str:
    """Return the address at which a resource of ours is put."""
    return urljoin(collection, f"{uid}.ics")
