"""Entries to rows and back, and what may stand in a row: the same for every database."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import sqlalchemy as sa

from scheduler.errors import UsageError
from scheduler.history import KINDS, Entry, Kind
from scheduler.log.tables import entry as table

NOTE_LENGTH = 10_000
TEXT_LENGTH = 500
NAME_LENGTH = 200
"""The most characters of a note, of another text, and of a name; all names of an entry fit into an index of
PostgreSQL."""


_LENGTHS = {
    "enclosure": NAME_LENGTH,
    "name": NAME_LENGTH,
    "of": NAME_LENGTH,
    "voids": NAME_LENGTH,
    "given": TEXT_LENGTH,
    "keeper": TEXT_LENGTH,
    "title": TEXT_LENGTH,
    "note": NOTE_LENGTH,
}
_MOST = {"minutes": 100_000, "turn": 1_000_000}
_NOT_TEXT = re.compile("[\0\ud800-\udfff]")

_void = table.alias("void_")
taken_back = sa.exists().where(_void.c.voids == table.c.uid)
"""Whether another entry takes this one back; it ends a search by the index of what is taken back."""

OF_A_READING: Sequence[sa.ColumnElement[Any]] = (
    table.c.kind,
    table.c.enclosure,
    table.c.name,
    table.c.of_,
    table.c.day,
    table.c.time,
    table.c.value,
    table.c.given,
    table.c.turn,
    table.c.recorded,
    table.c.number,
)
"""What a plan reads of a reading, of which it reads many."""

COLUMNS: Sequence[sa.ColumnElement[Any]] = (
    *OF_A_READING,
    table.c.keeper,
    table.c.title,
    table.c.minutes,
    table.c.note,
    table.c.voids,
)


def check(site: str, entry: Entry) -> None:
    """Raise UsageError when an entry holds what not every database keeps as it is: too long a text, NUL, half
    a character."""
    for name, most in _LENGTHS.items():
        check_text("name" if name == "of" else name, getattr(entry, name), most)
    check_text("site", site, NAME_LENGTH)
    if entry.kind not in KINDS:
        raise ValueError(f"{entry.kind} is no kind of entry")
    for name, top in _MOST.items():
        if not 0 <= getattr(entry, name) <= top:
            raise UsageError(f"found {name} = {getattr(entry, name)}; write a number from 0 to {top}")
    if entry.value is not None and not math.isfinite(entry.value):
        raise UsageError(f"found {entry.value} as the value of {entry.name}; write a number")
    if entry.recorded.tzinfo is not None:
        raise ValueError("recorded is UTC, without zone")


def check_text(name: str, text: str, most: int) -> None:
    """Raise UsageError when a text is too long, or holds NUL or half a character."""
    if len(text) > most:
        raise UsageError(f"the {name} has {len(text):,} characters; write at most {most:,}")
    if found := _NOT_TEXT.search(text):
        raise UsageError(f"the {name} holds U+{ord(found[0]):04X}, which is no text; leave it out")


def to_row(site: str, entry: Entry) -> dict[str, Any]:
    """Return the row of an entry; the database gives the number."""
    return {
        "uid": entry.uid(site),
        "site": site,
        "kind": entry.kind,
        "enclosure": entry.enclosure,
        "name": entry.name,
        "of_": entry.of,
        "day": entry.day,
        "time": entry.time,
        "value": entry.value,
        "given": entry.given,
        "keeper": entry.keeper,
        "title": entry.title,
        "minutes": entry.minutes,
        "note": entry.note,
        "turn": entry.turn,
        "recorded": entry.recorded,
        "voids": entry.voids or None,
    }


class UnreadableError(Exception):
    """A row that nobody wrote: a failing disk did. SQLite keeps any kind of value in any column."""


def fetched(found: sa.Result[Any]) -> Iterator[sa.Row[Any]]:
    """Yield rows as they come; UnreadableError where a day is no day."""
    with unreadable():
        yield from found


@contextmanager
def unreadable() -> Iterator[None]:
    """Turn what a driver says of a value that is none of its column's into UnreadableError."""
    try:
        yield
    except (ValueError, TypeError, RecursionError) as error:
        raise UnreadableError from error


class _Row:
    """The slots of an Entry, filled without the checks that keep a frozen class frozen: a plan reads 100,000
    of them."""

    __slots__ = Entry.__slots__

    def __init__(  # noqa: PLR0917 - called with a row
        self,
        kind: Kind,
        enclosure: str,
        name: str,
        of: str,
        day: dt.date,
        time: dt.time | None,
        value: float | None,
        given: str,
        turn: int,
        recorded: dt.datetime,
        number: int,
        keeper: str = "",
        title: str = "",
        minutes: int = 0,
        note: str = "",
        voids: str | None = None,
        voided: object = False,
    ) -> None:
        if not (enclosure.__class__ is name.__class__ is of.__class__ is str):
            raise UnreadableError
        self.kind = kind
        self.enclosure = enclosure
        self.name = name
        self.of = of
        self.day = day
        self.time = time
        self.value = value
        self.given = given
        self.keeper = keeper
        self.title = title
        self.minutes = minutes
        self.note = note
        self.turn = turn
        self.recorded = recorded
        self.voids = voids or ""
        self.number = number
        self.voided = bool(voided)


def from_row(row: Sequence[Any]) -> Entry:
    """Return the entry of a row of OF_A_READING or COLUMNS, or of one that tells after these whether it is
    taken back."""
    made = _Row(*row)
    made.__class__ = Entry  # type: ignore[assignment]
    return made  # type: ignore[return-value]
