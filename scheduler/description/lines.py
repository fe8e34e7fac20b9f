"""Where in a TOML text a key stands: tomllib gives values without lines, and a keeper wants to jump to the
mistake.

Only used once there is a mistake, on a text that is valid TOML. It follows table headers and keys, and passes
over what stands in strings, comments and arrays; of an inline table or an array only the key before it has a
line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from scheduler.errors import Path

_WORD = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\])*"|'[^']*')"""
_DOTTED = rf"{_WORD}(?:\s*\.\s*{_WORD})*"
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_KEY = re.compile(rf"\s*({_DOTTED})\s*=(.*)")
_PART = re.compile(_WORD)
_TEXT = re.compile(
    r"""\"{3}(?:\\.|[^\\])*?\"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|#[^\n]*""", re.S
)


def line_index(text: str) -> dict[Path, int]:
    """Return the line, counted from 1, of each table header and key found."""
    found: dict[Path, int] = {}
    for number, _, path in _places(bare_lines(text)):
        found.setdefault(path, number)
    return found


def headers(bare: list[str]) -> list[tuple[int, Path]]:
    """Return the line, counted from 1, and the path of each table header, in the order of the file."""
    return [(number, path) for number, is_header, path in _places(bare) if is_header]


def keys_of(bare: list[str], first: int, last: int) -> dict[Path, int]:
    """Return the line of each key between the header of a table on line `first` and line `last`, included."""
    found: dict[Path, int] = {}
    for number, is_header, path in _places(bare[first:last]):
        if not is_header:
            found.setdefault(path, first + number)
    return found


def bare_lines(text: str) -> list[str]:
    """Return the lines of a text without its comments; of a string of several lines the last one has it."""
    return _TEXT.sub(_bare, text).split("\n")


def _places(bare: list[str]) -> Iterator[tuple[int, bool, Path]]:
    """Yield the line, counted from 1, of each header and key, whether it is a header, and its path."""
    counts: dict[Path, int] = {}
    table: Path = ()
    depth = 0
    for number, line in enumerate(bare, start=1):
        if depth > 0:
            depth += _brackets(line)
        elif header := _HEADER.match(line):
            table = _resolve(tuple(_parts(header[2])), header[1] == "[[", counts)
            yield number, True, table
        elif key := _KEY.match(line):
            yield number, False, table + tuple(_parts(key[1]))
            depth = _brackets(key[2])


def _bare(match: re.Match[str]) -> str:
    """Return a string of one line as it is, a longer one as line breaks and no text, a comment as nothing."""
    text = match[0]
    if text.startswith("#"):
        return ""
    return "\n" * text.count("\n") + '""' if text[:3] in ('"""', "'''") else text


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
    """Return how many more brackets open than close, outside strings."""
    bare = re.sub(_WORD, "", text)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")


def line_of(path: Path, lines: dict[Path, int]) -> int | None:
    """Return the line of a path, or of the nearest table around it."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None
