"""Items that are alike are counted, not listed: an integer program of a week stays small however many tanks there are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduler.description.site import Keeper
from scheduler.rota.availability import Availability
from scheduler.rota.model import Item

Wishes = tuple[tuple[int, int], ...]
"""(number of a keeper, 1 or -1) for those who like to take an item, or would rather not."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What items have in common: minutes, days, who may do them, whether in quarantine, and who would like to."""

    minutes: int
    days: tuple[dt.date, ...]
    able: tuple[int, ...]
    quarantine: bool
    wishes: Wishes = ()


Groups = dict[Kind, list[Item]]


def wishes(keepers: Sequence[Keeper], item: Item) -> Wishes:
    """Return who would like to take an item, and who would rather not."""
    found = ((number, _wish(keeper, item)) for number, keeper in enumerate(keepers))
    return tuple((number, wish) for number, wish in found if wish)


def _wish(keeper: Keeper, item: Item) -> int:
    enclosure = item.job.enclosure
    names = {enclosure.id, enclosure.name.casefold(), item.job.key}
    liked = any(name.casefold() in names for name in keeper.prefers)
    loathed = any(name.casefold() in names for name in keeper.avoids)
    return liked - loathed


def grouped(availability: Availability, found: Iterable[Item]) -> Groups:
    """Return the items by kind, in a fixed order."""
    groups: Groups = {}
    wished: dict[tuple[str, str], Wishes] = {}
    anybody = any(k.prefers or k.avoids for k in availability.keepers)
    for item in found:
        name = (item.job.enclosure.id, item.job.key)
        if anybody and name not in wished:
            wished[name] = wishes(availability.keepers, item)
        kind = Kind(
            item.job.minutes,
            item.days,
            availability.able(item.job.skills),
            item.quarantine,
            wished.get(name, ()),
        )
        groups.setdefault(kind, []).append(item)
    order = sorted(groups, key=lambda k: (-k.minutes, k.days, k.able, k.quarantine, k.wishes))
    return {kind: groups[kind] for kind in order}
