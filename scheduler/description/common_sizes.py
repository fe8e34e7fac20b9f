"""Sizes in which tanks are commonly sold: for who knows what a tank holds, and has no tape at hand."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.handbook.volume import gross_litres
from scheduler.quantities import System, parse, show_volume

NEAR = 0.125
"""A tank is taken for one of the list where its litres differ by no more than this share: names of sizes
round generously. House value."""


@dataclass(frozen=True, slots=True)
class CommonSize:
    """Length, width and height of a tank, outside or nearly so; numbers in cm, or in inches for `us`."""

    system: System
    length: int
    width: int
    height: int

    @property
    def unit(self) -> str:
        """Return the unit of the three."""
        return "cm" if self.system == "metric" else "in"

    @property
    def litres(self) -> float:
        """Return what it holds up to the rim."""
        sizes = (parse(f"{n} {self.unit}", "length") for n in (self.length, self.width, self.height))
        return gross_litres(*sizes)

    @property
    def text(self) -> str:
        """Return how it is told: 120 × 50 × 50 cm, 300 L."""
        holds = show_volume(self.litres, self.system)
        return f"{self.length} × {self.width} × {self.height} {self.unit}, {holds}"


_LISTED: tuple[tuple[System, tuple[int, int, int]], ...] = (
    # Common practice, no published source.
    ("metric", (60, 30, 30)),
    ("metric", (80, 35, 40)),
    ("metric", (100, 40, 40)),
    ("metric", (100, 40, 50)),
    ("metric", (120, 40, 50)),
    ("metric", (120, 50, 50)),
    ("metric", (150, 50, 50)),
    ("metric", (150, 60, 60)),
    ("metric", (200, 60, 60)),
    ("us", (30, 12, 12)),
    ("us", (30, 12, 18)),
    ("us", (36, 18, 16)),
    ("us", (48, 13, 21)),
    ("us", (48, 18, 21)),
    ("us", (72, 18, 21)),
    ("us", (72, 24, 25)),
)

COMMON_SIZES = tuple(CommonSize(system, *sizes) for system, sizes in _LISTED)


def common_size_named(text: str) -> CommonSize | None:
    """Return the size of the list that is told so."""
    return next((size for size in COMMON_SIZES if size.text == text), None)


def common_size_of(litres: float, system: System) -> CommonSize | None:
    """Return the size of a system that holds about so much; None where none is near."""
    sizes = [size for size in COMMON_SIZES if size.system == system]
    best = min(sizes, key=lambda size: abs(size.litres - litres))
    return best if abs(best.litres - litres) <= NEAR * best.litres else None
