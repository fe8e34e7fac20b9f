"""Products that several enclosures share by their name: one product has one pack, one price, and one pack in
use."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.description.site import Conditioner, Enclosure, Food
from scheduler.errors import Path, Problem, clip

_FULL = {"feed": ("pack", "250 g"), "conditioner": ("treats", "1000 L")}
_UNITS = {"pack": " g", "treats": " L"}


def products(enclosures: tuple[Enclosure, ...]) -> Iterator[Problem]:
    """Yield the problems of the site's products."""
    for kind, (full, example) in _FULL.items():
        named: dict[str, list[tuple[int, Food | Conditioner]]] = {}
        for i, enclosure in enumerate(enclosures):
            own: Food | Conditioner = enclosure.feed if kind == "feed" else enclosure.conditioner
            # Without a name a product is the enclosure's own.
            named.setdefault(own.name.casefold() if own.name else f"\n{i}", []).append((i, own))
        for users in named.values():
            yield from _one_price(users, kind, full, example)
            for key in (full, "price", "opened"):
                yield from _one_value(users, enclosures, kind, key)


def _one_price(
    users: list[tuple[int, Food | Conditioner]], kind: str, full: str, example: str
) -> Iterator[Problem]:
    if any(getattr(own, full) is not None for _, own in users):
        return
    for i, own in users:
        if own.price is not None:
            path = ("enclosure", i, kind)
            yield Problem(
                path=(*path, "price"),
                involves=((*path, full),),
                message="the price of a full one says nothing without what it holds",
                hint=f'add {full} = "{example}"',
            )


def _one_value(
    users: list[tuple[int, Food | Conditioner]], enclosures: tuple[Enclosure, ...], kind: str, key: str
) -> Iterator[Problem]:
    """Yield a problem for each enclosure whose value is not that of the first one with the same product."""
    given = [(i, value, own.name) for i, own in users if (value := getattr(own, key)) is not None]
    for i, value, name in given[1:]:
        first, other, _ = given[0]
        if value == other:
            continue
        paths: tuple[Path, Path] = ("enclosure", i, kind, key), ("enclosure", first, kind, key)
        yield Problem(
            path=paths[0],
            involves=(paths[1], ("enclosure", i, kind, "name"), ("enclosure", first, kind, "name")),
            message=(
                f"{clip(name)} has {key} {_show(key, value)} here, and {_show(key, other)} in "
                f"{clip(enclosures[first].name)}"
            ),
            hint=(
                "one product has one: write the same in both, or in one of them only, or give one another "
                "name"
            ),
        )


def _show(key: str, value: object) -> str:
    return f"{value:.4g}{_UNITS[key]}" if isinstance(value, float) else str(value)
