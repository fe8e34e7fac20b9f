"""What icalendar gives of an entry, with the types that its union of all values hides."""

from __future__ import annotations

import datetime as dt
from typing import Any

from icalendar import Component


def time_of(entry: Component, name: str) -> dt.date:
    """Return the day, or the day and hour, that DTSTART, DUE or the like of an entry says."""
    value: Any = entry[name]
    found: dt.date = value.dt
    return found


def categories(entry: Component) -> list[str]:
    value: Any = entry["CATEGORIES"]
    return [str(one) for one in value.cats]
