"""The kinds of value about time: dates, days of the week, times of day, zones, spans away, rules; and the
locale."""

from __future__ import annotations

import datetime as dt
import functools
import re
import zoneinfo
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from scheduler import rules
from scheduler.description.dates import dates_meant, written
from scheduler.description.fields.mistake import wrong
from scheduler.description.locale_tags import LocaleError, check_tag
from scheduler.errors import clip, nearest

FIRST_DAY, LAST_DAY = dt.date(1950, 1, 1), dt.date(2199, 12, 31)
"""Dates outside are slips of the pen; they would also run over the end of the calendar when intervals are
added."""


WeekdayName = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
FULL_WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WEEKDAY_NAMES: tuple[WeekdayName, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
Part = Literal["morning", "evening"]


def read_date(value: object) -> dt.date:
    """Return a date of the description; what is no date, or none that is believable, is an error."""
    if isinstance(value, dt.datetime):
        raise wrong(
            f"found {clip(value)}, a date with a time; expected a date", f"write {value.date().isoformat()}"
        )
    if not isinstance(value, dt.date):
        raise wrong(f"found {clip(value)}; expected a date without quotes", f"write {_meant(value)}")
    if not FIRST_DAY <= value <= LAST_DAY:
        raise wrong(
            f"found {value.isoformat()}, which is not believable", f"expected {FIRST_DAY} to {LAST_DAY}"
        )
    return value


def _meant(value: object) -> str:
    """Return the date that was meant; where nobody can tell, the form of one."""
    return written(value if isinstance(value, str) else "", "2026-11-20 (year, month, day)")


Day = Annotated[dt.date, BeforeValidator(read_date), WithJsonSchema({"type": "string", "format": "date"})]


def _cycled(value: object) -> bool | dt.date:
    if isinstance(value, bool):
        return value
    if isinstance(value, dt.date):
        return read_date(value)
    meant = dates_meant(value) if isinstance(value, str) else []
    write = _meant(value) if meant else "false"
    raise wrong(
        f"found {clip(value)}; expected true, false, or the date when it was cycled",
        f"write cycled = {write}",
    )


Cycled = Annotated[bool | dt.date, BeforeValidator(_cycled)]


# Files beside the zones that are none: what they say differs from machine to machine.
_NO_ZONES = {"localtime", "posixrules", "Factory"}


@functools.cache
def _zones() -> frozenset[str]:
    return frozenset(zoneinfo.available_timezones() - _NO_ZONES)


@functools.lru_cache(maxsize=64)
def _zone_text(value: str) -> str:
    # Read the one zone that is asked for: listing all of them costs more than the rest of the loading.
    try:
        plain = len(value) <= 64 and re.fullmatch(r"[A-Za-z0-9_+-]+(/[A-Za-z0-9_+-]+)*", value) is not None
        if not plain or value in _NO_ZONES:
            raise ValueError(value)
        zoneinfo.ZoneInfo(value)
    except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
        close = nearest(value, _zones())
        by_place = sorted(z for z in _zones() if z.split("/")[-1].lower() == value.lower().replace(" ", "_"))
        hint = (
            f'write "{by_place[0]}"'
            if by_place
            else f'write "{close}"'
            if close
            else 'write for example "Europe/Dublin"'
        )
        raise wrong(f"found {clip(value)}; expected the name of an IANA time zone", hint) from None
    return value


def _zone(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(
            f"found {clip(value)}; expected the name of an IANA time zone",
            'write for example "Europe/Dublin"',
        )
    return _zone_text(value)


Zone = Annotated[
    str, BeforeValidator(_zone), WithJsonSchema({"type": "string", "description": "IANA time zone"})
]


def _locale(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected the tag of a locale in quotes", 'write "de-AT"')
    try:
        return check_tag(value)
    except LocaleError as error:
        raise wrong(error.message, error.hint) from None


LocaleTag = Annotated[
    str,
    BeforeValidator(_locale),
    WithJsonSchema({"type": "string", "description": 'tag of a locale (BCP 47), "de-AT"'}),
]


def _time(value: object) -> dt.time:
    if isinstance(value, dt.time) and value.tzinfo is None:
        return value.replace(second=0, microsecond=0)
    if isinstance(value, str) and re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", value):
        return dt.time.fromisoformat(value)
    raise wrong(f"found {clip(value)}; expected a time of day", 'write "07:30"')


TimeOfDay = Annotated[
    dt.time,
    BeforeValidator(_time),
    WithJsonSchema(
        {
            "type": "string",
            "description": 'a time of day, "07:30"',
            "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$",
        }
    ),
]


class Away(tuple[dt.date, dt.date]):
    """A span of days, both included."""

    __slots__ = ()

    @property
    def first(self) -> dt.date:
        """Return the first day away."""
        return self[0]

    @property
    def last(self) -> dt.date:
        """Return the last day away."""
        return self[1]


def _meant_span(text: str) -> str:
    """Return how to write a span of which both days can be told: "2/3/2026 - 9/3/2026", "2 March 2026 to 9
    March 2026"."""
    for parted in (r"\s+(?:-|–|to|until)\s+", r"/", r"–"):
        ends = [dates_meant(part) for part in re.split(parted, text.strip())]
        if len(ends) == 2 and all(ends):
            # Both are written in one way: the day first in both, or the month.
            spans = [f'"{first}/{last}"' for first, last in zip(*ends, strict=False) if first <= last]
            if spans:
                return "write " + " or ".join(spans)
    return ""


def _away(value: object) -> Away:
    hint = 'write "2026-12-20/2026-12-28"'
    if not isinstance(value, str) or len(value) > 40:
        raise wrong(f"found {clip(value)}; expected an ISO 8601 interval in quotes, both days included", hint)
    first_text, _, last_text = value.partition("/")
    try:
        first, last = dt.date.fromisoformat(first_text.strip()), dt.date.fromisoformat(last_text.strip())
    except ValueError:
        raise wrong(
            f"found {clip(value)}; expected an ISO 8601 interval, both days included",
            _meant_span(value) or hint,
        ) from None
    for day in (first, last):
        read_date(day)
    if last < first:
        raise wrong(f"found {clip(value)}, a span that ends before it starts", f'write "{last}/{first}"')
    return Away((first, last))


AwaySpan = Annotated[
    Any,
    BeforeValidator(_away),
    WithJsonSchema(
        {
            "type": "string",
            "description": 'an ISO 8601 interval, both days included, "2026-12-20/2026-12-28"',
            "pattern": r"^\d{4}-\d\d-\d\d/\d{4}-\d\d-\d\d$",
        }
    ),
]


def _rule(value: object) -> rules.Rule:
    if not isinstance(value, str):
        raise wrong(
            f"found {clip(value)}; expected an RFC 5545 rule in quotes", 'write "FREQ=MONTHLY;BYDAY=1SA"'
        )
    try:
        return rules.parse(value)
    except rules.RuleError as error:
        raise wrong(error.message, error.hint) from None


RuleText = Annotated[
    Any,
    BeforeValidator(_rule),
    WithJsonSchema(
        {"type": "string", "description": 'an RFC 5545 rule, daily or slower, "FREQ=MONTHLY;BYDAY=1SA"'}
    ),
]


def _weekday(value: object) -> str:
    if isinstance(value, str):
        name = value.strip().title()
        if name in WEEKDAY_NAMES or name in FULL_WEEKDAY_NAMES:
            return name[:3]
    raise wrong(
        f"found {clip(value)}; expected a weekday",
        "write one of " + ", ".join(f'"{d}"' for d in WEEKDAY_NAMES),
    )


Weekday = Annotated[
    WeekdayName,
    BeforeValidator(_weekday),
    WithJsonSchema(
        {
            "type": "string",
            "description": 'a weekday, "Sat" or "Saturday"',
            "enum": [*WEEKDAY_NAMES, *FULL_WEEKDAY_NAMES],
        }
    ),
]
Weekdays = Annotated[tuple[Weekday, ...], Field(min_length=1, max_length=7)]
Minutes = Annotated[int, Field(ge=1, le=1440, strict=True)]
