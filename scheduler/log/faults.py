"""What the databases say when something is wrong, as one sentence that says what to do.

Only what a keeper can act on is put into words; a slip in our own SQL stays loud.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Literal

from sqlalchemy.exc import DBAPIError

from scheduler.errors import LogError, UncertainError
from scheduler.log.engine import WAIT_SECONDS
from scheduler.log.location import LogLocation

Doing = Literal["open", "read", "record"]

_KEEP = (
    "keep it aside and put the copy of your backup in its place; "
    "or begin a new log and take back an export with `pondround history --import`"
)
_BUSY = (f"somebody else has been writing for more than {WAIT_SECONDS} s", "end that program, or try again")
_DAMAGED = ("it is damaged", _KEEP)
_MISSING = ("its table is not there, or not whole", _KEEP)
_IN_THE_WAY = ("another program's table is in the way", "give the log a database of its own")
_RIGHTS = "ask whoever runs the server for the right to read, to write and to make tables"

_SQLITE = {
    "SQLITE_FULL": ("the disk is full", "make room"),
    "SQLITE_READONLY": ("the file or its folder is read-only", "make both yours to write to"),
    "SQLITE_CANTOPEN": (
        "it cannot be opened",
        "it has to be a file, in a folder that is there and yours to write to",
    ),
    "SQLITE_PERM": ("you may not open it", "make the file and its folder yours to write to"),
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "SQLITE_PROTOCOL": _BUSY,
    "SQLITE_NOTADB": ("it is no log, or it is damaged", _KEEP),
    "SQLITE_CORRUPT": _DAMAGED,
    "SQLITE_IOERR": ("the disk refused", "look whether it is full or failing"),
}
_POSTGRESQL = {
    "28": ("the server does not let you in", "check the user and the password in the URL"),
    "3D": ("there is no such database", "make it on the server with createdb, or correct the URL"),
    "42501": ("you may not do this there", _RIGHTS),
    "3F": ("there is no schema to write to", _RIGHTS),
    "42P01": _MISSING,
    "42703": _MISSING,
    "42P07": _IN_THE_WAY,
    "25006": ("the server only lets itself be read", "write the URL of the one that takes changes"),
    "53100": ("the disk of the server is full", "make room there"),
    "53": ("the server is busy", "try again in a while"),
    "55P03": _BUSY,
    "57014": ("the server broke it off", "try again"),
    "57": ("the server is stopping or starting", "try again in a while"),
    "58": ("the disk of the server refused", "look whether it is full or failing"),
    "XX": ("the database is damaged", "put back the copy of your backup on the server"),
}
# A refused connection comes without a state; a server that speaks another language than English is quoted
# instead.
_AT_THE_DOOR = {
    "too many": "53",
    "authentication failed": "28",
    "pg_hba.conf": "28",
    'role "': "28",
    "does not exist": "3D",
    "the database system is": "57",
}
_URL = "look whether it runs, and whether the URL is right"


@dataclass(slots=True)
class Progress:
    """How far a change came: whether the database was asked to keep it."""

    keeping: bool = False


@contextmanager
def telling(place: LogLocation, doing: Doing) -> Iterator[Progress]:
    """Turn what a keeper can act on into a LogError that names the log."""
    progress = Progress()
    try:
        yield progress
    except UnicodeDecodeError as error:
        # Even the names of the tables are no text any more.
        raise damaged(place) from error
    except DBAPIError as error:
        found = _reason(error)
        if found is None:
            raise
        reason, advice = found
        if doing == "record" and progress.keeping and error.connection_invalidated:
            raise UncertainError(
                f"the log {place} was asked to keep it and did not answer; look with `pondround history` "
                "whether "
                "it is there, and record it again if it is not"
            ) from error
        raise LogError(f"{_what(place, doing)}: {reason}; {advice}") from error


def damaged(place: LogLocation) -> LogError:
    """Return the failure of a log that holds what nobody can have written."""
    return LogError(f"{_what(place, 'read')}: {_DAMAGED[0]}; {_DAMAGED[1]}")


def _what(place: LogLocation, doing: Doing) -> str:
    if doing == "record":
        return f"nothing was recorded in the log {place}"
    return f"the log {place} cannot be {'opened' if doing == 'open' else 'read'}"


def _reason(error: DBAPIError) -> tuple[str, str] | None:
    """Return what happened and what to do about it; None where it is not the keeper's to know."""
    said = str(error.orig).strip()
    # A text that is no UTF-8 is noticed by Python, not by SQLite.
    if "Could not decode to UTF-8" in said:
        return _DAMAGED
    if error.orig is not None and hasattr(error.orig, "sqlstate"):
        return _of_postgresql(error.orig.sqlstate, said)
    return _of_sqlite(getattr(error.orig, "sqlite_errorname", ""), said)


def _of_sqlite(name: str, said: str) -> tuple[str, str] | None:
    if name == "SQLITE_ERROR" and said.startswith(("no such table", "no such column")):
        return _MISSING
    if name == "SQLITE_ERROR" and "already exists" in said:
        return _IN_THE_WAY
    return next((found for start, found in _SQLITE.items() if name.startswith(start)), None)


def _of_postgresql(state: str | None, said: str) -> tuple[str, str] | None:
    if state:
        return _POSTGRESQL.get(state) or _POSTGRESQL.get(state[:2])
    # Without a state it is the connection; what libpq says first tells why, and names no password.
    _, refused, why = said.partition("FATAL:")
    for sign, known in _AT_THE_DOOR.items():
        if sign in why:
            return _POSTGRESQL[known]
    first_line = said.partition("\n")[0].strip()
    return f"the server {'refused' if refused else 'does not answer'} ({first_line})", _URL
