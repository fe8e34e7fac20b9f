"""A tank that has every job of the table, and its jobs."""

from __future__ import annotations

from scheduler import care
from scheduler.care import Job
from scheduler.description import load
from scheduler.species import load_sheets

FULL = """
[site]
name = "Reed House"
time_zone = "Europe/Dublin"
latitude = 53.3
room_high = "34 degC"
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
cold = "10 degC"
hot = "55 degC"

[[enclosure]]
name = "Sallow"
length = "150 cm"
width = "60 cm"
height = "60 cm"
water_depth = "52 cm"
set_up = 2026-11-20
cycled = 2026-12-20
[enclosure.substrate]
kind = "river stones"
depth = "4 cm"
[enclosure.filter]
kind = "canister"
media_trays = 4
[[enclosure.heater]]
set_to = "25 degC"
[[enclosure.lamp]]
kind = "mercury vapour"
installed = 2026-11-20
hours_a_day = 12
[[enclosure.resident]]
name = "Nettle"
species = "Trachemys scripta"
sex = "female"
carapace = "14 cm"
born = 2023-06-15
arrived = 2026-11-28
quarantine = true
[enclosure.feed]
grams = 6
"""

ALL_KEYS = [
    "treat-driftwood",
    "fit-out",
    "pre-arrival-check",
    "cycle-test",
    "ammonia-dose",
    "basking-watch",
    "basking-review",
    "quarantine-watch",
    "quarantine-weigh",
    "faecal-test",
    "quarantine-release",
    "daily-look",
    "feed",
    "water-change",
    "water-test",
    "top-up",
    "wipe-down",
    "filter-check",
    "lamp-clean",
    "uvi-reading",
    "weigh-measure",
    "cuttlebone",
    "rcd-test",
    "heater-check",
    "media-rinse",
    "uv-lamp-order",
    "uv-lamp-replace",
    "burn-in-baseline",
    "cord-check",
    "lamp-timer",
    "cold-season-check",
    "hot-season-check",
    "vet-check",
    "space-review",
    "supplies",
]


def jobs(text: str) -> list[Job]:
    return list(care.jobs(load(text, load_sheets(), (care.check,))))


def job(text: str, key: str) -> Job:
    (found,) = (j for j in jobs(text) if j.key == key and not j.fixed)
    return found


def without(*lines: str) -> str:
    text = FULL
    for line in lines:
        assert line in text
        text = text.replace(line, "")
    return text
