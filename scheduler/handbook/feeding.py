"""Life stages, meals and rations."""

from __future__ import annotations

import datetime as dt
import math

from scheduler.sources import Source

STAGES = ("hatchling", "juvenile", "adult")
STAGE_SHARES = (0.4, 0.8)
"""A hatchling is under 0.4, a juvenile under 0.8 of the expected adult carapace. House value."""

STAGE_SOURCE = Source("life stage by share of the expected adult carapace, 0.4 and 0.8", "house value")
MEALS_SOURCES = {
    "hatchling": Source("hatchlings daily: SPCA New Zealand", "published"),
    "juvenile": Source("5 days a week, between hatchling and adult", "house value"),
    "adult": Source("3 days a week, from every second day: SPCA New Zealand", "house value"),
}
"""Where the meals of a stage are from, for a species without a sheet."""
AMOUNT_SOURCE = Source("what is eaten in 5 minutes, leftovers out: SPCA New Zealand", "published")
MEALS_A_WEEK = {"hatchling": 7, "juvenile": 5, "adult": 3}
"""Meals a week where no sheet says: SPCA New Zealand for hatchlings and adults; house value for juveniles."""

MEAL_DAYS: dict[int, tuple[int, ...]] = {
    1: (6,), 2: (2, 6), 3: (0, 2, 4), 4: (0, 2, 4, 6), 5: (0, 1, 3, 4, 6), 6: (0, 1, 2, 4, 5, 6), 7: (0, 1, 2, 3, 4, 5, 6),  # noqa: E501
}  # fmt: skip
"""Weekdays (Monday is 0) of so many meals a week, spread so that two fasting days never meet when there are
four or more."""


LEAST_PROTEIN_YOUNG = 0.25
"""Least crude protein of a young slider's feed that was seen to let it grow (see PROTEIN); 0.10 made it
shrink."""


PROTEIN = Source(
    "young turtles grew on 25 and 40 % crude protein and shrank on 10 %: Avery et al. 1993, Physiol. Zool. "
    "66:902, "
    "read as restated in a thesis",
    "published",
)

ORDER_AHEAD_DAYS = 14
"""Days before the end of a pack on which a new one is ordered. House value."""

ORDER_AHEAD = Source("a new pack is ordered 14 days before the old one ends", "house value")

LONGEST_SUPPLY_DAYS = 36_500.0
"""Longest time that a pack is reckoned to last, about 100 years."""


def stage_by_size(carapace_cm: float, adult_cm: float, shares: tuple[float, float] = STAGE_SHARES) -> int:
    """Return the stage, 0 hatchling to 2 adult, from the share of the expected adult carapace that each ends
    at."""
    share = carapace_cm / adult_cm
    return sum(share >= limit for limit in shares)


def grams_a_day(grams_a_meal: float, meals_a_week: int) -> float:
    """Return the mean grams a day."""
    return grams_a_meal * meals_a_week / 7.0


def supply_days(pack_g: float, grams_a_day: float) -> float:
    """Return how many days a full pack lasts: its g over the mean g a day.

    ValueError unless both are above 0.
    """
    if not 0.0 < pack_g < math.inf:
        raise ValueError(f"a pack must hold more than 0 g, not {pack_g:g}")
    if not 0.0 < grams_a_day < math.inf:
        raise ValueError(f"a pack is used up only by more than 0 g a day, not {grams_a_day:g}")
    return pack_g / grams_a_day


def order_on(opened: dt.date, days: float, ahead_days: int) -> dt.date:
    """Return the day to order a new pack: `ahead_days` before the last whole day of the old one, never before
    `opened`.

    A pack that lasts longer than 36,500 days counts as one of 36,500, so that the day stays on the calendar.
    ValueError for a negative span.
    """
    if not days >= 0.0 or ahead_days < 0:
        raise ValueError("a pack lasts 0 days or more, and is ordered 0 days or more ahead")
    return opened + dt.timedelta(days=max(0, math.floor(min(days, LONGEST_SUPPLY_DAYS)) - ahead_days))
