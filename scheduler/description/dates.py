"""Days as people write them: which dates a text may mean, so that a hint can name the one that was meant."""

from __future__ import annotations

import datetime as dt
import re

from scheduler.quantities import show_date

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NUMBERS = re.compile(r"\s*(\d{1,4})\s*([./\s-])\s*(\d{1,2})\s*\2\s*(\d{1,4})\.?\s*")
_WORDS = re.compile(r"\s*(?:(\d{1,2})(?:st|nd|rd|th|\.)?\s+(?:of\s+)?)?([a-z]{3,9})\.?\s*(?:(\d{1,2})(?:st|nd|rd|th)?,?\s+)?,?\s*(\d{4}|\d{2})\s*", re.I)  # fmt: skip  # noqa: E501


def dates_meant(text: str) -> list[dt.date]:
    """Return the dates that a text may mean, the day before the month first; none where it is no date.

    2/3/2026 is the 2nd of March (ISO 8601 is written to end this) or the 3rd of February; a year of two
    digits is of this century.
    """
    if len(text) > 40:
        return []
    found: list[dt.date | None] = []
    if match := _NUMBERS.fullmatch(text):
        first, second, third = int(match[1]), int(match[3]), int(match[4])
        if len(match[1]) == 4:
            found = [_date(first, second, third), _date(first, third, second)]
            # The year first is nearly a date: its month comes next, unless it cannot.
            found = found[:1] if found[0] is not None else found
        elif len(match[1]) <= 2 and len(match[4]) in (2, 4):
            found = [_date(third, second, first), _date(third, first, second)]
    elif match := _WORDS.fullmatch(text):
        month = next((n for n, name in enumerate(_MONTHS, 1) if match[2].lower().startswith(name)), 0)
        day = match[1] or match[3]
        if month and day and not (match[1] and match[3]):
            found = [_date(int(match[4]), month, int(day))]
    return list(dict.fromkeys(day for day in found if day is not None))


def _date(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None


def written(text: str, otherwise: str) -> str:
    """Return what to write in the place of a text that is no date: `2026-03-02`, or each of two with what it
    is in words.

    `otherwise` is said where nobody can tell which day was meant.
    """
    days = dates_meant(text)
    if len(days) < 2:
        return days[0].isoformat() if days else otherwise
    return " or ".join(f"{day.isoformat()} ({show_date(day)})" for day in days)
