"""A description changed in place, as text: an animal that moves, comes or goes, an enclosure, a name.

What is not meant stays as it is, byte for byte: comments, order, blank lines, line ends. A value is changed
where it stands, a table is cut out with the comments that belong to it, or written new. The result is read
again and held against what was meant; where it says anything else, it is refused, and the keeper is told what
to write.
"""

from __future__ import annotations

import copy
import datetime as dt
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomli_w

from scheduler.description.lines import bare_lines, headers, keys_of
from scheduler.description.loader import identified
from scheduler.errors import Path, UsageError, clip

Data = dict[str, Any]
Value = str | int | bool | dt.date | list[str]

_VALUE = re.compile(r"""(?:"(?:\\.|[^"\\])*"|'[^']*'|[^#"'])*""")
_KEY_PART = re.compile(r"[^=]*=[ \t]*")


# --- what can be meant ---


def with_moved(text: str, resident: str, to: str, day: dt.date, moved_from: Sequence[str]) -> str:
    """Return a description in which a resident lives in another enclosure, given by their ids.

    `moved_from` are the ids of the enclosures where it lived before, the last one at the end. UsageError
    where the text cannot be changed safely.
    """
    return _Editor(text).moved(resident, to, day, moved_from).checked()


def with_merged(text: str, gone: str, into: str, day: dt.date, moved: Mapping[str, Sequence[str]]) -> str:
    """Return a description in which the residents `moved` of an enclosure live in another one from a day on,
    and it is retired.

    `moved` says for each, by id, where it lived before. UsageError where the text cannot be changed safely.
    """
    editor = _Editor(text)
    for resident, before in moved.items():
        editor = editor.moved(resident, into, day, before)
    return editor.set("enclosure", gone, "retired", day).checked()


def with_resident(text: str, enclosure: str, table: Mapping[str, Value]) -> str:
    """Return a description with one more resident in an enclosure. UsageError as for the others."""
    return _Editor(text).resident_added(enclosure, table).checked()


def with_enclosure(text: str, table: Mapping[str, Value]) -> str:
    """Return a description with one more enclosure. UsageError as for the others."""
    return _Editor(text).enclosure_added(table).checked()


def with_values(text: str, kind: str, id_: str, values: Mapping[str, Value]) -> str:
    """Return a description with values of a keeper, an enclosure or a resident, given by its id.

    UsageError as for the others.
    """
    editor = _Editor(text)
    for key, value in values.items():
        editor = editor.set(kind, id_, key, value)
    return editor.checked()


def with_name(text: str, kind: str, id_: str, name: str) -> str:
    """Return a description in which a keeper, an enclosure or a resident has another name and the same id.

    Lists that name it by its old one name it by the new one. UsageError as for the others.
    """
    return _Editor(text).renamed(kind, id_, name).checked()


# --- how it is written ---


@dataclass(frozen=True, slots=True)
class _Block:
    """A table with its sub-tables in the lines of a text: the header's line, and the first and the last line
    that go with it, all counted from 0."""

    first: int
    header: int
    last: int


class _Editor:
    """A description's text, with what it is meant to say."""

    def __init__(self, text: str, meant: Data | None = None, ids: Sequence[str] | None = None) -> None:
        """Take a text without mistakes."""
        self._text = text
        self._bom = text[:1] if text.startswith("\ufeff") else ""
        body = text.removeprefix("\ufeff")
        self._end = "\r\n" if "\r\n" in body else "\n"
        # A line end in a string of several lines is the string's own; it is only cut with its table.
        self._lines = body.split("\n")
        self._bare = bare_lines(body)
        self._headers = headers(self._bare)
        try:
            self._meant: Data = tomllib.loads(body) if meant is None else meant
        except ValueError:
            # Somebody is writing in it.
            raise self._unsafe("it is no TOML at this moment") from None
        # Ids as they were before anything was changed: they stay whatever else does.
        self._ids = list(_ids(self._meant)) if ids is None else ids

    def checked(self) -> str:
        """Return the text. UsageError where it does not say what was meant."""
        body = self._text.removeprefix("\ufeff")
        try:
            read = tomllib.loads(body)
        except ValueError:
            raise self._unsafe("what came out is no TOML") from None
        if read != self._meant:
            raise self._unsafe("what came out says something else")
        missing = set(self._ids) - set(_ids(read))
        if missing:
            raise UsageError(
                f"the id {clip(sorted(missing)[0])} would change, by which its record goes on: write it as "
                "`id` into its table first"
            )
        return self._text

    # --- steps ---

    def moved(self, resident: str, to: str, day: dt.date, moved_from: Sequence[str]) -> _Editor:
        """Return it with a resident in another enclosure."""
        path, target = self._path("resident", resident), self._path("enclosure", to)
        editor = self.set("resident", resident, "here_since", day)
        editor = editor.set("resident", resident, "moved_from", list(moved_from))
        block = editor._block(path)
        cut = editor._lines[block.first : block.last + 1]
        rest = [*editor._lines[: block.first], *editor._lines[block.last + 1 :]]
        meant = copy.deepcopy(editor._meant)
        table = meant["enclosure"][path[1]]["resident"].pop(path[3])
        if not meant["enclosure"][path[1]]["resident"]:
            del meant["enclosure"][path[1]]["resident"]
        meant["enclosure"][target[1]].setdefault("resident", []).append(table)
        taken = editor._with(_without_gap(rest, block.first), meant)
        there = len(meant["enclosure"][target[1]]["resident"]) - 1
        return taken._inserted(cut, target)._with_id((*target, "resident", there), resident)

    def resident_added(self, enclosure: str, table: Mapping[str, Value]) -> _Editor:
        """Return it with one more resident in an enclosure."""
        target = self._path("enclosure", enclosure)
        meant = copy.deepcopy(self._meant)
        meant["enclosure"][target[1]].setdefault("resident", []).append(dict(table))
        return self._with(self._lines, meant)._inserted(self._table("enclosure.resident", table), target)

    def enclosure_added(self, table: Mapping[str, Value]) -> _Editor:
        """Return it with one more enclosure, after the others."""
        meant = copy.deepcopy(self._meant)
        meant.setdefault("enclosure", []).append(dict(table))
        return self._with(self._lines, meant)._inserted(self._table("enclosure", table), ("enclosure",))

    def renamed(self, kind: str, id_: str, name: str) -> _Editor:
        """Return it with another name for what has an id, and the old one nowhere."""
        path = self._path(kind, id_)
        old = str(_at(identified(copy.deepcopy(self._meant)), path).get("name", ""))
        editor = self._set_at(path, "name", name)._with_id(path, id_)
        for path, key, names in list(_naming(editor._meant, kind)):
            if any(one.lower() == old.lower() for one in names):
                changed = [name if one.lower() == old.lower() else one for one in names]
                editor = editor._set_at(path, key, changed)
        return editor

    def set(self, kind: str, id_: str, key: str, value: Value) -> _Editor:
        """Return it with a value of what has an id."""
        return self._set_at(self._path(kind, id_), key, value)

    # --- places ---

    def _path(self, kind: str, id_: str) -> Path:
        """Return where the table of an id stands."""
        data = identified(copy.deepcopy(self._meant))
        if kind == "resident":
            for i, enclosure in enumerate(data.get("enclosure", [])):
                for j, resident in enumerate(enclosure.get("resident", [])):
                    if resident.get("id") == id_:
                        return ("enclosure", i, "resident", j)
        for i, table in enumerate(data.get(kind, [])):
            if table.get("id") == id_:
                return (kind, i)
        raise UsageError(f"the description has no {kind} {clip(id_)} any more")

    def _block(self, path: Path) -> _Block:
        """Return the lines of a table with its sub-tables and comments."""
        number = next((n for n, (_, p) in enumerate(self._headers) if p == path), None)
        if number is None:
            raise self._unsafe(f"{_shown(path)} has no header of its own")
        header = self._headers[number][0] - 1
        following = next(
            (line - 1 for line, p in self._headers[number + 1 :] if p[: len(path)] != path), len(self._lines)
        )
        last = max(n for n in range(header, following) if n < len(self._bare) and self._bare[n].strip())
        # Comments under it go with it, but for those that stand right above the next table.
        under = last
        while under + 1 < following and _is_comment(self._lines[under + 1]):
            under += 1
        if under + 1 < following or following == len(self._lines):
            last = under
        first = header
        while first > 0 and _is_comment(self._lines[first - 1]):
            first -= 1
        if first > 0 and self._lines[first - 1].strip() and self._bare[first - 1].strip():
            # They stand right under something else, and may as well be about that.
            first = header
        return _Block(first, header, last)

    # --- writing ---

    def _with(self, lines: Sequence[str], meant: Data) -> _Editor:
        return _Editor(self._bom + "\n".join(lines), meant, self._ids)

    def _set_at(self, path: Path, key: str, value: Value) -> _Editor:
        meant = copy.deepcopy(self._meant)
        _at(meant, path)[key] = value
        block = self._block(path)
        own_end = next((line - 1 for line, _ in self._headers if line - 1 > block.header), len(self._lines))
        keys = keys_of(self._bare, block.header + 1, own_end)
        lines = list(self._lines)
        if (key,) in keys:
            at = keys[(key,)] - 1
            lines[at] = self._rewritten(lines[at], key, _written(value))
            return self._with(lines, meant)
        content = [n for n in range(block.header, own_end) if n < len(self._bare) and self._bare[n].strip()]
        # An id stands under its name, everything else at the end.
        after = keys[("name",)] - 1 if key == "id" and ("name",) in keys else content[-1]
        lines[after + 1 : after + 1] = self._ended([f"{key} = {_written(value)}"])
        return self._with(lines, meant)

    def _rewritten(self, line: str, key: str, value: str) -> str:
        """Return a line `key = value  # comment` with another value."""
        before = _KEY_PART.match(line)
        assert before is not None
        rest = line[before.end() :]
        found = _VALUE.match(rest)
        old = found[0] if found else ""
        if old.count("[") != old.count("]") or old.startswith(('"""', "'''")):
            raise self._unsafe(f"{key} stands on several lines")
        tail = rest[len(old) :]
        bare = old.rstrip()
        room = len(old) - len(bare)
        gap = " " * max(1, room + len(bare) - len(value)) if tail.startswith("#") else old[len(bare) :]
        return before[0] + value + gap + tail

    def _with_id(self, path: Path, id_: str) -> _Editor:
        """Return it with the id of a table written down, where its name alone would make another."""
        if _at(identified(copy.deepcopy(self._meant)), path).get("id") == id_:
            return self
        return self._set_at(path, "id", id_)

    def _table(self, header: str, table: Mapping[str, Value]) -> list[str]:
        return [f"[[{header}]]", *(f"{key} = {_written(value)}" for key, value in table.items())]

    def _ended(self, lines: Sequence[str]) -> list[str]:
        """Return lines of our own as they stand in the text: they end as its lines end."""
        return [f"{line.rstrip(chr(13))}\r" if self._end == "\r\n" else line for line in lines]

    def _inserted(self, block: Sequence[str], target: Path) -> _Editor:
        """Return it with a table in an enclosure after its other residents, else at its end; of the path
        `("enclosure",)` after all enclosures."""
        residents = (
            [p for _, p in self._headers if p[:3] == (*target, "resident") and len(p) == 4]
            if len(target) == 2
            else []
        )
        if residents:
            last = self._block(residents[-1]).last
        elif len(target) == 2:
            last = self._block(target).last
        else:
            tables = [p for _, p in self._headers if p[:1] == target and len(p) == 2]
            last = self._block(tables[-1]).last if tables else len(self._lines) - 1
        lines = list(self._lines)
        ended = self._ended(block)
        blank = self._ended([""])
        if last + 1 >= len(lines):
            # The last line of the file has no end of its own: it gets one.
            lines[last] = self._ended([lines[last]])[0]
            lines += [*blank, *ended, ""] if lines[last].strip() else [*ended, ""]
        else:
            lines[last + 1 : last + 1] = [*blank, *ended]
        return self._with(lines, self._meant)

    def _unsafe(self, why: str) -> UsageError:
        return UsageError(
            f"the description is written in a way that is not changed by a program here: {why}; change it in "
            "an editor, and `pondround check` reads it again"
        )


def _without_gap(lines: list[str], at: int) -> list[str]:
    """Return lines without one of two blank ones that meet where something was cut out."""
    if 0 < at < len(lines) and not lines[at].strip() and not lines[at - 1].strip():
        return [*lines[:at], *lines[at + 1 :]]
    return lines


def _is_comment(line: str) -> bool:
    return line.lstrip().startswith("#")


def _shown(path: Path) -> str:
    return ".".join(str(part) for part in path)


def _at(data: Data, path: Path) -> Data:
    node: Any = data
    for part in path:
        node = node[part]
    assert isinstance(node, dict)
    return node


def _resident_paths(data: Data) -> Iterator[Path]:
    for i, enclosure in enumerate(data.get("enclosure", [])):
        for j in range(len(enclosure.get("resident", []))):
            yield ("enclosure", i, "resident", j)


def _ids(data: Data) -> Iterator[str]:
    """Yield the ids of keepers, enclosures and residents."""
    known = identified(copy.deepcopy(data))
    for kind in ("keeper", "enclosure"):
        yield from (f"{kind} {table.get('id')}" for table in known.get(kind, []))
    yield from (f"resident {_at(known, path).get('id')}" for path in _resident_paths(known))


def _naming(data: Data, kind: str) -> Iterator[tuple[Path, str, list[str]]]:
    """Yield the lists that name things of a kind by their names: the table, the key, the names."""
    if kind != "enclosure":
        return
    for i, keeper in enumerate(data.get("keeper", [])):
        for key in ("prefers", "avoids"):
            if key in keeper:
                yield ("keeper", i), key, keeper[key]
    for path in _resident_paths(data):
        resident = _at(data, path)
        if "moved_from" in resident:
            yield path, "moved_from", resident["moved_from"]


def _written(value: Value) -> str:
    """Return a value as TOML, on one line."""
    if isinstance(value, list):
        return f"[{', '.join(map(_written, value))}]"
    return tomli_w.dumps({"key": value}).partition("=")[2].strip()
