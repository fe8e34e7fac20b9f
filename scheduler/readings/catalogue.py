"""The catalogue of what a keeper may measure: names, units, and what is possible and likely.

A reading is kept as a plain number in the unit of its quantity: degC, g, cm, pH and UV Index as they are,
ammonia and nitrite in mg/L as N, nitrate in mg/L as NO3.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from scheduler.errors import UsageError, clip, nearest
from scheduler.handbook.nitrogen import NH3_PER_N, NH4_PER_N, NO2_PER_N, NO3_PER_N

SIGN = "sign"
"""What the names of signs begin with: sign.gasping=yes, and as weight.Fern of one of several animals
sign.gasping.Fern=yes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One quantity: its names, the unit it is kept in, whom a reading is of, and what is possible and likely.

    `kind` is that of `quantities` ("": a bare number). `bases` says how much of the unit that is kept one
    mg/L is, by what the kit may read as; `assumed` is taken where nobody says. `step` is the largest likely
    difference from the last reading, `up` and `down` the factors; `falls` tells whether it can become less in
    time. All of them house values.
    """

    name: str
    label: str
    unit: str
    kind: str = ""
    aliases: tuple[str, ...] = ()
    of: Literal["", "resident", "lamp"] = ""
    example: str
    possible: tuple[float, float]
    likely: tuple[float, float]
    bases: Mapping[str, float] = field(default_factory=dict)
    assumed: str = ""
    step: float = math.inf
    up: float = math.inf
    down: float = 0.0
    falls: bool = True

    @property
    def is_sign(self) -> bool:
        """Tell whether it is a sign of illness: seen (1) or not (0)."""
        return self.name in SIGNS


SIGNS: Mapping[str, tuple[str, bool]] = {
    f"{SIGN}.{name}": (label, at_once)
    for name, label, at_once in (
        ("shut-eyes", "swollen or shut eyes", False),
        ("nose", "nose discharge", False),
        ("soft-shell", "soft shell or foul spots", False),
        ("listless", "listless", False),
        ("not-eating", "not eating for 7 days (a hatchling 3)", False),
        ("open-mouth", "open-mouth breathing", True),
        ("gasping", "gasping", True),
        ("lopsided", "one side high in the water", True),
        ("bleeding", "bleeding or red skin", True),
        ("straining", "straining", True),
        ("prolapse", "prolapse", True),
        ("fits", "fits", True),
        ("burn", "a burn", True),
        ("cracked-shell", "a cracked shell", True),
    )
}
"""The signs of illness, by the names under which they are recorded: what is seen, and whether a vet sees it
on the same day."""


YES, NO = ("yes", "y", "seen", "1"), ("no", "n", "gone", "0")


QUANTITIES: Mapping[str, Quantity] = {
    q.name: q
    for q in (
        Quantity(
            name="temperature", label="water temperature", unit="degC", kind="temperature", aliases=("temp", "water"),  # noqa: E501
            example="25 degC", possible=(-2.0, 60.0), likely=(5.0, 40.0), step=10.0,
        ),
        Quantity(
            name="basking", label="temperature of the basking place", unit="degC", kind="temperature",
            aliases=("surface",), example="32 degC", possible=(-20.0, 95.0), likely=(10.0, 60.0), step=15.0,
        ),
        Quantity(
            name="uvi", label="UV Index", unit="1", aliases=("uv", "uv index"), of="lamp", example="2.7",
            possible=(0.0, 100.0), likely=(0.0, 12.0), up=3.0, down=1.0 / 3.0,
        ),
        Quantity(
            name="ammonia", label="total ammonia", unit="mg/L as N", kind="concentration",
            aliases=("nh3", "nh4", "tan", "nh3/nh4", "ammonium"), example="0.25 mg/L as N",
            possible=(0.0, 1000.0), likely=(0.0, 8.0),
            bases={"N": 1.0, "NH3": 1.0 / NH3_PER_N, "NH4": 1.0 / NH4_PER_N}, assumed="N",
        ),
        Quantity(
            name="nitrite", label="nitrite", unit="mg/L as N", kind="concentration", aliases=("no2",),
            example="0.1 mg/L as N", possible=(0.0, 1000.0), likely=(0.0, 10.0),
            bases={"N": 1.0, "NO2": 1.0 / NO2_PER_N}, assumed="N",
        ),
        Quantity(
            name="nitrate", label="nitrate", unit="mg/L as NO3", kind="concentration", aliases=("no3",),
            example="35 mg/L as NO3", possible=(0.0, 10_000.0), likely=(0.0, 400.0),
            bases={"NO3": 1.0, "N": NO3_PER_N}, assumed="NO3",
        ),
        Quantity(
            name="ph", label="pH", unit="1", example="7.4", possible=(0.0, 14.0), likely=(5.0, 9.5), step=1.5,
        ),
        Quantity(
            name="alkalinity", label="alkalinity", unit="mg/L as CaCO3", kind="concentration",
            example="120 mg/L", possible=(0.0, 2000.0), likely=(0.0, 500.0),
        ),
        Quantity(
            name="weight", label="weight", unit="g", kind="mass", aliases=("mass", "grams"), of="resident",
            example="480 g", possible=(0.5, 300_000.0), likely=(2.0, 20_000.0), up=1.5, down=1.0 / 1.5,
        ),
        Quantity(
            name="length", label="length of the carapace", unit="cm", kind="length", aliases=("carapace",),
            of="resident", example="14.2 cm", possible=(1.0, 200.0), likely=(2.0, 60.0), up=1.25, down=0.95, falls=False,  # noqa: E501
        ),
        *(
            Quantity(
                name=name, label=label, unit="1", of="resident", example="yes", possible=(0.0, 1.0), likely=(0.0, 1.0),  # noqa: E501
                up=2.0,
            )
            for name, (label, _) in SIGNS.items()
        ),
    )
}  # fmt: skip
"""What a keeper records, by name. Possible and likely ranges and steps are house values, see LIKELY."""

_NAMES = {alias: q.name for q in QUANTITIES.values() for alias in (q.name, *q.aliases)}


def named_of(name: str) -> tuple[str, str]:
    """Return the word for the quantity and whom or what it is of: weight.Fern, sign.gasping.Fern; "" where
    nobody is named."""
    parts = 2 if name.strip().lower().startswith(f"{SIGN}.") else 1
    words = name.split(".", parts)
    return ".".join(words[:parts]), ".".join(words[parts:])


def quantity(word: str) -> Quantity:
    """Return the quantity that a word names: by its name, another name for it, or a unique beginning of its
    name."""
    low = " ".join(word.lower().replace("_", " ").split())
    if low in _NAMES:
        return QUANTITIES[_NAMES[low]]
    begun = [q for name, q in QUANTITIES.items() if low and name.startswith(low)]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise UsageError(f"{clip(word)} may mean {' or '.join(q.name for q in begun)}; write more of it")
    close = nearest(low, _NAMES)
    hint = f"nearest: {_NAMES[close]}" if close else f"there are: {_names(low)}"
    raise UsageError(f"nothing is measured as {clip(word)}; {hint}")


def _names(low: str) -> str:
    """Return what can be measured, for whoever wrote something else: the signs by name to those who asked for
    one."""
    if low.startswith(SIGN):
        return ", ".join(SIGNS)
    return ", ".join([*(name for name in QUANTITIES if name not in SIGNS), f"{SIGN}.NAME"])
