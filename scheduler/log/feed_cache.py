"""Feeds as they were last served: any process goes on from there, and serves the same bytes."""

from __future__ import annotations

import datetime as dt
import gzip
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

import sqlalchemy as sa

from scheduler.errors import LogError
from scheduler.log.revisions import keep_revisions
from scheduler.log.rows import unreadable
from scheduler.log.store import Log
from scheduler.log.tables import feed, served


@dataclass(frozen=True, slots=True)
class CachedFeed:
    """A feed: its bytes packed by gzip, the size that they have unpacked, their entity tag, and when they
    last changed (UTC)."""

    etag: str
    modified: dt.datetime
    size: int
    packed: bytes

    def body(self) -> bytes:
        """Return the bytes. LogError where they are damaged."""
        try:
            body = gzip.decompress(self.packed)
        except (OSError, EOFError, zlib.error):
            body = b""
        if len(body) != self.size:
            raise LogError(
                "the feeds that the log keeps are damaged; keep it aside and put the copy of your "
                "backup in its place"
            )
        return body


def cached_state(log: Log, site: str, form: str) -> str:
    """Return of which state of things the feeds of a form are; empty where there are none."""
    query = sa.select(served.c.of_).where(served.c.site == site, served.c.form == form)
    with log.reading() as connection:
        return "" if connection is None else str(connection.execute(query).scalar() or "")


def shelved(log: Log, site: str, form: str) -> dict[str, CachedFeed]:
    """Return the feeds of a form by name."""
    query = sa.select(feed).where(feed.c.site == site, feed.c.form == form)
    with log.reading() as connection:
        if connection is None:
            return {}
        with unreadable():
            return {r.name: CachedFeed(r.etag, r.modified, r.size, r.body) for r in connection.execute(query)}


def cache_feeds(
    log: Log,
    site: str,
    form: str,
    feeds: Mapping[str, CachedFeed],
    *,
    before: str,
    of: str,
    books: Mapping[str, bytes] | None = None,
) -> bool:
    """Replace the feeds of a form where they are still of the state `before`; return whether they were.

    Feeds that are not among the new ones are dropped from the cache. `books` are what was published of them,
    of those that changed; what was published of feeds that are gone stays known.
    """
    with log.writing(site) as connection:
        here = sa.and_(served.c.site == site, served.c.form == form)
        was = connection.execute(sa.select(served.c.of_).where(here)).scalar()
        if str(was or "") != before:
            return False
        known = {
            r.name: r.etag
            for r in connection.execute(
                sa.select(feed.c.name, feed.c.etag).where(feed.c.site == site, feed.c.form == form)
            )
        }
        new = {name: one for name, one in feeds.items() if known.get(name) != one.etag}
        gone = [*(known.keys() - feeds.keys()), *(known.keys() & new.keys())]
        for name in gone:
            connection.execute(
                sa.delete(feed).where(feed.c.site == site, feed.c.form == form, feed.c.name == name)
            )
        for name, one in new.items():
            connection.execute(
                sa.insert(feed).values(
                    site=site,
                    form=form,
                    name=name,
                    etag=one.etag,
                    modified=one.modified,
                    size=one.size,
                    body=one.packed,
                )
            )
        connection.execute(sa.delete(served).where(here))
        keep_revisions(connection, site, form, books or {})
        connection.execute(sa.insert(served).values(site=site, form=form, of_=of))
        return True
