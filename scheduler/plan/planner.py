"""Jobs to series, for a view that begins on a day and, for single dates, ends at a horizon."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby

from scheduler.care import ByRule, Every, Job, On
from scheduler.description.site import Site
from scheduler.plan.amendments import amendments_of, bend, bent
from scheduler.plan.days import Days
from scheduler.plan.following import SEEN_DAYS, Follow, Following, Phases, followed, seen
from scheduler.plan.series import Series, aligned, every
from scheduler.plan.spacing import EPOCH, Phase, may_be_irregular, place
from scheduler.rules import Rule

IRREGULAR = "single dates"


def schedule(
    site: Site, jobs: Sequence[Job], first: dt.date, horizon: dt.date, follow: Follow | None = None
) -> Iterator[Series]:
    """Yield the series of the jobs that have occurrences from `first` on, in the order of the jobs.

    `jobs` are all jobs of the site, since they share its days. Irregular series reach to `horizon`, included;
    a later horizon only adds to them. With `follow` the plan goes on from what was done: see `following`.
    Then the jobs of an enclosure rest on no other's, and those of some enclosures can be planned alone once
    the site has begun.
    """
    begin = max(first, site.settings.start) if site.settings.start else first
    days = Days(site)
    begun = follow.history.begun if follow is not None else None
    # Before its first day a site has nothing that could be open.
    if follow is None or begun is None or begin > max(first, follow.today):
        placed = place(jobs, days, horizon)
        for job in jobs:
            series = _series(job, placed.get(job.ref), begin, horizon)
            if series is not None:
                yield series
        return
    phases = follow.phases
    base = {job.ref: job for job in follow.base}
    for _, batch in groupby(jobs, key=lambda job: job.enclosure.id):
        own = list(batch)
        kept = [job for job in own if job.key not in site.settings.not_logged]
        following = Following(follow, days, phases, base, begun, horizon)
        intervals = following.intervals(kept)
        position = 0
        for job in own:
            if job.key in site.settings.not_logged:
                phase = phases.get(job.ref) or place([job], days, horizon).get(job.ref)
                series = _as_said(_series(job, phase, begin, horizon), phase, follow)
            else:
                answered = following.is_answered(job)
                series = intervals.get(position) or _followed(
                    job, begin, horizon, follow, begun, answered=answered
                )
                position += 1
            if series is not None:
                yield series


def places(site: Site, jobs: Sequence[Job], horizon: dt.date) -> Phases:
    """Return where the interval jobs of a site have their places without a record; `jobs` are all of them."""
    return place(jobs, Days(site), horizon)


def _followed(
    job: Job, begin: dt.date, horizon: dt.date, follow: Follow, begun: dt.date, *, answered: bool
) -> Series | None:
    """Return the series of a job by calendar or of single days as the record leaves it."""
    if isinstance(job.cadence, Every):
        return None
    today = follow.today
    ahead = today + dt.timedelta(days=2 * job.window + 1)
    if isinstance(job.cadence, On):
        days = list(job.cadence.days)
        # All its days, also those before the view: one that was not done is open.
        series: Series | None = Series(job=job, dates=tuple(d for d in days if d <= horizon), why=IRREGULAR)
        instances = days
    else:
        start = job.cadence.start or EPOCH
        rule = job.cadence.rule.aloud(start)
        ends = [day for day in (rule.until, job.cadence.until, ahead) if day is not None]
        look = max(start, aligned(rule, start, today - dt.timedelta(days=SEEN_DAYS + 800)))
        instances = seen(rule.dates(look, min(ends)), today)
        series = _series(job, None, max(begin, today), horizon)
        if series is None and instances:
            series = Series(job=job, why=IRREGULAR, until=_last_day(job.cadence))
    if series is None:
        return None
    return followed(series, follow, begun, instances, _comes(job), answered=answered)


def _gives(rule: Rule, start: dt.date, until: dt.date | None, day: dt.date) -> bool:
    """Tell whether a rule that begins on a day gives another one."""
    if day < start or (until is not None and day > until):
        return False
    return day in rule.dates(max(start, aligned(rule, start, day)), day)


def _as_said(series: Series | None, phase: Phase | None, follow: Follow) -> Series | None:
    """Return a series that follows no record with what people said of its days."""
    said = amendments_of(follow.history, series.job.ref) if series is not None else []
    if series is None or not said:
        return series
    return bent(series, *bend(said, _comes(series.job, phase)), follow.today)


def _comes(job: Job, phase: Phase | None = None) -> Callable[[dt.date], bool]:
    """Return what tells whether any day is one of a job that follows no record; `phase` is its place where it
    counts by interval."""
    cadence = job.cadence
    if isinstance(cadence, On):
        return frozenset(cadence.days).__contains__
    if isinstance(cadence, ByRule):
        start = cadence.start or EPOCH
        return partial(_gives, cadence.rule.aloud(start), start, _last_day(cadence))
    assert phase is not None  # every interval job was placed
    return partial(_has, phase, cadence.span.interval_days)


def _has(phase: Phase, period: int, day: dt.date) -> bool:
    """Tell whether a job that has its place comes on a day."""
    number = day.toordinal()
    if phase.why:
        return number in phase.days
    if phase.second:
        return (number - phase.first) % 7 in (0, phase.second)
    return number >= phase.first and (number - phase.first) % period == 0


def _last_day(cadence: ByRule) -> dt.date | None:
    ends = [day for day in (cadence.rule.until, cadence.until) if day is not None]
    return min(ends) if ends else None


def irregular(site: Site, jobs: Sequence[Job], first: dt.date, horizon: dt.date) -> list[tuple[Job, str]]:
    """Return the jobs that are no rule for every calendar program, and why; `jobs` are all jobs of the
    site."""
    days = Days(site)
    spaced = [job for job in jobs if isinstance(job.cadence, Every)]
    # Where every interval is a rule whatever days the jobs take, their places need not be found.
    phases = place(jobs, days, horizon) if may_be_irregular(spaced, days) else {}
    found = []
    for job in jobs:
        phase = phases.get(job.ref)
        if isinstance(job.cadence, ByRule):
            start = job.cadence.start or EPOCH
            why = job.cadence.rule.aloud(start).unportable(start)
        else:
            why = phase.why if phase is not None else ""
        if why and _series(job, phase, first, horizon) is not None:
            found.append((job, why))
    return found


def _series(job: Job, phase: Phase | None, begin: dt.date, horizon: dt.date) -> Series | None:
    cadence = job.cadence
    if isinstance(cadence, Every):
        assert phase is not None  # every interval job was placed
        if phase.why:
            end = min(horizon, cadence.until) if cadence.until else horizon
            dates = tuple(d for d in map(dt.date.fromordinal, phase.days) if begin <= d <= end)
            return Series(job=job, dates=dates, why=phase.why) if dates else None
        first = dt.date.fromordinal(phase.first)
        return _regular(
            job, every(cadence.span.interval_days, first, phase.second), first, cadence.until, begin
        )
    if isinstance(cadence, ByRule):
        return _by_rule(job, cadence, begin, horizon)
    assert isinstance(cadence, On)
    dates = tuple(day for day in cadence.days if begin <= day <= horizon)
    return Series(job=job, dates=dates, why=IRREGULAR) if dates else None


def _regular(job: Job, rule: Rule, start: dt.date, until: dt.date | None, begin: dt.date) -> Series | None:
    """Return the series that begins with the rule's first instance from `begin` on."""
    look = max(begin, start)
    reach = look + dt.timedelta(days=366 * 21)
    first = next(
        (
            d
            for d in rule.dates(aligned(rule, start, look), min(reach, until) if until else reach)
            if d >= look
        ),
        None,
    )
    if first is None:
        return None
    return Series(job=job, rule=rule, first=first, until=until)


def _by_rule(job: Job, cadence: ByRule, begin: dt.date, horizon: dt.date) -> Series | None:
    start = cadence.start or EPOCH
    rule = cadence.rule.aloud(start)
    ends = [day for day in (rule.until, cadence.until) if day is not None]
    until = min(ends) if ends else None
    why = rule.unportable(start)
    if rule.count is not None and not why:
        # A count runs from the rule's start, which may lie before the view: its last day says the same and
        # stays true.
        counted = list(rule.dates(start, dt.date(start.year + 200, 12, 28)))
        until = min([*ends, counted[-1]]) if counted else start
        rule = replace(rule, count=None)
    if not why:
        return _regular(job, replace(rule, until=None), start, until, begin)
    end = min(horizon, until) if until else horizon
    dates = tuple(day for day in rule.dates(start, end) if day >= begin)
    return Series(job=job, dates=dates, why=why) if dates else None
