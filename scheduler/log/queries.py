"""What the log is asked: the statements, on a connection."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from scheduler.history import Entry, Kind, parse_away
from scheduler.log.rows import COLUMNS, fetched, from_row, taken_back, unreadable
from scheduler.log.tables import entry as table

_CHUNK = 1000
_standing = sa.and_(table.c.kind != "void", ~taken_back)
_with_voided = sa.select(*COLUMNS, taken_back.label("voided"))


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryFilter:
    """Which entries of a site are wanted; None is any.

    Without `voided` neither what was taken back nor what takes back.
    """

    since: dt.date | None = None
    until: dt.date | None = None
    enclosure: str | None = None
    names: Collection[str] | None = None
    of: str | None = None
    keeper: str | None = None
    kind: Kind | None = None
    voided: bool = True
    last: int | None = None
    after: int | None = None


def entries(connection: sa.Connection, site: str, wanted: EntryFilter) -> Iterator[Entry]:
    """Yield the entries that are wanted, in the order in which they were recorded, a thousand at a time."""
    query = _with_voided.where(table.c.site == site)
    for column, value in (
        ("enclosure", wanted.enclosure),
        ("of_", wanted.of),
        ("keeper", wanted.keeper),
        ("kind", wanted.kind),
    ):
        if value is not None:
            query = query.where(table.c[column] == value)
    if wanted.since is not None:
        query = query.where(table.c.day >= wanted.since)
    if wanted.until is not None:
        query = query.where(table.c.day <= wanted.until)
    if wanted.after is not None:
        query = query.where(table.c.number > wanted.after)
    if wanted.names is not None:
        query = query.where(table.c.name.in_(wanted.names))
    if not wanted.voided:
        query = query.where(_standing)
    if wanted.last is not None:
        last = query.order_by(table.c.number.desc()).limit(wanted.last).subquery()
        query = sa.select(*last.c).order_by(last.c.number)
    else:
        query = query.order_by(table.c.number)
    # Closed also when nobody wants the rest.
    with connection.execution_options(yield_per=_CHUNK).execute(query) as found:
        yield from map(from_row, fetched(found))


def under(connection: sa.Connection, site: str, entry: Entry) -> list[Entry]:
    """Return all entries, voided ones too, of the kind, enclosure, name, variant and day of this one, in
    their order."""
    query = _with_voided.where(
        table.c.site == site,
        table.c.kind == entry.kind,
        table.c.enclosure == entry.enclosure,
        table.c.name == entry.name,
        table.c.of_ == entry.of,
        table.c.day == entry.day,
    ).order_by(table.c.turn)
    return [from_row(row) for row in fetched(connection.execute(query))]


def by_uid(connection: sa.Connection, site: str, uid: str) -> Entry | None:
    """Return the entry of an identity."""
    return _one(connection, _with_voided.where(table.c.site == site, table.c.uid == uid))


def voiding(connection: sa.Connection, site: str, uid: str) -> Entry | None:
    """Return the entry that takes back the one of this identity."""
    return _one(connection, _with_voided.where(table.c.site == site, table.c.voids == uid))


def measured_of(connection: sa.Connection, site: str, names: Collection[str]) -> set[tuple[str, str]]:
    """Return (enclosure, of) of all readings of some quantities."""
    query = (
        sa.select(table.c.enclosure, table.c.of_)
        .distinct()
        .where(table.c.site == site, table.c.kind == "reading", table.c.name.in_(names))
    )
    with unreadable():
        return {(row[0], row[1]) for row in connection.execute(query)}


def away(connection: sa.Connection, site: str) -> list[tuple[str, dt.date, dt.date]]:
    """Return (keeper's id, first day, last day) of what was said of who is away and stands, in order."""
    wanted = EntryFilter(kind="away", voided=False)
    with unreadable():
        return sorted((e.name, *parse_away(e)) for e in entries(connection, site, wanted))


def first(connection: sa.Connection, site: str) -> Entry | None:
    """Return the first entry that stands."""
    query = _with_voided.where(table.c.site == site, _standing).order_by(table.c.number).limit(1)
    return _one(connection, query)


def latest(connection: sa.Connection, site: str) -> Entry | None:
    """Return the last entry that stands."""
    query = _with_voided.where(table.c.site == site, _standing).order_by(table.c.number.desc()).limit(1)
    return _one(connection, query)


def _one(connection: sa.Connection, query: sa.Select[Any]) -> Entry | None:
    return next((from_row(row) for row in fetched(connection.execute(query))), None)
