"""Space: the least water area and depth that codes and advice ask for, each told on its own.

All are floors for keeping at all, not goals of welfare. Carapace lengths are straight, front to back edge of
the shell.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from scheduler.sources import Source

EU = Source(
    "Directive 2010/63/EU, annex III, table 10.1 (aquatic chelonians; animals of laboratories)", "published"
)
GERMANY = Source(
    (
        "German federal expert report of 10 January 1997 on keeping reptiles, as restated in VG "
        "Gelsenkirchen 16 L 1319/11"
    ),
    "published",
)
GERMANY_GROUP = Source(
    "German federal expert report of 10 January 1997 on keeping reptiles; that the area is for up to two, "
    "and 10 % "
    "more for the 3rd and 4th, 20 % from the 5th, was read for tortoises only",
    "from memory",
)
NSW = Source("New South Wales Department of Education, Animals in Schools (up to two animals)", "published")
QUEENSLAND = Source("housing table of a Queensland veterinary practice", "published")
BARNARD = Source("veterinary text, table 18.1, after Barnard 1996", "published")
BOYER = Source(
    "Boyer, aquatic turtle care sheet: the shells cover at most a quarter of the floor", "published"
)
SPCA = Source("SPCA New Zealand: 80 L for each 5 cm of shell and animal", "published")

EU_ROWS = (
    (5.0, 600.0, 100.0, 10.0),
    (10.0, 1600.0, 300.0, 15.0),
    (15.0, 3500.0, 600.0, 20.0),
    (20.0, 6000.0, 1200.0, 30.0),
    (30.0, 10_000.0, 2000.0, 35.0),
    (math.inf, 20_000.0, 5000.0, 40.0),
)
"""Directive 2010/63/EU, annex III, table 10.1: carapace up to (cm), water surface of the first animal and of
each more (cm2), depth (cm). Published.
"""


LONG, WIDE = 5.0, 2.5
"""Length and width of the water in carapace lengths: Germany 1997 and New South Wales (published)."""

NSW_DEPTH, NSW_SIDE, NSW_MOST = 1.5, 1.5, 2
"""New South Wales: mean depth and shortest side in carapace lengths, and for how many animals (published)."""

SHELL_SHARE = 0.25
"""Most of the floor that shells may cover: Boyer (published)."""

LITRES_PER_CM = 80.0 / 5.0
"""L of water for each cm of shell: SPCA New Zealand (published), parts of 5 cm taken in proportion (house
value)."""


class Animal(NamedTuple):
    """One animal: straight carapace length, and width of the shell where it was measured, cm."""

    carapace_cm: float
    shell_width_cm: float | None = None


@dataclass(frozen=True, slots=True)
class Requirement:
    """What one code or piece of advice asks for; None where it asks for nothing of the kind, or something is
    missing.

    `area_cm2` and `litres` are of water, `length_cm` and `width_cm` least sides of it; `unsaid` is what the
    source leaves open, or what has to be measured first.
    """

    code: str
    kind: Literal["code", "advice"]
    area_cm2: float | None
    depth_cm: float | None
    length_cm: float | None
    width_cm: float | None
    litres: float | None
    source: Source
    unsaid: str


def _eu_row(carapace_cm: float) -> tuple[float, float, float, float]:
    """Return the row of a carapace length; a limit belongs to the row that it ends."""
    return next(row for row in EU_ROWS if carapace_cm <= row[0])


def _german_share(count: int) -> float:
    """Return the area for so many animals over that of two: 0.1 more for the 3rd and 4th each, 0.2 from the
    5th on."""
    return 1.0 + 0.1 * max(0, min(count, 4) - 2) + 0.2 * max(0, count - 4)


def requirements(animals: Sequence[Animal]) -> list[Requirement]:
    """Return what every source that could be read asks for these animals together, the largest area first,
    None last.

    The longest animal decides on rows and multiples. ValueError without animals, and for a measure not above
    0 cm.
    """
    if not animals:
        raise ValueError("there are no animals to find room for")
    for animal in animals:
        _positive("carapace", animal.carapace_cm)
        if animal.shell_width_cm is not None:
            _positive("shell width", animal.shell_width_cm)
    count = len(animals)
    cl = max(animal.carapace_cm for animal in animals)
    widths = [animal.shell_width_cm for animal in animals if animal.shell_width_cm is not None]
    measured = len(widths) == count
    # A small animal without a width does not hide the large one that decides; a large one without hides them
    # all.
    widest = max(widths) if all(a.shell_width_cm for a in animals if a.carapace_cm == cl) else None
    _, first, more, eu_depth = _eu_row(cl)
    base = LONG * WIDE * cl * cl
    shells = math.fsum(math.pi / 4.0 * a.carapace_cm * (a.shell_width_cm or 0.0) for a in animals)
    found = [
        Requirement("EU 2010/63", "code", first + (count - 1) * more, eu_depth, None, None, None, EU, ""),
        Requirement(
            "Germany 1997", "code", base * _german_share(count), None if widest is None else 2.0 * widest,
            LONG * cl, WIDE * cl, None, GERMANY if count == 1 else GERMANY_GROUP,
            "depth is twice the shell's width: measure shell_width" if widest is None else "",
        ),
        # More animals cannot do with less depth or shorter sides than two; what area they need could not be
        # read.
        Requirement(
            "New South Wales", "code", base if count <= NSW_MOST else None, NSW_DEPTH * cl,
            None, NSW_SIDE * cl, None, NSW,
            "" if count <= NSW_MOST else "the area for more than two animals could not be read",
        ),
        Requirement(
            "Queensland practice", "advice", 15.0 * cl * cl, 2.0 * cl, 5.0 * cl, 3.0 * cl, None, QUEENSLAND,
            "" if count == 1 else "does not say for how many animals",
        ),
        Requirement(
            "Barnard 1996", "advice", 15.0 * cl * cl if count == 1 else None, None, 5.0 * cl, 3.0 * cl, None, BARNARD,  # noqa: E501
            "its depth of half a length fits hatchlings and the sick alone and is left out"
            + ("" if count == 1 else "; says nothing of more than one animal"),
        ),
        Requirement(
            "Boyer", "advice", shells / SHELL_SHARE if measured else None, None, None, None, None, BOYER,
            "" if measured else "needs the shells' widths: measure shell_width",
        ),
        Requirement(
            "SPCA New Zealand", "advice", None, None, None, None,
            LITRES_PER_CM * math.fsum(animal.carapace_cm for animal in animals), SPCA, "",
        ),
    ]  # fmt: skip
    return sorted(found, key=lambda r: -1.0 if r.area_cm2 is None else r.area_cm2, reverse=True)


def least_area(found: Sequence[Requirement]) -> Requirement | None:
    """Return the code, not advice, that asks for the largest area; None when none does."""
    codes = [r for r in found if r.kind == "code" and r.area_cm2 is not None]
    return max(codes, key=lambda r: r.area_cm2 or 0.0, default=None)


def least_depth(found: Sequence[Requirement]) -> Requirement | None:
    """Return the code, not advice, that asks for the deepest water; None when none does."""
    codes = [r for r in found if r.kind == "code" and r.depth_cm is not None]
    return max(codes, key=lambda r: r.depth_cm or 0.0, default=None)


def largest_carapace(area_cm2: float, depth_cm: float, count: int) -> float:
    """Return the carapace in cm, to the tenth below, up to which the longest of `count` animals meets the
    codes.

    Counted are the codes that need the carapace alone: the EU row, 12.5 L2 with the German additions, and a
    depth of 1.5 L. 0.0 when no length fits. ValueError for a count under 1, and for water without end.
    """
    if count < 1:
        raise ValueError(f"a group has at least 1 animal, not {count}")
    if not (math.isfinite(area_cm2) and math.isfinite(depth_cm)):
        raise ValueError("the area and the depth of the water must be finite numbers")
    fits = 0.0
    for upto, first, more, depth in EU_ROWS:
        # A millionth keeps a water that meets a row exactly from missing it by a rounding.
        if area_cm2 + 1e-6 < first + (count - 1) * more or depth_cm + 1e-6 < depth:
            break
        fits = upto
    by_area = math.sqrt(max(0.0, area_cm2) / (LONG * WIDE * _german_share(count)))
    # The billionth keeps a length that is met exactly, such as 23.6 cm in 35.4 cm of depth, from falling a
    # tenth short.
    return math.floor(min(fits, by_area, max(0.0, depth_cm) / NSW_DEPTH) * 10.0 + 1e-9) / 10.0


def _positive(what: str, cm: float) -> None:
    """Refuse a measure that is none."""
    if not 0.0 < cm < math.inf:
        raise ValueError(f"the {what} must be above 0 cm, not {cm:g}")
