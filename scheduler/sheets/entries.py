"""Entries of the log as records: one JSON object or one row of CSV each, and back again without loss."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from scheduler.description.fields import FIRST_DAY, LAST_DAY
from scheduler.errors import clip
from scheduler.history import KINDS, Entry, parse_amendment, parse_away, parse_once
from scheduler.readings import QUANTITIES

COLUMNS = (
    "uid", "recorded", "kind", "enclosure", "name", "of", "date", "time", "value", "unit", "given", "keeper", "title",  # noqa: E501
    "minutes", "note", "turn", "voids", "voided",
)  # fmt: skip
"""The keys of a record, in their order."""

NAMED = ("keeper_id", "keeper_name")
"""Keys that name a keeper by id and as the description does, in every output alike.

They are no part of an entry.
"""


VALUE_UNITS = {"water-change": "share", "media-rinse": "half"}
"""What the value of a done entry is, by its job."""

_TEXTS = ("enclosure", "name", "of", "given", "keeper", "title", "note")
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_NO_TEXT = re.compile("[\0\ud800-\udfff]")
"""NUL and halves of characters, which JSON can write and no log keeps."""
_STAMP = "%Y-%m-%dT%H:%M:%SZ"


def record_of(site: str, entry: Entry, keepers: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return an entry as a record, in the order of COLUMNS; with the names of `keepers` by id, with who it
    was at the end.

    Its `keeper` is the id, by which an import knows who it was. A name may change.
    """
    named = {} if keepers is None else keeper_keys(entry.keeper, keepers)
    return {
        "uid": entry.uid(site),
        "recorded": entry.recorded.strftime(_STAMP),
        "kind": entry.kind,
        "enclosure": entry.enclosure,
        "name": entry.name,
        "of": entry.of,
        "date": entry.day.isoformat(),
        "time": None if entry.time is None else f"{entry.time:%H:%M}",
        "value": entry.value,
        "unit": unit_of(entry),
        "given": entry.given,
        "keeper": entry.keeper,
        "title": entry.title,
        "minutes": entry.minutes,
        "note": entry.note,
        "turn": entry.turn,
        "voids": entry.voids or None,
        "voided": entry.voided,
        **named,
    }


def keeper_keys(keeper: str, names: Mapping[str, str]) -> dict[str, str | None]:
    """Return what names a keeper, from the id: null where nobody is named."""
    return dict(zip(NAMED, (keeper or None, names.get(keeper, keeper) or None), strict=True))


def unit_of(entry: Entry) -> str | None:
    """Return the unit of an entry's value; None where it has none."""
    if entry.value is None:
        return None
    return QUANTITIES[entry.name].unit if entry.name in QUANTITIES else VALUE_UNITS.get(entry.name)


def json_lines(
    site: str, entries: Iterable[Entry], keepers: Mapping[str, str] | None = None
) -> Iterator[str]:
    """Yield one JSON object a line."""
    for entry in entries:
        yield json.dumps(record_of(site, entry, keepers), ensure_ascii=False)


def csv_lines(site: str, entries: Iterable[Entry]) -> Iterator[str]:
    """Yield the rows of a CSV file (RFC 4180, each with its line break), the header first."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for entry in entries:
        writer.writerow([_cell(name, value) for name, value in record_of(site, entry).items()])
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()
    yield buffer.getvalue()


def _cell(name: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        # As many digits as it takes to come back exactly.
        return repr(value)
    return _guarded(str(value)) if name in _TEXTS else str(value)


_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")


def _guarded(text: str) -> str:
    """Return a text that no spreadsheet runs as a formula: with an apostrophe before what could be one."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def _unguarded(text: str) -> str:
    return text.removeprefix("'")


def records_of_csv(text: str) -> Iterator[tuple[int, dict[str, Any] | str]]:
    """Yield the records of a CSV text with the line on which each ends; a text instead says what is wrong
    with the file."""
    # A new line inside a note is part of it, whatever it is made of.
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        header = next(reader, [])
        if tuple(header) != COLUMNS:
            unknown, missing = (
                [c for c in header if c not in COLUMNS],
                [c for c in COLUMNS if c not in header],
            )
            said = [f"unknown {clip(', '.join(unknown), 200)}"] if unknown else []
            said += [f"missing {', '.join(missing)}"] if missing else []
            yield (
                1,
                (
                    f"the columns are not those of an export ({'; '.join(said) or 'another order'}); "
                    f"expected {','.join(COLUMNS)}"
                ),
            )
            return
        for row in reader:
            if len(row) != len(COLUMNS):
                yield reader.line_num, f"found {len(row)} columns, expected {len(COLUMNS)}"
                continue
            yield reader.line_num, {name: _value(name, cell) for name, cell in zip(COLUMNS, row, strict=True)}
    except csv.Error as error:
        yield reader.line_num, f"this is no CSV: {error}"


def _value(name: str, cell: str) -> object:
    """Return what a cell stands for; a cell that is nothing of its column as it is, to be told about."""
    if name in _TEXTS:
        return _unguarded(cell)
    if name in ("time", "unit", "voids", "value") and not cell:
        return None
    read = _READ.get(name, str)
    try:
        return read(cell)
    except (ValueError, KeyError):
        return cell


_READ: Mapping[str, Callable[[str], object]] = {
    "value": float,
    "minutes": int,
    "turn": int,
    "voided": {"true": True, "false": False}.__getitem__,
}


def records_of_json(text: str) -> Iterator[tuple[int, dict[str, Any] | str]]:
    """Yield the records of JSON lines with their lines; a text instead says what is wrong with a line."""
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            found = json.loads(line)
        except (ValueError, RecursionError):
            yield number, f"found {clip(line)}, expected one JSON object a line"
            continue
        if not isinstance(found, dict):
            yield number, f"found {clip(line)}, expected a JSON object"
            continue
        keys = {
            "unknown": [k for k in found if k not in (*COLUMNS, *NAMED)],
            "missing": [k for k in COLUMNS if k not in found],
        }
        said = [f"{word} {clip(', '.join(some), 200)}" for word, some in keys.items() if some]
        yield number, f"the keys are not those of an export: {'; '.join(said)}" if said else found


def entry_of(site: str, record: Mapping[str, Any]) -> Entry | list[str]:
    """Return the entry of a record, or all that is wrong with it: what was found and what was expected.

    The identity has to fit what it stands for, so that nothing was changed by hand without being noticed.
    """
    wrong: list[str] = []

    def expect(name: str, ok: bool, expected: str) -> None:
        if not ok:
            wrong.append(f"{name}: found {clip(record[name])}, expected {expected}")

    for name in _TEXTS:
        expect(name, isinstance(record[name], str) and not _NO_TEXT.search(record[name]), "text")
    expect("kind", record["kind"] in KINDS, f"one of {', '.join(KINDS)}")
    for name in ("minutes", "turn"):
        number = record[name]
        expect(
            name,
            isinstance(number, int) and not isinstance(number, bool) and 0 <= number <= 100_000,
            "a whole number",
        )
    value = record["value"]
    is_number = (
        isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= sys.float_info.max
    )
    expect("value", value is None or is_number, "a number, or nothing")
    expect("voided", isinstance(record["voided"], bool), "true or false")
    voids = record["voids"]
    expect(
        "voids",
        (voids is None) == (record["kind"] != "void"),
        "the uid that a void takes back, and nothing else",
    )
    expect("voids", voids is None or _is_uuid(voids), "a uid")
    day, time, recorded = _day(record["date"]), _time(record["time"]), _stamp(record["recorded"])
    expect("date", day is not None, f"a day such as 2026-12-19, from {FIRST_DAY} to {LAST_DAY}")
    expect("time", record["time"] is None or time is not None, "an hour such as 18:30, or nothing")
    expect("recorded", recorded is not None, "an instant such as 2026-12-19T18:30:00Z")
    expect("uid", _is_uuid(record["uid"]), "a uid")
    if wrong or day is None or recorded is None:
        return wrong
    entry = Entry(
        kind=record["kind"],
        enclosure=record["enclosure"],
        name=record["name"],
        of=record["of"],
        day=day,
        time=time,
        value=None if value is None else float(value),
        given=record["given"],
        keeper=record["keeper"],
        title=record["title"],
        minutes=record["minutes"],
        note=record["note"],
        turn=record["turn"],
        recorded=recorded,
        voids=voids or "",
        voided=record["voided"],
    )
    if entry.uid(site) != record["uid"]:
        return [
            (
                f"uid: {record['uid']} does not fit the entry; it was changed, or is of another site than "
                f"{clip(site)}"
            )
        ]
    if not _has_its_days(entry):
        return [f"given: found {clip(entry.given)}, expected {_GIVEN[entry.kind]}"]
    expected = unit_of(entry)
    if record["unit"] != expected:
        return [f"unit: found {clip(record['unit'])}, expected {clip(expected) if expected else 'nothing'}"]
    return entry


_GIVEN: Mapping[str, str] = {
    "postponed": "the day on which it was due and the one on which it comes: 2026-12-08/2026-12-10",
    "skipped": "the day on which it was due: 2026-12-08",
    "once": "its day, and the skills that it asks for: 2026-12-08 lifting",
    "away": "the first and the last day: 2026-12-08/2026-12-10",
}
_NEAR = dt.timedelta(days=3660)
"""So near to the day on which it was said are the days of what bends the plan."""


def _has_its_days(entry: Entry) -> bool:
    """Tell whether an entry that bends the plan names its days as its kind does."""
    if entry.kind not in _GIVEN:
        return True
    try:
        if entry.kind == "away":
            first, last = parse_away(entry)
            days = [first, last]
        elif entry.kind == "once":
            days = [parse_once(entry).day]
        else:
            said = parse_amendment(entry)
            days = [said.due, *([said.to] if said.to is not None else [])]
    except ValueError:
        return False
    many = 1 if entry.kind in ("skipped", "once") else 2
    near = all(abs(day - entry.day) <= _NEAR for day in days)
    return len(days) == many and near and (entry.kind != "away" or days[0] <= days[1])


def _is_uuid(value: object) -> bool:
    return isinstance(value, str) and _UUID.fullmatch(value) is not None


def _day(value: object) -> dt.date | None:
    if not isinstance(value, str) or re.fullmatch(r"\d{4}-\d\d-\d\d", value) is None:
        return None
    try:
        day = dt.date.fromisoformat(value)
    except ValueError:
        return None
    return day if FIRST_DAY <= day <= LAST_DAY else None


def _time(value: object) -> dt.time | None:
    if not isinstance(value, str) or re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", value) is None:
        return None
    return dt.time(int(value[:2]), int(value[3:]))


def _stamp(value: object) -> dt.datetime | None:
    if not isinstance(value, str) or re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", value) is None:
        return None
    try:
        return dt.datetime.strptime(value, _STAMP)  # noqa: DTZ007 - the log keeps UTC without zone
    except ValueError:
        return None
