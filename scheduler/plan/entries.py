"""How many entries stand in each part of each day: jobs that come seldom keep off each other's days."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from scheduler.care import ByRule, Job
from scheduler.description.fields import Part
from scheduler.plan.days import weekday_of

LONG_CYCLE = 728
"""Days over which entries are counted: two years, the common multiple of the intervals from a week to a
year."""


COUNTED = 6
"""So many enclosures of a site, in the order in which they were set up, keep their entries apart.

House value: the site's calendar of more is too full for entries one by one, and only the minutes are weighed.
"""


_RULE_START = dt.date(2024, 1, 1)


@dataclass(slots=True)
class Entries:
    """The entries of each part of the day on each day of the long cycle, of the jobs placed so far."""

    parts: dict[Part, list[float]] = field(default_factory=dict)

    def add(self, first: int, period: int, part: Part) -> None:
        """Count a job from its first day on; where its period does not fit the cycle, its share of each day
        it may fall on."""
        entries = self._of(part)
        step = math.gcd(period, LONG_CYCLE)
        for cell in range(first % step, LONG_CYCLE, step):
            entries[cell] += step / period

    def add_rule(self, job: Job) -> None:
        """Count a job by calendar that goes on for ever: the share of each weekday that it takes."""
        assert isinstance(job.cadence, ByRule)
        rule = job.cadence.rule.aloud(job.cadence.start or _RULE_START)
        entries = self._of(job.part)
        shares = [0.0] * 7
        for day in rule.dates(_RULE_START, _RULE_START + dt.timedelta(days=LONG_CYCLE - 1)):
            shares[day.weekday()] += 7 / LONG_CYCLE
        for cell in range(LONG_CYCLE):
            entries[cell] += shares[weekday_of(cell)]

    def met(self, first: int, period: int, part: Part) -> float:
        """Return how many entries a job meets in the cycle that begins on a day; a millionth is no
        difference."""
        step = math.gcd(period, LONG_CYCLE)
        return round(sum(self._of(part)[first % step :: step]), 6)

    def fewest(self, options: Sequence[int], period: int, part: Part) -> list[int]:
        """Return those of the days on which a job may begin on which it meets the fewest entries."""
        step = math.gcd(period, LONG_CYCLE)
        met = {phase: self.met(phase, period, part) for phase in {day % step for day in options}}
        least = min(met.values())
        return [day for day in options if met[day % step] == least]

    def _of(self, part: Part) -> list[float]:
        return self.parts.setdefault(part, [0.0] * LONG_CYCLE)
