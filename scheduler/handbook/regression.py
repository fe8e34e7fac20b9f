"""Least squares with two coefficients, and the interval of the second by Student's t."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class NotEnoughError(ValueError):
    """Readings that cannot tell a trend yet; the message says what is missing."""


def enough(n: int) -> None:
    """Raise NotEnoughError for under 3 points: two coefficients leave no scatter to tell an interval from."""
    if n < 3:
        raise NotEnoughError(f"a trend needs 3 readings or more, not {n}")


@dataclass(frozen=True, slots=True)
class Fit:
    """Two coefficients, the scatter about them, and the row of the design's inverse that makes the second of
    them."""

    first: float
    second: float
    residual_sd: float
    makes_second: NDArray[np.float64]

    def half(self, confidence: float) -> float:
        """Return half the width of the second coefficient's interval: t x scatter x its share of it."""
        spread = math.sqrt(float(self.makes_second @ self.makes_second))
        return student_t(confidence, len(self.makes_second) - 2) * self.residual_sd * spread


def least_squares(rows: Sequence[tuple[float, float]], values: Sequence[float]) -> Fit:
    """Return the two coefficients of rows of (first, second) that come nearest to the values; 3 rows or more.

    Ordinary least squares (Draper & Smith 1998, Applied Regression Analysis, ch. 1 and 5; from memory),
    solved by a library of linear algebra. NotEnoughError when the rows cannot tell the second from the first,
    which for dated readings means that all are of one day.
    """
    import numpy as np

    design, seen = np.asarray(rows, dtype=float), np.asarray(values, dtype=float)
    # The inverse of the design is its least-squares answer to each unit vector; by orthogonal steps, not by
    # X'X.
    inverse, _, rank, _ = np.linalg.lstsq(design, np.eye(len(seen)), rcond=None)
    if rank < 2:
        raise NotEnoughError("all readings are of one day: a trend needs readings of several days")
    found = inverse @ seen
    residuals = seen - design @ found
    return Fit(
        first=float(found[0]),
        second=float(found[1]),
        residual_sd=math.sqrt(float(residuals @ residuals) / (len(seen) - 2)),
        makes_second=inverse[1],
    )


def student_t(confidence: float, freedom: int) -> float:
    """Return the t that Student's distribution of so many degrees of freedom stays within, both sides, with a
    confidence.

    Abramowitz & Stegun 1964, 26.7.3 and 26.7.4 (from memory): with theta = arctan(t / root freedom) the
    confidence is a finite sum of powers of cos theta; theta is found by halving. A library of statistics
    takes longer to load than a reading may take to record.
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"a confidence is between 0 and 1, not {confidence:g}")
    if freedom < 1:
        raise ValueError(f"Student's t has 1 degree of freedom or more, not {freedom}")
    low, high = 0.0, math.pi / 2.0
    for _ in range(60):
        theta = (low + high) / 2.0
        if _within(theta, freedom) < confidence:
            low = theta
        else:
            high = theta
    return math.sqrt(freedom) * math.tan((low + high) / 2.0)


def _within(theta: float, freedom: int) -> float:
    """Return the share of the distribution within -t to t: the sums of 26.7.3 (odd) and 26.7.4 (even)."""
    sine, cosine = math.sin(theta), math.cos(theta)
    odd = freedom % 2
    term = total = (cosine if odd else 1.0) if freedom > 1 else 0.0
    for k in range(2 + odd, freedom, 2):
        term *= (k - 1) / k * cosine * cosine
        total += term
    return 2.0 / math.pi * (theta + sine * total) if odd else sine * total
