"""Descriptions for the tests of the rota, what falls due in them, and a rota as text.

Tests of one rule take a site of keepers and of the keeper's own duties alone, so that a whole rota can be read.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from scheduler import rota, workflow
from scheduler.care import Job
from scheduler.description import Site, load
from scheduler.history import OccurrenceRef
from scheduler.plan import Occurrence
from scheduler.rota import Assigned, Past, Rota
from scheduler.species import load_sheets

SAMPLES = Path(__file__).parents[3] / "sample_configs"
TODAY = dt.date(2026, 12, 1)
MONDAY = dt.date(2026, 12, 7)
DAY = dt.timedelta(days=1)
BEYOND = 35
"""Days after the span that are looked at: what falls due there keeps its distance from what is in it."""

Absent = dict[str, list[tuple[dt.date, dt.date]]]

Quarantined = Callable[[str, dt.date], bool]


def quarantine_of(site: Site) -> Quarantined:
    """Return whether an enclosure is in quarantine on a day: 90 days from the last arrival, that day included."""
    spans = {}
    for enclosure in site.enclosures:
        first = [r.arrived for r in enclosure.resident if r.quarantine and r.arrived]
        if first:
            restart = max(r.arrived for r in enclosure.resident if r.arrived and r.arrived >= min(first))
            spans[enclosure.id] = (min(first), restart + 90 * DAY)
    return lambda e, day: e in spans and spans[e][0] <= day <= spans[e][1]


@dataclass(frozen=True)
class Case:
    """What a rota is made of."""

    site: Site
    occurrences: Sequence[Occurrence]
    first: dt.date
    last: dt.date
    quarantined: Quarantined
    past: Past | None = None
    published: Sequence[Assigned] = ()
    absent: Absent = field(default_factory=dict)
    left: frozenset[OccurrenceRef] = frozenset()

    def rota(self) -> Rota:
        return rota.assign(
            self.site,
            self.occurrences,
            self.first,
            self.last,
            quarantined=self.quarantined,
            past=self.past,
            published=self.published,
            absent=self.absent,
            left=self.left,
        )

    def but(self, **changes: Any) -> Case:
        return replace(self, **changes)

    def with_jobs(self, change: Callable[[Job], Job]) -> Case:
        """Return the case with other jobs: each series keeps being one, since that is how its days are told."""
        series = {id(o.series): replace(o.series, job=change(o.job)) for o in self.occurrences}
        return self.but(
            occurrences=[
                replace(o, job=series[id(o.series)].job, series=series[id(o.series)])
                for o in self.occurrences
            ]
        )


def sample(name: str, weeks: int, **changes: object) -> Case:
    """Return a case of one of the sample descriptions from 1 December 2026 on."""
    return case(workflow.read_site(SAMPLES / f"{name}.toml"), TODAY, weeks * 7, **changes)


def case(site: Site, first: dt.date, days: int, **changes: object) -> Case:
    """Return the case of a site for so many days from `first`."""
    planned = workflow.make_plan(site, first, first, days + BEYOND)
    made = Case(site, list(workflow.days_of(planned)), first, first + (days - 1) * DAY, quarantine_of(site))
    return made.but(**changes)


HEADER = '[site]\nname = "Fen Lane"\n'


def loaded(text: str) -> Site:
    """Return the site of a TOML text without its [site]. What the care rules would refuse is let through, for the rota."""
    return load(HEADER + text, load_sheets())


def duties(text: str, days: int = 7, first: dt.date = MONDAY, **changes: object) -> Case:
    """Return a case of the keeper's own duties alone: what every enclosure brings of itself is left out."""
    site = loaded(text)
    own = {(e.id, extra.key) for e in site.enclosures for extra in e.extra_job}
    whole = case(site, first, days)
    kept = [o for o in whole.occurrences if (o.job.enclosure.id, o.job.key) in own]
    return whole.but(occurrences=kept).but(**changes)


def shown(made: Rota) -> str:
    """Return a rota as text: rounds, what nobody takes, and the minutes of each keeper."""
    lines = []
    for one in made.rounds:
        jobs = ", ".join(_task(t) for t in one.tasks)
        helps = "".join(f"; helps {t.keeper.name} with {t.item.job.key}" for t in one.helps)
        lines.append(f"{one.day:%a %d %b} {one.keeper.name} {one.minutes} min: {jobs}{helps}")
    for left in made.unfilled:
        lines.append(
            f"nobody: {left.item.job.key} of {left.item.occurrence.day:%a %d %b}, {left.why}; mend: {left.mend}"
        )
    for task in made.alone:
        lines.append(f"alone: {task.item.job.key} on {task.day:%a %d %b} by {task.keeper.name}")
    lines.append("minutes: " + ", ".join(f"{k} {m}" for k, m in sorted(made.loads.items())))
    return "\n".join(lines)


def _task(task: rota.Task) -> str:
    due = task.item.occurrence.day
    moved = "" if task.day == due else f" (due {due:%a})"
    helper = "" if task.helper is None else f" with {task.helper.name}"
    return f"{task.item.job.enclosure.name} {task.item.job.key}{moved}{helper}"


def slots(made: Rota) -> dict[tuple[str, str, str, dt.date], tuple[dt.date, str]]:
    """Return the day and the keeper of each occurrence: by enclosure, job, variant and the day on which it falls due."""
    return {(*t.item.ref.job, t.item.occurrence.day): (t.day, t.keeper.id) for t in made.tasks()}


def moved(before: Mapping[object, object], after: Mapping[object, object]) -> list[object]:
    """Return what has another day or keeper than before, or none."""
    return [name for name, slot in before.items() if after.get(name) != slot]


def names(some: Iterable[object]) -> list[str]:
    """Return the sorted names of keepers."""
    return sorted(str(getattr(one, "name", one)) for one in some)
