"""The sitter's sheet where an enclosure is in quarantine: last, with its own tools, and nothing is asked that it forbids."""

from __future__ import annotations

import datetime as dt

from support.recorded import load

from scheduler import workflow
from scheduler.sheets.sitter import sitter_lines
from scheduler.workflow.workspace import Workspace

TEXT = """
[site]
name = "Gull Quay"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
away = ["2026-12-09/2026-12-10"]
[[enclosure]]
name = "Basin"
set_up = 2026-01-10
cycled = true
[[enclosure.resident]]
name = "Kelp"
species = "painted turtle"
carapace = "14 cm"
[[enclosure]]
name = "Apart"
set_up = 2026-01-10
cycled = true
[[enclosure.resident]]
name = "Wrack"
species = "painted turtle"
carapace = "14 cm"
arrived = 2026-11-20
quarantine = true
"""


def lines(text, tmp_path):
    site, today = load(text), dt.date(2026, 12, 7)
    made = workflow.sit(Workspace(tmp_path / "quay.toml", site, today), "Pia", weeks=2, span=None)
    return " ".join("\n".join(sitter_lines(site, made, 200)).split())


def test_quarantine_comes_last_with_its_own_tools(tmp_path):
    told = lines(TEXT, tmp_path)
    apart = (
        "In quarantine: do this last. Use only the net, tub, pail and cloths that hang here, and leave them here. Nothing goes from here to another animal. "
        "Wash hands and arms with soap. No disinfectant: the keepers see to that."
    )
    # Once a day, after all that is done elsewhere, and before the first job there.
    assert told.count(apart) == 2
    before, _, after = told.partition(apart)
    assert "Basin: daily look" in before and "Apart" not in before.split("Wednesday")[1]
    assert "Apart: daily look" in after
    # What it forbids no step of it asks for.
    assert "isinfect" not in told.replace(apart, "").split("Neither waits")[0]


def test_without_a_quarantine_nothing_is_said_of_one(tmp_path):
    assert "quarantine" not in lines(TEXT.replace("quarantine = true\n", ""), tmp_path)
