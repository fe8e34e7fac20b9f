"""Connections to the two databases, and how a transaction begins in each."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Literal

import sqlalchemy as sa
from sqlalchemy.pool import NullPool

from scheduler.errors import LogError
from scheduler.log.location import LogLocation

WAIT_SECONDS = 60
"""How long somebody waits while somebody else writes."""

CACHE_KIB = 64 * 1024
"""What SQLite keeps in memory: the pages of some months of a large site, to which a plan comes back for each
name."""


WRITES = "pondround_writes"
"""The option of a connection that is going to write."""

Mode = Literal["create", "write", "read"]

_CONNECTING = {
    "connect_timeout": 10,
    # A server that went away without a word is noticed within a minute.
    "keepalives_idle": 30,
    "keepalives_interval": 10,
    "keepalives_count": 3,
    "tcp_user_timeout": 60_000,
}


def make_engine(place: LogLocation, mode: Mode) -> sa.Engine:
    """Return an engine for a place.

    Nothing is opened yet, and only `create` makes a file that is not there.
    """
    if place.file is not None:
        return _sqlite(place.file, mode)
    try:
        return sa.create_engine(
            place.url, connect_args=_CONNECTING, pool_pre_ping=True, pool_size=2, hide_parameters=True
        )
    except ModuleNotFoundError:
        raise LogError(
            f"the log {place} is in PostgreSQL, which needs psycopg; pip install 'pondround[postgres]'"
        ) from None


def begin_alone(connection: sa.Connection, name: str) -> None:
    """Wait until nobody else writes under this name, in the transaction that was just begun.

    In SQLite BEGIN IMMEDIATE has done so for the whole file. In PostgreSQL it is a lock that ends with the
    transaction, so that those who record the same thing at once come one after the other and see each other's
    entries.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(sa.select(sa.func.set_config("lock_timeout", f"{WAIT_SECONDS}s", True)))
        key = sa.func.hashtextextended(f"pondround/{name}", 0)
        connection.execute(sa.select(sa.func.pg_advisory_xact_lock(key)))


def as_of_one_moment(engine: sa.Engine) -> sa.Engine:
    """Return an engine whose transactions see nothing of what others record meanwhile, as those of SQLite
    always do."""
    if engine.dialect.name == "postgresql":
        return engine.execution_options(isolation_level="REPEATABLE READ")
    return engine


def _sqlite(file: Path, mode: Mode) -> sa.Engine:
    def connect() -> sqlite3.Connection:
        return _open_to_read(file) if mode == "read" else _open_to_write(file, mode)

    engine = sa.create_engine("sqlite://", creator=connect, poolclass=NullPool, hide_parameters=True)

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        writes = connection.get_execution_options().get(WRITES)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _connect(file: Path, options: str) -> sqlite3.Connection:
    # With isolation_level None the module begins no transaction by itself.
    uri = f"{file.as_uri()}?{options}"
    return sqlite3.connect(uri, uri=True, timeout=WAIT_SECONDS, isolation_level=None, check_same_thread=False)


def _open_to_write(file: Path, mode: Mode) -> sqlite3.Connection:
    connection = _connect(file, "mode=rwc" if mode == "create" else "mode=rw")
    try:
        connection.execute("PRAGMA journal_mode = WAL")
    except sqlite3.OperationalError as error:
        # Somebody else holds a new file; whoever opens it next will set it. Both ways of writing are safe.
        if not error.sqlite_errorname.startswith("SQLITE_BUSY"):
            connection.close()
            raise
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(f"PRAGMA cache_size = -{CACHE_KIB}")
    return connection


def _open_to_read(file: Path) -> sqlite3.Connection:
    """Open a file to read it, also where no file can be made beside it.

    Even a reader of a WAL database makes files beside it. Where that is not possible and no entry is left in
    such a file, nobody can be writing, and the database is read as one that does not change.
    """
    connection = _connect(file, "mode=rw")
    try:
        connection.execute("PRAGMA query_only = ON")
        connection.execute(f"PRAGMA cache_size = -{CACHE_KIB}")
        connection.execute("SELECT count(*) FROM sqlite_master")
    except sqlite3.OperationalError as error:
        connection.close()
        left = file.with_name(file.name + "-wal")
        refused = error.sqlite_errorname.startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY"))
        if not refused or (left.exists() and left.stat().st_size):
            raise
        connection = _connect(file, "mode=ro&immutable=1")
    return connection
