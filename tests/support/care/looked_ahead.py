"""Tanks whose outlook can be worked out by hand, and what of it is asked for."""

from __future__ import annotations

import datetime as dt

from scheduler import workflow
from scheduler.care.outlook import Outlook, Purchase
from scheduler.description.prices import Price
from support.recorded import load

TODAY = dt.date(2026, 12, 1)

SITE = """
[site]
name = "Weir Cottage"
time_zone = "Europe/Dublin"
latitude = 53.3
[site.tap_water]
disinfectant = "chlorine"
[site.house_values]
hose_from = "150 L"
"""

# 100 x 50 cm, filled to 40 cm: 200 L, of which half is changed.
REED = """
[[enclosure]]
name = "Reed"
length = "100 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
set_up = 2026-06-01
cycled = true
[enclosure.filter]
kind = "internal"
[[enclosure.resident]]
name = "Moss"
species = "Sternotherus odoratus"
sex = "male"
carapace = "9 cm"
[enclosure.feed]
grams = 3
meals_a_week = 3
{feed}
[enclosure.conditioner]
{conditioner}
"""

# A second one that eats 1 g every day.
SEDGE = (
    REED.replace('"Reed"', '"Sedge"')
    .replace('"Moss"', '"Fern"')
    .replace("grams = 3\nmeals_a_week = 3", "grams = 1\nmeals_a_week = 7")
)

LAMP = """
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "24 W"
installed = 2026-01-17
hours_a_day = 12
price = "31.90 EUR"
"""


def look(text: str, months: int = 12, today: dt.date = TODAY, enclosure: str | None = None) -> Outlook:
    """Return the outlook of a description for so many months, or of one of its enclosures."""
    return workflow.outlook(load(text), today, months, enclosure=enclosure)


def lines(found: Outlook, job: str) -> list[tuple[dt.date, str, Price | None]]:
    """Return day, text and cost of the lines of a job."""
    return [(line.day, line.text, line.cost) for line in found.lines if line.job == job]


def bought(found: Outlook, start: str) -> Purchase:
    """Return the one purchase whose name begins so."""
    (one,) = [p for p in found.purchases if p.what.startswith(start)]
    return one


def tank(feed: str = "", conditioner: str = "", text: str = REED) -> str:
    """Return the tank Reed, or that of another text, with keys of its feed and its conditioner."""
    return text.replace("{feed}", feed).replace("{conditioner}", conditioner)
