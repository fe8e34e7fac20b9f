"""Checks that need to know the jobs: overrides that do not fit their job."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from scheduler.care.engine.case import Case
from scheduler.care.engine.job import ByRule, Every, Job
from scheduler.care.engine.overrides import OWN_EVERY, extra, overridden
from scheduler.care.engine.registry import RULES
from scheduler.care.quarantine import LEAST_QUARANTINE_DAYS
from scheduler.description.site import Description, Enclosure, JobOverride, Keeper, Site
from scheduler.errors import Path, Problem, as_words, clip, nearest
from scheduler.rules import Rule


def check(site: Site, description: Description) -> Iterator[Problem]:
    """Yield the problems that only the care rules can see; the tables of the description are in the order of
    the file."""
    enclosures = description.enclosure
    yield from _not_logged(site, enclosures)
    for i, keeper in enumerate(description.keeper):
        yield from _wishes(site, keeper, enclosures, ("keeper", i))
    for i, enclosure in enumerate(enclosures):
        yield from _overrides(site, enclosure, ("enclosure", i))
        yield from _as_made(site, enclosure, ("enclosure", i))


def _not_logged(site: Site, enclosures: tuple[Enclosure, ...]) -> Iterator[Problem]:
    known = {*RULES, *(own.key for enclosure in enclosures for own in enclosure.extra_job)}
    for i, key in enumerate(site.settings.not_logged):
        if key not in known:
            close = nearest(key, known)
            yield Problem(
                path=("site", "not_logged", i),
                message=f"there is no job {clip(key)}",
                hint=_titled(site, enclosures, key)
                or (f"nearest: {close}" if close else f"jobs: {', '.join(RULES)}"),
            )


def _titled(site: Site, enclosures: Iterable[Enclosure], word: str) -> str:
    """Return a hint for who writes the title of a job where its key is asked for; empty for what is none."""
    asked = as_words(word)
    for enclosure in enclosures:
        case = Case(site, enclosure)
        made = ((key, job.title) for key, rule in RULES.items() for job in rule(case))
        own = ((extra_job.key, extra_job.title) for extra_job in enclosure.extra_job)
        for key, title in (*made, *own):
            if as_words(title) == asked:
                return f"that is the title of the job {key}; write {key}"
    return ""


def _wishes(site: Site, keeper: Keeper, enclosures: tuple[Enclosure, ...], path: Path) -> Iterator[Problem]:
    jobs = {*RULES, *(own.key for enclosure in enclosures for own in enclosure.extra_job)}
    known = {*jobs, *(name for e in enclosures for name in (e.id, e.name))}
    folded = {name.casefold() for name in known}
    for table, names in (("prefers", keeper.prefers), ("avoids", keeper.avoids)):
        for i, name in enumerate(names):
            if name.casefold() not in folded:
                close = nearest(name, known)
                titled = _titled(site, enclosures, name)
                yield Problem(
                    path=(*path, table, i),
                    message=f"there is neither an enclosure nor a job {clip(name)}",
                    hint=titled or (f"nearest: {close}" if close else f"jobs: {', '.join(sorted(jobs))}"),
                )
    both = {n.casefold() for n in keeper.prefers} & {n.casefold() for n in keeper.avoids}
    if both:
        yield Problem(
            path=(*path, "avoids"),
            message=f"{', '.join(sorted(map(clip, both)))} is both preferred and avoided",
            hint="keep it in one of them",
        )


def _overrides(site: Site, enclosure: Enclosure, path: Path) -> Iterator[Problem]:
    for key, override in enclosure.job.items():
        here = (*path, "job", key)
        if key not in RULES:
            close = nearest(key, RULES)
            duty = "a duty of your own is an [[enclosure.extra_job]]"
            titled = _titled(site, (enclosure,), key)
            yield Problem(
                path=here,
                message=f"there is no job {clip(key)}",
                hint=titled
                or (f"nearest: {close}; {duty}" if close else f"jobs: {', '.join(RULES)}; {duty}"),
            )
        every = override.every
        if (
            key == "quarantine-release"
            and every is not None
            and every.days + every.months * 30 < LEAST_QUARANTINE_DAYS
        ):
            yield Problem(
                path=(*here, "every"),
                message=(
                    f"a quarantine of {every} is under the minimum of {LEAST_QUARANTINE_DAYS} days (AZA "
                    "standards 2007)"
                ),
                hint=f'write "{LEAST_QUARANTINE_DAYS} days" or more; 90 is the house rule',
            )
    for i, own in enumerate(enclosure.extra_job):
        if own.key in RULES:
            yield Problem(
                path=(*path, "extra_job", i, "key"),
                message=f'the key "{own.key}" belongs to a job of the program',
                hint=f"change that job with [enclosure.job.{own.key}], or choose another key",
            )


def _as_made(site: Site, enclosure: Enclosure, path: Path) -> Iterator[Problem]:
    """Report what does not fit the jobs as they come out, for each key once."""
    case = Case(site, enclosure)
    for key, own in enclosure.job.items():
        rule = RULES.get(key)
        made = overridden(case, (job.registered(key, 0) for job in rule(case))) if rule else iter(())
        job = next(made, None)
        if job is not None:
            yield from _unfit(job, own, (*path, "job", key))
            if own.rule is not None and isinstance(job.cadence, ByRule):
                yield from _in_vain(job.cadence, (*path, "job", key))
    places = {own.key: i for i, own in reversed([*enumerate(enclosure.extra_job)])}
    for job in extra(case):
        if isinstance(job.cadence, ByRule):
            yield from _in_vain(job.cadence, (*path, "extra_job", places[job.key]))


def _unfit(job: Job, own: JobOverride, path: Path) -> Iterator[Problem]:
    if job.key in OWN_EVERY:
        name = next((n for n in ("rule", "on", "weekdays") if getattr(own, n) is not None), "")
        if name:
            yield Problem(
                path=(*path, name),
                message=f"the day of {job.key} follows from its length and cannot be set",
                hint='write its length: every = "90 days"',
            )
        return
    moved = own.rule is not None or own.on is not None
    if own.weekdays is not None and not moved and not isinstance(job.cadence, Every):
        yield Problem(
            path=(*path, "weekdays"),
            message=f"{job.key} does not come after an interval, so weekdays cannot move it",
            hint='give it days of its own: rule = "FREQ=WEEKLY;BYDAY=SA", or an interval: every = "7 days"',
        )
    if own.window is not None and own.every is None and isinstance(job.cadence, Every):
        span = job.cadence.span
        if own.window.most_days >= span.most_days:
            yield Problem(
                path=(*path, "window"),
                message=f"the window ({own.window}) is not shorter than the interval ({span})",
                hint="write how many days early or late do no harm",
            )


def _in_vain(cadence: ByRule, path: Path) -> Iterator[Problem]:
    """Report a rule that is over before the job begins, or whose months its interval never meets."""
    rule, start = cadence.rule, cadence.start
    ends = [day for day in (rule.until, cadence.until) if day is not None]
    if start is not None and ends and min(ends) < start:
        yield Problem(
            path=(*path, "rule"),
            message=f"the rule ends on {min(ends)}, before the job begins on {start}",
            hint="mend UNTIL, or leave it out",
        )
    elif start is not None and not _meets_a_month(rule, start):
        yield Problem(
            path=(*path, "rule"),
            message=f"every {rule.interval} months from {start} on never meets a month of BYMONTH",
            hint="write FREQ=YEARLY with BYMONTH, or another INTERVAL",
        )


def _meets_a_month(rule: Rule, start: dt.date) -> bool:
    if rule.freq != "MONTHLY" or not rule.bymonth:
        return True
    return any((start.month - 1 + turn * rule.interval) % 12 + 1 in rule.bymonth for turn in range(12))
