"""The samples, as parameters of tests: a plain run leaves out the rescue, which is as much work as eight households."""

from __future__ import annotations

from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "sample_configs"

RESCUE = pytest.param("rescue", marks=pytest.mark.slow)
EVERY_SAMPLE = ("one-tank", "household", RESCUE)
EVERY_FILE = tuple(
    pytest.param(file, marks=pytest.mark.slow if file.stem == "rescue" else (), id=file.stem)
    for file in sorted(FOLDER.glob("*.toml"))
    if not file.name.endswith(".species.toml")
)
