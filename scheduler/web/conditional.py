"""Conditional requests (RFC 9110, section 13) for a representation with a strong entity tag and a time of
change."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from email.utils import format_datetime
from functools import lru_cache
from typing import Literal

_TAG = re.compile(r'(W/)?"([\x21\x23-\x7e\x80-\xff]*)"')

MOST_HEADER = 4096
"""A list of entity tags that is longer is read up to here."""

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAY = "(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)"
_LONG_DAY = "(?:Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)day"
_MONTH = f"(?P<month>{'|'.join(_MONTHS)})"
_TIME = "(?P<time>[0-9]{2}:[0-9]{2}:[0-9]{2})"
_DATES = tuple(
    re.compile(form)
    for form in (
        f"{_DAY}, (?P<day>[0-9]{{2}}) {_MONTH} (?P<year>[0-9]{{4}}) {_TIME} GMT",
        f"{_LONG_DAY}, (?P<day>[0-9]{{2}})-{_MONTH}-(?P<year>[0-9]{{2}}) {_TIME} GMT",
        f"{_DAY} {_MONTH} (?P<day>[ 0-9][0-9]) {_TIME} (?P<year>[0-9]{{4}})",
    )
)
"""IMF-fixdate, and the two obsolete forms that have to be read too: of RFC 850, and of C's asctime (section
5.6.7)."""


Verdict = Literal["send", "not modified", "failed"]


def combined(lines: Iterable[tuple[bytes, bytes]]) -> dict[str, str]:
    """Return header fields by their names in lower case; of several lines of one name one list (section
    5.3)."""
    found: dict[str, str] = {}
    for name, value in lines:
        key, text = name.decode("latin-1"), value.decode("latin-1")
        found[key] = f"{found[key]}, {text}" if key in found else text
    return found


def verdict(headers: Mapping[str, str], tag: str, modified: dt.datetime | None) -> Verdict:
    """Return what the conditions of a GET or HEAD say, in the order of RFC 9110, section 13.2.2.

    `tag` is the opaque tag of what would be sent, in the encoding in which it would be; `modified` is UTC,
    without zone; None where nobody knows it: then no date counts (sections 13.1.3 and 13.1.4). A date that
    cannot be read, or that stands beside a list of tags, counts for nothing.
    """
    match = headers.get("if-match")
    if match is not None:
        if not _listed(match, tag, weak=False):
            return "failed"
    elif modified is not None and _is_after(modified, headers.get("if-unmodified-since", "")) is True:
        return "failed"
    none_match = headers.get("if-none-match")
    if none_match is not None:
        return "not modified" if _listed(none_match, tag, weak=True) else "send"
    is_newer = None if modified is None else _is_after(modified, headers.get("if-modified-since", ""))
    return "not modified" if is_newer is False else "send"


def _is_after(modified: dt.datetime, date: str) -> bool | None:
    """Tell whether something changed after a date; None where that cannot be read."""
    since = read_date(date, modified.year)
    return None if since is None else modified > since


def _listed(header: str, tag: str, *, weak: bool) -> bool:
    if header.strip() == "*":
        return True
    return any((weak or not found[1]) and found[2] == tag for found in _TAG.finditer(header[:MOST_HEADER]))


def read_date(text: str, year: int) -> dt.datetime | None:
    """Return an HTTP-date as UTC without zone; None where it is none, or a day or hour that there is not.

    A year of two digits is the one that lies at most 50 years after `year`, as section 5.6.7 asks.
    """
    return _read_date(text, year) if len(text) <= len("Wednesday, 09-Nov-94 08:49:37 GMT") else None


@lru_cache(maxsize=1024)
def _read_date(text: str, year: int) -> dt.datetime | None:
    found = next((match for form in _DATES if (match := form.fullmatch(text.strip(" \t")))), None)
    if found is None:
        return None
    written = int(found["year"])
    if len(found["year"]) == 2:
        written += year - year % 100
        written -= 100 if written > year + 50 else 0
    try:
        day = dt.date(written, _MONTHS.index(found["month"]) + 1, int(found["day"]))
        # A leap second is the last one of its minute: no clock of ours tells it.
        time = dt.time.fromisoformat(re.sub(":60$", ":59", found["time"]))
    except ValueError:
        return None
    return dt.datetime.combine(day, time)


@lru_cache(maxsize=1024)
def http_date(moment: dt.datetime) -> str:
    """Return a moment in UTC, without zone, as an IMF-fixdate (RFC 9110, section 5.6.7)."""
    return format_datetime(moment.replace(tzinfo=dt.UTC), usegmt=True)


@lru_cache(maxsize=256)
def takes_gzip(header: str) -> bool:
    """Tell whether an Accept-Encoding wants gzip (RFC 9110, section 12.5.3); one that is not there does not.

    It does not either where it names the bytes as they are and weighs them more.
    """
    found: dict[str, float] = {}
    for part in header[:MOST_HEADER].lower().split(","):
        name, _, weight = part.strip().partition(";")
        match = re.fullmatch(r"\s*q\s*=\s*(0(?:\.\d{0,3})?|1(?:\.0{0,3})?)\s*", weight)
        if weight and match is None:
            continue
        found[name.strip()] = float(match[1]) if match else 1.0
    packed = found.get("gzip", found.get("x-gzip", found.get("*", 0.0)))
    return packed > 0.0 and packed >= found.get("identity", 0.0)
