"""What a plan reads: when each job was last done, and the entries of late, without walking through all that
was."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

import sqlalchemy as sa

from scheduler.history import AMENDING, Entry, History, JobRef, Kind, Looks, parse_amendment, parse_once
from scheduler.log.rows import COLUMNS, OF_A_READING, UnreadableError, from_row, taken_back, unreadable
from scheduler.log.tables import entry as table
from scheduler.log.tables import latest

AMENDED = dt.timedelta(days=800)
"""So far back it counts what bent the plan: it may have been said a year ahead, and be open for another."""

_same_job = sa.and_(
    table.c.site == latest.c.site,
    table.c.kind == "done",
    table.c.enclosure == latest.c.enclosure,
    table.c.name == latest.c.name,
    table.c.of_ == latest.c.of_,
)
_KEY: dict[str, sa.BindParameter[str]] = {
    name: sa.bindparam(f"key_{name}") for name in ("site", "enclosure", "name", "of_")
}
_forget = sa.delete(latest).where(*(latest.c[name] == key for name, key in _KEY.items()))
_learn = sa.insert(latest).from_select(
    [*_KEY, "day"],
    sa.select(*(table.c[name] for name in _KEY), table.c.day)
    .where(table.c.kind == "done", ~taken_back, *(table.c[name] == key for name, key in _KEY.items()))
    .order_by(table.c.day.desc())
    .limit(1),
)


def refresh(connection: sa.Connection, site: str, jobs: Iterable[JobRef]) -> None:
    """Make anew when these jobs were last done, after their entries changed.

    The caller keeps other writers away.
    """
    keys = [
        {"key_site": site, "key_enclosure": enclosure, "key_name": name, "key_of_": of}
        for enclosure, name, of in jobs
    ]
    if keys:
        connection.execute(_forget, keys)
        connection.execute(_learn, keys)


def history(
    connection: sa.Connection,
    site: str,
    until: dt.date,
    looks: Looks,
    *,
    enclosures: Collection[str] | None,
    begun: dt.date | None,
) -> History:
    """Return what a plan of the site rests on: standing entries up to a day, as far back as it looks.

    Of readings without who noted them and what was remarked, which no plan asks.
    """
    if connection.dialect.name == "postgresql":
        # Compiling a question takes longer than answering it.
        connection.execute(sa.select(sa.func.set_config("jit", "off", True)))
    last = _last(connection, site, until, enclosures)
    done = dict(looks.done)
    if looks.all_done is not None:
        names = {name for (_, name, _), day in last.items() if day >= looks.all_done}
        done |= {name: min(looks.all_done, done.get(name, looks.all_done)) for name in names}
    asked = _Asked(connection, site, until, enclosures)
    return History(
        begun,
        last,
        asked.since("done", done),
        asked.since("reading", looks.readings),
        amendments=asked.amendments(until - AMENDED),
    )


def _last(
    connection: sa.Connection, site: str, until: dt.date, enclosures: Collection[str] | None
) -> dict[JobRef, dt.date]:
    """Return the last day of each job, up to a day."""
    here = [latest.c.site == site]
    if enclosures is not None:
        here.append(latest.c.enclosure.in_(enclosures))
    names = (latest.c.enclosure, latest.c.name, latest.c.of_)
    before = (
        sa.select(table.c.day)
        .where(_same_job, table.c.day <= until, ~taken_back)
        .order_by(table.c.day.desc())
        .limit(1)
        .scalar_subquery()
    )
    with unreadable():
        found = connection.execute(sa.select(*names, latest.c.day).where(*here)).all()
        if any(row[3] > until for row in found):
            found = [row for row in found if row[3] <= until]
            found += connection.execute(sa.select(*names, before).where(*here, latest.c.day > until)).all()
    if any(part.__class__ is not str for row in found for part in row[:3]):
        raise UnreadableError
    return {JobRef(row[0], row[1], row[2]): row[3] for row in found if row[3] is not None}


class _Asked:
    """Entries of one site up to a day, of all enclosures or of some."""

    def __init__(
        self, connection: sa.Connection, site: str, until: dt.date, enclosures: Collection[str] | None
    ) -> None:
        self._connection = connection
        self._wanted = [table.c.site == site, table.c.day <= until]
        if enclosures is not None:
            self._wanted.append(table.c.enclosure.in_(enclosures))

    def since(self, kind: Kind, days: Mapping[str, dt.date]) -> Iterator[Entry]:
        """Yield the entries of each name from its day on; names that share a day are asked for together."""
        together: dict[dt.date, list[str]] = {}
        for name, day in days.items():
            together.setdefault(day, []).append(name)
        columns = OF_A_READING if kind == "reading" else COLUMNS
        number = columns.index(table.c.number)
        voided = self._voided(min(together)) if together else set()
        for day, names in together.items():
            for row in self._rows(columns, kind, names, day):
                if row[number] not in voided:
                    yield from_row(row)

    def _rows(
        self, columns: Iterable[sa.ColumnElement[Any]], kind: Kind, names: list[str], day: dt.date
    ) -> Iterable[sa.Row[Any]]:
        query: sa.Select[Any] = sa.select(*columns).where(
            *self._wanted, table.c.kind == kind, table.c.name.in_(names), table.c.day >= day
        )
        with unreadable():
            return self._connection.execute(query).all()

    def amendments(self, since: dt.date) -> Iterator[Entry]:
        """Yield what bends the plan by hand and was said from a day on."""
        query: sa.Select[Any] = sa.select(*COLUMNS).where(
            *self._wanted, table.c.kind.in_(AMENDING), table.c.day >= since, ~taken_back
        )
        with unreadable():
            for row in self._connection.execute(query).all():
                entry = from_row(row)
                # Here what a failing disk wrote is found, not where a plan is made.
                _ = parse_once(entry) if entry.kind == "once" else parse_amendment(entry)
                yield entry

    def _voided(self, day: dt.date) -> set[int]:
        """Return the numbers of what was taken back from a day on.

        What takes back bears the day of what it takes back.

        These are few; to ask of each entry whether it was taken back takes longer than to read it.
        """
        taken = table.alias("taken")
        query = (
            sa.select(taken.c.number)
            .join_from(table, taken, taken.c.uid == table.c.voids)
            .where(*self._wanted, table.c.kind == "void", table.c.day >= day)
        )
        return set(self._connection.execute(query).scalars())
