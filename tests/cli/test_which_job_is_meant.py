"""Which of several jobs of one key a keeper means, in a whole conversation: what `jobs` shows is what `did` takes."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

HARBOUR = """
[site]
name = "Harbour Row"
time_zone = "Europe/Lisbon"
not_logged = ["daily-look", "feed", "top-up", "wipe-down", "cold-season-check", "space-review", "vet-check"]
[[keeper]]
name = "Rita"
[[keeper]]
name = "Ives"
[[enclosure]]
name = "Tejo"
set_up = 2026-08-01
cycled = true
[[enclosure.lamp]]
kind = "T5 HO tube"
installed = 2026-08-01
[[enclosure.lamp]]
kind = "mercury vapour"
installed = 2026-08-01
[[enclosure.resident]]
name = "Amendoa"
[enclosure.feed]
grams = 3
meals_a_week = 7
pack = "400 g"
opened = 2026-08-10
"""


@pytest.fixture
def harbour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description, at a terminal of 80 columns, without a log."""
    (tmp_path / "enclosures.toml").write_text(HARBOUR, "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return tmp_path


def run(line: str, today: str) -> tuple[int, str]:
    """Return the exit code, and what stands on the screen."""
    done = CliRunner().invoke(app, [*shlex.split(line), "--today", today])
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    return done.exit_code, done.output


def conversation(*lines: str) -> str:
    shown = []
    for line in lines:
        today, _, typed = line.partition(" ")
        if typed.startswith("history"):
            done = CliRunner().invoke(app, shlex.split(typed))
            code, out = done.exit_code, done.output
        else:
            code, out = run(typed, today)
        shown.append(f"{today} $ pondround {typed}\n{out}" + (f"[exit {code}]\n" if code else ""))
    return "\n".join(shown)


def test_what_is_open_under_a_word_is_recorded(harbour: Path, golden: Callable[[str, str], None]) -> None:
    said = conversation(
        "2026-12-01 did tejo 'clean lamps' supplies/ --by rita",
        "2026-12-12 jobs --days 1",
        "2026-12-12 did tejo supplies --by ives",
        "2026-12-12 did tejo supplies --by ives",
        "2026-12-12 jobs --days 1",
        "2027-01-10 jobs --days 1 --job supplies",
        "2027-01-10 did tejo supplies --by rita",
        "2027-02-07 jobs --days 1 --job supplies",
        "2027-02-07 did tejo uv-lamp-replace --by rita",
        "2027-02-07 did tejo uv-lamp-replace/merc --by rita",
        "2027-02-07 history --job supplies/food",
        "2027-02-07 history --job 'order the food'",
        "2027-02-07 history --job supplies/",
    )
    golden("which-job-is-meant.txt", said)


def test_the_variant_is_in_the_json(harbour: Path) -> None:
    run("did tejo supplies/ --by rita", "2026-12-01")
    _, out = run("jobs --days 1 --job supplies --format json", "2026-12-12")
    found = [json.loads(line) for line in out.splitlines()]
    assert [(one["job"], one["variant"], one["title"]) for one in found] == [
        ("supplies", "food", "order the food")
    ]


def test_what_the_table_shows_can_be_typed(harbour: Path) -> None:
    """Every word of the column names its own job, also of an extra job that another one records."""
    run("reading tejo 'ammonia=2 mg/L as N' ph=8.2 --sure", "2026-12-01")
    _, out = run("jobs --days 60 --format json", "2026-12-01")
    shown = {(one["job"], one["variant"]) for one in map(json.loads, out.splitlines())}
    assert ("water-change", "alarm-2026-12-01") in shown
    for job, variant in sorted(shown):
        code, said = run(f"did tejo {job}/{variant} --by ives", "2026-12-01")
        assert code == 0, (job, variant, said)
