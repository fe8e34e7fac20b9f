"""A log, a key and a folder of calendars that an earlier state of the program left open with the present one.

The folder `earlier_state` was written by its commands on 5 December 2026: a day of recording, a published rota, a hand-over,
three links of which one was fetched, an export. The log lies there as SQL.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app
from scheduler.workflow.feeds.links import KEY_FILE, key_of
from scheduler.workflow.live.site import LiveSite
from scheduler.workflow.name_lookup import parse_day

KEPT = Path(__file__).parent / "earlier_state"
TODAY = "2026-12-05"
BENS = "joRGf_XAdQbX34rbJyXbpKjV-3s"
"""The secret of the link to Ben's rounds."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "kept"
    shutil.copytree(KEPT, folder)
    (folder / "key.txt").rename(folder / KEY_FILE)
    (folder / "written").rename(folder / "calendars")
    with sqlite3.connect(folder / "fen-lane.db") as log:
        log.executescript((KEPT / "log.sql").read_text("utf-8"))
    log.close()
    monkeypatch.chdir(folder)
    return folder


def ok(line: str) -> str:
    result = CliRunner(env={"COLUMNS": "80"}).invoke(app, line.split())
    assert result.exit_code == 0, result.output
    return result.stdout


def test_every_entry_is_there_as_it_was(folder: Path) -> None:
    assert ok("history fen-lane.toml --format json") == (KEPT / "history.jsonl").read_text("utf-8")


def test_calendars_go_on_byte_for_byte(folder: Path) -> None:
    before = {file.name: file.read_bytes() for file in (folder / "calendars").iterdir()}
    ok(f"export fen-lane.toml --to calendars --today {TODAY}")
    assert {file.name: file.read_bytes() for file in (folder / "calendars").iterdir()} == before


def test_the_published_rota_stands(folder: Path) -> None:
    """Ben's round of Sunday went to Noor, and nothing is to be published anew."""
    told = json.loads(ok(f"rota fen-lane.toml --weeks 2 --today {TODAY} --format json"))
    assert told["changes"] == []
    assert {r["keeper"] for r in told["rounds"] if r["date"] == "2026-12-06"} == {"Noor"}


def test_links_open_what_they_opened(folder: Path) -> None:
    file = folder / "fen-lane.toml"
    live = LiveSite(file, key_of(file, make=False), print, parse_day(TODAY))
    live.look(now=True)
    target = live.find(BENS)
    assert target is not None
    feed = live.feed(target)
    assert feed is not None and feed.body().startswith(b"BEGIN:VCALENDAR")
    listed = [json.loads(line) for line in ok("links fen-lane.toml --format json").splitlines()]
    assert [link["name"] for link in listed] == ["page-noor", "site", "rounds-ben"]
    assert [link["fetched"] is not None for link in listed] == [False, False, True]
