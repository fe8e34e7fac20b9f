"""Where in a TOML text a key stands: tomllib gives values without lines, and a keeper wants to jump to the mistake.

Only used once there is a mistake. It follows table headers and keys, and skips strings and arrays that run over
lines; where the text is unusual it finds nothing, and the key path alone has to do.
"""

from __future__ import annotations

import re

from scheduler.errors import Path

_HEADER = re.compile(r"\s*(\[\[?)([^\[\]]+)\]\]?\s*(#.*)?")
_KEY = re.compile(
    r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=(.*)"""
)
_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")


def line_index(text: str) -> dict[Path, int]:
    """Return the line, counted from 1, of each table header and key found."""
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    closing = ""
    depth = 0
    for number, line in enumerate(text.split("\n"), start=1):
        if closing:
            if closing in line:
                closing = ""
            continue
        if depth > 0:
            depth += _brackets(line)
            continue
        header = _HEADER.fullmatch(line.rstrip("\r"))
        if header:
            table = _resolve(tuple(_parts(header[2])), header[1] == "[[", counts)
            found.setdefault(table, number)
            continue
        key = _KEY.match(line.rstrip("\r"))
        if key:
            found.setdefault(table + tuple(_parts(key[1])), number)
            value = key[2].strip()
            for quotes in ('"""', "'''"):
                if value.startswith(quotes) and value.count(quotes) == 1:
                    closing = quotes
            if not closing:
                depth = max(0, _brackets(value))
    return found


def _parts(dotted: str) -> list[str]:
    return [part.strip("\"'") for part in _PART.findall(dotted)]


def _resolve(parts: tuple[str, ...], is_array: bool, counts: dict[Path, int]) -> Path:
    """Return the header's path with the index of the latest item of each array of tables on the way."""
    path: Path = ()
    for position, part in enumerate(parts):
        path = (*path, part)
        last = position == len(parts) - 1
        if last and is_array:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _brackets(text: str) -> int:
    """Return how many more brackets open than close, outside strings and comments."""
    bare = re.sub(r'"(?:\\.|[^"\\])*"|\'[^\']*\'', "", text).split("#", 1)[0]
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")


def line_of(path: Path, lines: dict[Path, int]) -> int | None:
    """Return the line of a path, or of the nearest table around it."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None
