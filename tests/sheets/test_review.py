"""The fitting-out review as a table: one whole output at 80 columns, both columns of a what-if, and its width."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from support.samples import EVERY_FILE

from scheduler import care, workflow
from scheduler.care import Review
from scheduler.description import load
from scheduler.sheets.review import WhatIf, review_lines, show_value
from scheduler.sheets.terminal import cells
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 1)

TANK = """
[site]
name = "Ferry Cottage"
time_zone = "Europe/Dublin"
room_low = "14 degC"
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
nitrate = "5 mg/L"
cold = "10 degC"
hot = "55 degC"
[[enclosure]]
name = "Sluice"
length = "90 cm"
width = "45 cm"
height = "45 cm"
water_depth = "36 cm"
covered = false
set_up = 2026-06-01
cycled = true
[enclosure.filter]
flow = "1100 L/h"
[[enclosure.heater]]
power = "150 W"
set_to = "25 degC"
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "39 W"
installed = 2026-09-12
hours_a_day = 12
uvi = 2.7
uvi_at = "30 cm"
basking_distance = "36 cm"
[[enclosure.resident]]
name = "Marigold"
species = "Trachemys scripta"
sex = "female"
carapace = "11 cm"
mass = "230 g"
arrived = 2026-06-20
[enclosure.feed]
grams = 2
"""


def reviews(text: str) -> list[Review]:
    return workflow.review(load(text, load_sheets(), (care.check,)), TODAY)


def as_us(text: str) -> str:
    return text.replace("[site]\n", '[site]\nunits = "us"\n', 1)


def test_one_review_whole(golden: Callable[[str, str], None]) -> None:
    golden("review.txt", "\n".join(review_lines(reviews(TANK), 80)) + "\n")


def test_one_review_whole_with_what_would_follow(golden: Callable[[str, str], None]) -> None:
    other = as_us(TANK).replace("150 W", "300 W").replace("grams = 2\n", "grams = 2\nprotein = 0.4\n")
    what_if = WhatIf(["heater.power=300 W", "feed.protein=0.4"], reviews(other))
    golden("review.what-if.txt", "\n".join(review_lines(reviews(as_us(TANK)), 80, what_if=what_if)) + "\n")


def test_every_figure_of_the_record_stands_in_the_table_with_its_status() -> None:
    (found,) = reviews(TANK)
    lines = list(review_lines([found], 80))
    table = lines[lines.index("") + 1 : -1]
    assert len(table) == len(found.figures) > 20
    for line, figure in zip(table, found.figures, strict=True):
        assert line.startswith(f"  {figure.label} ")
        assert line.endswith(f"  {show_value(figure.value, figure.unit, 'metric')}  {figure.source.status}")


def test_findings_stand_worst_first_each_with_its_source() -> None:
    lines = list(review_lines(reviews(TANK), 80))
    verdicts = [m[1] for line in lines if (m := re.match(r"  (act|look|fine)\s{2,}\S", line))]
    assert verdicts == sorted(verdicts, key=["act", "look", "fine"].index)
    assert set(verdicts) == {"act", "look", "fine"}
    head = lines[0].split()
    assert (head[0], int(head[1]), int(head[5])) == ("Sluice", verdicts.count("act"), verdicts.count("look"))


def test_explain_writes_each_sum_under_its_figure() -> None:
    (found,) = reviews(TANK)
    plain, told = list(review_lines([found], 80)), list(review_lines([found], 80, explain=True))
    assert [line for line in told if not line.startswith("      ") or line in plain] == plain
    text = " ".join(" ".join(told).split())
    for figure in found.figures:
        assert " ".join(f"{figure.how()} [{figure.source}]".split()) in text


def test_both_columns_stand_beside_each_other() -> None:
    other = TANK.replace('width = "45 cm"', 'width = "60 cm"').replace("[enclosure.filter]\nflow", "# flow")
    what_if = WhatIf(["width=60 cm", "filter="], reviews(other))
    lines = list(review_lines(reviews(TANK), 80, what_if=what_if))
    assert lines[0] == "What if: width=60 cm, filter="
    (head,) = [line for line in lines if line.endswith("what if")]
    values = {
        line[2:40].strip(): (line[40:54].strip(), line[54:].strip())
        for line in lines[lines.index(head) + 1 :]
        if line
    }
    # 90 x 45 or 60 x 36 cm.
    assert values["gross volume"] == ("146 L", "194 L")
    assert values["water area"] == ("4050 cm²", "5400 cm²")
    assert values["filter turnover"] == ("7.56 per hour", "-")
    assert values["heater power"] == ("150 W", "150 W")
    # Only what reads otherwise is told again; the rest is counted.
    assert sum("other findings are as before" in line for line in lines) == 1
    assert any("there is no filter" in line for line in lines)


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("explain", [False, True])
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("path", EVERY_FILE)
def test_no_line_is_wider_than_asked(path: Path, units: str, explain: bool, width: int) -> None:
    text = path.read_text("utf-8")
    text = re.sub(r'^units = ".*?"', f'units = "{units}"', text, count=1, flags=re.M)
    assert f'units = "{units}"' in text
    now = reviews(text)
    then = reviews(text.replace("covered = true", "covered = false"))
    change = WhatIf(["covered=false", "name=" + "x" * 300], then)
    for what_if in (None, change):
        lines = list(review_lines(now, width, explain=explain, what_if=what_if))
        assert max(map(cells, lines)) <= width


NAMES = {
    "emoji": "🐢" * 30,
    "wide": "水槽" * 30,
    "long": "a very long name " * 4 + "indeed",
    "turned": "\u202eturned\u202c",
}


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_of_any_script_keep_to_the_width(name: str, width: int) -> None:
    text = TANK.replace('name = "Sluice"', f'name = "{name}"').replace(
        'name = "Marigold"', f'name = "{name}"'
    )
    lines = list(review_lines(reviews(text), width))
    assert max(map(cells, lines)) <= width
    assert not {"\u202e", "\u202c"} & set("".join(lines))


def test_at_40_columns_a_figure_can_still_be_told_from_another() -> None:
    (found,) = reviews(TANK)
    lines = list(review_lines([found], 40))
    table = lines[lines.index("") + 1 : -1]
    # Each name stands on a line of its own, over its value.
    assert table[::2] == [f"  {figure.label}" for figure in found.figures]
    assert all(line.startswith(" " * 10) for line in table[1::2])


VALUES = [
    # value, unit, metric, US, source
    (405.0, "L", "405 L", "107 gal", "gallon of 3.785 411 784 L: NIST Handbook 44"),
    (5.374, "L/d", "5.37 L/d", "1.42 gal/d", "the same"),
    (517.6, "kg", "518 kg", "1141 lb", "pound of 0.453 592 37 kg: agreement of 1959"),
    (30.0, "cm", "30 cm", "11.8 in", "inch of 2.54 cm: the same"),
    (6000.0, "cm2", "6000 cm²", "930 in²", "the same"),
    (32.73, "degC", "32.7 °C", "90.9 °F", "9/5 and 32"),
    (6.183, "1/h", "6.18 per hour", "6.18 per hour", ""),
    (2.8, "1", "2.8", "2.8", "the UV Index has no unit"),
    (14, "d", "14 days", "14 days", ""),
    (0.00327, "mg/L", "0.00327 mg/L", "0.00327 mg/L", ""),
    (99.97, "mg", "100 mg", "100 mg", "three figures"),
    (9.999, "h", "10 h", "10 h", "three figures"),
    (1234567.0, "mg", "1234567 mg", "1234567 mg", "no exponent"),
    (dt.date(2027, 9, 11), "date", "2027-09-11", "2027-09-11", "ISO 8601"),
]


@pytest.mark.parametrize(("value", "unit", "metric", "us", "source"), VALUES)
def test_a_value_is_shown_in_the_units_of_the_site(
    value: float | dt.date, unit: str, metric: str, us: str, source: str
) -> None:
    assert (show_value(value, unit, "metric"), show_value(value, unit, "us")) == (metric, us), source


def test_a_single_day_is_one_day() -> None:
    assert show_value(1, "d", "metric") == "1 day"


def test_names_of_figures_keep_to_the_units_of_the_site() -> None:
    lines = list(review_lines(reviews(as_us(TANK)), 80))
    table = "\n".join(lines[lines.index("") + 1 :])
    assert "degC" not in table and "°C" not in table
