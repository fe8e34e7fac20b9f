"""What stands in a collection, as far as it matters here: read from text that anybody may have written."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

MOST_LETTERS = 200_000
"""A longer resource is none of ours: the longest notes have a tenth of it."""

MOST_KEPT = 20_000
"""So many bytes of what others added are kept."""

MOST_COMMENT = 2_000

# Ours, and what would make one occurrence several, or have a server write to people.
_NOT_KEPT = frozenset({
    "UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "DUE", "DURATION", "SUMMARY", "DESCRIPTION",  # noqa: E501
    "LOCATION", "CATEGORIES", "STATUS", "PERCENT-COMPLETE", "COMPLETED", "TRANSP", "RRULE", "RDATE", "EXRULE", "EXDATE",  # noqa: E501
    "RECURRENCE-ID", "ATTENDEE", "ORGANIZER", "REQUEST-STATUS",
})  # fmt: skip
_UNFOLD = re.compile(r"\r?\n[ \t]")
_NO_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")

Moment = tuple[dt.date, dt.time | None]
"""A day and an hour at the site; no hour where none was said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoteEntry:
    """An entry as it stands on the server.

    Days and hours are the site's; what is not said, or not sense, is None.

    `kept` are the lines that others added. `broken` is what no reader of iCalendar takes, as far as it could
    be made out.
    """

    uid: str
    status: str = ""
    percent: int | None = None
    completed: Moment | None = None
    modified: Moment | None = None
    begins: dt.date | None = None
    due: dt.date | None = None
    comment: str = ""
    sequence: int = 0
    stamp: bytes = b""
    kept: bytes = b""
    broken: bool = False


def read_entry(text: str, kind: str, zone: ZoneInfo) -> RemoteEntry | None:
    """Return the entry of a text; None where there is none of this kind, or nothing that could be read."""
    if len(text) > MOST_LETTERS:
        return None
    from icalendar import Calendar

    try:
        entries = Calendar.from_ical(text).walk(kind)
        # An occurrence that somebody made recurring: its own entry, not what was said of later ones.
        entry = next((e for e in entries if "RECURRENCE-ID" not in e), None)
        return None if entry is None else _read(entry, zone)
    except Exception:
        # A foreign text may fail in any way inside a foreign parser.
        return _made_out(text, zone)


def _read(entry: Any, zone: ZoneInfo) -> RemoteEntry:
    comments = entry.get("COMMENT", [])
    said = comments if isinstance(comments, list) else [comments]
    stamps = [m for m in (_instant(entry, "DTSTAMP"), _instant(entry, "LAST-MODIFIED")) if m is not None]
    begins, due = _moment(entry, "DTSTART", zone), _moment(entry, "DUE", zone)
    return RemoteEntry(
        uid=str(_one(entry, "UID") or ""),
        status=str(_one(entry, "STATUS") or "").strip().upper(),
        percent=_number(entry, "PERCENT-COMPLETE"),
        completed=_moment(entry, "COMPLETED", zone),
        modified=_moment(entry, "LAST-MODIFIED", zone),
        begins=begins[0] if begins else None,
        due=due[0] if due else None,
        comment=_plain("\n".join(map(str, said))),
        sequence=max(0, min(_number(entry, "SEQUENCE") or 0, 10**8)),
        stamp=f"{max(stamps):%Y%m%dT%H%M%SZ}".encode() if stamps else b"",
        kept=_kept(entry),
    )


def _made_out(text: str, zone: ZoneInfo) -> RemoteEntry | None:
    """Return what single lines of a broken text say: a tick is not lost for a date that is no date."""
    lines = _UNFOLD.sub("", text)
    uid = re.search(r"^UID:([^\r\n]+)", lines, re.M)
    if uid is None:
        return None
    done = re.search(r"^STATUS:COMPLETED\s*$", lines, re.M) is not None
    when = re.search(r"^COMPLETED:(\d{8}T\d{6})Z\s*$", lines, re.M)
    moment = None
    if when is not None:
        try:
            at = dt.datetime.strptime(when[1], "%Y%m%dT%H%M%S").replace(tzinfo=dt.UTC).astimezone(zone)
            moment = (at.date(), _minute(at))
        except (ValueError, OverflowError):
            moment = None
    return RemoteEntry(uid=uid[1].strip(), status="COMPLETED" if done else "", completed=moment, broken=True)


def _one(entry: Any, name: str) -> Any:
    """Return a property of an entry, the first where it stands several times."""
    found = entry.get(name)
    return found[0] if isinstance(found, list) and found else found


def _number(entry: Any, name: str) -> int | None:
    try:
        return int(_one(entry, name))
    except (TypeError, ValueError):
        return None


def _moment(entry: Any, name: str, zone: ZoneInfo) -> Moment | None:
    """Return a point in time as the site's day and minute; without a zone it is meant in the site's."""
    found = getattr(_one(entry, name), "dt", None)
    if isinstance(found, dt.datetime):
        local = found.astimezone(zone) if found.tzinfo is not None else found
        return local.date(), _minute(local)
    return (found, None) if isinstance(found, dt.date) else None


def _minute(moment: dt.datetime) -> dt.time:
    return moment.time().replace(second=0, microsecond=0)


def _instant(entry: Any, name: str) -> dt.datetime | None:
    found = getattr(_one(entry, name), "dt", None)
    return found.astimezone(dt.UTC) if isinstance(found, dt.datetime) and found.tzinfo is not None else None


def _plain(text: str) -> str:
    """Return what a keeper wrote as a note for the log: no controls, and not without end."""
    return _NO_TEXT.sub("", text.replace("\r\n", "\n")).strip()[:MOST_COMMENT]


def _kept(entry: Any) -> bytes:
    """Return the lines of an entry that are others' own: their X- properties, comments, priorities,
    alarms."""
    others = type(entry)()
    for name, value in entry.items():
        if name.upper() not in _NOT_KEPT and not name.upper().startswith("X-PONDROUND-"):
            others[name] = value
    others.subcomponents = [part for part in entry.subcomponents if part.name == "VALARM"]
    raw: bytes = others.to_ical()
    lines = raw.split(b"\r\n", 1)[1].rpartition(b"END:")[0]
    return lines if len(lines) <= MOST_KEPT else b""
