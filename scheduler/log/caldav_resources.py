"""What was put into CalDAV collections: the record by which a sync tells its own from what others made."""

from __future__ import annotations

from dataclasses import dataclass

import sqlalchemy as sa

from scheduler.log.rows import unreadable
from scheduler.log.store import Log
from scheduler.log.tables import to_do


@dataclass(frozen=True, slots=True)
class StoredResource:
    """A resource as it was put into a collection: its UID, address, entity tag (empty where unknown) and
    text."""

    uid: str
    href: str
    etag: str
    body: str


def put_there(log: Log, site: str, collection: str) -> dict[str, StoredResource]:
    """Return what was put into a collection, by UID."""
    query = sa.select(to_do).where(to_do.c.site == site, to_do.c.collection == collection)
    with log.reading() as connection:
        if connection is None:
            return {}
        with unreadable():
            return {r.uid: StoredResource(r.uid, r.href, r.etag, r.body) for r in connection.execute(query)}


def collections_of(log: Log, site: str) -> list[str]:
    """Return the collections into which something was put that is there still, by their addresses."""
    query = sa.select(to_do.c.collection).where(to_do.c.site == site).distinct().order_by(to_do.c.collection)
    with log.reading() as connection:
        return [] if connection is None else list(connection.execute(query).scalars())


def remember_put(log: Log, site: str, collection: str, put: StoredResource) -> None:
    """Keep what was put, in place of what was put there under that UID before."""
    with log.writing(site) as connection:
        _forget(connection, site, collection, put.uid)
        connection.execute(
            sa.insert(to_do).values(
                site=site, collection=collection, uid=put.uid, href=put.href, etag=put.etag, body=put.body
            )
        )


def forget_put(log: Log, site: str, collection: str, uid: str) -> None:
    """Forget what was put there under a UID: it is no longer there."""
    with log.writing(site) as connection:
        _forget(connection, site, collection, uid)


def _forget(connection: sa.Connection, site: str, collection: str, uid: str) -> None:
    connection.execute(
        sa.delete(to_do).where(to_do.c.site == site, to_do.c.collection == collection, to_do.c.uid == uid)
    )
