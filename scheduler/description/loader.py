"""TOML text to Site. A description is either whole or refused with all its problems; nothing is half loaded."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from pydantic import BaseModel, ValidationError

from scheduler.description.checks import check
from scheduler.description.identity import fill_ids
from scheduler.description.lines import line_index, line_of
from scheduler.description.problems import model_at, problems_of
from scheduler.description.site import (
    Description,
    Enclosure,
    ExtraJob,
    Keeper,
    Lamp,
    Place,
    Resident,
    Site,
    Substrate,
    Table,
)
from scheduler.errors import DescriptionError, Path, Problem
from scheduler.species import Sheets

MOST_LINE = 20_000
"""Longest line of a description, in characters: the parser's time grows with the square of a dotted key's length."""

Check = Callable[[Site, tuple[Enclosure, ...]], Iterable[Problem]]

# What stands in for a required value that is missing or wrong, so that the rest of the file can still be checked.
_STAND_INS: Mapping[type[BaseModel], Mapping[str, Any]] = {
    Description: {"site": {"name": "?"}},
    Place: {"name": "?"},
    Keeper: {"name": "?"},
    Enclosure: {"name": "?"},
    Resident: {"name": "?"},
    Lamp: {"kind": "light"},
    Substrate: {"kind": "bare"},
    ExtraJob: {"key": "stand-in", "title": "?"},
}


def load(text: str, sheets: Sheets, checks: tuple[Check, ...] = ()) -> Site:
    """Return the Site that a TOML text describes.

    `checks` are further checks of higher layers; their problems join the others. Raises DescriptionError with every
    problem found, in the order of the file.
    """
    data = _parse(text)
    for tables in (data.get("keeper"), data.get("enclosure"), [data.get("site")]):
        if isinstance(tables, list):
            fill_ids(tables)
    for enclosure in _tables(data.get("enclosure")):
        if isinstance(enclosure.get("resident"), list):
            fill_ids(enclosure["resident"])

    description, problems = _validate(data)
    if description is not None:
        site = Site(description, sheets)
        spoiled = tuple(problem.path for problem in problems)
        found = list(check(description, sheets))
        # The higher layers look at what a resident's species says: a name without a sheet has to be reported first.
        if not any(problem.path[-1:] == ("species",) for problem in found):
            found += [problem for further in checks for problem in further(site, description.enclosure)]
        problems += [p for p in found if not any(_touches(q, spoiled) for q in (p.path, *p.involves))]
        if not problems:
            return site
    lines = line_index(text)
    placed = [replace(problem, line=line_of(problem.path, lines)) for problem in problems]
    raise DescriptionError(sorted(placed, key=lambda p: (p.line or 0, [str(part) for part in p.path])))


def _parse(text: str) -> dict[str, Any]:
    long = next((n for n, line in enumerate(text.split("\n"), 1) if len(line) > MOST_LINE), None)
    if long is not None:
        raise DescriptionError(
            [
                Problem(
                    path=(),
                    line=long,
                    message=f"found a line of more than {MOST_LINE} characters",
                    hint="break it up",
                )
            ]
        )
    if text.startswith("\ufeff"):
        text = text[1:]
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise DescriptionError(
            [
                Problem(
                    path=(), message="found values nested too deeply", hint="a description needs three levels"
                )
            ]
        ) from None
    except ValueError as error:
        place = re.search(r"\(at line (\d+), column \d+\)", str(error))
        message = re.sub(r" \(at .*\)$", "", str(error))
        message = "this is not valid TOML: " + "".join(c if c.isprintable() else "?" for c in message)[:200]
        hint = "text stands in quotes, dates and numbers do not; see https://toml.io"
        raise DescriptionError(
            [Problem(path=(), line=int(place[1]) if place else None, message=message, hint=hint)]
        ) from None


def _tables(value: object) -> list[dict[str, Any]]:
    return [item for item in value if isinstance(item, dict)] if isinstance(value, list) else []


def _touches(path: Path, spoiled: Iterable[Path]) -> bool:
    return any(path[: len(bad)] == bad or bad[: len(path)] == path for bad in spoiled if bad)


def _validate(data: dict[str, Any]) -> tuple[Description | None, list[Problem]]:
    """Return the description and the problems of its values.

    When there are problems, what is wrong is taken out (or replaced, where it is required) and the rest validated, so
    that the checks across values can run in the same run. None when not even that is possible.
    """
    problems: list[Problem] = []
    repaired = data
    for _ in range(4):
        try:
            return Description.model_validate(repaired), problems
        except ValidationError as error:
            if repaired is data:
                repaired = copy.deepcopy(data)
            found = problems_of(error, repaired)
            problems += found
            mended = [
                _repair(repaired, problem.path) for problem in found
            ]  # all of them, even after a failure
            if not all(mended):
                break
        except RecursionError:
            problems.append(
                Problem(
                    path=(), message="found values nested too deeply", hint="a description needs three levels"
                )
            )
            break
    return None, problems


def _repair(data: dict[str, Any], path: Path) -> bool:
    """Take out the value at the path, or put a stand-in where one is required; False when that is not possible.

    A wrong item of a list of values takes the whole list with it, since the numbers of its other items must stay; a
    wrong item of an array of tables cannot be taken out for the same reason.
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
    table, where = tables[-1]
    key = str(where[-1])
    stand_in = _STAND_INS.get(model_at(where[:-1]) or Table, {}).get(key)
    if stand_in is not None and table.get(key) != stand_in:
        table[key] = copy.deepcopy(stand_in)
        return True
    return table.pop(key, None) is not None
