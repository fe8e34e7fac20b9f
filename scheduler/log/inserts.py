"""What is added to the log: an entry, its taking back, a whole export.

Entries are inserted and never changed.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import sqlalchemy as sa

from scheduler.errors import UsageError, clip
from scheduler.history import Entry
from scheduler.log import queries
from scheduler.log.recent import refresh
from scheduler.log.rows import check, to_row
from scheduler.log.tables import entry as table


def record(connection: sa.Connection, site: str, entry: Entry, again: bool) -> tuple[Entry, bool]:
    """Add an entry, unless it stands already; return it as stored, and whether it is new.

    A job counts once for a day. A reading is the same when hour and value are the same; another value is
    another reading. A note, which has words for a value, is the same when its words are. With `again` nothing
    counts as the same.
    """
    if entry.kind == "void":
        raise ValueError("an entry is taken back by `void`")
    there = queries.under(connection, site, entry)
    for earlier in there:
        if is_same(earlier, entry) and not earlier.voided and not again:
            return earlier, False
    return add(connection, site, replace(entry, turn=next_turn(there), voids="")), True


def is_same(earlier: Entry, entry: Entry) -> bool:
    """Tell whether an entry says what an earlier one of its kind, name and day says."""
    if entry.kind == "done":
        return True
    if entry.kind != "reading":
        return (earlier.given, earlier.title, earlier.keeper) == (entry.given, entry.title, entry.keeper)
    if entry.value is None and entry.note:
        return earlier.note == entry.note
    return (earlier.time, earlier.value) == (entry.time, entry.value)


def amend(connection: sa.Connection, site: str, entry: Entry, seen: int) -> tuple[Entry, bool] | None:
    """Add what bends the plan of a job, unless it stands already; None where the job was done or bent since
    the entry number `seen`."""
    newer = sa.select(table.c.number).where(
        table.c.site == site,
        table.c.enclosure == entry.enclosure,
        table.c.name == entry.name,
        table.c.of_ == entry.of,
        table.c.kind != "reading",
        table.c.number > seen,
    )
    there = next(
        (e for e in queries.under(connection, site, entry) if is_same(e, entry) and not e.voided), None
    )
    if there is not None:
        return there, False
    if connection.execute(newer.limit(1)).first() is not None:
        return None
    return record(connection, site, entry, again=False)


def void(
    connection: sa.Connection, site: str, uid: str, *, keeper: str, note: str, recorded: dt.datetime
) -> tuple[Entry, bool]:
    """Take an entry back; return the entry that does so, and whether it is new."""
    target = queries.by_uid(connection, site, uid)
    if target is None:
        raise UsageError(f"the log has no entry {clip(uid)} of this site")
    if target.kind == "void":
        raise UsageError("this entry takes another one back; record that one anew instead")
    earlier = queries.voiding(connection, site, uid)
    if earlier is not None:
        return earlier, False
    taking = Entry(
        kind="void",
        enclosure=target.enclosure,
        name=target.name,
        of=target.of,
        day=target.day,
        keeper=keeper,
        title=target.title,
        note=note,
        recorded=recorded,
        voids=uid,
    )
    check(site, taking)
    return add(connection, site, taking), True


def annotate(
    connection: sa.Connection, site: str, uid: str, note: str, *, keeper: str, recorded: dt.datetime
) -> Entry | None:
    """Give an entry that stands another note, and return it: it is taken back, and is there again with that
    note.

    So it is changed as anything in the log is, and whoever did it did it still. None where it does not stand.
    """
    standing = queries.by_uid(connection, site, uid)
    if standing is None or standing.kind == "void" or standing.voided:
        return None
    void(connection, site, uid, keeper=keeper, note="", recorded=recorded)
    turn = next_turn(queries.under(connection, site, standing))
    anew = replace(standing, note=note, turn=turn, recorded=recorded, voids="")
    check(site, anew)
    return add(connection, site, anew)


def next_turn(there: list[Entry]) -> int:
    """Return the turn of what is recorded beside these; where all turns are there it is their number."""
    return max((entry.turn for entry in there), default=-1) + 1


def add(connection: sa.Connection, site: str, entry: Entry) -> Entry:
    """Add an entry as it is, with its turn; return it as stored."""
    added = connection.execute(sa.insert(table), to_row(site, entry))
    assert added.inserted_primary_key is not None
    if entry.kind in ("done", "void"):
        refresh(connection, site, [entry.job])
    return replace(entry, number=added.inserted_primary_key[0], voided=False)
