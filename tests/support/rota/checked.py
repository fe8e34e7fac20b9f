"""What the checker of rotas looks up: days, windows, skills and minutes, worked out from the site and the jobs."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.plan import Occurrence
from scheduler.rota import Assigned, Item, Past, Rota

APART = 3
"""Days between two heavy services of one enclosure."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

Spans = Mapping[str, Sequence[tuple[dt.date, dt.date]]]
Name = tuple[str, str, str, dt.date]


@dataclass
class Checked:
    """What is checked, and what the rules look up in it."""

    made: Rota
    site: Site
    occurrences: list[Occurrence]
    quarantined: Callable[[str, dt.date], bool]
    absent: Spans
    past: Past
    published: Sequence[Assigned]
    first: dt.date
    last: dt.date
    used: Counter[tuple[str, dt.date]] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        for one in self.made.rounds:
            for task in (*one.tasks, *one.helps):
                self.used[one.keeper.id, one.day] += task.item.job.minutes

    @property
    def due(self) -> list[Occurrence]:
        """Return what the rota is of: what falls due in its span, but what was published for a day outside goes with that."""
        found = []
        for o in self.occurrences:
            name = (o.job.enclosure.id, o.job.key, o.job.variant)
            days = [
                a.day
                for a in self.published
                if (a.enclosure, a.job, a.variant, a.due) == (*name, o.since or o.day)
            ]
            valid = days and (o.since is not None or abs((days[0] - o.day).days) <= o.job.window)
            day = days[0] if valid and days[0] >= self.first else o.day
            if self.first <= day <= self.last and o.state != "done" and not self.is_met(o):
                found.append(o)
        return found

    def is_met(self, o: Occurrence) -> bool:
        """Tell whether an open one of a job that goes on from when it was done is done so late that it meets this one too."""
        open_ = next((x for x in self.occurrences if x.series is o.series and x.since is not None), None)
        if not o.series.moves or open_ is None or open_ is o:
            return False
        later = sorted(x.day for x in self.occurrences if x.series is o.series and x.day > open_.day)
        half_way = open_.day + dt.timedelta(days=((later[0] - open_.day).days - 1) // 2)
        soonest = next((d for d in _span(open_.day, self.last) if self.anybody(open_.job, d)), None)
        if soonest is None or soonest <= half_way:
            return False
        gap = min((b - a).days for a, b in pairwise(later)) if len(later) > 1 else 0
        return o.day <= soonest or (o.day - soonest).days < (gap + 1) // 2

    def anybody(self, job: Job, day: dt.date) -> bool:
        """Tell whether anybody could do a job on a day with nothing else to do."""
        return (job.weekdays is None or day.weekday() in job.weekdays) and any(
            self.comes(k, day) and self.can(k, job.skills) and self.has_minutes(k, day) >= job.minutes
            for k in self.site.keepers
        )

    def away(self, keeper: Keeper, day: dt.date) -> bool:
        spans = [(span.first, span.last) for span in keeper.away]
        return any(begin <= day <= end for begin, end in (*spans, *self.absent.get(keeper.id, ())))

    def comes(self, keeper: Keeper, day: dt.date) -> bool:
        own = not keeper.weekdays or WEEKDAYS[day.weekday()] in keeper.weekdays
        return own and not self.away(keeper, day)

    def has_minutes(self, keeper: Keeper, day: dt.date) -> float:
        limit = math.inf if keeper.minutes is None else keeper.minutes
        return limit - (self.past.today.get(keeper.id, 0) if day == self.first else 0)

    def can(self, keeper: Keeper, skills: Sequence[str]) -> bool:
        lists = [k.can for k in self.site.keepers if k.can is not None]
        return not lists or all(skill in (keeper.can or ()) for skill in skills)

    def rounds_in_week(self, keeper: Keeper, day: dt.date) -> set[dt.date]:
        """Return the days of a week on which a keeper is there."""
        return {d for (k, d), _ in self.used.items() if k == keeper.id and monday_of(d) == monday_of(day)}

    def rounds_left(self, keeper: Keeper, day: dt.date) -> int:
        if keeper.rounds_a_week is None:
            return 7
        gone = self.past.out.get(keeper.id, 0) if monday_of(day) == monday_of(self.first) else 0
        return keeper.rounds_a_week - gone - len(self.rounds_in_week(keeper, day))

    def window(self, o: Occurrence) -> tuple[dt.date, dt.date]:
        """Return the first and the last day on which an occurrence may be done; what is open waits as long as it must."""
        days = dt.timedelta(days=o.job.window)
        if o.put_off is not None:
            return o.day, o.day + days
        return (o.day, self.last) if o.since is not None else (o.day - days, o.day + days)

    def days_done(self) -> dict[Name, dt.date]:
        """Return the day of every occurrence: of the round that it is in, else the day on which it falls due.

        One that is met by what is open has none.
        """
        found = {name_of(o): o.day for o in self.occurrences if not self.is_met(o)}
        found |= {name_of(t.item.occurrence): t.day for t in self.made.tasks()}
        for left in self.made.unfilled:
            found.pop(name_of(left.item.occurrence), None)
        return found


def name_of(o: Occurrence) -> Name:
    return o.job.enclosure.id, o.job.key, o.job.variant, o.day


def _span(first: dt.date, last: dt.date) -> list[dt.date]:
    return [first + dt.timedelta(days=n) for n in range((last - first).days + 1)]


def monday_of(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def label_of(item: Item) -> str:
    return f"{item.job.enclosure.name} {item.job.key} of {item.occurrence.day}"
