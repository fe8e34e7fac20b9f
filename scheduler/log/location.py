"""Where a log is: its URL, read and shown."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import ArgumentError

from scheduler.errors import LogError, clip

_WRITE = "write sqlite:///turtles.db, or postgresql+psycopg://host/database"


@dataclass(frozen=True, slots=True)
class LogLocation:
    """Where a log is: the file of a SQLite database, or the URL of a PostgreSQL database."""

    url: sa.URL
    file: Path | None

    def __str__(self) -> str:
        """Return the place as a message may name it: without the password, on one line."""
        hidden = {key: "***" for key in self.url.query if "password" in key.lower()}
        url = self.url.update_query_dict(hidden)
        text = str(self.file) if self.file is not None else url.render_as_string(hide_password=True)
        return "".join(c if c.isprintable() else "?" for c in text)


def read_url(text: str) -> LogLocation:
    """Read the URL of a log; LogError when it is none.

    What cannot be read is not repeated: it may hold a password.
    """
    try:
        url = sa.make_url(text)
    except (ArgumentError, ValueError):
        raise LogError(f"the place of the log is no URL; {_WRITE}") from None
    kind = url.get_backend_name()
    if kind == "sqlite":
        return _file(url)
    if kind != "postgresql":
        raise LogError(f"a log is kept by SQLite or PostgreSQL, not by {clip(kind)}; {_WRITE}")
    if url.drivername not in ("postgresql", "postgresql+psycopg"):
        raise LogError(f"found the driver {clip(url.drivername)}; write postgresql+psycopg://")
    return LogLocation(url.set(drivername="postgresql+psycopg"), None)


def _file(url: sa.URL) -> LogLocation:
    name = url.database or ""
    if url.host or url.query or name in ("", ":memory:") or name.startswith("file:") or "\0" in name:
        raise LogError("a log in SQLite is a file; write sqlite:///turtles.db, with nothing after the name")
    return LogLocation(url, Path(name).absolute())
