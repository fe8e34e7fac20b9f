"""What if: a description with some values changed, before it is loaded like any other.

A change is `key=value`. The key names a value as in the file: `width`, `filter.flow`, `lamp[0].uvi`,
`resident[Fern].count`, `site.room_low`; `[+]` adds a table, and an empty value takes the key away. Keys of
the enclosure apply to every enclosure that is asked for; keys of the site, its tap water and its house values
may stand alone.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Callable, Iterable
from typing import Any

from scheduler.description.site import Enclosure, HouseValues, SiteSettings, TapWater
from scheduler.errors import UsageError, clip, nearest

ARRAYS = ("keeper", "enclosure", "heater", "lamp", "resident", "extra_job")
MOST_CHANGES, MOST_LETTERS, MOST_DEPTH = 100, 500, 8

_STEP = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*)(?:\[([^\[\]]{1,80})\])?")
_ADD = "+"


def changed(
    data: dict[str, Any], changes: Iterable[str], wanted: Callable[[dict[str, Any]], bool]
) -> dict[str, Any]:
    """Return a copy of a description's data with the changes made to the wanted enclosures.

    UsageError says what is wrong.
    """
    found = copy.deepcopy(data)
    enclosures = [e for e in found.get("enclosure", []) if wanted(e)]
    listed = list(changes)
    if len(listed) > MOST_CHANGES:
        raise UsageError(
            f"{len(listed)} changes at once; write at most {MOST_CHANGES}, or another description"
        )
    added: dict[tuple[int, str], dict[str, Any]] = {}
    for change in listed:
        key, equals, text = change.partition("=")
        if not equals or not key.strip() or len(change) > MOST_LETTERS:
            raise UsageError(f'{clip(change)} is no change; write it as width="60 cm" or lamp[0].uvi=3.4')
        steps = _steps(key.strip())
        if len(steps) > MOST_DEPTH or sum(map(text.count, "[{")) > MOST_DEPTH:
            raise UsageError(f"{clip(change)} is nested too deeply; a description needs four levels")
        names = [name for name, _ in steps]
        if names in (["name"], ["id"], ["enclosure", "name"], ["enclosure", "id"]):
            raise UsageError(f"{clip(key)}: an enclosure keeps its name and id, by which it is compared")
        for node, rest in _starts(found, enclosures, steps, key):
            _set(node, rest, _value(text), key, added)
    return found


def _steps(key: str) -> list[tuple[str, str | None]]:
    steps: list[tuple[str, str | None]] = []
    place = 0
    while True:
        match = _STEP.match(key, place)
        if match is None:
            raise UsageError(f"{clip(key)} is no key; write width, filter.flow, lamp[0].uvi or site.room_low")
        steps.append((match[1], match[2]))
        place = match.end()
        if place == len(key):
            return steps
        if key[place] != ".":
            raise UsageError(f"{clip(key)} is no key; a dot parts its steps")
        place += 1


def _starts(
    data: dict[str, Any], enclosures: list[dict[str, Any]], steps: list[tuple[str, str | None]], key: str
) -> list[tuple[dict[str, Any], list[tuple[str, str | None]]]]:
    """Return the tables that a key starts from, with the steps that are left from there."""
    first = steps[0][0]
    if first in ("site", "keeper", "enclosure") and len(steps) > 1:
        return [(data, steps)]
    if first in Enclosure.model_fields:
        return [(enclosure, steps) for enclosure in enclosures]
    for fields, before in (
        (SiteSettings.model_fields, ["site"]),
        (TapWater.model_fields, ["site", "tap_water"]),
        (HouseValues.model_fields, ["site", "house_values"]),
    ):
        if first in fields:
            return [(data, [*((name, None) for name in before), *steps])]
    known = [
        *Enclosure.model_fields,
        *SiteSettings.model_fields,
        *TapWater.model_fields,
        *HouseValues.model_fields,
    ]
    close = nearest(first, known)
    raise UsageError(f"there is no key {clip(key)}" + (f"; nearest: {close}" if close else ""))


def _set(
    node: dict[str, Any],
    steps: list[tuple[str, str | None]],
    value: object,
    key: str,
    added: dict[tuple[int, str], dict[str, Any]],
) -> None:
    for name, pick in steps[:-1]:
        node = _into(node, name, pick, key, added)
    last, pick = steps[-1]
    if pick is not None or (last in ARRAYS and value is not None):
        raise UsageError(f"{clip(key)} names a whole table; name the value inside it, such as lamp[0].uvi")
    if value is None:
        node.pop(last, None)
    else:
        node[last] = value


def _into(
    node: dict[str, Any],
    name: str,
    pick: str | None,
    key: str,
    added: dict[tuple[int, str], dict[str, Any]],
) -> dict[str, Any]:
    """Return the table inside a table: made where it is not there, picked where there are several."""
    if name not in ARRAYS:
        inside = node.setdefault(name, {})
        if pick is not None or not isinstance(inside, dict):
            raise UsageError(f"{clip(key)}: {name} is no list of tables")
        return inside
    if name == "enclosure" and pick == _ADD:
        raise UsageError(
            f"{clip(key)}: nothing could be compared with one more enclosure; write it into a file"
        )
    tables: list[dict[str, Any]] = node.setdefault(name, [])
    if pick == _ADD or (pick is None and not tables):
        new = added.get((id(tables), name))
        if new is None:
            new = {"name": "Another animal"} if name == "resident" else {}
            added[id(tables), name] = new
            tables.append(new)
        return new
    return _picked(tables, name, pick, key)


def _picked(tables: list[dict[str, Any]], name: str, pick: str | None, key: str) -> dict[str, Any]:
    """Return the one table of a list that is meant: the only one, or by its number, name, id or kind."""
    if pick is None:
        if len(tables) == 1:
            return tables[0]
        raise UsageError(
            f"{clip(key)}: there are {len(tables)} of {name}; write {name}[0] to "
            f"{name}[{len(tables) - 1}], a name, or [+] for one more"
        )
    if pick.isdecimal():
        if int(pick) < len(tables):
            return tables[int(pick)]
        raise UsageError(f"{clip(key)}: there is no {name}[{pick}]; there are {len(tables)}")
    matches = [
        t
        for t in tables
        if pick.lower()
        in (str(t.get("name", "")).lower(), str(t.get("id", "")).lower(), str(t.get("kind", "")).lower())
    ]
    if len(matches) == 1:
        return matches[0]
    names = [str(t.get("name") or t.get("kind") or "?") for t in tables]
    raise UsageError(
        f"{clip(key)}: {'several' if matches else 'none'} of {name} {'are' if matches else 'is'} called "
        f"{clip(pick)}; there are {', '.join(names)}"
    )


def _value(text: str) -> object:
    """Return the value that a text stands for: TOML where it is TOML, else the text itself; None for an empty
    one."""
    text = text.strip()
    if not text:
        return None
    if "\n" in text or "\r" in text:
        raise UsageError("a changed value stands on one line")
    try:
        read: object = tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return text
    return read
