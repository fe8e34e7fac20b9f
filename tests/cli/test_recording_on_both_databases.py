"""The same record on SQLite and on PostgreSQL: the same is said, and the same is planned."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from support.servers import Server, programs_or_skip, running
from support.weir import run, weir

__all__ = ["weir"]

SCENARIO = """
2026-12-01 did sedge water-change --by noor
2026-12-01 did reed daily-look wipe-down --by ines
2026-12-01 reading sedge 'nitrate=12 mg/L as NO3' ph=7.4 'temp=24 degC' --by noor
2026-12-03 did sedge feed --at 18:30
2026-12-03 did sedge feed
2026-12-03 did sedge feed --again --note 'greens; "only"'
2026-12-05 reading sedge 'nitrate=17 mg/L as NO3' --at 20:00
2026-12-05 reading sedge 'nitrate=17 mg/L as NO3' --at 20:00
2026-12-05 reading sedge 'weight.fern=301 g' 'weight.moss=288 g' 'length.fern=12.1 cm'
2026-12-06 did sedge media-rinse --by ines
2026-12-08 did sedge uv-lamp-replace/merc --by ines
2026-12-08 did sedge reed filter-check
2026-12-09 did sedge filter-check heater-check
2026-12-09 reading sedge 'nitrate=24 mg/L as NO3' uvi.t5=2.6
2026-12-11 did sedge water-change --share 40% --on 2026-12-10
2026-12-11 reading sedge 'nitrate=16 mg/L as NO3' 'nitrite=0 mg/L as N' 'ammonia=0 mg/L as N'
2026-12-12 reading sedge 'nitrite=0.3 mg/L as N' ph=7.6 'temp=24.5 degC'
2026-12-12 undo --by noor --note 'read the wrong column'
2026-12-12 undo --entry 5
2026-12-13 reading sedge 'nitrite=0.2 mg/L as N' ph=7.6 'temp=24.5 degC'
2026-12-13 did sedge water-change --share 0.5 --by noor
2026-12-14 reading sedge 'nitrite=0 mg/L as N' 'ammonia=0 mg/L as N'
2026-12-15 reading sedge 'nitrite=0 mg/L as N' 'ammonia=0 mg/L as N' 'nitrate=14 mg/L as NO3'
2026-12-15 did reed water-change top-up --by 'Ines Roe' --note "'; DROP TABLE entry; -- 🐢"
2026-12-16 did sedge media-rinse --half 1
2026-12-16 reading sedge 'weight.fern=262 g'
2026-12-17 reading sedge 'nitrate=19 mg/L as NO3' 'basking=33 degC'
2026-12-18 did sedge daily-look reed daily-look feed
2026-12-18 undo --entry 400
2026-12-19 did sedge wipe-down --on 2026-11-28
2026-12-19 undo
""".strip().splitlines()

LOOKS = [
    "jobs --days 40", "jobs --days 400 --format json", "check --explain", "check --format json", "outlook",
    "outlook --format json", "export --to out", "history", "history --all", "history --format json", "history --format csv",
    "history --job nitrate --since 2026-12-09 --last 3",
]  # fmt: skip


def lived() -> dict[str, str]:
    """Run the scenario; return what each command said, and what is written at the end. The hour of recording is left out."""
    said = {f"{n} {line}": "\n".join(map(str, _said(line))) for n, line in enumerate(SCENARIO)}
    said |= {line: "\n".join(map(str, run(line))) for line in LOOKS}
    said |= {path.name: path.read_bytes().decode() for path in sorted(Path("out").iterdir())}
    return {
        name: re.sub(r"(?<=T)\d\d:?\d\d:?\d\dZ", "......Z", text) if "recorded" in text else text
        for name, text in said.items()
    }


def _said(line: str) -> tuple[int, str, str]:
    today, _, typed = line.partition(" ")
    return run(typed, today=today)


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    with running(programs_or_skip()) as made:
        yield made


@pytest.mark.server
def test_the_same_record_gives_the_same_plan_on_both_databases(
    weir: Path, server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_sqlite = lived()
    assert (weir / "enclosures.db").is_file()
    for written in (weir / "out").iterdir():
        written.unlink()
    monkeypatch.setenv("PONDROUND_LOG", server.new_schema())
    (weir / "enclosures.db").unlink()
    in_postgresql = lived()
    assert not (weir / "enclosures.db").exists()
    assert in_postgresql == in_sqlite
    # It was no scenario of refusals, and what it holds is in the calendars.
    codes = [in_sqlite[name][0] for name in in_sqlite if name[0].isdigit()]
    assert (codes.count("0"), codes.count("2"), len(codes)) == (28, 3, 31)
    calendars = [name for name in in_sqlite if name.endswith(".ics")]
    assert (len(calendars), sum(name.endswith(".rounds.ics") for name in calendars)) == (5, 2)
    assert len(in_sqlite["history --format json"].splitlines()) > 40
