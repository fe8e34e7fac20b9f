"""An export comes back into a log that may hold part of it, or what another machine recorded meanwhile."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from itertools import islice
from typing import Any

import sqlalchemy as sa

from scheduler.errors import UsageError, clip
from scheduler.history import Entry, JobRef
from scheduler.log import queries
from scheduler.log.inserts import is_same, next_turn
from scheduler.log.recent import refresh
from scheduler.log.rows import check, to_row
from scheduler.log.tables import entry as table

_CHUNK = 500
_Measured = tuple[dt.time | None, float | None, str]


class Joining:
    """One import into one site: entries keep what they are, and those that are known are not added again.

    What is known is told by its identity. Two machines may have given the same identity to two readings of a
    day that differ: then the one that comes later gets the next turn, as if it had been recorded here.
    """

    def __init__(self, connection: sa.Connection, site: str) -> None:
        """Begin an import."""
        self._connection, self._site = connection, site
        self._moved: dict[str, str] = {}
        self._taken: set[str] = set()
        self._changed: set[JobRef] = set()
        self._early: list[Entry] = []
        self._rows: list[dict[str, Any]] = []
        self.added = self.known = 0

    def join(self, entries: Iterable[Entry]) -> None:
        """Add what is not known. UsageError when an entry takes back one that is nowhere."""
        rest = iter(entries)
        while chunk := list(islice(rest, _CHUNK)):
            self._join(chunk)
        # A table that somebody sorted by day may name what is taken back only later.
        for taking in self._early:
            if not self._void(taking):
                raise UsageError(
                    f"an entry of {taking.day} for {clip(taking.name)} takes back one that is neither in "
                    "the import nor in "
                    "the log; import a whole export of this site"
                )
        self._flush()
        refresh(self._connection, self._site, self._changed)

    def _join(self, chunk: list[Entry]) -> None:
        for entry in chunk:
            check(self._site, entry)
        uids = [entry.uid(self._site) for entry in chunk]
        query = sa.select(table.c.uid, table.c.time, table.c.value, table.c.note).where(table.c.uid.in_(uids))
        here: dict[str, _Measured] = {row[0]: _said(*row[1:]) for row in self._connection.execute(query)}
        for uid, entry in zip(uids, chunk, strict=True):
            if entry.kind == "void":
                if not self._void(entry):
                    self._early.append(entry)
            elif uid not in here:
                here[uid] = _said(entry.time, entry.value, entry.note)
                self._add(entry)
            elif entry.kind == "done" or (
                here[uid] == _said(entry.time, entry.value, entry.note) and uid not in self._taken
            ):
                self.known += 1
            else:
                moved = self._move(entry)
                self._moved[uid] = new = moved.uid(self._site)
                self._taken.add(new)
                here[new] = _said(moved.time, moved.value, moved.note)
        self._flush()

    def _move(self, entry: Entry) -> Entry:
        """Find the turn that a reading has here, or give it the next one."""
        self._flush()
        there = queries.under(self._connection, self._site, entry)
        for earlier in there:
            if is_same(earlier, entry) and earlier.uid(self._site) not in self._taken:
                self.known += 1
                return earlier
        moved = replace(entry, turn=next_turn(there))
        self._add(moved)
        return moved

    def _void(self, taking: Entry) -> bool:
        """Take back what an entry takes back; return whether that is there."""
        self._flush()
        target = self._moved.get(taking.voids, taking.voids)
        found = queries.by_uid(self._connection, self._site, target)
        if found is None or found.kind == "void":
            return False
        if queries.voiding(self._connection, self._site, target) is None:
            # It bears the name and the day of what it takes back, whatever stands in the import.
            self._add(
                replace(
                    taking,
                    voids=target,
                    enclosure=found.enclosure,
                    name=found.name,
                    of=found.of,
                    day=found.day,
                )
            )
        else:
            self.known += 1
        return True

    def _add(self, entry: Entry) -> None:
        self._rows.append(to_row(self._site, entry))
        if entry.kind in ("done", "void"):
            self._changed.add(entry.job)
        self.added += 1

    def _flush(self) -> None:
        if self._rows:
            self._connection.execute(sa.insert(table), self._rows)
            self._rows.clear()


def _said(time: dt.time | None, value: float | None, note: str) -> _Measured:
    """Return what tells a reading from others of its name and day: hour and value; of a note, which has none,
    its words."""
    return (time, value, "") if value is not None or not note else (None, None, note)
