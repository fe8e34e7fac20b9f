"""Care rules: Site to Jobs. One file a subject."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator

from scheduler.care import (
    asked,
    cycling,
    feeding,
    health,
    heat,
    light,
    quarantine,
    safety,
    settling,
    supplies,
    water,
)
from scheduler.care import filter as filter_service
from scheduler.care.checks import check
from scheduler.care.consequences import consequences
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Figure
from scheduler.care.engine.job import ByRule, Cadence, Every, Job, Notes, On
from scheduler.care.engine.overrides import extra, overridden
from scheduler.care.engine.registry import ROUTINE, RULES
from scheduler.care.figures import KEYS as FIGURE_KEYS
from scheduler.care.figures.feeding import sharing
from scheduler.care.implied import with_implied
from scheduler.care.measured import as_measured
from scheduler.care.review import Review, review
from scheduler.care.urgency import LEAST_URGENT, urgency
from scheduler.care.watch.registry import Consequence
from scheduler.care.watch.sizes import misfit
from scheduler.care.whereabouts import OF_RESIDENTS, Unclear, follow_residents, linked, unclear
from scheduler.description.site import Site
from scheduler.history import NO_HISTORY, History, Looks
from scheduler.readings import SIGNS

_ROUND = (
    settling,
    cycling,
    health,
    quarantine,
    water,
    filter_service,
    heat,
    light,
    feeding,
    safety,
    supplies,
)
"""The subjects in the order of a round; inside a file the order of its functions."""

_FILES = [subject.__name__ for subject in _ROUND]
_RULES = sorted(RULES.items(), key=lambda item: _FILES.index(item[1].__module__))

KEYS = tuple(key for key, _ in _RULES)
"""The keys of all jobs, in the order of a round. They are identities: calendar UIDs and the command line use them."""

ROUTINE_KEYS = frozenset(ROUTINE)
"""The keys of the routine: what is done on most days, whatever its interval is today."""


def cases(site: Site, today: dt.date | None = None, history: History = NO_HISTORY) -> Iterator[Case]:
    """Yield every enclosure of the site as its record leaves it, in the order of their ids."""
    yield from cases_of(site, as_measured(site, history), history, today=today)


def cases_of(
    site: Site,
    measured: Site,
    history: History,
    enclosures: Collection[str] | None = None,
    *,
    today: dt.date | None = None,
) -> Iterator[Case]:
    """Yield the enclosures of a site, or some, as they were `measured`; in the order of their ids."""
    for enclosure, described in zip(measured.enclosures, site.enclosures, strict=True):
        if enclosures is None or enclosure.id in enclosures:
            yield Case(measured, enclosure, today, history, described)


def jobs(site: Site, history: History = NO_HISTORY) -> Iterator[Job]:
    """Yield the jobs of every enclosure of the site, enclosures in the order of their ids."""
    for case in cases(site, history=history):
        yield from jobs_of(case)


def quarantines(site: Site, history: History = NO_HISTORY) -> dict[str, tuple[dt.date, dt.date]]:
    """Return the first and the last day of the quarantine of each enclosure that has one."""
    found = ((case.enclosure.id, quarantine.span_of(case)) for case in cases(site, history=history))
    return {enclosure: span for enclosure, span in found if span is not None}


_LOOK_DAYS = {
    "nitrate": 130, "ammonia": 130, "nitrite": 130, "ph": 160, "alkalinity": 160, "temperature": 45, "basking": 45,
    "uvi": 800, "weight": 400, "length": 800, asked.UNFINISHED: 130, **dict.fromkeys(SIGNS, 400),
}  # fmt: skip
"""Days of readings that the rules look at: somewhat more than the longest of them."""

_LOOK_DONE_DAYS = {
    "ammonia-dose": 130,
    "water-change": 130,
    "media-rinse": 400,
    "water-test": 130,
    "faecal-test": 400,
    "heater-check": 60,
    "quarantine-release": 400,
    "vet-check": 400,
}


def looks(today: dt.date, done_since: dt.date | None = None) -> Looks:
    """Return how far back the rules and the plan see from a day; every done entry only from `done_since` on."""
    return Looks(
        done={key: today - dt.timedelta(days=days) for key, days in _LOOK_DONE_DAYS.items()},
        readings={name: today - dt.timedelta(days=days) for name, days in _LOOK_DAYS.items()},
        all_done=done_since,
    )


def jobs_of(case: Case) -> Iterator[Job]:
    """Yield the jobs of one enclosure, in the order of a round."""
    for rank, (key, rule) in enumerate(_RULES):
        own = (job.registered(key, rank, routine=key in ROUTINE) for job in rule(case))
        yield from quarantine.kept_apart(case, overridden(case, own))
    yield from quarantine.kept_apart(case, extra(case))


__all__ = [
    "FIGURE_KEYS",
    "KEYS",
    "LEAST_URGENT",
    "OF_RESIDENTS",
    "ROUTINE_KEYS",
    "ByRule",
    "Cadence",
    "Case",
    "Consequence",
    "Every",
    "Figure",
    "Job",
    "Notes",
    "On",
    "Review",
    "Unclear",
    "as_measured",
    "cases",
    "cases_of",
    "check",
    "consequences",
    "follow_residents",
    "jobs",
    "jobs_of",
    "linked",
    "looks",
    "misfit",
    "quarantines",
    "review",
    "sharing",
    "unclear",
    "urgency",
    "with_implied",
]
