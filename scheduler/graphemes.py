"""Text cut where a reader sees no cut: between what is read as one character (after Unicode, UAX 29).

A plain form of the standard's rules, which never cuts inside what it keeps together: marks, joiners, skin
tones, flags, Korean written letter by letter. It may keep more together than the standard does, which does no
harm in a title.
"""

from __future__ import annotations

import unicodedata

_JOINER = "\u200d"


def graphemes(text: str) -> list[str]:
    """Return the text in pieces, each of which is read as one character."""
    found: list[str] = []
    for character in text:
        if found and _goes_on(found[-1], character):
            found[-1] += character
        else:
            found.append(character)
    return found


def _goes_on(before: str, character: str) -> bool:
    flag = _is_flag(character) and len(before) == 1 and _is_flag(before)
    return (
        before.endswith(_JOINER)
        or flag
        or unicodedata.category(character) in ("Mn", "Mc", "Me", "Cf")
        or "\U0001f3fb" <= character <= "\U0001f3ff"  # skin tones
        or "\u1160" <= character <= "\u11ff"  # vowels and ends of Korean syllables
        or character in "\u0e33\u0eb3"  # Thai and Lao am
    )


def _is_flag(character: str) -> bool:
    return "\U0001f1e6" <= character <= "\U0001f1ff"


def cut(text: str, most: int) -> str:
    """Return the beginning of a text, at most so many code points of it; a space at the end falls away.

    Where not even the first character fits, nothing is left.
    """
    kept = ""
    for piece in graphemes(text):
        if len(kept) + len(piece) > most:
            break
        kept += piece
    return kept.rstrip()
