"""Which entries ring: one in each part of a day.

The routine's; where a part has none, the first of the others.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from scheduler.calendar.jobs import JobEntries
from scheduler.calendar.routine import Routine
from scheduler.description.fields import Part
from scheduler.plan import Series

LOOK_DAYS = 366
"""So many days tell whether an entry with a rule is ever the first of its part of the day."""


class Alarms:
    """The alarms of one feed of the plan. An entry with a rule rings on all its days or on none.

    So two ring where each has a day on which nothing else does, and both have one in common; none is ever
    missing.
    """

    def __init__(
        self, routines: Iterable[Routine], others: Iterable[Series], entries: JobEntries, start: dt.date
    ) -> None:
        """Give the alarms of the days from `start` on out, entry by entry in the order of their hours."""
        end = start + dt.timedelta(days=LOOK_DAYS)
        span = [start + dt.timedelta(days=n) for n in range(LOOK_DAYS + 1)]
        self._rung: set[tuple[dt.date, Part]] = {
            (day, routine.part) for routine in routines for day in span if routine.uid_on(day) is not None
        }
        self._ringing: set[int] = set()
        for one in sorted(others, key=lambda s: entries.time(s.job)):
            days = {(day, one.job.part) for day in one.between(start, end)}
            if days - self._rung:
                self._ringing.add(id(one))
                self._rung |= days

    def ring(self, series: Series) -> bool:
        """Tell whether the entries of a series ring."""
        return id(series) in self._ringing
