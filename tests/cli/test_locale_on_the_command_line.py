"""A locale is for people who read pages and calendars: what commands print and take stays as it is, to the byte."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

DAY = ["--today", "2026-12-14"]
COMMANDS = [
    ["jobs", "{}", *DAY, "--days", "40"],
    ["jobs", "{}", *DAY, "--days", "10", "--explain"],
    ["jobs", "{}", *DAY, "--days", "40", "--format", "json", "--explain"],
    ["check", "{}", *DAY],
    ["check", "{}", *DAY, "--format", "json"],
    ["check", "{}", *DAY, "--what-if", "enclosure[0].water_depth=30.5 cm"],
    ["outlook", "{}", *DAY],
    ["rota", "{}", *DAY, "--weeks", "4"],
    ["rota", "{}", *DAY, "--weeks", "4", "--format", "json"],
    ["reading", "{}", "den", "nitrite=0.25 mg/L as N", "ph=7.85", *DAY],
    ["did", "{}", "den", "water-change", "--on", "2026-12-13", "--at", "19:05", *DAY],
    ["history", "{}"],
    ["undo", "{}", *DAY],
]


def run(folder: Path, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(app, [word.format(folder / "home.toml") for word in words])
    assert "Traceback" not in done.output
    return done.exit_code, done.stdout.replace(str(folder), ""), done.stderr.replace(str(folder), "")


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    text = Path("sample_configs/household.toml").read_text("utf-8")
    found = {}
    for tag in ("", "de-DE", "en-US"):
        found[tag] = tmp_path_factory.mktemp("home")
        there = text.replace("[site]\n", f'[site]\nlocale = "{tag}"\n', 1) if tag else text
        (found[tag] / "home.toml").write_text(there, "utf-8")
    return found


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words[:1] + words[2:]))
def test_a_command_prints_the_same_under_every_locale(words: list[str], folders: dict[str, Path]) -> None:
    plain = run(folders[""], *words)
    assert plain[1], plain[2]
    for tag in ("de-DE", "en-US"):
        assert run(folders[tag], *words) == plain


def test_a_sitters_sheet_is_for_people_and_its_json_is_not(tmp_path: Path) -> None:
    text = Path("sample_configs/household.toml").read_text("utf-8")
    words = [*DAY, "--sitter", "Kit", "--span", "2026-12-21/2026-12-22"]
    said = {}
    for tag in ("de-DE", "en-US"):
        (tmp_path / "home.toml").write_text(
            text.replace("[site]\n", f'[site]\nlocale = "{tag}"\n', 1), "utf-8"
        )
        said[tag] = (
            run(tmp_path, "rota", "{}", *words)[1],
            run(tmp_path, "rota", "{}", *words, "--format", "json")[1],
        )
        shutil.rmtree(tmp_path / "calendars", ignore_errors=True)
    assert said["de-DE"][0].startswith("Kit, 21 December 2026 to 22 December 2026: ")
    assert said["en-US"][0].startswith("Kit, December 21, 2026 to December 22, 2026: ")
    assert "\nMonday, December 21, 2026, " in said["en-US"][0]
    assert said["de-DE"][1] == said["en-US"][1]
    assert json.loads(said["en-US"][1])["first"] == "2026-12-21"
