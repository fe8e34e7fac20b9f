"""What the checks of several tables share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from scheduler.description.site import Enclosure, Keeper
from scheduler.errors import Path, Problem, clip


def same_ids(things: Iterable[Keeper | Enclosure], path: Path) -> Iterator[Problem]:
    """Yield a problem for each thing whose id another one has."""
    first: dict[str, int] = {}
    for i, thing in enumerate(things):
        if thing.id in first:
            message = (
                f'{clip(thing.name)} has the id "{thing.id}", which {path[-1]}[{first[thing.id]}] has already'
            )
            yield Problem(
                path=(*path, i, "name"),
                involves=((*path, first[thing.id], "name"),),
                message=message,
                hint=f'add id = "{thing.id}-2", or another name',
            )
        first.setdefault(thing.id, i)


def degrees(*celsius: float) -> str:
    """Return limits in both scales: a wrong one is how most temperatures come to be unbelievable."""
    in_c, in_f = (
        " to ".join(f"{d:g}" for d in scale) for scale in (celsius, [c * 1.8 + 32 for c in celsius])
    )
    return f"{in_c} degC, {in_f} degF"
