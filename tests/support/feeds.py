"""From a description to feeds, for the tests of this folder."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from icalendar import Calendar, Component

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.care import KEYS
from scheduler.description import Site
from scheduler.workflow import Planned

NOTHING_ELSE = "".join(f"[enclosure.job.{key}]\noff = true\n" for key in KEYS)
"""Turns off every job that the care rules bring, so that an enclosure has its extra jobs alone."""


def read(folder: Path, toml: str) -> Site:
    """Load a description as the commands do."""
    file = folder / "enclosures.toml"
    file.write_text(toml, encoding="utf-8")
    return workflow.read_site(file)


def plan(site: Site, first: dt.date, days: int = 366) -> Planned:
    """Plan a site as on its first day."""
    return workflow.make_plan(site, first, first, days)


def export(
    folder: Path, toml: str, first: dt.date, days: int = 366, options: Options | None = None
) -> dict[str, bytes]:
    """Export a description as the command does, over what is there already; return the feeds by file name."""
    to = folder / "calendars"
    done = workflow.export(
        plan(read(folder, toml), first, days), to, options or Options(each_job=True), keep_starts=True
    )
    return {path.name: path.read_bytes() for path, _, _ in done.files}


def entries(feed: bytes, kind: str = "VEVENT") -> dict[str, Component]:
    """Return the entries of a feed by their summary, as icalendar reads them."""
    found = Calendar.from_ical(feed).walk(kind)
    by_summary = {str(entry["SUMMARY"]): entry for entry in found}
    assert len(by_summary) == len(found), "two entries of one summary: look at them by UID"
    return by_summary


def unfolded(feed: bytes) -> list[str]:
    """Return the content lines of a feed (RFC 5545, section 3.1)."""
    return feed.replace(b"\r\n ", b"").decode().split("\r\n")[:-1]
