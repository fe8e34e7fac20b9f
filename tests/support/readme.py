"""The README and the guide as one text, what of it stands in blocks, and a folder in which its commands run."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from scheduler import workflow
from scheduler.cli.main import app

ROOT = Path(__file__).parents[2]
FRONT = (ROOT / "README.md").read_text("utf-8")
README = "\n".join([FRONT, *(workflow.guide_page(topic) for topic in workflow.GUIDE_TOPICS)])
"""The README, and after it the pages of the guide, in the order in which it names them."""

BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)


def blocks(language: str) -> list[str]:
    return [text for name, text in BLOCKS if name == language]


def pondround_lines() -> list[str]:
    """Return each command line of a block that runs pondround, as it would be typed in the clone."""
    lines = "".join(blocks("sh") + blocks("crontab")).splitlines()
    return [line[line.index("pondround ") :].partition(" > ")[0] for line in lines if "pondround " in line]


@pytest.fixture
def clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the samples, on a terminal of 80 columns in Dublin."""
    shutil.copytree(ROOT / "sample_configs", tmp_path / "sample_configs")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setenv("TZ", "Europe/Dublin")
    return tmp_path


def run(line: str, code: int = 0) -> str:
    name, *arguments = shlex.split(line)
    assert name == "pondround"
    result = CliRunner().invoke(app, arguments)
    assert result.exit_code == code, f"{line}: {result.stderr}"
    return result.stdout


def options() -> dict[str, set[str]]:
    """Return the options of each command, without --help."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    return {
        name: {
            opt
            for parameter in command.params
            for opt in (*parameter.opts, *parameter.secondary_opts)
            if opt.startswith("--")
        }
        - {"--help"}
        for name, command in commands.items()
    }
