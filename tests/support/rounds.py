"""The calendars of keepers beside the rounds of the rota, as the commands give both."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

from icalendar import Component
from typer.testing import CliRunner

from scheduler import care, workflow
from scheduler.calendar import verify
from scheduler.cli.main import app
from support import told
from support.told import Told

RESCUE = Path(__file__).parents[2] / "sample_configs" / "rescue.toml"
MONDAY = dt.date(2026, 12, 7)
DAY = dt.timedelta(days=1)

Jobs = dict[tuple[str, str, str], care.Job]

HORIZON = "Rounds planned to here"


def command(*words: str, gaps: bool = False) -> str:
    """Return what a command prints; with `gaps` something may be left that nobody takes."""
    result = CliRunner().invoke(app, [*words])
    assert result.exit_code in ((0, 1) if gaps else (0,)), result.output[:2000]
    return result.stdout


def export(folder: Path, today: dt.date, *options: str, file: str = "enclosures.toml") -> dict[str, bytes]:
    """Export as the command does; return the feeds by file name."""
    command("export", str(folder / file), "--to", str(folder / "out"), "--today", str(today), *options)
    found = {path.name: path.read_bytes() for path in (folder / "out").iterdir()}
    for feed in found.values():
        kind = "VTODO" if b"BEGIN:VTODO" in feed else "VEVENT"
        assert verify(feed, kind) == feed.count(b"\r\nBEGIN:%b\r\n" % kind.encode())
    return found


def rounds(
    folder: Path, today: dt.date, *options: str, file: str = "enclosures.toml"
) -> list[dict[str, Any]]:
    """Return the rounds of `pondround rota --format json`."""
    out = command("rota", str(folder / file), "--format", "json", "--today", str(today), *options, gaps=True)
    found: list[dict[str, Any]] = json.loads(out)["rounds"]
    assert found
    return found


def blocks(feed: bytes, kind: str = "VEVENT") -> dict[str, bytes]:
    """Return the entries of a feed by UID, as they stand."""
    found = re.findall(rb"^BEGIN:%b\r\n.*?^END:%b\r\n" % (kind.encode(), kind.encode()), feed, re.M | re.S)
    by_uid = {re.search(rb"^UID:(\S+)", block, re.M)[1].decode(): block for block in found}  # type: ignore[index]
    assert len(by_uid) == len(found)
    return by_uid


def sequence(block: bytes) -> int:
    return int(re.search(rb"^SEQUENCE:(\d+)", block, re.M)[1])  # type: ignore[index]


def day_of(block: bytes) -> dt.date:
    return dt.date.fromisoformat(re.search(rb"^DTSTART[^:]*:(\d{8})", block, re.M)[1].decode())  # type: ignore[index]


def parts(jobs: Jobs, found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rounds as parts of the day: morning and evening have an entry each, with what is done in it."""
    made = []
    for one in found:
        for part in ("morning", "evening"):
            some = {
                name: [t for t in one[name] if jobs[t["enclosure"], t["job"], t["variant"]].part == part]
                for name in ("jobs", "helps")
            }
            minutes = sum(t["minutes"] for t in (*some["jobs"], *some["helps"]))
            if minutes:
                made.append({**one, **some, "minutes": minutes, "part": part})
        assert one["minutes"] == sum(
            m["minutes"] for m in made if m["date"] == one["date"] and m["keeper"] == one["keeper"]
        )
    return made


def jobs_of(site: workflow.Site) -> Jobs:
    return {(j.enclosure.id, j.key, j.variant): j for j in care.jobs(site)}


def without_horizon(feed: bytes, last: dt.date) -> list[Component]:
    """Return the entries of a feed without the one that says to where rounds are planned, which is on the last day."""
    entries = told.parsed(feed).walk("VEVENT")
    assert [told.day_of(e) for e in entries if e["SUMMARY"] == HORIZON] == [last]
    return [e for e in entries if e["SUMMARY"] != HORIZON]


def jobs_in(jobs: Jobs, one: dict[str, Any]) -> Counter[Told]:
    """Return what a round of the rota's JSON has, as an entry tells it."""
    found: Counter[Told] = Counter()
    for name in ("jobs", "helps"):
        for task in one[name]:
            title = told.title_of(jobs[task["enclosure"], task["job"], task["variant"]])
            lent, helper = (task["of"], "") if name == "helps" else ("", task["helper"] or "")
            found[Told(task["enclosure"], title, task["minutes"], lent, helper)] += 1
    return found
