"""Fourteen short descriptions whose notes are followed to the letter, eleven here and the three samples, and records that raise alarms."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from scheduler import care, workflow
from scheduler.care import Job
from scheduler.description import Site
from scheduler.history import History
from support import recorded

SAMPLES = Path(__file__).parents[3] / "sample_configs"

_SITE = """
[site]
name = "Teasel Lane"
time_zone = "Europe/Dublin"
latitude = 53.3
room_low = "16 degC"
room_high = "27 degC"
"""
_TAPS = 'cold = "10 degC"\nhot = "55 degC"\n'
_TANK = """
[[enclosure]]
name = "Brook"
kind = "{kind}"
length = "{length} cm"
width = "{width} cm"
height = "60 cm"
water_depth = "{depth} cm"
"""
_CANISTER = 'filter = {kind = "canister", media_trays = 4}\n'
_INTERNAL = 'filter = {kind = "internal"}\n'
_HEATER = 'heater = [{power = "150 W", set_to = "26 degC", body = "glass"}]\n'
_TUBE = (
    'lamp = [{kind = "T5 HO tube", installed = 2026-10-03, hours_a_day = 12, uvi = 3.0, uvi_at = "30 cm", '
    'basking_distance = "30 cm"}, {kind = "heat", hours_a_day = 10}]\n'
)


def _enclosure(size: str, *lines: str, kind: str = "tank", tap: str = "chlorine", units: str = "") -> str:
    """Return a description of one enclosure: `size` is length x width x depth of the water in cm."""
    length, width, depth = size.split(" x ")
    site = _SITE + (f'units = "{units}"\n' if units else "")
    water = f'[site.tap_water]\ndisinfectant = "{tap}"\n{_TAPS}'
    return site + water + _TANK.format(kind=kind, length=length, width=width, depth=depth) + "".join(lines)


OWN = {
    "a hatchling in an uncycled tub": _enclosure(
        "60 x 40 x 12", "set_up = 2026-11-20\ncycled = false\n", _INTERNAL, _HEATER, _TUBE,
        'resident = [{name = "Speck", species = "painted turtle", carapace = "2.9 cm", mass = "6.2 g", arrived = 2026-11-28}]\n'
        'feed = {grams = 0.24, protein = 0.4}\n', kind="tub",
    ),
    "a musk turtle without a filter": _enclosure(
        "60 x 30 x 15", "set_up = 2026-11-20\n", _HEATER, _TUBE,
        'resident = [{name = "Rue", species = "Sternotherus odoratus", carapace = "9 cm", mass = "140 g"}]\n'
        'feed = {grams = 1.5}\n',
    ),
    "an adult slider, a canister and two heaters": _enclosure(
        "150 x 60 x 50", "set_up = 2026-06-20\ncycled = true\n", _CANISTER,
        'heater = [{set_to = "25 degC", body = "titanium"}, {set_to = "26 degC", body = "titanium"}]\n', _TUBE,
        'resident = [{name = "Tansy", species = "Trachemys scripta", sex = "female", carapace = "24 cm", mass = "2 kg"}]\n'
        'feed = {grams = 9, protein = 0.4}\n',
    ),
    "an indoor pond": _enclosure(
        "300 x 200 x 55", "cycled = true\n", 'filter = {kind = "sump"}\n', _HEATER, _TUBE,
        'resident = [{name = "the three", species = "Trachemys scripta", count = 3, carapace = "20 cm"}]\nfeed = {grams = 20}\n',
        kind="pond",
    ),
    "a quarantine tank": _enclosure(
        "80 x 40 x 30", "cycled = true\n", _INTERNAL, _HEATER, _TUBE,
        'resident = [{name = "Sorrel", species = "Emys orbicularis", carapace = "13 cm", mass = "340 g", arrived = 2026-12-05, quarantine = true}]\n'
        'feed = {grams = 2.5}\n',
    ),
    "a mercury vapour lamp, in US units": _enclosure(
        "120 x 50 x 40", "set_up = 2026-10-03\ncycled = true\n", _CANISTER, _HEATER,
        'lamp = [{kind = "mercury vapour", installed = 2026-10-03, hours_a_day = "daylight"}]\n',
        'resident = [{name = "Yarrow", species = "painted turtle", carapace = "4 cm", mass = "12.4 g"}]\nfeed = {grams = 0.4}\n',
        units="us",
    ),
    "no heater": _enclosure(
        "100 x 50 x 40", "cycled = true\n", _CANISTER, _TUBE,
        'resident = [{name = "Dock", species = "painted turtle", carapace = "12 cm", mass = "300 g"}]\nfeed = {grams = 3}\n',
    ),
    "no lamp, nothing known of heater and sizes": _enclosure(
        "100 x 50 x 40", "set_up = 2026-11-20\ndriftwood = true\n", 'filter = {kind = "hang-on"}\n', "heater = [{}]\n",
        'resident = [{name = "Vetch", arrived = 2026-11-28}]\n', tap="unknown",
    ).replace('width = "50 cm"\n', ""),
    "filled again by hose": _enclosure(
        "200 x 100 x 50", "set_up = 2026-11-20\ncycled = true\n", _CANISTER, _HEATER, _TUBE,
        'resident = [{name = "Mallow", species = "Trachemys scripta", carapace = "22 cm", mass = "1.6 kg", arrived = 2026-11-28}]\n'
        'feed = {grams = 9, protein = 0.4}\n',
    ),
    "a chloramine tap, by pail": _enclosure(
        "80 x 30 x 25", "cycled = true\n", _INTERNAL, _HEATER, _TUBE,
        'resident = [{name = "Hyssop", species = "Sternotherus odoratus", carapace = "8 cm", mass = "100 g"}]\nfeed = {grams = 1}\n',
        tap="chloramine",
    ),
    "a group of hatchlings in bare water": _enclosure(
        "80 x 40 x 10",
        'resident = [{name = "the seven", species = "Chrysemys picta", count = 7, carapace = "3 cm", mass = "5.6 g"}]\n'
        'feed = {grams = 0.03}\n', kind="tub", tap="none",
    ),
}  # fmt: skip

SITES: dict[str, Site] = {
    **{name: recorded.load(text) for name, text in OWN.items()},
    **{f"the sample {path.stem}": workflow.read_site(path) for path in sorted(SAMPLES.glob("*.toml"))},
}

RECORDS = {
    "nothing read": [],
    "nitrite": ["2027-01-31 nitrite 1.2"],
    "ammonia": ["2027-01-31 ph 8.2", "2027-01-31 ammonia 1.0"],
    "ammonia in acid water": ["2027-01-31 ph 6.4", "2027-01-31 ammonia 2.0"],
    "too warm": ["2027-01-31 temperature 34", "2027-01-31 basking 45"],
    "too cold": ["2027-01-31 temperature 14", "2027-01-31 basking 22"],
    "ultraviolet low": ["2027-01-10 uvi 3.0", "2027-01-31 uvi 0.4"],
    "a rinse, and lighter": [
        "2027-01-28 did media-rinse",
        *(f"2027-01-{day} weight.{one} {grams}" for one in ("wren", "speck", "amendoa") for day, grams in (("03", 300), ("31", 220))),
    ],
}  # fmt: skip


def jobs(site: Site, record: str) -> list[Job]:
    """Return the jobs of a site on 1 February 2027, with the same record in each of its enclosures."""
    if not RECORDS[record]:
        return list(care.jobs(site))
    some = [
        recorded.entry(line, enclosure.id, number)
        for enclosure in site.enclosures
        for number, line in enumerate(RECORDS[record], start=1)
    ]
    history = History(
        dt.date(2026, 10, 20),
        done=[e for e in some if e.kind == "done"],
        readings=[e for e in some if e.kind == "reading"],
    )
    return list(care.jobs(site, care.with_implied(site, history)))
