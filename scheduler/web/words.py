"""The words of the trade that notes use, for people who read them for the first time."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple


class Word(NamedTuple):
    """A word, the name of its place in the page, and what it means."""

    word: str
    anchor: str
    meaning: str


WORDS = (
    Word("ammonia", "ammonia", (
        "What animals give off into the water, and what food turns into that nobody eats. Bacteria in the "
        "filter turn it into nitrite. See also un-ionised."
    )),
    Word("basking place", "basking", (
        "A dry place under a lamp, where a turtle warms itself and dries. Its surface is measured, not the "
        "air."
    )),
    Word("carapace", "carapace", (
        "The upper shell. Its length is measured in a straight line from front edge to back edge, with "
        "calipers or between two books, not along the curve."
    )),
    Word("chloramine", "chloramine", (
        "Chlorine bound to ammonia, with which some waterworks keep tap water clean. Standing does not "
        "drive it out; conditioner splits it, and frees the ammonia."
    )),
    Word("conditioner", "conditioner", "What is added to tap water so that chlorine does no harm. How much: by its label."),  # noqa: E501
    Word("drip loop", "drip-loop", (
        "A cord that hangs lower than its socket before it goes up to it, so that water runs off at the "
        "lowest point and not into the socket."
    )),
    Word("faecal test", "faecal-test", "A vet looks for parasites in fresh droppings."),
    Word("ground-fault device", "ground-fault", (
        "A switch (RCD, GFCI) that cuts the current as soon as some of it takes a way through water or a "
        "person. It has a button to test it."
    )),
    Word("media", "media", (
        "What fills a filter: sponges hold dirt back, the biological media carry the bacteria that take "
        "ammonia out. Tap water kills those."
    )),
    Word("nitrate", "nitrate", "What the filter leaves: it harms little, and only a water change takes it out."),  # noqa: E501
    Word("nitrite", "nitrite", (
        "What bacteria make of ammonia, before they make nitrate of it. It harms; in a working tank there "
        "is none."
    )),
    Word("quarantine", "quarantine", (
        "New animals stay apart until tests and weights say that they bring nothing along. Last of the "
        "round, with tools of its own, and hands washed."
    )),
    Word("siphon", "siphon", "A hose that lets water run down by itself once it is full. It is never started by mouth."),  # noqa: E501
    Word("thermostat", "thermostat", (
        "The part of a heater that switches it off when the water is warm enough. One that sticks goes on "
        "heating."
    )),
    Word("un-ionised", "un-ionised", (
        "The part of the ammonia that harms. There is more of it the warmer the water and the higher its "
        "pH, so those two are measured with it."
    )),
    Word("UVI", "uvi", (
        "Ultraviolet index: how strong the ultraviolet is of which skin makes vitamin D, measured at the "
        "basking place with a meter. It fades before the light does."
    )),
)  # fmt: skip
"""What each means, in plain words: general knowledge of the trade, no published source."""

LINKED = ("carapace", "chloramine", "drip loop", "ground-fault device", "un-ionised", "UVI")
"""Those that a note explains by a link where it uses them; the others are met on every page."""

_LINKED = [
    (one, re.compile(rf"\b{re.escape(one.word)}", re.IGNORECASE)) for one in WORDS if one.word in LINKED
]


def terms_in(texts: Iterable[str]) -> list[Word]:
    """Return the words in some text that not everybody knows, in the order of the page of words."""
    whole = " ".join(texts)
    return [one for one, pattern in _LINKED if pattern.search(whole)]
