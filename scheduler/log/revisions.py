"""What was published of each feed's entries, as `calendar.revisions` writes it, packed."""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Mapping

import sqlalchemy as sa

from scheduler.log.store import Log
from scheduler.log.tables import revision


def revisions_of(log: Log, site: str, form: str) -> dict[str, bytes]:
    """Return the books of the feeds of a form by name.

    One that is damaged is left out: the feeds themselves go on.
    """
    query = sa.select(revision.c.name, revision.c.body).where(
        revision.c.site == site, revision.c.form == form
    )
    with log.reading() as connection:
        if connection is None:
            return {}
        found = {}
        for row in connection.execute(query):
            try:
                found[row.name] = gzip.decompress(row.body)
            except (OSError, EOFError, zlib.error):
                continue
        return found


def keep_revisions(connection: sa.Connection, site: str, form: str, books: Mapping[str, bytes]) -> None:
    """Put the books of some feeds in the place of what there was of them; others stay."""
    for name, book in books.items():
        connection.execute(
            sa.delete(revision).where(
                revision.c.site == site, revision.c.form == form, revision.c.name == name
            )
        )
        connection.execute(
            sa.insert(revision).values(site=site, form=form, name=name, body=gzip.compress(book, 1, mtime=0))
        )
