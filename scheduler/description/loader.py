"""TOML text to Site. A description is either whole or refused with all its problems; nothing is half
loaded."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from pydantic import BaseModel, ValidationError

from scheduler.description.checks import check
from scheduler.description.dates import written
from scheduler.description.identity import fill_ids, name_groups
from scheduler.description.site import (
    Contact,
    Description,
    Enclosure,
    ExtraJob,
    Keeper,
    Lamp,
    Resident,
    Site,
    SiteSettings,
    Substrate,
)
from scheduler.description.table import Table
from scheduler.errors import DescriptionError, Path, Problem
from scheduler.species import Sheets

MOST_LINE = 20_000
"""Longest line of a description, in characters: nothing that a keeper writes needs more."""

MOST_PARTS = 64
"""Most parts of a dotted key, `a.b.c`: the parser's time grows with the square of their number."""

_PART = r"""(?:[A-Za-z0-9_-]++|"[^"]*+"|'[^']*+')"""
_DOTTED = re.compile(rf"(?<![A-Za-z0-9_-]){_PART}(?:\s*+\.\s*+{_PART}){{{MOST_PARTS}}}")

Check = Callable[[Site, Description], Iterable[Problem]]

# What stands in for a required value that is missing or wrong, so that the rest of the file can still be
# checked.
_STAND_INS: Mapping[type[BaseModel], Mapping[str, Any]] = {
    Description: {"site": {"name": "?"}},
    SiteSettings: {"name": "?"},
    Contact: {"name": "?", "phone": "000", "for": "vet"},
    Keeper: {"name": "?"},
    Enclosure: {"name": "?"},
    Resident: {"name": "?"},
    Lamp: {"kind": "light"},
    Substrate: {"kind": "bare"},
    ExtraJob: {"key": "stand-in", "title": "?"},
}


def load(text: str, sheets: Sheets, checks: tuple[Check, ...] = ()) -> Site:
    """Return the Site that a TOML text describes.

    `checks` are further checks of higher layers; their problems join the others. Raises DescriptionError with
    every problem found, in the order of the file.
    """
    text = text.removeprefix("\ufeff")
    data = identified(_parse(text))
    try:
        description, problems = _validate(data)
    except RecursionError:
        raise _too_deep() from None
    if description is not None:
        site = Site(description, sheets)
        spoiled = _Spoiled(problem.path for problem in problems)
        found = list(check(description, sheets))
        found += [problem for further in checks for problem in further(site, description)]
        problems += [p for p in found if not any(q in spoiled for q in (p.path, *p.involves))]
        if not problems:
            return site
    from scheduler.description.lines import line_index, line_of

    lines = line_index(text)
    placed = [replace(problem, line=line_of(problem.path, lines)) for problem in problems]
    raise DescriptionError(sorted(placed, key=lambda p: (p.line or 0, [str(part) for part in p.path])))


def identified(data: dict[str, Any]) -> dict[str, Any]:
    """Return a description's data with the ids that its names make, filled in in place."""
    for tables in (data.get("keeper"), data.get("enclosure"), [data.get("site")]):
        if isinstance(tables, list):
            fill_ids(tables)
    for enclosure in _tables(data.get("enclosure")):
        name_groups(enclosure)
        if isinstance(enclosure.get("resident"), list):
            fill_ids(enclosure["resident"])
    return data


def _parse(text: str) -> dict[str, Any]:
    if refused := hostile_line(text):
        raise DescriptionError([refused])
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _too_deep() from None
    except ValueError as error:
        place = re.search(r"\(at line (\d+), column \d+\)", str(error))
        message = re.sub(r" \(at .*\)$", "", str(error))
        if "integer string conversion" in message:
            message = "a number of thousands of digits"
        message = "this is not valid TOML: " + "".join(c if c.isprintable() else "?" for c in message)[:200]
        hint = "text stands in quotes, dates and numbers do not; see https://toml.io"
        line = text.split("\n")[int(place[1]) - 1] if place else ""
        if meant := written(line.partition("=")[2].partition("#")[0].strip(), ""):
            hint = f"write {meant}"
        raise DescriptionError(
            [Problem(path=(), line=int(place[1]) if place else None, message=message, hint=hint)]
        ) from None


def hostile_line(text: str) -> Problem | None:
    """Return a problem for the first line that would keep the TOML parser busy for hours, or nothing."""
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > MOST_LINE:
            message = f"found a line of more than {MOST_LINE} characters"
            return Problem(path=(), line=number, message=message, hint="break it up")
        if line.count(".") >= MOST_PARTS and _DOTTED.search(line):
            message = f"found a key of more than {MOST_PARTS} parts"
            return Problem(path=(), line=number, message=message, hint="a description needs four levels")
    return None


def _too_deep() -> DescriptionError:
    hint = "a description needs four levels"
    return DescriptionError([Problem(path=(), message="found values nested too deeply", hint=hint)])


def _tables(value: object) -> list[dict[str, Any]]:
    return [item for item in value if isinstance(item, dict)] if isinstance(value, list) else []


class _Spoiled:
    """The places of wrong values: what stands in them, around them or rests on them is a consequence."""

    def __init__(self, paths: Iterable[Path]) -> None:
        self._paths = {path for path in paths if path}
        self._around = {path[:n] for path in self._paths for n in range(len(path))}

    def __contains__(self, path: object) -> bool:
        assert isinstance(path, tuple)
        return path in self._around or any(path[:n] in self._paths for n in range(1, len(path) + 1))


def _validate(data: dict[str, Any]) -> tuple[Description | None, list[Problem]]:
    """Return the description and the problems of its values.

    When there are problems, what is wrong is taken out (or replaced, where it is required) and the rest
    validated, so that the checks across values can run in the same run. None when not even that is possible.
    """
    problems: list[Problem] = []
    repaired = data
    for _ in range(4):
        try:
            return Description.model_validate(repaired), problems
        except ValidationError as error:
            if repaired is data:
                repaired = copy.deepcopy(data)
            from scheduler.description.problems import problems_of

            found = problems_of(error, repaired)
            problems += found
            # All of them, even after a failure.
            mended = [_repair(repaired, problem.path) for problem in found]
            if not all(mended):
                break
    return None, problems


def _repair(data: dict[str, Any], path: Path) -> bool:
    """Take out the value at the path, or put a stand-in where one is required; False when that is not
    possible.

    A wrong item of a list of values takes the whole list with it, since the numbers of its other items must
    stay; a wrong item of an array of tables cannot be taken out for the same reason.
    """
    node: Any = data
    tables: list[tuple[dict[str, Any], Path]] = []
    for i, part in enumerate(path):
        if isinstance(node, dict) and isinstance(part, str):
            tables.append((node, path[: i + 1]))
            node = node.get(part)
        elif isinstance(node, list) and isinstance(part, int) and part < len(node):
            node = node[part]
            if isinstance(node, dict):
                continue
            break
        else:
            break
    if not tables:
        return False
    from scheduler.description.problems import model_at

    table, where = tables[-1]
    key = str(where[-1])
    stand_in = _STAND_INS.get(model_at(where[:-1]) or Table, {}).get(key)
    if stand_in is not None and table.get(key) != stand_in:
        table[key] = copy.deepcopy(stand_in)
        return True
    return table.pop(key, None) is not None
