"""What fits on a screen: names put together, and items that are left out and counted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from scheduler.sheets.terminal import safe

FEW = 4
"""So many names are read at a glance. House value."""


class Names(Enum):
    """How names of enclosures are put together."""

    FEW = "the first few of many, with a count"
    MANY = "however many, but all that there are as their number"
    EVERY = "each one"


def name_list(some: Iterable[str], whole: Sequence[str], how: Names = Names.FEW) -> str:
    """Return names as one text; `whole` are those of all enclosures.

    All of them are told by their number, and most of them by those that are left out, unless each is asked
    for.
    """
    names = list(dict.fromkeys(some))
    shown = [safe(name) for name in names]
    missing = [safe(name) for name in whole if name not in set(names)]
    if how is Names.EVERY or len(names) <= 2:
        return ", ".join(shown)
    if not missing:
        return f"all {len(names)}"
    if how is Names.MANY or len(names) <= FEW + 1:
        return ", ".join(shown)
    if len(missing) <= 2:
        return f"all but {' and '.join(missing)}"
    return f"{', '.join(shown[:FEW])} and {len(names) - FEW} more"


def how_many_fit(sizes: Iterable[int], room: int) -> int:
    """Return how many items, from the first one on, fit into a number of lines."""
    fitting = 0
    for size in sizes:
        room -= size
        if room < 0:
            break
        fitting += 1
    return fitting
