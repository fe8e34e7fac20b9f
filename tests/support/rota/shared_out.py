"""The row with its keepers whose work `pondround rota` shares out, and the command as one types it."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from scheduler.care import KEYS
from scheduler.cli.main import app
from scheduler.sheets.terminal import cells

MONDAY = "2026-12-07"


def bare(text: str) -> str:
    """Turn off every job that the care rules bring: what is left can be counted by hand."""
    off = ", ".join(f"{key} = {{off = true}}" for key in KEYS)
    return text.replace("[[enclosure]]\n", f"[[enclosure]]\njob = {{{off}}}\n")


ALDER = bare("""
[site]
name = "Alder Row"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
minutes = 60
can = ["adult", "lifting"]
[[keeper]]
name = "Ben Ash"
weekdays = ["Mon", "Wed", "Fri", "Sat"]
minutes = 45
can = ["adult"]
[[keeper]]
name = "Ines"
minutes = 40
share = 0.5
can = []
away = ["2026-12-12/2026-12-14"]
[[keeper]]
name = "Olu"
weekdays = ["Sat", "Sun"]
minutes = 90
can = ["lifting"]

[[enclosure]]
name = "Sedge"
room = "hall"
extra_job = [
  {key = "brush", title = "brush the pane", every = "2 days", window = "1 day"},
  {key = "pump", title = "rinse the pump", rule = "FREQ=WEEKLY;BYDAY=WE", window = "2 days", minutes = 25, can = ["lifting"]},
]
[[enclosure]]
name = "Reed"
room = "porch"
extra_job = [{key = "brush", title = "brush the pane", every = "3 days", window = "1 day"}]
[[enclosure]]
name = "Landing"
room = "back room"
resident = [{name = "Fern", species = "painted turtle", arrived = 2026-11-20, quarantine = true}]
extra_job = [{key = "look", title = "look and listen", every = "2 days", minutes = 15, part = "evening", can = ["adult"]}]
""")


def stand(folder: Path, text: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description, at a terminal of 80 columns, without a log."""
    (folder / "enclosures.toml").write_text(text, "utf-8")
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return folder


@pytest.fixture
def alder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return stand(tmp_path, ALDER, monkeypatch)


def run(line: str, *more: str, today: str = MONDAY) -> tuple[int, str, str]:
    """Return exit code, standard output and standard error of a line as one types it; a traceback is no answer."""
    words = [*shlex.split(line), *more, "--today", today]
    result = CliRunner().invoke(app, words)
    assert result.exception is None or isinstance(result.exception, SystemExit), (words, result.exception)
    assert "Traceback" not in result.output
    return result.exit_code, result.stdout, result.stderr


def ok(line: str, *more: str, today: str = MONDAY) -> str:
    code, out, err = run(line, *more, today=today)
    assert code == 0, err
    return out


def found(line: str, *more: str, code: int = 0, today: str = MONDAY) -> dict[str, Any]:
    """Return the one JSON object that a line prints."""
    given, out, err = run(line, *more, "--format", "json", today=today)
    assert given == code, err
    assert out.count("\n") == 1
    parsed: dict[str, Any] = json.loads(out)
    return parsed


def conversation(*lines: str) -> str:
    """Return what stands on the screen after some commands: what is typed, what is said, and the code if it is not 0."""
    shown = []
    for line in lines:
        today, _, typed = line.partition(" ")
        code, out, err = run(typed, today=today)
        assert all(cells(one) <= 80 for one in out.splitlines()), out
        shown.append(f"{today} $ pondround {typed}\n{out}{err}" + (f"[exit {code}]\n" if code else ""))
    return "\n".join(shown)


TWO = '[site]\nname = "Two"\n[[keeper]]\nname = "Noor"\n{}\n[[keeper]]\nname = "Ben"\n{}\n'


COMB = bare(
    '[[enclosure]]\nname = "Sedge"\nextra_job = [{key = "comb", title = "comb the moss", on = [2026-12-09], minutes = 30, can = []}]\n'
)


def due(first: str, days: int) -> list[dict[str, Any]]:
    """Return what `jobs` lists of a span: its enclosures by their names' ids."""
    out = ok(f"jobs --from {first} --days {days} --format json")
    lines = [json.loads(line) for line in out.splitlines()]
    return [line for line in lines if line["state"] != "done"]
