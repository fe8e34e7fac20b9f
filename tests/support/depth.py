"""How many examples a property is tried with: a fifth of them in a plain run, all of them with `--all`."""

from __future__ import annotations

PLAIN_SHARE = 5

whole = True
"""Whether all are drawn. tests/conftest.py sets it before the tests are loaded."""


def examples(number: int) -> int:
    """Return how many of a number of examples to draw: `@settings(max_examples=examples(300))`."""
    return number if whole else max(5, number // PLAIN_SHARE)
