"""The kinds of value that are text: names, ids, notes, skills, the address of a log."""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from scheduler.description.fields.mistake import wrong
from scheduler.errors import clip

MOST_NAME = 80
"""Longest name, in characters: it stands in titles, file names and 80-column tables."""

MOST_SHORT = 17
"""Longest short title of a job, in characters: a telephone's list of entries shows some 20 with the place
begun."""

SKILLS = ("adult", "electrics", "lifting", "testing")


def _name(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected a name in quotes")
    name = " ".join(value.split()) if not has_controls(value) else value
    if not name:
        raise wrong("found an empty name", "write a name that tells it apart")
    if has_controls(name):
        raise wrong(
            f"found {clip(value)}, a name with a line break or control character", "write it on one line"
        )
    if len(name) > MOST_NAME:
        raise wrong(f"found a name of {len(name)} characters", f"write at most {MOST_NAME} characters")
    return name


def has_controls(text: str) -> bool:
    """Tell whether a text has control characters, line breaks among them."""
    # Cc: controls; Zl, Zp: line and paragraph separators; Cs: lone surrogates. Cf (joiners, direction marks)
    # may stand.
    return any(unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") for c in text)


Name = Annotated[
    str, BeforeValidator(_name), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": MOST_NAME})
]


def _short(value: object) -> str:
    name = _name(value)
    if len(name) > MOST_SHORT:
        raise wrong(
            f"found {clip(name)}, a short title of {len(name)} characters",
            (
                f'write at most {MOST_SHORT} characters, the work first: "Rinse barrel"; without it the '
                "title stands"
            ),
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
    WithJsonSchema(
        {
            "type": "string",
            "description": "an id of small letters, digits and hyphens",
            "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$",
        }
    ),
]


def _log(value: object) -> str:
    write = (
        'write "sqlite:///turtles.db" (a file beside this description), or '
        '"postgresql+psycopg://host/database"'
    )
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected the address of a log in quotes", write)
    file = re.fullmatch(r"sqlite:///(.+)", value, re.S)
    server = re.fullmatch(r"postgresql(?:\+psycopg)?://[^\s/]*/[^\s/]+", value)
    if (not file and not server) or len(value) > 500 or any(has_controls(c) for c in value):
        # The address may hold a password: it is not shown.
        raise wrong("the address of the log is none that is known", write)
    return value


LogUrl = Annotated[
    str,
    BeforeValidator(_log),
    WithJsonSchema(
        {
            "type": "string",
            "description": 'the address of a log, "sqlite:///turtles.db"',
            "pattern": "^(sqlite:///.+|postgresql(\\+psycopg)?://.+)$",
        }
    ),
]


def _note(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(f"found {clip(value)}; expected text in quotes")
    if len(value) > 2000:
        raise wrong(f"found a note of {len(value)} characters", "write at most 2000 characters")
    text = value.replace("\r\n", "\n")
    if any(has_controls(c) and c not in "\n\t" for c in text):
        raise wrong(f"found {clip(value)}, text with control characters", "leave them out")
    return text.strip()


Text = Annotated[str, BeforeValidator(_note), WithJsonSchema({"type": "string", "maxLength": 2000})]


def _skill(value: object) -> str:
    if not isinstance(value, str) or re.fullmatch(r"[a-z][a-z -]{0,30}", value) is None:
        raise wrong(
            f"found {clip(value)}; expected a skill in small letters", "the jobs ask for " + ", ".join(SKILLS)
        )
    return value


Skill = Annotated[str, BeforeValidator(_skill)]
