"""Three enclosures in which a keeper records, and the lines that are typed for it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

TODAY = "--today 2026-12-19"
SITE = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[keeper]]
name = "Ben Ash"
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {kind = "canister"}
heater = [{power = "200 W", set_to = "24 degC"}]
lamp = [
  {kind = "T5 HO tube", installed = 2026-10-03, hours_a_day = 12},
  {kind = "compact", installed = 2026-11-01, hours_a_day = 12},
]
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm", mass = "300 g"}, {name = "Moss", species = "painted turtle"}]
[[enclosure]]
name = "Reed"
set_up = 2026-11-01
[[enclosure]]
name = "Feed store"
"""


@pytest.fixture
def fen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work beside a description of three enclosures, at 80 columns."""
    (tmp_path / "fen.toml").write_text(SITE, "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return tmp_path


def run(*words: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def ok(line: str, *more: str) -> str:
    code, out, err = run(*line.split(), *more)
    assert code == 0, err
    return out


def refused(line: str, *more: str) -> str:
    code, out, err = run(*line.split(), *more)
    assert (code, out) == (2, "")
    return err.strip()


def entries() -> list[dict[str, object]]:
    return [json.loads(line) for line in ok("history fen.toml --format json").splitlines()]
