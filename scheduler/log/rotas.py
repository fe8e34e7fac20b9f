"""Published rotas, and what the log says of the work of each keeper."""

from __future__ import annotations

import base64
import datetime as dt
import json
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from scheduler.history import OccurrenceRef
from scheduler.log.rows import UnreadableError, taken_back, unreadable
from scheduler.log.tables import entry
from scheduler.log.tables import rota as table
from scheduler.rota import Assigned

PACKED = "zlib:"
MOST_BYTES = 100_000_000
"""A body unpacks to less: half a year of 2,000 enclosures."""


@dataclass(frozen=True, slots=True)
class Given:
    """A job that somebody handed over: which occurrence, for which day, who gave it and who took it, by their
    ids."""

    ref: OccurrenceRef
    day: dt.date
    giver: str
    taker: str


@dataclass(frozen=True, slots=True)
class Published:
    """A rota as it was published: the days that it covers, and who does what.

    `recorded` is UTC, without zone.

    `left` is what nobody takes. `absent` are (keeper's id, first day, last day) on which somebody cannot come
    besides what the description says. `given` is what was handed over and stands so.
    """

    first: dt.date
    last: dt.date
    recorded: dt.datetime
    assigned: tuple[Assigned, ...]
    left: tuple[OccurrenceRef, ...] = ()
    absent: tuple[tuple[str, dt.date, dt.date], ...] = ()
    given: tuple[Given, ...] = ()


@dataclass(frozen=True, slots=True)
class Worked:
    """Minutes that a keeper recorded: on a day; or of late in one enclosure with one job, that many times."""

    keeper: str
    minutes: int
    day: dt.date | None = None
    enclosure: str = ""
    job: str = ""
    times: int = 0


def publish(connection: sa.Connection, site: str, rota: Published) -> None:
    """Add a rota: it holds from now on."""
    rows = [[a.enclosure, a.job, a.variant, str(a.due), str(a.day), a.keeper] for a in rota.assigned]
    left = [[*one.job, str(one.due)] for one in rota.left]
    absent = [[keeper, str(first), str(last)] for keeper, first, last in rota.absent]
    # As before where there is nothing else to say: versions that know no more can read it.
    whole: object = (
        {"assigned": rows, "left": left, "absent": absent} if left or absent or rota.given else rows
    )
    if rota.given:
        given = [[*one.ref.job, str(one.ref.due), str(one.day), one.giver, one.taker] for one in rota.given]
        whole = {"assigned": rows, "left": left, "absent": absent, "given": given}
    body = _packed(json.dumps(whole, ensure_ascii=False, separators=(",", ":")))
    values = {"site": site, "first": rota.first, "last": rota.last, "recorded": rota.recorded, "body": body}
    connection.execute(sa.insert(table), values)


_READ = (table.c.first, table.c.last, table.c.recorded, table.c.body)


def published(connection: sa.Connection, site: str) -> Published | None:
    """Return the rota that holds; None where none was published. UnreadableError where it is no rota."""
    query = sa.select(*_READ).where(table.c.site == site).order_by(table.c.number.desc()).limit(1)
    return next(_published(connection, query), None)


def published_since(connection: sa.Connection, site: str, number: int) -> list[Published]:
    """Return the rotas that were published after the one of a number, in their order.

    UnreadableError where one is none.
    """
    query = sa.select(*_READ).where(table.c.site == site, table.c.number > number).order_by(table.c.number)
    return list(_published(connection, query))


def published_before(connection: sa.Connection, site: str, when: dt.datetime) -> Published | None:
    """Return the rota that held at an instant, UTC without zone; where none was published by then, the first
    of all."""
    of_site = sa.select(*_READ).where(table.c.site == site)
    held = of_site.where(table.c.recorded < when).order_by(table.c.number.desc()).limit(1)
    first = of_site.order_by(table.c.number).limit(1)
    found = next(_published(connection, held), None)
    return found if found is not None else next(_published(connection, first), None)


def _published(connection: sa.Connection, query: sa.Select[Any]) -> Iterator[Published]:
    with unreadable():
        for row in connection.execute(query):
            body = json.loads(_unpacked(row.body))
            whole = body if isinstance(body, dict) else {"assigned": body, "left": [], "absent": []}
            if not whole.keys() >= {"assigned", "left", "absent"}:
                raise UnreadableError
            yield Published(
                row.first,
                row.last,
                row.recorded,
                tuple(_assigned(whole["assigned"])),
                tuple(_left(whole["left"])),
                tuple(_absent(whole["absent"])),
                tuple(_given(whole.get("given", []))),
            )


def _packed(text: str) -> str:
    """Return a text a tenth as long: a server publishes every day, and nothing is ever deleted."""
    return PACKED + base64.b64encode(zlib.compress(text.encode(), 6)).decode()


def _unpacked(body: str) -> str:
    """Return the text of a body, packed or (of earlier versions) not. UnreadableError where it is damaged."""
    if not body.startswith(PACKED):
        return body
    try:
        unpacking = zlib.decompressobj()
        text = unpacking.decompress(base64.b64decode(body.removeprefix(PACKED), validate=True), MOST_BYTES)
        if not unpacking.eof:
            raise UnreadableError
        return text.decode()
    except (ValueError, zlib.error) as error:
        raise UnreadableError from error


def _assigned(rows: Any) -> Iterable[Assigned]:
    for enclosure, job, variant, due, day, keeper in rows:
        if any(part.__class__ is not str for part in (enclosure, job, variant, keeper)):
            raise UnreadableError
        yield Assigned(
            enclosure, job, variant, dt.date.fromisoformat(due), dt.date.fromisoformat(day), keeper
        )


def _left(rows: Any) -> Iterable[OccurrenceRef]:
    for enclosure, job, variant, due in rows:
        if any(part.__class__ is not str for part in (enclosure, job, variant)):
            raise UnreadableError
        yield OccurrenceRef(enclosure, job, variant, dt.date.fromisoformat(due))


def _absent(rows: Any) -> Iterable[tuple[str, dt.date, dt.date]]:
    for keeper, first, last in rows:
        if keeper.__class__ is not str:
            raise UnreadableError
        yield keeper, dt.date.fromisoformat(first), dt.date.fromisoformat(last)


def _given(rows: Any) -> Iterable[Given]:
    for enclosure, job, variant, due, day, giver, taker in rows:
        if any(part.__class__ is not str for part in (enclosure, job, variant, giver, taker)):
            raise UnreadableError
        ref = OccurrenceRef(enclosure, job, variant, dt.date.fromisoformat(due))
        yield Given(ref, dt.date.fromisoformat(day), giver, taker)


def worked_by_day(connection: sa.Connection, site: str, until: dt.date) -> list[Worked]:
    """Return the minutes of each keeper on each day up to one, in the order of days."""
    query = (
        sa.select(entry.c.keeper, sa.func.sum(entry.c.minutes), entry.c.day)
        .where(entry.c.site == site, entry.c.kind == "done", entry.c.keeper != "", entry.c.day <= until)
        .where(~taken_back)
        .group_by(entry.c.day, entry.c.keeper)
        .order_by(entry.c.day, entry.c.keeper)
    )
    with unreadable():
        return [Worked(row[0], int(row[1]), row[2]) for row in connection.execute(query)]


def worked_of_late(connection: sa.Connection, site: str, since: dt.date, until: dt.date) -> list[Worked]:
    """Return the minutes and times of each keeper since a day, by enclosure and job."""
    columns = (entry.c.keeper, entry.c.enclosure, entry.c.name)
    query = (
        sa.select(*columns, sa.func.sum(entry.c.minutes), sa.func.count())
        .where(entry.c.site == site, entry.c.kind == "done", entry.c.keeper != "")
        .where(entry.c.day >= since, entry.c.day <= until, ~taken_back)
        .group_by(*columns)
        .order_by(*columns)
    )
    with unreadable():
        return [
            Worked(row[0], int(row[3]), None, row[1], row[2], row[4]) for row in connection.execute(query)
        ]
