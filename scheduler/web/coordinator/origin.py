"""From which page of a coordinator a form was sent: what it leads back to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

WITH_ID = ("tank", "animal", "give")
"""The pages of which there is one for each enclosure, animal or keeper."""

PLAIN = ("site", "rota", "review", "links")

MOST_CHARACTERS = 200
"""Of an id in an address. House value."""


@dataclass(frozen=True, slots=True)
class Origin:
    """A page of a coordinator: its part of the address, and of which enclosure, animal or keeper it is."""

    part: str
    of: str = ""

    @property
    def field(self) -> str:
        """Return how a form names it."""
        return f"{self.part}/{self.of}" if self.of else self.part

    @property
    def address(self) -> str:
        """Return its address behind that of the round."""
        return f"/{self.part}?id={quote(self.of)}" if self.of else f"/{self.part}"

    def at(self, place: str) -> str:
        """Return the address of a place in it; `place` is one in the round: a query, a fragment, or both.

        What is a page of its own stays what it is.
        """
        if place.startswith("/"):
            return place
        query, _, fragment = place.partition("#")
        more = query.removeprefix("?")
        joined = f"{self.address}{'&' if self.of else '?'}{more}" if more else self.address
        return f"{joined}#{fragment}" if fragment else joined


def origin_in(form: Mapping[str, str]) -> Origin | None:
    """Return the page from which a form was sent; None where it says none, or one that there is not."""
    part, _, of = form.get("from", "").partition("/")
    if part in PLAIN and not of:
        return Origin(part)
    if part in WITH_ID and 0 < len(of) <= MOST_CHARACTERS:
        return Origin(part, of)
    return None
