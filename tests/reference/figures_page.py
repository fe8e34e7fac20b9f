"""The page of figures: what the review computes, from the register of figures."""

from __future__ import annotations

from tables import first_paragraph, table

from scheduler.care.engine.figure import FIGURES, LABELS


def figures_section() -> str:
    """Return the table of all figures, in the order in which the review prints them."""
    rows = [
        (f"`{key}`", unit, LABELS[key], first_paragraph(maker.__doc__ or ""))
        for key, (maker, unit) in FIGURES.items()
    ]
    return "## All figures\n\n" + table(("key", "unit", "name", "how it is computed"), rows) + "\n"
