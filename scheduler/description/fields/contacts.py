"""The kinds of value about people who are called or written to: addresses, telephone numbers, what they are
called for."""

from __future__ import annotations

import re
from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, WithJsonSchema

from scheduler.description.fields.mistake import wrong
from scheduler.description.fields.text import has_controls
from scheduler.errors import clip, nearest

MOST_ADDRESS, MOST_LOCAL_PART = 254, 64
"""Longest mail address, and its longest part before the @, in characters (RFC 5321, section 4.5.3.1, with its
path of 256)."""


_ADDRESS = re.compile(
    # A dot-atom of RFC 5322, section 3.2.3, and a name of hosts (RFC 1123, section 2.1).
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*"
    r"@[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?(\.[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?)*"
)


def address_trouble(text: str) -> str:
    """Return what keeps a text from being one plain mail address, as found; empty where it is one.

    It is not repeated.

    Messages reach logs, JSON and pages, where an address has no place.
    """
    if has_controls(text):
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
"""What a telephone number is written with: ITU-T E.123 has digits, spaces, brackets and a plus; dots, slashes
and hyphens are usual."""


LEAST_DIGITS, MOST_DIGITS = 3, 21
"""Digits of a telephone number: emergency numbers have three, E.164 has at most fifteen, and an extension up
to six."""


def _phone(value: object) -> str:
    write = 'write it as it is dialled, "+44 1632 960123" or "(555) 555-0134"'
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected a telephone number in quotes", write)
    number = " ".join(value.split()) if not has_controls(value) else value
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
