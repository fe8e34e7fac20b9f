"""Checks across values: what a careful colleague would catch on reading a description whose every line is
valid."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.description.checks import residents
from scheduler.description.checks.common import same_ids
from scheduler.description.checks.enclosures import enclosure
from scheduler.description.checks.keepers import keeper, shares
from scheduler.description.checks.place import place
from scheduler.description.checks.products import products
from scheduler.description.site import Description
from scheduler.errors import Problem
from scheduler.species import Sheets


def check(description: Description, sheets: Sheets) -> Iterator[Problem]:
    """Yield the problems of a description in which every single value is valid."""
    yield from place(description.site)
    yield from same_ids(description.keeper, ("keeper",))
    yield from same_ids(description.enclosure, ("enclosure",))
    for i, person in enumerate(description.keeper):
        yield from keeper(person, ("keeper", i))
    yield from shares(description.keeper)
    if not description.enclosure:
        yield Problem(
            path=("enclosure",), message="there is no enclosure", hint="add [[enclosure]] with a name"
        )
    for i, tank in enumerate(description.enclosure):
        yield from enclosure(tank, ("enclosure", i), description, sheets)
    yield from residents.same_resident_ids(description.enclosure)
    yield from products(description.enclosure)
