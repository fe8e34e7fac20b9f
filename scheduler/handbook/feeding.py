"""Life stages, meals and rations."""

from __future__ import annotations

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
    1: (6,), 2: (2, 6), 3: (0, 2, 4), 4: (0, 2, 4, 6), 5: (0, 1, 3, 4, 6), 6: (0, 1, 2, 4, 5, 6), 7: (0, 1, 2, 3, 4, 5, 6),
}  # fmt: skip
"""Weekdays (Monday is 0) of so many meals a week, spread so that two fasting days never meet when there are four or more."""


def stage_by_size(carapace_cm: float, adult_cm: float, shares: tuple[float, float] = STAGE_SHARES) -> int:
    """Return the stage, 0 hatchling to 2 adult, from the share of the expected adult carapace that each ends at."""
    share = carapace_cm / adult_cm
    return sum(share >= limit for limit in shares)


def grams_a_day(grams_a_meal: float, meals_a_week: int) -> float:
    """Return the mean grams a day."""
    return grams_a_meal * meals_a_week / 7.0
