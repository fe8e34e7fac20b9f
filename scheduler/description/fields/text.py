"""The kinds of value a description knows: quantities, spans, times, zones, names, rules, as pydantic types.

Each turns the keeper's text into a plain value, or raises an error with the two halves of a problem: what was found
and expected, and what to write instead.
"""

from __future__ import annotations

import datetime as dt
import functools
import re
import unicodedata
import zoneinfo
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from scheduler import rules
from scheduler.description.dates import dates_meant, written
from scheduler.description.locale_tags import LocaleError, check_tag
from scheduler.errors import clip, nearest
from scheduler.quantities import KINDS, QuantityError, Span, parse, parse_span

FIRST_DAY, LAST_DAY = dt.date(1950, 1, 1), dt.date(2199, 12, 31)
"""Dates outside are slips of the pen; they would also run over the end of the calendar when intervals are added."""

MOST_NAME = 80
"""Longest name, in characters: it stands in titles, file names and 80-column tables."""

MOST_SHORT = 17
"""Longest short title of a job, in characters: a telephone's list of entries shows some 20 with the place begun."""

WeekdayName = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
FULL_WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WEEKDAY_NAMES: tuple[WeekdayName, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
Part = Literal["morning", "evening"]
SKILLS = ("adult", "electrics", "lifting", "testing")


def wrong(message: str, hint: str = "") -> PydanticCustomError:
    """Return the error that becomes a problem with this message and hint."""
    # pydantic formats the template: braces in the keeper's text must not be read as fields.
    return PydanticCustomError("description", "{message}", {"message": message, "hint": hint})


def _quantity(kind_name: str) -> Any:
    kind = KINDS[kind_name]

    def read(value: object) -> float:
        article = "an" if kind.name[0] in "aeiou" else "a"
        if isinstance(value, bool) or not isinstance(value, str):
            bare = isinstance(value, int | float) and not isinstance(value, bool)
            found = f"found {clip(value)}" + (", a bare number" if bare else "")
            raise wrong(
                f"{found}; expected {article} {kind.name} with its unit, in quotes", f"write {kind.example}"
            )
        try:
            return parse(value, kind_name)
        except QuantityError as error:
            raise wrong(error.message, error.hint) from None

    schema = {
        "type": "string",
        "description": f"{kind.name} with its unit, {kind.example}",
        "pattern": r"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*[A-Za-z°].*$",
    }
    return BeforeValidator(read), WithJsonSchema(schema)


Length = Annotated[float, *_quantity("length")]
Area = Annotated[float, *_quantity("area")]
Volume = Annotated[float, *_quantity("volume")]
Mass = Annotated[float, *_quantity("mass")]
Flow = Annotated[float, *_quantity("flow")]
Power = Annotated[float, *_quantity("power")]
Temperature = Annotated[float, *_quantity("temperature")]
Concentration = Annotated[float, *_quantity("concentration")]


def _span(least_days: int) -> Any:
    def read(value: object) -> Span:
        if not isinstance(value, str):
            raise wrong(
                f"found {clip(value)}; expected a span in quotes", 'write "14 days", "6 weeks" or "6 months"'
            )
        try:
            return parse_span(value, least_days)
        except QuantityError as error:
            raise wrong(error.message, error.hint) from None

    schema = {
        "type": "string",
        "description": 'a span, "14 days", "6 weeks" or "6 months"',
        "pattern": r"^\s*\d{1,5}\s*(day|week|month|year)s?\s*$",
    }
    return BeforeValidator(read), WithJsonSchema(schema)


Interval = Annotated[Span, *_span(1)]
Window = Annotated[Span, *_span(0)]


def _date(value: object) -> dt.date:
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


Day = Annotated[dt.date, BeforeValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]


def _cycled(value: object) -> bool | dt.date:
    if isinstance(value, bool):
        return value
    if isinstance(value, dt.date):
        return _date(value)
    meant = dates_meant(value) if isinstance(value, str) else []
    write = _meant(value) if meant else "false"
    raise wrong(
        f"found {clip(value)}; expected true, false, or the date when it was cycled",
        f"write cycled = {write}",
    )


Cycled = Annotated[bool | dt.date, BeforeValidator(_cycled)]


def _name(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected a name in quotes")
    name = " ".join(value.split()) if not _controls(value) else value
    if not name:
        raise wrong("found an empty name", "write a name that tells it apart")
    if _controls(name):
        raise wrong(
            f"found {clip(value)}, a name with a line break or control character", "write it on one line"
        )
    if len(name) > MOST_NAME:
        raise wrong(f"found a name of {len(name)} characters", f"write at most {MOST_NAME} characters")
    return name


def _controls(text: str) -> bool:
    # Cc: controls; Zl, Zp: line and paragraph separators; Cs: lone surrogates. Cf (joiners, direction marks) may stand.
    return any(unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") for c in text)


Name = Annotated[
    str, BeforeValidator(_name), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": MOST_NAME})
]


def _short(value: object) -> str:
    name = _name(value)
    if len(name) > MOST_SHORT:
        raise wrong(
            f"found {clip(name)}, a short title of {len(name)} characters",
            f'write at most {MOST_SHORT} characters, the work first: "Rinse barrel"; without it the title stands',
        )
    return name


ShortName = Annotated[
    str, BeforeValidator(_short), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": MOST_SHORT})
]


def _identifier(value: object) -> str:
    if (
        not isinstance(value, str)
        or re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", value) is None
        or len(value) > MOST_NAME
    ):
        raise wrong(
            f"found {clip(value)}; expected an id of small letters, digits and single hyphens",
            'write "sedge-tank"',
        )
    return value


Id = Annotated[
    str,
    BeforeValidator(_identifier),
    WithJsonSchema({"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"}),
]


def _log(value: object) -> str:
    write = 'write "sqlite:///turtles.db" (a file beside this description), or "postgresql+psycopg://host/database"'
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected the address of a log in quotes", write)
    file = re.fullmatch(r"sqlite:///(.+)", value, re.S)
    server = re.fullmatch(r"postgresql(?:\+psycopg)?://[^\s/]*/[^\s/]+", value)
    if (not file and not server) or len(value) > 500 or any(_controls(c) for c in value):
        # The address may hold a password: it is not shown.
        raise wrong("the address of the log is none that is known", write)
    return value


LogUrl = Annotated[
    str,
    BeforeValidator(_log),
    WithJsonSchema({"type": "string", "pattern": "^(sqlite:///.+|postgresql(\\+psycopg)?://.+)$"}),
]


MOST_ADDRESS, MOST_LOCAL_PART = 254, 64
"""Longest mail address, and its longest part before the @, in characters (RFC 5321, section 4.5.3.1, with its path of 256)."""

_ADDRESS = re.compile(
    # A dot-atom of RFC 5322, section 3.2.3, and a name of hosts (RFC 1123, section 2.1).
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*"
    r"@[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?(\.[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?)*"
)


def address_trouble(text: str) -> str:
    """Return what keeps a text from being one plain mail address, as found; empty where it is one. It is not repeated.

    Messages reach logs, JSON and pages, where an address has no place.
    """
    if _controls(text):
        return "a mail address with a line break or control character"
    if text.count("@") > 1 or any(sign in text for sign in ",;"):
        return "more than one mail address"
    if any(sign in text for sign in '<>"'):
        return "a mail address with a name or quotes around it"
    if not text.isascii():
        return "a mail address with letters beyond a to z"
    local = text.partition("@")[0]
    if len(text) > MOST_ADDRESS or len(local) > MOST_LOCAL_PART:
        return f"a mail address of {len(text)} characters"
    return "" if _ADDRESS.fullmatch(text) else "text that is no mail address"


def _email(value: object) -> str:
    if not isinstance(value, str):
        raise wrong("expected a mail address in quotes", 'write email = "noor@example.org"')
    trouble = address_trouble(value)
    if trouble:
        raise wrong(f"found {trouble}", 'write one address alone, as "noor@example.org"')
    return value


Email = Annotated[
    str,
    BeforeValidator(_email),
    WithJsonSchema(
        {"type": "string", "description": "one mail address", "pattern": r"^[^\s@,;<>\"]+@[^\s@,;<>\"]+$"}
    ),
]


_PHONE = re.compile(r"\+?[0-9(][0-9 ()./-]*( ?(ext\.?|x) ?[0-9]{1,6})?")
"""What a telephone number is written with: ITU-T E.123 has digits, spaces, brackets and a plus; dots, slashes and hyphens are usual."""

LEAST_DIGITS, MOST_DIGITS = 3, 21
"""Digits of a telephone number: emergency numbers have three, E.164 has at most fifteen, and an extension up to six."""


def _phone(value: object) -> str:
    write = 'write it as it is dialled, "+44 1632 960123" or "(555) 555-0134"'
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected a telephone number in quotes", write)
    number = " ".join(value.split()) if not _controls(value) else value
    digits = sum(sign.isdigit() for sign in number)
    if not _PHONE.fullmatch(number):
        raise wrong(f"found {clip(value)}, which is no telephone number", write)
    if not LEAST_DIGITS <= digits <= MOST_DIGITS:
        raise wrong(f"found {clip(value)}, a telephone number of {digits} digits", write)
    return number


Phone = Annotated[
    str,
    BeforeValidator(_phone),
    WithJsonSchema(
        {
            "type": "string",
            "description": 'a telephone number as it is dialled, "+44 1632 960123"',
            "pattern": r"^\+?[0-9(][0-9 ()./-]*( ?(ext\.?|x) ?[0-9]{1,6})?$",
        }
    ),
]

Duty = Literal["vet", "electrician", "coordinator", "authority"]
DUTIES: tuple[Duty, ...] = get_args(Duty)
"""What somebody of the description is called for."""


def _duties(value: object) -> tuple[str, ...]:
    asked = (value,) if isinstance(value, str) else tuple(value) if isinstance(value, list) else ()
    choices = ", ".join(f'"{duty}"' for duty in DUTIES)
    for duty in asked:
        if not isinstance(duty, str) or duty not in DUTIES:
            close = nearest(duty, DUTIES) if isinstance(duty, str) else ""
            hint = f'nearest: "{close}"' if close else 'write for = "vet", or for = ["vet", "coordinator"]'
            raise wrong(f"found {clip(duty)}; expected {choices}, or a list of them", hint)
    if not asked:
        raise wrong(
            f"found {clip(value)}; expected {choices}, or a list of them",
            'write for = "vet", or for = ["vet", "coordinator"]',
        )
    return tuple(duty for duty in DUTIES if duty in asked)


Duties = Annotated[
    tuple[Duty, ...],
    BeforeValidator(_duties),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": list(DUTIES)},
                {"type": "array", "items": {"enum": list(DUTIES)}, "minItems": 1},
            ]
        }
    ),
]


def contacts_or_text(value: object) -> object:
    """Refuse what is neither a list of tables nor text, as which `contact` may stand."""
    if isinstance(value, dict):
        raise wrong("found one table; expected a list of them", "write [[site.contact]]")
    if not isinstance(value, str | list):
        raise wrong(
            f"found {clip(value)}; expected tables", "write [[site.contact]] with name, phone and for"
        )
    return value


def _note(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected text in quotes")
    if len(value) > 2000:
        raise wrong(f"found a note of {len(value)} characters", "write at most 2000 characters")
    text = value.replace("\r\n", "\n")
    if any(_controls(c) and c not in "\n\t" for c in text):
        raise wrong(f"found {clip(value)}, text with control characters", "leave them out")
    return text.strip()


Text = Annotated[str, BeforeValidator(_note), WithJsonSchema({"type": "string", "maxLength": 2000})]


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
    WithJsonSchema({"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$"}),
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
    """Return how to write a span of which both days can be told: "2/3/2026 - 9/3/2026", "2 March 2026 to 9 March 2026"."""
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
        _date(day)
    if last < first:
        raise wrong(f"found {clip(value)}, a span that ends before it starts", f'write "{last}/{first}"')
    return Away((first, last))


AwaySpan = Annotated[
    Any,
    BeforeValidator(_away),
    WithJsonSchema(
        {
            "type": "string",
            "description": "ISO 8601 interval, both days included",
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
    WithJsonSchema({"type": "string", "description": "RFC 5545 recurrence rule, daily or slower"}),
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
    WithJsonSchema({"type": "string", "enum": [*WEEKDAY_NAMES, *FULL_WEEKDAY_NAMES]}),
]
Weekdays = Annotated[tuple[Weekday, ...], Field(min_length=1, max_length=7)]


def _skill(value: object) -> str:
    if not isinstance(value, str) or re.fullmatch(r"[a-z][a-z -]{0,30}", value) is None:
        raise wrong(
            f"found {clip(value)}; expected a skill in small letters", "the jobs ask for " + ", ".join(SKILLS)
        )
    return value


Skill = Annotated[str, BeforeValidator(_skill)]
Minutes = Annotated[int, Field(ge=1, le=1440, strict=True)]
