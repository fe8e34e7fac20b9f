"""At which minute an entry stands: routine at the hour of its part of the day, every other job at a slot of
its own after it.

Slots are fixed by the kind of work and the enclosure's place on the walk, and never summed up from minutes: a
job that takes longer moves no other entry. Nothing here is published; all of it are house values.
"""

from __future__ import annotations

import datetime as dt

from scheduler.clocks import unsure_times
from scheduler.description.fields import Part
from scheduler.description.site import Enclosure, Site
from scheduler.rota.rounds import place_order

AFTER_ONE, AFTER_SEVERAL = 30, 60
"""Minutes from the hour of the part of the day to the first slot, at a site of one enclosure and of
several."""


SLOTS = {
    "water-test": 0, "weigh-measure": 0, "quarantine-weigh": 0, "faecal-test": 0,
    "water-change": 15,
    "top-up": 60, "wipe-down": 60, "filter-check": 60, "media-rinse": 60,
    "heater-check": 75,
}  # fmt: skip
"""Minutes after the first slot, by the key of the job."""

LAST = 90
"""The slot of every other job."""

STEP = 15
"""Slots lie so many minutes apart: what begins less than a quarter of an hour after another makes two narrow
columns."""


WALK, MOST_STEPS = 180, 3
"""So many minutes the walk from the first enclosure to the last may take, with at most so many steps from one
to the next."""


LATEST = dt.time(23, 30)
"""No entry begins later: it would run on into the next day."""


def walk(site: Site) -> list[Enclosure]:
    """Return the enclosures in walking order."""
    return sorted(site.enclosures, key=place_order)


class Slots:
    """The slots of a site."""

    def __init__(self, site: Site) -> None:
        """Lay the enclosures along the walk."""
        self._place = site.settings
        several = len(site.enclosures) > 1
        gaps = max(1, len(site.enclosures) - 1)
        steps = min(MOST_STEPS, max(1, WALK // STEP // gaps))
        # A walk that is longer than that begins anew at the first slot: its enclosures are visited by several
        # people.
        once = WALK // STEP // steps + 1
        first = AFTER_SEVERAL if several else AFTER_ONE
        self._after = {e.id: first + n % once * steps * STEP for n, e in enumerate(walk(site))}
        self._unsure = sorted(unsure_times(site.settings.zone, 2026, 10))

    def of_part(self, part: Part) -> dt.time:
        """Return the hour of a part of the day, at which its routine and its rounds begin."""
        return self._place.time_of(part)

    def of_job(self, enclosure: str, key: str, part: Part) -> dt.time:
        """Return when a job of an enclosure, by its id, begins that is not routine."""
        start = self.of_part(part)
        minutes = start.hour * 60 + start.minute + self._after[enclosure] + SLOTS.get(key, LAST)
        latest = max(LATEST, start)
        at = min(minutes, latest.hour * 60 + latest.minute)
        slot = dt.time(at // 60, at % 60)
        # An hour that a change of the clocks skips or repeats is read differently by calendar programs.
        return start if any(begin <= slot < end for begin, end in self._unsure) else slot
