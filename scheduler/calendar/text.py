"""Content lines: escaping and folding as RFC 5545, sections 3.1 and 3.3.11, ask."""

from __future__ import annotations

import re

LINE_OCTETS = 75
"""Longest content line in octets, without the line break (RFC 5545, section 3.1)."""

# Every kind of line break becomes one; the other controls are not allowed in values at all, and one reader
# refuses the whole calendar for them. TAB may stand.
_BREAKS = re.compile("\r\n|[\r\n\x0b\x0c\x1c-\x1e\x85\u2028\u2029]")
_CONTROLS = re.compile("[\x00-\x08\x0e-\x1b\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufeff]")
_SPECIAL = re.compile(r"[\\;,]")


def escape(text: str) -> str:
    """Return a TEXT value (RFC 5545, section 3.3.11)."""
    clean = _CONTROLS.sub("", _BREAKS.sub("\n", text))
    return _SPECIAL.sub(r"\\\g<0>", clean).replace("\n", "\\n")


def fold(line: str) -> bytes:
    """Return a content line as bytes with its line break, folded at 75 octets.

    Cut on character boundaries and never between a backslash and what it escapes: old readers unfold too
    late.
    """
    raw = line.encode("utf-8")
    if len(raw) <= LINE_OCTETS:
        return raw + b"\r\n"
    pieces: list[bytes] = []
    start, room = 0, LINE_OCTETS
    while len(raw) - start > room:
        end = start + room
        while raw[end] & 0xC0 == 0x80:  # inside a UTF-8 sequence
            end -= 1
        backslashes = 0
        while raw[end - 1 - backslashes] == 0x5C:
            backslashes += 1
        if backslashes % 2:
            end -= 1
        pieces.append(raw[start:end])
        start, room = end, LINE_OCTETS - 1  # the space that marks a continuation counts
    pieces.append(raw[start:])
    return b"\r\n ".join(pieces) + b"\r\n"


def text_line(name: str, value: str) -> bytes:
    """Return a folded property whose value is TEXT."""
    return fold(f"{name}:{escape(value)}")
