"""Conditional requests (RFC 9110, section 13) for a representation with a strong entity tag and a time of change."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from email.utils import format_datetime, parsedate_to_datetime
from functools import lru_cache
from typing import Literal

_TAG = re.compile(r'(W/)?"([\x21\x23-\x7e\x80-\xff]*)"')

MOST_HEADER = 4096
"""A list of entity tags that is longer is read up to here."""

Verdict = Literal["send", "not modified", "failed"]


def verdict(headers: Mapping[str, str], tags: tuple[str, ...], modified: dt.datetime) -> Verdict:
    """Return what the conditions of a GET or HEAD say, in the order of RFC 9110, section 13.2.2.

    `tags` are the opaque tags of the same content in its encodings; `modified` is UTC, without zone. A date that cannot
    be read, or that stands beside a list of tags, counts for nothing.
    """
    match = headers.get("if-match")
    if match is not None:
        if not _listed(match, tags, weak=False):
            return "failed"
    elif (since := _date(headers.get("if-unmodified-since"))) is not None and modified > since:
        return "failed"
    none_match = headers.get("if-none-match")
    if none_match is not None:
        return "not modified" if _listed(none_match, tags, weak=True) else "send"
    since = _date(headers.get("if-modified-since"))
    return "not modified" if since is not None and modified <= since else "send"


def _listed(header: str, tags: tuple[str, ...], *, weak: bool) -> bool:
    if header.strip() == "*":
        return True
    return any((weak or not found[1]) and found[2] in tags for found in _TAG.finditer(header[:MOST_HEADER]))


@lru_cache(maxsize=1024)
def _date(text: str | None) -> dt.datetime | None:
    if text is None or len(text) > 64:
        return None
    try:
        found = parsedate_to_datetime(text)
        return found.astimezone(dt.UTC).replace(tzinfo=None)
    except (ValueError, TypeError, OverflowError):
        return None


@lru_cache(maxsize=1024)
def http_date(moment: dt.datetime) -> str:
    """Return a moment in UTC, without zone, as an IMF-fixdate (RFC 9110, section 5.6.7)."""
    return format_datetime(moment.replace(tzinfo=dt.UTC), usegmt=True)


@lru_cache(maxsize=256)
def takes_gzip(header: str) -> bool:
    """Tell whether an Accept-Encoding allows gzip (RFC 9110, section 12.5.3); one that is not there does not."""
    found: dict[str, float] = {}
    for part in header[:MOST_HEADER].lower().split(","):
        name, _, weight = part.strip().partition(";")
        match = re.fullmatch(r"\s*q\s*=\s*(0(?:\.\d{0,3})?|1(?:\.0{0,3})?)\s*", weight)
        if weight and match is None:
            continue
        found[name.strip()] = float(match[1]) if match else 1.0
    return found.get("gzip", found.get("x-gzip", found.get("*", 0.0))) > 0.0
