"""What a change of a text changed, as lines that are found again where they stand: it can be taken back."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

CONTEXT = 2
"""So many lines around a change tell its place."""

MOST_LINES = 4000
"""A stretch of more lines is one change as a whole: to compare it line by line would take long."""


@dataclass(frozen=True, slots=True)
class _Hunk:
    """Lines that became others: after how many lines of the new text, and between which that stayed."""

    at: int
    before: list[str]
    old: list[str]
    new: list[str]
    after: list[str]


def patch_of(old: str, new: str) -> str:
    """Return what makes an old text of a new one, as JSON."""
    return json.dumps(
        [[h.at, h.before, h.old, h.new, h.after] for h in _hunks(_lines(old), _lines(new))],
        ensure_ascii=False,
    )


def reverse(text: str, patch: str) -> str | None:
    """Return a text with what a patch changed as it was before; None where it does not stand there any more,
    or more than once."""
    lines = _lines(text)
    for hunk in reversed([_Hunk(*one) for one in json.loads(patch)]):
        there = [*hunk.before, *hunk.new, *hunk.after]
        start = _place(lines, there, hunk.at - len(hunk.before))
        if start is None:
            return None
        first = start + len(hunk.before)
        lines[first : first + len(hunk.new)] = hunk.old
    return "".join(lines)


def _lines(text: str) -> list[str]:
    # Unlike `splitlines`, which knows other ends than TOML does.
    return [f"{line}\n" for line in text.split("\n")[:-1]] + [text.rsplit("\n", maxsplit=1)[-1]]


def _hunks(old: Sequence[str], new: Sequence[str]) -> Iterator[_Hunk]:
    top = 0
    while top < min(len(old), len(new)) and old[top] == new[top]:
        top += 1
    end = 0
    while end < min(len(old), len(new)) - top and old[-1 - end] == new[-1 - end]:
        end += 1
    inner_old, inner_new = old[top : len(old) - end], new[top : len(new) - end]
    if max(len(inner_old), len(inner_new)) > MOST_LINES:
        spans = [(0, len(inner_old), 0, len(inner_new))]
    else:
        matcher = difflib.SequenceMatcher(None, inner_old, inner_new, autojunk=False)
        spans = [span for tag, *span in matcher.get_opcodes() if tag != "equal"]  # type: ignore[misc]
    following = [*(top + span[2] for span in spans), len(new)][1:]
    for (old_first, old_last, new_first, new_last), limit in zip(spans, following, strict=True):
        first, last = top + new_first, top + new_last
        yield _Hunk(
            first,
            list(new[max(0, first - CONTEXT) : first]),
            list(inner_old[old_first:old_last]),
            list(inner_new[new_first:new_last]),
            # Where the next change begins, other lines will stand when this one is taken back.
            list(new[last : min(last + CONTEXT, limit)]),
        )


def _place(lines: Sequence[str], wanted: Sequence[str], near: int) -> int | None:
    """Return where lines stand in others: where they were, else the only place."""
    if near >= 0 and lines[near : near + len(wanted)] == wanted:
        return near
    found = [n for n in range(len(lines) - len(wanted) + 1) if lines[n : n + len(wanted)] == wanted]
    return found[0] if len(found) == 1 else None
