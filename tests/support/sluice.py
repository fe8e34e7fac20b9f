"""A tank that keeps to all that is asked and a bare one, and `check` as a keeper calls it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

TODAY = ["--today", "2026-12-01"]

SITE = """
[site]
name = "Ferry Cottage"
time_zone = "Europe/Dublin"
room_low = "18 degC"
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
nitrate = "5 mg/L"
cold = "10 degC"
hot = "55 degC"
"""

SLUICE = """
[[enclosure]]
name = "Sluice"
length = "90 cm"
width = "45 cm"
height = "45 cm"
water_depth = "36 cm"
covered = true
set_up = 2026-06-01
cycled = true
[enclosure.filter]
flow = "1100 L/h"
[[enclosure.heater]]
power = "200 W"
set_to = "25 degC"
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "39 W"
installed = 2026-09-12
hours_a_day = 12
uvi = 2.7
uvi_at = "30 cm"
basking_distance = "30 cm"
[[enclosure.lamp]]
kind = "heat"
power = "60 W"
hours_a_day = 10
[[enclosure.resident]]
name = "Marigold"
species = "Trachemys scripta"
sex = "female"
carapace = "11 cm"
mass = "230 g"
arrived = 2026-06-20
[enclosure.feed]
grams = 2
protein = 0.4
meals_a_week = 5
"""

MILLPOND = """
[[enclosure]]
name = "Millpond"
length = "60 cm"
width = "30 cm"
water_depth = "20 cm"
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "enclosures.toml"
    path.write_text(SITE + SLUICE + MILLPOND, "utf-8")
    return path


def run(*args: object, columns: int = 80) -> tuple[int, str, str]:
    """Return exit code, standard output and standard error; a traceback is no answer."""
    done = CliRunner(env={"COLUMNS": str(columns)}).invoke(app, list(map(str, args)))
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise AssertionError(f"{args} ended in {done.exception!r}") from done.exception
    assert "Traceback" not in done.output
    return done.exit_code, done.stdout, done.stderr


def check(file: Path, *args: object) -> tuple[int, str, str]:
    return run("check", file, *TODAY, *args)


def check_json(file: Path, *args: object) -> tuple[int, dict[str, Any]]:
    code, out, err = check(file, "--format", "json", *args)
    assert err == ""
    return code, json.loads(out)
