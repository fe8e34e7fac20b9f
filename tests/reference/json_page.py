"""The page of JSON: one object of each command, as it is printed about a sample."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

SAMPLES = Path(__file__).parents[2] / "sample_configs"
MOST_TEXT = 60
"""Characters of a text that are shown."""

EXAMPLES = (
    "jobs one-tank.toml --today 2026-12-19",
    "check one-tank.toml --today 2026-12-19 --what-if feed.grams=2",
    'reading one-tank.toml "ammonia=2 mg/L as N" --today 2026-12-19',
    "history one-tank.toml",
    "outlook one-tank.toml --today 2026-12-19",
    "rota household.toml --today 2026-12-14 --weeks 1 --ill Ives=2026-12-16",
    "rota household.toml --today 2026-12-14 --sitter Bo --span 2026-12-20/2026-12-22",
)
"""What is run and shown, in this order: the history has the reading."""

BEFORE = "rota household.toml --today 2026-12-14 --weeks 1 --publish"
"""What is run before: from a published rota somebody can be missing."""


def json_section(folder: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Return the examples, made in a folder of their own."""
    for sample in SAMPLES.glob("*.toml"):
        shutil.copy(sample, folder)
    monkeypatch.chdir(folder)
    printed(BEFORE)
    head = "Of the samples: of lists and of `figures` the first entry alone, and of long texts the beginning."
    parts = ["## As printed", head]
    for line in EXAMPLES:
        shown = json.dumps(shortened(printed(line)), indent=1, ensure_ascii=False)
        parts.append(f"`pondround {line} --format json`:\n\n```json\n{shown}\n```")
    return "\n\n".join(parts) + "\n"


def printed(line: str) -> Any:
    """Return the first object that a command prints."""
    words = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', line)]
    result = CliRunner().invoke(app, [*words, "--format", "json"])
    assert result.exit_code in (0, 1), f"{line}: {result.stderr}"
    return json.loads(result.stdout.splitlines()[0])


def shortened(value: Any, key: str = "") -> Any:
    """Return a value with the first of each list, and the beginning of each text; an instant is not that of this run."""
    if isinstance(value, list):
        return [shortened(one) for one in value[:1]]
    if isinstance(value, dict):
        kept = list(value.items())[: 1 if key == "figures" else None]
        return {name: shortened(one, name) for name, one in kept}
    if key == "recorded":
        return "2026-12-19T18:05:00Z"
    if isinstance(value, str) and len(value) > MOST_TEXT:
        return value[:MOST_TEXT].rstrip() + " …"
    return value
