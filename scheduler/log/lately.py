"""What a plan reads: when each job was last done, and the entries of late, without walking through all that was."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from typing import Any

import sqlalchemy as sa

from scheduler.history import Entry, History, JobName, Looks
from scheduler.log.rows import COLUMNS, UnreadableError, from_row, taken_back, unreadable
from scheduler.log.tables import entry as table


def history(
    connection: sa.Connection,
    site: str,
    until: dt.date,
    looks: Looks,
    *,
    enclosures: Collection[str] | None,
    begun: dt.date | None,
) -> History:
    """Return what a plan of the site rests on: standing entries up to a day, as far back as it looks."""
    if connection.dialect.name == "postgresql":
        # Compiling a question takes longer than answering it.
        connection.execute(sa.select(sa.func.set_config("jit", "off", True)))
    last = _last(connection, site, until, enclosures)
    done = dict(looks.done)
    if looks.all_done is not None:
        names = {name for (_, name, _), day in last.items() if day >= looks.all_done}
        done |= {name: min(looks.all_done, done.get(name, looks.all_done)) for name in names}
    wanted = [table.c.site == site, table.c.day <= until, ~taken_back]
    if enclosures is not None:
        wanted.append(table.c.enclosure.in_(enclosures))
    return History(
        begun,
        last,
        _since(connection, [*wanted, table.c.kind == "done"], done),
        _since(connection, [*wanted, table.c.kind == "reading"], looks.readings),
    )


def _last(
    connection: sa.Connection, site: str, until: dt.date, enclosures: Collection[str] | None
) -> dict[JobName, dt.date]:
    """Return the last day of each job.

    The index has the days of a job side by side, so that one step leads from the last day of a job to the last day of
    the next one: 20,000 steps where a grouping would read a million rows. Names are walked backwards, as the days are.
    UNION forgets what was there already: the order of a damaged index may lead round in a circle.
    """
    done = (table.c.site == site, table.c.kind == "done")
    tanks = (
        sa.select(sa.func.max(table.c.enclosure).label("enclosure")).where(*done).cte("tanks", recursive=True)
    )
    one_more = sa.select(sa.func.max(table.c.enclosure)).where(*done, table.c.enclosure < tanks.c.enclosure)
    tanks = tanks.union(sa.select(one_more.scalar_subquery()).where(tanks.c.enclosure.is_not(None)))

    backwards = (table.c.name.desc(), table.c.of_.desc(), table.c.day.desc())

    def step(*where: sa.ColumnElement[bool]) -> sa.ScalarSelect[int]:
        standing = sa.select(table.c.number).where(*done, table.c.day <= until, ~taken_back, *where)
        return standing.order_by(*backwards).limit(1).scalar_subquery()

    there = table.alias("there")
    columns = (there.c.enclosure, there.c.name, there.c.of_, there.c.day)
    begin = sa.select(*columns).join_from(
        tanks, there, there.c.number == step(table.c.enclosure == tanks.c.enclosure).correlate(tanks)
    )
    if enclosures is not None:
        begin = begin.where(tanks.c.enclosure.in_(enclosures))
    found = begin.cte("found", recursive=True)
    same = table.c.enclosure == found.c.enclosure
    onward = sa.func.coalesce(
        # Most jobs have no variant, and nothing comes before it.
        step(found.c.of_ != "", same, table.c.name == found.c.name, table.c.of_ < found.c.of_).correlate(
            found
        ),
        step(same, table.c.name < found.c.name).correlate(found),
    )
    found = found.union(sa.select(*columns).join_from(found, there, there.c.number == onward))
    with unreadable():
        jobs = connection.execute(sa.select(found)).all()
    if any(part.__class__ is not str for row in jobs for part in row[:3]):
        raise UnreadableError
    return {(row[0], row[1], row[2]): row[3] for row in jobs}


def _since(
    connection: sa.Connection, wanted: list[sa.ColumnElement[bool]], days: Mapping[str, dt.date]
) -> Iterator[Entry]:
    """Yield the entries of each name from its day on; names that share a day are asked for together."""
    together: dict[dt.date, list[str]] = {}
    for name, day in days.items():
        together.setdefault(day, []).append(name)
    for day, names in together.items():
        query: sa.Select[Any] = sa.select(*COLUMNS).where(
            *wanted, table.c.name.in_(names), table.c.day >= day
        )
        with unreadable():
            rows = connection.execute(query).all()
        yield from map(from_row, rows)
