"""`did`, `reading` and `undo` in whole conversations, and the day on which a job comes next."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from support.conversations import conversation
from support.weir import TODAY, ok, weir

__all__ = ["weir"]


# --- whole conversations ---


def test_did_as_it_reads(weir: Path, golden: Callable[[str, str], None]) -> None:
    said = conversation(
        "2026-12-19 did sedge water-change --by noor",
        "2026-12-19 did sedge water-change --by ines",
        "2026-12-19 did sedge water-change --again --share 30% --at 18:30 --by ines",
        "2026-12-20 did sedge reed daily-look sedge media-rinse --note 'brown flakes'",
        "2026-12-20 did sedge media-rinse --again",
        "2026-12-20 did reed wipe-down --on 2026-12-05",
        "2026-12-20 did sedge uv-lamp-replace/merc --on 2026-12-18",
        "2026-12-20 did sedge uv-lamp-replace",
        "2026-12-20 did sedge media-rins reed media-rinse",
        "2026-12-20 history",
    )
    golden("did.txt", said)


def test_reading_as_it_reads(weir: Path, golden: Callable[[str, str], None]) -> None:
    said = conversation(
        "2026-12-19 reading sedge ph=7.8 'temp=26 degC' 'ammonia=0.5 mg/L' --by noor",
        "2026-12-19 jobs --enclosure sedge --days 2",
        "2026-12-19 reading sedge ph=7.8 'ammonia=0.5 mg/L as N'",
        "2026-12-20 did sedge water-change --share 0.5 --by noor",
        "2026-12-20 reading sedge 'weight.fern=262 g' 'length.moss=11.4 cm' uvi.t5=1.6",
        "2026-12-21 reading sedge 'nitrate=30 mg/L as NO3'",
        "2026-12-21 reading sedge 'nitrate=250 ppm' 'temp=9 degC' ph=9.8",
        "2026-12-21 reading sedge 'nitrate=600 mg/L as NO3' 'weight.fern=900 g'",
        "2026-12-21 reading sedge 'nitrat=30 mg/L' 'ph=7,4' 'temp=25' 'weight=3 g' 'kh=4'",
        "2026-12-21 reading sedge ph 7.4",
        "2026-12-21 history",
    )
    golden("reading.txt", said)


def test_undo_as_it_reads(weir: Path, golden: Callable[[str, str], None]) -> None:
    said = conversation(
        "2026-12-19 undo",
        "2026-12-19 did sedge water-change --share 30% --by noor",
        "2026-12-19 reading sedge 'nitrite=0.8 mg/L as N'",
        "2026-12-19 undo --by ines --note 'wrong tank'",
        "2026-12-20 undo --entry 1",
        "2026-12-20 undo --entry 1",
        "2026-12-20 undo --entry 3",
        "2026-12-20 undo --entry 77",
        "2026-12-20 undo",
        "2026-12-20 history --all",
    )
    golden("undo.txt", said)


# --- done plus interval ---

# The tenth day after, by the calendar: 2026-12-19 + 10 = 2026-12-29, and so on.
INTERVALS = [
    ("on the day of recording", "2026-12-19", "2026-12-29"),
    ("written down two days later", "2026-12-17", "2026-12-27"),
    ("over the end of a year", "2026-12-25", "2027-01-04"),
    ("over the end of February", "2027-02-23", "2027-03-05"),
]


@pytest.mark.parametrize(("_", "done", "coming"), INTERVALS, ids=[row[0] for row in INTERVALS])
def test_what_comes_next_is_done_plus_interval(weir: Path, _: str, done: str, coming: str) -> None:
    today = max(done, TODAY)
    shown = f"{dt.date.fromisoformat(coming):%A %-d %B %Y}"
    assert f"  next on {shown}\n" in ok(f"did sedge water-change --on {done}", today=today)
    lines = ok("jobs --enclosure sedge --job water-change --days 30 --format json", today=today)
    dates = [found["date"] for found in map(json.loads, lines.splitlines()) if found["state"] != "done"]
    assert dates[:2] == [coming, str(dt.date.fromisoformat(coming) + dt.timedelta(days=10))]
