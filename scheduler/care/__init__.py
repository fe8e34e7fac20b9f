"""Care rules: Site to Jobs. One file a subject."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import (
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
from scheduler.care.case import Case
from scheduler.care.checks import check
from scheduler.care.figure import Figure
from scheduler.care.figures import KEYS as FIGURE_KEYS
from scheduler.care.job import ByRule, Cadence, Every, Job, Notes, On
from scheduler.care.overrides import extra, overridden
from scheduler.care.registry import RULES
from scheduler.care.review import Review, review
from scheduler.description.site import Site

_ROUND = (settling, health, quarantine, water, filter_service, heat, light, feeding, safety, supplies)
"""The subjects in the order of a round; inside a file the order of its functions."""

_FILES = [subject.__name__ for subject in _ROUND]
_RULES = sorted(RULES.items(), key=lambda item: _FILES.index(item[1].__module__))

KEYS = tuple(key for key, _ in _RULES)
"""The keys of all jobs, in the order of a round. They are identities: calendar UIDs and the command line use them."""


def jobs(site: Site) -> Iterator[Job]:
    """Yield the jobs of every enclosure of the site, enclosures in the order of their ids."""
    for enclosure in site.enclosures:
        yield from jobs_of(Case(site, enclosure))


def jobs_of(case: Case) -> Iterator[Job]:
    """Yield the jobs of one enclosure, in the order of a round."""
    for rank, (key, rule) in enumerate(_RULES):
        yield from overridden(case, (job.registered(key, rank) for job in rule(case)))
    yield from extra(case)


__all__ = [
    "FIGURE_KEYS",
    "KEYS",
    "ByRule",
    "Cadence",
    "Case",
    "Every",
    "Figure",
    "Job",
    "Notes",
    "On",
    "Review",
    "check",
    "jobs",
    "jobs_of",
    "review",
]
