"""Markdown for the pages that are made from models and registries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table; a bar inside a cell does not end it."""
    return "\n".join(map(_row, [head, ["---"] * len(head), *rows]))


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cell.replace("|", r"\|") for cell in cells) + " |"


def first_paragraph(text: str) -> str:
    """Return the first paragraph of a docstring on one line."""
    return " ".join(text.strip().split("\n\n")[0].split())
