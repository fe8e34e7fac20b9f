"""What entries changed in the text of the description: recorded together, taken back together."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import sqlalchemy as sa

from scheduler.history import Entry
from scheduler.log import inserts, queries
from scheduler.log.rows import check
from scheduler.log.store import Log
from scheduler.log.tables import edit as table


@dataclass(frozen=True, slots=True)
class RecordedEdit:
    """A change of the description: its entries by uid, the main one first, and the patch of its text."""

    entries: Mapping[str, Entry]
    patch: str


def with_turns(log: Log, site: str, entries: Sequence[Entry]) -> list[Entry]:
    """Return entries with the turns that they will have: two of one name and day differ by it."""
    with log.reading() as connection:
        if connection is None:
            return list(entries)
        return [
            replace(entry, turn=inserts.next_turn(queries.under(connection, site, entry)))
            for entry in entries
        ]


def record_edit(log: Log, site: str, entries: Sequence[Entry], patch: str) -> list[Entry]:
    """Record the entries of a change, the main one first, with its patch, all or none; return them as stored.

    Their turns are kept, and what is there already is not recorded again: whoever was killed over it can do
    it once more.
    """
    for entry in entries:
        check(site, entry)
    first = entries[0].uid(site)
    with log.writing(site) as connection:
        stored = [
            queries.by_uid(connection, site, entry.uid(site)) or inserts.add(connection, site, entry)
            for entry in entries
        ]
        if connection.execute(sa.select(table.c.uid).where(table.c.uid == first)).first() is None:
            rows = [
                {"uid": e.uid(site), "site": site, "first": first, "patch": "" if number else patch}
                for number, e in enumerate(entries)
            ]
            connection.execute(sa.insert(table), rows)
    return stored


def edit_of(log: Log, site: str, uid: str) -> RecordedEdit | None:
    """Return the change that an entry belongs to; None where the log does not know what it changed."""
    mine = sa.select(table.c.first).where(table.c.uid == uid, table.c.site == site).scalar_subquery()
    query = sa.select(table.c.uid, table.c.first, table.c.patch).where(table.c.first == mine)
    with log.reading() as connection:
        rows = [] if connection is None else list(connection.execute(query))
        if connection is None or not rows:
            return None
        rows.sort(key=lambda row: row.uid != row.first)
        found = {row.uid: queries.by_uid(connection, site, row.uid) for row in rows}
    entries = {uid: entry for uid, entry in found.items() if entry is not None}
    return RecordedEdit(entries, rows[0].patch)


def take_back(
    log: Log, site: str, uids: Sequence[str], *, keeper: str, note: str, recorded: dt.datetime
) -> list[tuple[Entry, bool]]:
    """Take the entries of a change back, all or none; return what takes each back, and whether it is new."""
    with log.writing(site) as connection:
        return [
            inserts.void(connection, site, uid, keeper=keeper, note=note, recorded=recorded) for uid in uids
        ]
