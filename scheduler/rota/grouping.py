"""Items that are alike are counted, not listed: an integer program of a week stays small however many tanks
there are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduler.description.site import Keeper
from scheduler.rota.availability import Availability
from scheduler.rota.model import Item

Preferences = tuple[tuple[int, int], ...]
"""(number of a keeper, 1 or -1) for those who like to take an item, or would rather not."""


@dataclass(frozen=True, slots=True)
class ItemKind:
    """What items have in common: minutes, days, who may do them, whether in quarantine, and who would like
    to."""

    minutes: int
    days: tuple[dt.date, ...]
    able: tuple[int, ...]
    quarantine: bool
    preferences: Preferences = ()


Groups = dict[ItemKind, list[Item]]


def preferences(keepers: Sequence[Keeper], item: Item) -> Preferences:
    """Return who would like to take an item, and who would rather not."""
    signs = ((number, _preference(keeper, item)) for number, keeper in enumerate(keepers))
    return tuple((number, preference) for number, preference in signs if preference)


def _preference(keeper: Keeper, item: Item) -> int:
    enclosure = item.job.enclosure
    names = {enclosure.id, enclosure.name.casefold(), item.job.key}
    liked = any(name.casefold() in names for name in keeper.prefers)
    loathed = any(name.casefold() in names for name in keeper.avoids)
    return liked - loathed


def grouped(availability: Availability, items: Iterable[Item]) -> Groups:
    """Return the items by kind, in a fixed order."""
    groups: Groups = {}
    preferred: dict[tuple[str, str], Preferences] = {}
    anybody = any(k.prefers or k.avoids for k in availability.keepers)
    for item in items:
        name = (item.job.enclosure.id, item.job.key)
        if anybody and name not in preferred:
            preferred[name] = preferences(availability.keepers, item)
        kind = ItemKind(
            item.job.minutes,
            item.days,
            availability.able(item.job.skills),
            item.quarantine,
            preferred.get(name, ()),
        )
        groups.setdefault(kind, []).append(item)
    order = sorted(groups, key=lambda k: (-k.minutes, k.days, k.able, k.quarantine, k.preferences))
    return {kind: groups[kind] for kind in order}
