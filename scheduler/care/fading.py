"""How a UV lamp fades by its own readings, instead of by the custom for its kind."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.locales import PLAIN, Formats
from scheduler.sources import Source

LEAST_READINGS = 3
"""Fewer readings tell no trend. House value."""

AGAIN_DAYS = 3
"""Days after which a reading that is too low is repeated: one alone may be a slip of the meter.

House value.
"""


MEASURED = Source(
    "your own UVI readings: least squares through their logarithms, falling within its 95 % interval",
    "computed",
)
TWICE = Source("two readings in a row under the bound: the lamp is due", "house value")


@dataclass(frozen=True, slots=True)
class Fade:
    """When a lamp is due by its readings: days after its installation, why, and by which rule.

    `again_on` is the day for another reading where one alone is too low; then there are no days yet.
    """

    days: int | None
    why: str
    source: Source
    again_on: dt.date | None = None


def fade(
    readings: Sequence[tuple[dt.date, float]],
    installed: dt.date,
    baseline: tuple[dt.date, float],
    bound: float,
    what: str,
    *,
    formats: Formats = PLAIN,
) -> Fade | None:
    """Return when a lamp is due by UVI readings at its basking place, all later than its baseline; None when
    they tell nothing.

    `bound` is the UVI under which it is replaced, `what` says which bound that is, `formats` how numbers and
    days are written.
    """
    if not readings:
        return None
    last_day, last = readings[-1]
    if last < bound:
        low = _low_days(readings, bound)
        if len(low) > 1:
            # The second of them decides: what is read later puts nothing off.
            (_, first), (day, second) = low[:2]
            why = (
                f"UVI {formats.number(first, '.3g')} and then {formats.number(second, '.3g')} on "
                f"{formats.date(day)}, under {formats.number(bound, '.3g')} ({what})"
            )
            return Fade((day - installed).days, why, TWICE)
        why = (
            f"UVI {formats.number(last, '.3g')} on {formats.date(last_day)}, under "
            f"{formats.number(bound, '.3g')} ({what})"
        )
        return Fade(None, why, TWICE, last_day + dt.timedelta(days=AGAIN_DAYS))
    points = [baseline, *readings]
    if len({day for day, _ in points}) < LEAST_READINGS or any(value <= 0 for _, value in points):
        return None
    from scheduler.handbook import trend

    found = trend.decay([float((day - installed).days) for day, _ in points], [value for _, value in points])
    until = found.hours_to(bound)
    if found.low <= 0 or not math.isfinite(until):
        return None
    halves, soonest, latest = (math.log(2) / rate for rate in (found.rate_per_hour, found.high, found.low))
    why = (
        f"by {len(points)} readings its UVI halves in {halves:.0f} days ({soonest:.0f} to {latest:.0f}) and "
        f"comes down to {formats.number(bound, '.3g')} ({what})"
    )
    return Fade(max(1, math.floor(until)), why, MEASURED)


def _low_days(readings: Sequence[tuple[dt.date, float]], bound: float) -> list[tuple[dt.date, float]]:
    """Return the days in a row, to the last one, whose last reading is under the bound, with that reading."""
    low: list[tuple[dt.date, float]] = []
    for day, value in dict(readings).items():
        low = [*low, (day, value)] if value < bound else []
    return low
