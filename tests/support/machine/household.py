"""A small household in a file: two enclosures, three keepers, an evening job, a job for two, a lamp, an animal that moves."""

from __future__ import annotations

import copy
import datetime as dt
import tomllib
from typing import Any

import tomli_w

from scheduler.care import KEYS

FIRST = dt.date(2026, 12, 14)
"""A Monday: the day on which the household begins."""

KEPT = (
    "daily-look",
    "feed",
    "water-change",
    "water-test",
    "weigh-measure",
    "cord-check",
    "lamp-clean",
    "supplies",
)
"""The jobs of the care rules that are not turned off: some of each skill, and a plan that is made in a moment."""

OFF = {key: {"off": True} for key in KEYS if key not in KEPT}

KEEPERS = [
    {"id": "noor", "name": "Noor", "minutes": 70, "can": ["adult", "electrics", "lifting"]},
    {
        "id": "ben",
        "name": "Ben Ash",
        "weekdays": ["Tue", "Thu", "Sat", "Sun"],
        "minutes": 60,
        "can": ["lifting"],
    },
    {"id": "ada", "name": "Ada", "minutes": 25, "share": 0.5, "can": []},
]

SEDGE: dict[str, Any] = {
    "id": "sedge",
    "name": "Sedge",
    "kind": "tank",
    "room": "den",
    "length": "120 cm",
    "width": "50 cm",
    "height": "60 cm",
    "water_depth": "45 cm",
    "set_up": dt.date(2025, 3, 1),
    "cycled": True,
    "lamp": [
        {
            "kind": "T5 HO tube",
            "power": "24 W",
            "installed": dt.date(2026, 9, 1),
            "hours_a_day": 11,
            "uvi": 3.0,
            "uvi_at": "30 cm",
            "basking_distance": "30 cm",
        }
    ],
    "feed": {"grams": 4, "protein": 0.36},
    "extra_job": [
        {"key": "lid", "title": "close the lid", "rule": "FREQ=DAILY", "part": "evening", "minutes": 5},
        {
            "key": "stones",
            "title": "carry the stones out and back",
            "every": "6 days",
            "window": "2 days",
            "minutes": 20,
            "can": ["lifting"],
            "lift": "40 kg",
        },
    ],
}

RUSH: dict[str, Any] = {
    "id": "rush",
    "name": "Rush",
    "kind": "tub",
    "room": "basement",
    "length": "150 cm",
    "width": "80 cm",
    "height": "60 cm",
    "water_depth": "40 cm",
    "set_up": dt.date(2026, 6, 1),
    "cycled": True,
    "feed": {"grams": 3, "protein": 0.4},
    "extra_job": [
        {"key": "drain", "title": "clear the drain", "every": "10 days", "window": "3 days", "minutes": 15},
        {
            "key": "pump",
            "title": "rinse the pump",
            "rule": "FREQ=WEEKLY;BYDAY=WE",
            "window": "2 days",
            "minutes": 15,
        },
    ],
}

ANIMALS: dict[str, Any] = {
    "biscuit": {
        "id": "biscuit",
        "name": "Biscuit",
        "species": "painted turtle",
        "sex": "female",
        "carapace": "15 cm",
        "mass": "480 g",
    },
    "nickel": {
        "id": "nickel",
        "name": "Nickel",
        "species": "painted turtle",
        "sex": "male",
        "carapace": "11 cm",
        "mass": "200 g",
    },
}


class Household:
    """The description as its owner keeps it: names change and animals move, ids stay."""

    def __init__(self) -> None:
        """Begin with one animal in each enclosure."""
        self.names = {table["id"]: str(table["name"]) for table in [*KEEPERS, SEDGE, RUSH]}
        self.animals = copy.deepcopy(ANIMALS)
        self.homes = {"biscuit": "sedge", "nickel": "rush"}

    def text(self) -> str:
        """Return the description as TOML, a table for each animal."""
        keepers = [{**keeper, "name": self.names[str(keeper["id"])]} for keeper in KEEPERS]
        parts = [
            tomli_w.dumps({"site": {"name": "Alder Row", "time_zone": "Europe/Dublin"}, "keeper": keepers})
        ]
        for enclosure in (SEDGE, RUSH):
            table = {**enclosure, "name": self.names[enclosure["id"]], "job": OFF}
            parts.append(tomli_w.dumps({"enclosure": [table]}))
            parts += [
                f"[[enclosure.resident]]\n{tomli_w.dumps(self.animals[animal])}"
                for animal, home in self.homes.items()
                if home == enclosure["id"]
            ]
        return "\n".join(parts)

    def read(self, text: str) -> None:
        """Take over what a command has changed in the text."""
        data = tomllib.loads(text)
        self.names = {table["id"]: table["name"] for table in [*data["keeper"], *data["enclosure"]]}
        there = {
            resident["id"]: (enclosure["id"], resident)
            for enclosure in data["enclosure"]
            for resident in enclosure.get("resident", [])
        }
        self.animals = {animal: table for animal, (_, table) in there.items()}
        self.homes = {animal: home for animal, (home, _) in there.items()}
