"""Which sites, enclosures, keepers and animals the log knows by their ids, and from when to when it heard of
them."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import sqlalchemy as sa

from scheduler.log.rows import unreadable
from scheduler.log.store import Log
from scheduler.log.tables import entry, link

LATE_ENTRIES = 10_000
"""Keepers are looked for in so many entries, the last ones: what each of a million says of its keeper takes a
second."""


Heard = dict[str, tuple[int, int]]
"""By id: the numbers of the first and the last entry that named it."""


def sites(log: Log) -> list[str]:
    """Return the ids of all sites of which the log has entries or links."""
    with log.reading() as connection:
        if connection is None:
            return []
        with unreadable():
            found = {*_distinct(connection, entry.c.site), *_distinct(connection, link.c.site)}
    return sorted(found)


def enclosures(log: Log, site: str) -> list[str]:
    """Return the ids of the enclosures of a site in which something was done or measured."""
    with log.reading() as connection:
        if connection is None:
            return []
        with unreadable():
            kinds = [
                _distinct(connection, entry.c.enclosure, entry.c.site == site, entry.c.kind == kind)
                for kind in ("done", "reading")
            ]
    return sorted({name for some in kinds for name in some})


def heard_enclosures(log: Log, site: str) -> Heard:
    """Return when the log heard of each enclosure of a site; it looks at all entries."""
    return _heard(log, entry.c.enclosure, entry.c.site == site)


def heard_residents(log: Log, site: str, names: Collection[str]) -> Heard:
    """Return when the log heard of each animal of a site, by the readings of some quantities."""
    return _heard(
        log,
        entry.c.of_,
        entry.c.site == site,
        entry.c.kind == "reading",
        entry.c.name.in_(names),
        entry.c.of_ != "",
    )


def heard_keepers(log: Log, site: str) -> Heard:
    """Return when the log heard of each keeper of a site, in its last entries."""
    late = (
        sa.select(entry.c.number)
        .where(entry.c.site == site)
        .order_by(entry.c.number.desc())
        .limit(1)
        .offset(LATE_ENTRIES)
        .scalar_subquery()
    )
    since = entry.c.number > sa.func.coalesce(late, 0)
    return _heard(log, entry.c.keeper, entry.c.site == site, since, entry.c.keeper != "")


def _heard(log: Log, column: sa.ColumnElement[str], *where: sa.ColumnElement[bool]) -> Heard:
    query = (
        sa.select(column, sa.func.min(entry.c.number), sa.func.max(entry.c.number))
        .where(*where)
        .group_by(column)
    )
    with log.reading() as connection:
        if connection is None:
            return {}
        with unreadable():
            return {str(name): (first, last) for name, first, last in connection.execute(query)}


def _distinct(connection: sa.Connection, column: sa.Column[Any], *where: sa.ColumnElement[bool]) -> set[str]:
    """Return what stands in the column of an index, from one value to the next: a million entries are not
    walked through."""
    first = sa.select(sa.func.min(column).label("value")).where(*where).cte(recursive=True)
    after = sa.select(sa.func.min(column)).where(*where, column > first.c.value).scalar_subquery()
    steps = first.union_all(sa.select(after).where(first.c.value.is_not(None)))
    found = connection.execute(sa.select(steps.c.value).where(steps.c.value.is_not(None))).scalars()
    return {str(value) for value in found}
