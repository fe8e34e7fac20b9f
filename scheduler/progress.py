"""How far something is: what takes long tells it to whoever wants to know."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Thing = TypeVar("Thing")

Tell = Callable[[int, int], None]
"""Takes how many parts are done, and how many there are in all."""


def nobody(done: int, total: int) -> None:
    """Tell nobody."""


def told(things: Sequence[Thing], tell: Tell) -> Iterator[Thing]:
    """Yield things, and tell how many of them are done."""
    for done, thing in enumerate(things):
        tell(done, len(things))
        yield thing
    tell(len(things), len(things))
