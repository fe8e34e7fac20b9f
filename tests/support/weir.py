"""A tank in which everything can be recorded, and the commands that do it on one day."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from support import conversations

TODAY = "2026-12-19"

WEIR = """
[site]
name = "Weir"
time_zone = "Europe/Dublin"
[site.tap_water]
nitrate = "5 mg/L"
[[keeper]]
name = "Noor"
[[keeper]]
name = "Ines Roe"
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {kind = "canister", flow = "1400 L/h", media_trays = 4}
heater = [{power = "200 W", set_to = "24 degC"}]
lamp = [
  {kind = "T5 HO tube", installed = 2026-10-03, hours_a_day = 12, uvi = 2.7, uvi_at = "30 cm"},
  {kind = "mercury vapour", installed = 2026-11-01, hours_a_day = 12},
]
resident = [
  {name = "Fern", species = "painted turtle", carapace = "12 cm", mass = "300 g", measured = 2026-11-20},
  {name = "Moss", species = "painted turtle"},
]
[enclosure.job.water-change]
every = "10 days"
[[enclosure]]
name = "Reed"
set_up = 2026-11-01
"""

run = partial(conversations.run, today=TODAY)
ok = partial(conversations.ok, today=TODAY)

UNNAMED = "it is not recorded who did it: --by names one of Ines Roe, Noor\n"


@pytest.fixture
def weir(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description, at a terminal of 80 columns, without a log."""
    (tmp_path / "enclosures.toml").write_text(WEIR, "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return tmp_path


def entries() -> list[dict[str, Any]]:
    return [json.loads(line) for line in ok("history --format json").split("\n")[:-1]]
