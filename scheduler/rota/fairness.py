"""Measures of fairness, over what each person did divided by his or her share."""

from __future__ import annotations

from collections.abc import Sequence


def jain(loads: Sequence[float]) -> float:
    """Return Jain's index, from 1/n (one does it all) to 1 (all alike); 1 where nobody does anything.

    (sum x)^2 / (n sum x^2): Jain, Chiu, Hawe 1984, DEC-TR-301.
    """
    squares = sum(x * x for x in loads)
    return sum(loads) ** 2 / (len(loads) * squares) if squares > 0.0 else 1.0


def gini(loads: Sequence[float]) -> float:
    """Return the Gini coefficient, from 0 (all alike) to 1 - 1/n; 0 where nobody does anything.

    2 sum(i x_i) / (n sum x) - (n + 1) / n with x in rising order (Lorenz).
    """
    total, n = sum(loads), len(loads)
    if total <= 0.0:
        return 0.0
    ranked = sum(i * x for i, x in enumerate(sorted(loads), start=1))
    return max(0.0, 2.0 * ranked / (n * total) - (n + 1) / n)


def spread(loads: Sequence[float]) -> float:
    """Return the largest less the least, as a part of the mean; 0 where nobody does anything."""
    total = sum(loads)
    return (max(loads) - min(loads)) / (total / len(loads)) if total > 0.0 else 0.0
