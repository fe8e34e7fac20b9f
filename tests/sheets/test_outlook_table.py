"""The outlook as it is printed: whole pages of the samples, at any width, with names of any script."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from support.samples import EVERY_SAMPLE

from scheduler import care, workflow
from scheduler.care.outlook import Outlook
from scheduler.description import Site, load
from scheduler.sheets.outlook import outlook_lines
from scheduler.sheets.terminal import cells
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 1)
SAMPLES = Path(__file__).parents[2] / "sample_configs"


def look(site: Site, months: int, enclosure: str | None = None) -> Outlook:
    return workflow.outlook(site, TODAY, months, enclosure=enclosure)


def read(sample: str) -> Site:
    return workflow.read_site(SAMPLES / f"{sample}.toml")


@pytest.mark.parametrize(
    ("name", "sample", "months", "enclosure"),
    [
        ("one-tank", "one-tank", 12, None),
        ("household", "household", 12, None),
        ("household.den", "household", 6, "Den tank"),
        ("rescue", "rescue", 2, None),
    ],
)
def test_the_samples_read_well(
    golden: Callable[[str, str], None], name: str, sample: str, months: int, enclosure: str | None
) -> None:
    lines = outlook_lines(look(read(sample), months, enclosure), 80)
    golden(f"outlook-{name}.txt", "".join(f"{line}\n" for line in lines))


@pytest.mark.parametrize("width", [10, 40, 60, 80, 100])
@pytest.mark.parametrize("sample", EVERY_SAMPLE)
def test_no_line_is_wider_than_asked(sample: str, width: int) -> None:
    lines = list(outlook_lines(look(read(sample), 12), width))
    assert max(map(cells, lines)) <= max(width, 40)
    assert not any(line != line.rstrip() for line in lines)


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize(
    "name", ["🐢" * 30, "水槽" * 30, "a very long name " * 4 + "indeed", "\u202eturned\u202c"]
)
def test_names_of_any_script_keep_to_the_width(name: str, width: int) -> None:
    text = (SAMPLES / "household.toml").read_text("utf-8")
    for old in ("Den tank", "the big bottle", "Delta", "Pruitt Street"):
        assert old in text
        text = text.replace(f'"{old}"', f'"{name}"')
    lines = list(outlook_lines(look(load(text, load_sheets(), (care.check,)), 12), width))
    assert max(map(cells, lines)) <= width
    assert not {"\u202e", "\u202c"} & set("".join(lines))


def test_what_costs_stands_at_the_end_of_the_first_line() -> None:
    lines = list(outlook_lines(look(read("household"), 12), 80))
    priced = [line for line in lines if re.search(r"\d USD$", line)]
    assert len(priced) > 5
    assert all(cells(line) == 80 for line in priced)


BARE = """
[site]
name = "Ditch End"
[site.tap_water]
disinfectant = "none"
[[enclosure]]
name = "Rush"
cycled = true
set_up = 2026-10-20
"""


def test_an_empty_month_is_a_month() -> None:
    lines = list(outlook_lines(look(load(BARE, load_sheets(), (care.check,)), 2), 80))
    assert lines == [
        "Ditch End, 1 December 2026 to 31 January 2027",
        "What comes daily, weekly and monthly is in the hours, not in the lines;",
        "`pondround jobs` lists it.",
        "",
        "December 2026                                                 5 h 55 min of care",
        "",
        "January 2027                                                  5 h 40 min of care",
        "",
        "To buy",
        "  - tests of ammonia, nitrite, nitrate and pH: 8",
        "",
        "Costs: none.",
    ]
