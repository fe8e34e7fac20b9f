"""The plan of a site for a view, and its days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduler import care, plan
from scheduler.description import Site
from scheduler.description.fields import LAST_DAY
from scheduler.plan import Occurrence, Series
from scheduler.workflow.naming import by_names, pick

MOST_DAYS = 3660
MOST_WEEKS = 1040


@dataclass(frozen=True, slots=True)
class Planned:
    """The series of a site for a view."""

    site: Site
    today: dt.date
    first: dt.date
    horizon: dt.date
    series: tuple[Series, ...]


def make_plan(site: Site, today: dt.date, first: dt.date, days: int) -> Planned:
    """Return the plan of a site from `first` on; single dates reach `days` days."""
    horizon = min(first + dt.timedelta(days=days - 1), LAST_DAY)
    jobs = list(care.jobs(site))
    return Planned(site, today, first, horizon, tuple(plan.schedule(site, jobs, first, horizon)))


def days_of(
    planned: Planned, enclosure: str | None = None, keeper: str | None = None, job: str | None = None
) -> Iterator[Occurrence]:
    """Return the occurrences of the view, narrowed to an enclosure, a job, and what a keeper can take. UsageError at once."""
    site = planned.site
    series = planned.series
    if enclosure is not None:
        wanted = pick(enclosure, by_names(site.enclosures), "enclosure")
        series = tuple(s for s in series if s.job.enclosure is wanted)
    if job is not None:
        own = {extra.key for e in site.enclosures for extra in e.extra_job}
        key = pick(job, {name: name for name in (*care.KEYS, *sorted(own))}, "job")
        series = tuple(s for s in series if s.job.key == key)
    person = pick(keeper, by_names(site.keepers), "keeper") if keeper is not None else None
    found = plan.occurrences(site, series, planned.first, planned.horizon)
    return found if person is None else (o for o in found if plan.can_take(site, person, o))


def uid_for(site: Site) -> Callable[[Occurrence], str]:
    """Return the function that names the calendar entry of an occurrence."""
    from scheduler.calendar import uid_of

    return lambda o: uid_of(site.place.id, o.series, o.day)
