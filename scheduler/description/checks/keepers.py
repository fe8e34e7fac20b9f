"""Keepers: absences, days, shares, and mails."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from scheduler.description.site import (
    Keeper,
)
from scheduler.errors import Path, Problem, show_path


def keeper(keeper: Keeper, path: Path) -> Iterator[Problem]:
    """Yield the problems of a keeper."""
    spans = sorted(enumerate(keeper.away), key=lambda pair: (pair[1].first, pair[1].last))
    for (_, before), (i, after) in pairwise(spans):
        if after.first <= before.last:
            yield Problem(
                path=(*path, "away", i),
                message=f"{after.first}/{after.last} overlaps {before.first}/{before.last}",
                hint="write them as one span",
            )
    if keeper.weekdays and len(set(keeper.weekdays)) < len(keeper.weekdays):
        yield Problem(path=(*path, "weekdays"), message="a weekday is named twice", hint="name each day once")
    if keeper.remind and keeper.email is None:
        yield Problem(
            path=(*path, "remind"),
            involves=((*path, "email"),),
            message=f"remind asks for mails, and {show_path((*path, 'email'))} is missing",
            hint='add a line email = "noor@example.org", or leave remind out',
        )
    if len(set(keeper.remind)) < len(keeper.remind):
        yield Problem(
            path=(*path, "remind"), message=f'"{keeper.remind[0]}" is named twice', hint="name it once"
        )


def shares(keepers: tuple[Keeper, ...]) -> Iterator[Problem]:
    """Yield a problem when nobody has a share of the work."""
    if keepers and not any(keeper.share for keeper in keepers):
        yield Problem(
            path=("keeper", 0, "share"),
            involves=tuple(("keeper", i, "share") for i in range(len(keepers))),
            message="no keeper has a share above 0: nobody would do anything",
            hint="write share = 1, or leave it out",
        )
