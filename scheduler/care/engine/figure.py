"""Figures: what the handbook computes about an enclosure, each with its unit, its source, and how it came
about.

One decorated function a figure (`registry.figure`). A figure that rests on another asks the case for it; what
cannot be computed raises `NotKnown`, which says what to measure, and whatever rests on it then says the same.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from scheduler.errors import SchedulerError
from scheduler.sources import Source

Value = float | dt.date
Workings = Callable[[], str]


@dataclass(frozen=True, slots=True)
class Made:
    """What a figure's function returns: the value in the figure's unit, its source, and the sum in words."""

    value: Value
    source: Source
    how: Workings


@dataclass(frozen=True, slots=True)
class Figure:
    """One computed value. `how` writes out how it came about, in the site's units."""

    key: str
    value: Value
    unit: str
    source: Source
    how: Workings = field(repr=False, compare=False)

    @property
    def label(self) -> str:
        """Return the figure's name as a keeper reads it."""
        return LABELS[self.key]


class NotKnown(SchedulerError):  # noqa: N818 - it is an answer, not a failure
    """A figure that cannot be computed: `needs` are the keys to write into the description, else `why` says
    it.

    `applies` is false where there is nothing to compute, such as the power of heaters where there are none.
    """

    def __init__(self, *needs: str, why: str = "", applies: bool = True) -> None:
        """Say what is missing, or in a sentence why there is no number."""
        self.needs, self.why, self.applies = needs, why, applies
        super().__init__(why or "some of the description is missing")


FIGURES: dict[str, tuple[Callable[[Any], Made], str]] = {}
"""The function and the unit of each figure, by key.

What a function is given is a case, which the register checks: a case looks in here for its figures, so that
its type cannot be named.
"""


LABELS: dict[str, str] = {}
"""The figures' names as a keeper reads them, by key."""

EXTRA: set[str] = set()
"""The figures that a complete description may well leave out: not knowing them is nothing to look at."""
