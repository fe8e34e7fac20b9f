"""The days on which somebody can do a job, and how much time there is on each."""

from __future__ import annotations

from functools import cached_property

from scheduler.care import Job
from scheduler.description.fields import WEEKDAY_NAMES
from scheduler.description.site import Keeper, Site, can_do

ALL_DAYS = (0, 1, 2, 3, 4, 5, 6)
MINUTES_UNSAID = 60.0
"""Minutes a day of a keeper who gives none. House value; it only weighs the days against each other."""


class Days:
    """The weekdays of a site's keepers."""

    def __init__(self, site: Site) -> None:
        """Look at the keepers of a site; without any, every day is the owner's."""
        self._site = site
        self._by_skills: dict[tuple[str, ...], tuple[int, ...]] = {}

    def allowed(self, job: Job) -> tuple[int, ...]:
        """Return the weekdays (Monday is 0) on which the job may fall: the keeper's own, else those that
        somebody has."""
        if job.weekdays is not None:
            return job.weekdays
        if job.skills not in self._by_skills:
            self._by_skills[job.skills] = self._of(job.skills)
        return self._by_skills[job.skills]

    def _of(self, skills: tuple[str, ...]) -> tuple[int, ...]:
        able = [keeper for keeper in self._site.keepers if can_do(self._site, keeper, skills)]
        days = {day for keeper in able for day in _weekdays(keeper)}
        return tuple(sorted(days)) or ALL_DAYS

    @cached_property
    def minutes(self) -> tuple[float, ...]:
        """Return the minutes that all keepers together have on each weekday."""
        if not self._site.keepers:
            return (MINUTES_UNSAID,) * 7
        totals = [
            sum(float(k.minutes or MINUTES_UNSAID) for k in self._site.keepers if day in _weekdays(k))
            for day in ALL_DAYS
        ]
        # Days that nobody has still get jobs that must fall on them; they count as scarce, not as impossible.
        least = min((t for t in totals if t), default=MINUTES_UNSAID) / 4
        return tuple(t or least for t in totals)


def weekday_of(ordinal: int) -> int:
    """Return the weekday of a day by its ordinal, with Monday as 0; ordinal 1, the first of the year 1, is a
    Monday.

    Of a cell in a cycle of whole weeks it is the weekday too.
    """
    return (ordinal + 6) % 7


def _weekdays(keeper: Keeper) -> tuple[int, ...]:
    return tuple(WEEKDAY_NAMES.index(day) for day in keeper.weekdays) if keeper.weekdays else ALL_DAYS
