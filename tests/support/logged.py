"""Entries in short, for the tests of this folder."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduler.history import Entry, History
from scheduler.log import Log

SITE = "fen-lane"
DAY = dt.date(2026, 12, 1)
NOW = dt.datetime(2026, 12, 1, 18, 30, 15, 250)  # noqa: DTZ001 - UTC, as the log keeps it


def done(name: str = "water-change", enclosure: str = "sedge", day: dt.date = DAY, **more: Any) -> Entry:
    return Entry(kind="done", enclosure=enclosure, name=name, day=day, **{"recorded": NOW, **more})


def reading(name: str, value: float, enclosure: str = "sedge", day: dt.date = DAY, **more: Any) -> Entry:
    return Entry(
        kind="reading", enclosure=enclosure, name=name, value=value, day=day, **{"recorded": NOW, **more}
    )


def take_back(log: Log, entry: Entry) -> tuple[Entry, bool]:
    return log.void(SITE, entry.uid(SITE), keeper="Noor", note="", recorded=NOW)


def told(history: History, *enclosures: str) -> dict[str, Any]:
    """Return all that a history tells of enclosures, so that two can be compared."""
    return {
        "begun": history.begun,
        "last": history.last,
        "done": {e: tuple(history.done(e)) for e in enclosures},
        "readings": {e: history.measured(e) for e in enclosures},
    }
