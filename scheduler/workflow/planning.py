"""The plan of a site for a view, and its days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduler import care, plan
from scheduler.description import Site
from scheduler.description.fields import LAST_DAY
from scheduler.description.site import Keeper
from scheduler.history import NO_HISTORY, History
from scheduler.plan import Occurrence, Series
from scheduler.workflow.naming import by_names, pick

DONE_DAYS = 60
"""What was done stays in calendars for so many days."""

MOST_DAYS = 3660
MOST_WEEKS = 1040


@dataclass(frozen=True, slots=True)
class Planned:
    """The series of a site for a view, and what was done in it or shortly before.

    `site` is as the record leaves it, with the newest measured values.
    """

    site: Site
    today: dt.date
    first: dt.date
    horizon: dt.date
    series: tuple[Series, ...]
    done: tuple[Occurrence, ...] = ()


def make_plan(
    site: Site, today: dt.date, first: dt.date, days: int, history: History = NO_HISTORY
) -> Planned:
    """Return the plan of a site from `first` on; single dates reach `days` days. With a history it goes on from there."""
    horizon = min(first + dt.timedelta(days=days - 1), LAST_DAY)
    base = list(care.jobs(site))
    if history.begun is None:
        return Planned(site, today, first, horizon, tuple(plan.schedule(site, base, first, horizon)))
    history = care.with_implied(site, history)
    jobs = list(care.jobs(site, history))
    follow = plan.Follow(history=history, today=today, base=base)
    series = tuple(plan.schedule(site, jobs, first, horizon, follow))
    measured = care.as_measured(site, history)
    entries = (entry for enclosure in site.enclosures for entry in history.done(enclosure.id))
    begin = min(first, today - dt.timedelta(days=DONE_DAYS))
    done = tuple(plan.done_occurrences(measured, series, entries, begin, today))
    return Planned(measured, today, first, horizon, series, done)


def days_of(
    planned: Planned, enclosure: str | None = None, keeper: str | None = None, job: str | None = None
) -> Iterator[Occurrence]:
    """Return the occurrences of the view, narrowed to an enclosure, a job, and what a keeper can take. UsageError at once."""
    site = planned.site
    series, done = planned.series, planned.done
    if enclosure is not None:
        wanted = pick(enclosure, by_names(site.enclosures), "enclosure")
        series = tuple(s for s in series if s.job.enclosure.id == wanted.id)
        done = tuple(o for o in done if o.job.enclosure.id == wanted.id)
    if job is not None:
        own = {extra.key for e in site.enclosures for extra in e.extra_job}
        key = pick(job, {name: name for name in (*care.KEYS, *sorted(own))}, "job")
        series = tuple(s for s in series if s.job.key == key)
        done = tuple(o for o in done if o.job.key == key)
    person = pick(keeper, by_names(site.keepers), "keeper") if keeper is not None else None
    found = plan.occurrences(site, series, planned.first, planned.horizon, done)
    return found if person is None else (o for o in found if _is_for(site, person, o))


def _is_for(site: Site, person: Keeper, occurrence: Occurrence) -> bool:
    """Tell whether a keeper did an occurrence, or could take it."""
    if occurrence.entry is not None:
        return occurrence.entry.keeper == person.id
    return plan.can_take(site, person, occurrence)


def uid_for(site: Site) -> Callable[[Occurrence], str]:
    """Return the function that names the calendar entry of an occurrence."""
    from scheduler.calendar import uid_of

    return lambda o: uid_of(site.place.id, o.series, o.day, entry=o.entry)
