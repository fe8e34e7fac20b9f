"""A small house whose rota of a fortnight is published, and what its calendars show."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from icalendar import Calendar

from scheduler.care import KEYS
from scheduler.log import Published, open_log
from scheduler.rota import Assigned
from support import told
from support.rounds import DAY, HORIZON, MONDAY

OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)
ALDER = """
[site]
name = "Alder"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[keeper]]
name = "Ben"
[[enclosure]]
name = "Sedge"
room = "hall"
extra_job = [{key = "brush", title = "brush the pane", rule = "FREQ=WEEKLY;BYDAY=WE", window = "3 days", minutes = 20}]
[[enclosure]]
name = "Reed"
extra_job = [{key = "net", title = "mend the net", rule = "FREQ=WEEKLY;BYDAY=FR", window = "2 days", minutes = 15, part = "evening"}]
[[enclosure]]
name = "Noor"
extra_job = [{key = "look", title = "look and listen", every = "1 day", minutes = 5}]
""".replace("[[enclosure]]\n", f"[[enclosure]]\njob = {{{OFF}}}\n")  # fmt: skip

FORTNIGHT = """
2026-12-07 noor noor/look
2026-12-08 ben  noor/look
2026-12-09 noor noor/look sedge/brush
2026-12-10 noor noor/look
2026-12-11 ben  noor/look reed/net
2026-12-12 ben  noor/look
2026-12-13 ben  noor/look
2026-12-14 ben  noor/look
2026-12-15 noor noor/look
2026-12-16 noor noor/look sedge/brush
2026-12-17 ben  noor/look
2026-12-18 ben  noor/look reed/net
2026-12-19 noor noor/look
2026-12-20 noor noor/look
"""
WEEKDAY_OF = {"brush": 2, "net": 4}


def tasks(text: str) -> Iterator[Assigned]:
    """Yield the tasks of a rota: each falls due on its weekday of that week."""
    for line in filter(None, text.splitlines()):
        date, keeper, *jobs = line.split()
        day = dt.date.fromisoformat(date)
        for name in jobs:
            enclosure, job = name.split("/")
            due = day - day.weekday() * DAY + WEEKDAY_OF.get(job, day.weekday()) * DAY
            yield Assigned(enclosure, job, "", due, day, keeper)


def publish(folder: Path, text: str) -> None:
    with open_log(f"sqlite:///{folder}/enclosures.db") as log:
        recorded = dt.datetime.combine(MONDAY, dt.time(6))
        log.publish("alder", Published(MONDAY, MONDAY + 13 * DAY, recorded, tuple(tasks(text))))


@pytest.fixture
def alder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder of a house whose rota of a fortnight is published."""
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    (tmp_path / "enclosures.toml").write_text(ALDER, "utf-8")
    publish(tmp_path, FORTNIGHT)
    return tmp_path


def shown(feed: bytes, kind: str = "VEVENT", until: str = "2026-12-20") -> list[str]:
    """Return the days and summaries of a feed's entries up to a day."""
    entries = Calendar.from_ical(feed).walk(kind)
    lines = [f"{told.day_of(e)} {e['SUMMARY']}" for e in entries if e["SUMMARY"] != HORIZON]
    return [line for line in lines if line[:10] <= until]
