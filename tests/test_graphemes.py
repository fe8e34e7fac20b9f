"""Where a text may be cut. The examples are those of Unicode's annex 29 (table 1a and its rules GB6 to GB13), and names."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.graphemes import cut, graphemes


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("", []),
        ("Den", ["D", "e", "n"]),
        ("g\u0308", ["g\u0308"]),  # g and a diaeresis
        ("\u1100\u1161\u11a8", ["\u1100\u1161\u11a8"]),  # Hangul gag, by letters
        ("각각", ["각", "각"]),
        ("\u0ba8\u0bbf", ["\u0ba8\u0bbf"]),  # Tamil ni
        ("\u0e40\u0e08\u0e33", ["\u0e40", "\u0e08\u0e33"]),  # Thai: e, kam
        ("\u0937\u093f", ["\u0937\u093f"]),  # Devanagari ssi
        ("🇮🇪🇬🇧", ["🇮🇪", "🇬🇧"]),
        ("👩\u200d🔬👍🏽", ["👩\u200d🔬", "👍🏽"]),
        ("❤\ufe0f!", ["❤\ufe0f", "!"]),
    ],
)
def test_what_is_read_as_one_character_stays_together(text: str, pieces: list[str]) -> None:
    assert graphemes(text) == pieces


@pytest.mark.parametrize(
    ("text", "most", "kept"),
    [
        ("Den tank", 20, "Den tank"),
        ("Den tank", 4, "Den"),
        ("Zoe\u0308", 3, "Zo"),
        ("Zoe\u0308", 4, "Zoe\u0308"),
        ("🇮🇪🇬🇧", 3, "🇮🇪"),
        ("👩\u200d🔬", 2, ""),
    ],
)
def test_a_cut_keeps_whole_characters(text: str, most: int, kept: str) -> None:
    assert cut(text, most) == kept


@given(st.text(), st.integers(0, 20))
def test_nothing_is_lost_and_nothing_too_long(text: str, most: int) -> None:
    assert "".join(graphemes(text)) == text
    assert len(cut(text, most)) <= most
    assert text.startswith(cut(text, most))
