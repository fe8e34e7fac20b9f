"""What is kept of `did`, `reading` and `undo`, and the same as JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from support.weir import TODAY, UNNAMED, WEIR, entries, ok, run, weir

from scheduler.readings import QUANTITIES

__all__ = ["weir"]

OPTIONS = [
    ("did sedge wipe-down", {"kind": "done", "name": "wipe-down", "date": TODAY, "time": None, "keeper": "", "note": "", "turn": 0, "value": None}),
    ("did sedge wipe-down --on 2026-12-01", {"date": "2026-12-01"}),
    ("did sedge wipe-down --at 7:05", {"time": "07:05"}),
    ("did sedge wipe-down --by INES", {"keeper": "ines-roe"}),
    ("did sedge wipe-down --note 'two  spaces'", {"note": "two  spaces"}),
    ("did sedge water-change --share 25%", {"value": 0.25, "unit": "share"}),
    ("did sedge water-change --share .4", {"value": 0.4, "unit": "share"}),
    ("did sedge water-change --share 1", {"value": 1.0, "unit": "share"}),
    # whose turn it is: the first half before anything is known
    ("did sedge media-rinse", {"value": 1.0, "unit": "half"}),
    ("did sedge media-rinse --half 2", {"value": 2.0, "unit": "half"}),
    ("reading sedge ph=7.4 --on 2026-12-01 --at 21:30 --by noor --note 'new strips'",
     {"kind": "reading", "name": "ph", "date": "2026-12-01", "time": "21:30", "keeper": "noor", "note": "new strips", "value": 7.4, "unit": "1", "given": "7.4"}),
    ("reading sedge 'weight=310 g' --of moss", {"of": "moss", "value": 310.0, "unit": "g", "given": "310 g"}),
    ("reading sedge 'weight=0.66 lb' --of moss", {"of": "moss", "value": pytest.approx(0.66 * 453.59237), "unit": "g", "given": "0.66 lb"}),
    ("reading sedge uvi=2.5 --of t5", {"of": "t5-ho-tube-2026-10-03"}),
    # of several lamps it is what they give together
    ("reading sedge uvi=2.5", {"of": ""}),
    # the name goes to those readings that are of somebody
    ("reading sedge 'weight=310 g' --of fern --sure ph=7.2", {"of": "fern"}),
]  # fmt: skip


@pytest.mark.parametrize(("line", "kept"), OPTIONS)
def test_what_is_kept(weir: Path, line: str, kept: dict[str, Any]) -> None:
    ok(line)
    found = entries()[0]
    assert {key: found[key] for key in kept} == kept
    assert found["recorded"].startswith(TODAY)


def test_halves_take_turns(weir: Path) -> None:
    for day in ("2026-12-01", "2026-12-08", "2026-12-15"):
        ok("did sedge media-rinse", today=day)
    ok("did sedge media-rinse --half 1", today="2026-12-16")
    ok("did sedge media-rinse", today="2026-12-17")
    assert [entry["value"] for entry in entries()] == [1.0, 2.0, 1.0, 1.0, 2.0]


@pytest.mark.parametrize("name", QUANTITIES)
def test_everything_that_can_be_measured_can_be_recorded(weir: Path, name: str) -> None:
    quantity = QUANTITIES[name]
    of = {"resident": ".fern", "lamp": ".merc", "": ""}[quantity.of]
    ok("reading sedge --sure", f"{name}{of}={quantity.example}")
    (entry,) = entries()
    assert (entry["name"], entry["given"], entry["unit"]) == (name, quantity.example, quantity.unit)
    assert bool(entry["of"]) == bool(of)


WITH_JSON = [
    "did sedge reed water-change sedge feed --by noor",
    "did sedge water-change --again --share 30%",
    "reading sedge ph=7.8 'ammonia=2 mg/L as N' 'weight.fern=250 g'",
    "undo --note slip",
]


def test_as_json_it_gives_what_history_gives(weir: Path) -> None:
    """Every object under `recorded` is a line of `history --format json`, that of an undo too."""
    for line in WITH_JSON:
        code, out, err = run(f"{line} --format json")
        unnamed = UNNAMED if "--by" not in line and "undo" not in line else ""
        assert (code, err, out.count("\n")) == (0, unnamed, 1)
        found = json.loads(out)
        assert list(found) == ["recorded", "consequences", "moved"]
        last = entries()[-len(found["recorded"]) :]
        assert found["recorded"] == last
        for one in found["consequences"]:
            assert list(one) == ["enclosure", "key", "verdict", "reading", "rule", "source", "status", "plan"]
        for one in found["moved"]:
            assert list(one) == ["enclosure", "job", "title", "from", "to"]
    assert [(e["kind"], e["voided"]) for e in entries()][-2:] == [("reading", True), ("void", False)]


def test_as_json_a_mistake_stays_a_sentence(weir: Path) -> None:
    assert run("did sedge zebra --format json")[:2] == (2, "")
    assert run("undo --format json") == (2, "", "there is nothing to take back: nothing is recorded yet\n")
    (weir / "enclosures.toml").write_text(WEIR.replace('"120 cm"', '"120 W"'), "utf-8")
    code, out, err = run("did sedge feed --format json")
    assert (code, err) == (2, "")
    assert [problem["path"] for problem in json.loads(out)["problems"]] == ["enclosure[0].length"]


def test_consequences_and_moves_as_json(weir: Path) -> None:
    found = json.loads(ok("reading sedge 'nitrite=0.8 mg/L as N' --format json"))
    alarm, food = found["consequences"]
    assert (food["enclosure"], food["key"], food["verdict"]) == ("sedge", "feed", "look")
    assert (alarm["enclosure"], alarm["key"], alarm["verdict"]) == ("sedge", "water-change", "act")
    assert alarm["reading"].startswith("Nitrite was 0.8 mg/L (as N) on 19 December 2026.")
    extra = {"enclosure": "sedge", "job": "water-change", "title": "extra water change, 50 %"}
    assert {**extra, "from": None, "to": "2026-12-19"} in found["moved"]
    found = json.loads(ok("undo --format json"))
    assert found["consequences"] == []
    assert {**extra, "from": "2026-12-19", "to": None} in found["moved"]
