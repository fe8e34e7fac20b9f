"""The last description of a place that was without a mistake: with it every process goes on while there is
one."""

from __future__ import annotations

import datetime as dt
import gzip
import json
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import sqlalchemy as sa

from scheduler.log.rows import unreadable
from scheduler.log.store import Log
from scheduler.log.tables import described


@dataclass(frozen=True, slots=True)
class LastGood:
    """A description as it was read: its text, that of the species sheets beside it by their names, a
    fingerprint of both."""

    content: str
    text: str
    sheets: Mapping[str, str]


def content_of(log: Log, place: str) -> str:
    """Return the fingerprint of the last description of a place; empty where there is none."""
    with log.reading() as connection:
        if connection is None:
            return ""
        query = sa.select(described.c.content).where(described.c.place == place)
        return str(connection.execute(query).scalar() or "")


def last_described(log: Log, place: str) -> LastGood | None:
    """Return the last description of a place; None where there is none, or it is damaged: nothing else rests
    on it."""
    with log.reading() as connection:
        if connection is None:
            return None
        with unreadable():
            row = connection.execute(sa.select(described).where(described.c.place == place)).first()
    if row is None:
        return None
    try:
        body = json.loads(gzip.decompress(row.body))
        return LastGood(row.content, str(body["text"]), {str(k): str(v) for k, v in body["sheets"].items()})
    except (OSError, EOFError, zlib.error, ValueError, KeyError, AttributeError, TypeError):
        return None


def keep_described(
    log: Log, site: str, place: str, new: LastGood, *, now: dt.datetime, is_so: Callable[[], bool]
) -> None:
    """Keep a description in place of the last one, where it `is_so` still once nobody else writes."""
    body = json.dumps({"text": new.text, "sheets": dict(new.sheets)}, ensure_ascii=False)
    packed = gzip.compress(body.encode(), 6, mtime=0)
    # All processes of a place wait for each other here, whatever id its site has in the description that each
    # has read.
    with log.writing(f"described/{place}") as connection:
        if not is_so():
            return
        connection.execute(sa.delete(described).where(described.c.place == place))
        connection.execute(
            sa.insert(described).values(
                place=place, site=site, content=new.content, recorded=now, body=packed
            )
        )
