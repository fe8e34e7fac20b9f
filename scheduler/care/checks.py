"""Checks that need to know the jobs: overrides of jobs that do not exist, skills that nobody has."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.health import LEAST_QUARANTINE_DAYS
from scheduler.care.registry import RULES
from scheduler.description.site import Enclosure, Site
from scheduler.errors import Path, Problem, clip, nearest


def check(site: Site, enclosures: tuple[Enclosure, ...]) -> Iterator[Problem]:
    """Yield the problems that only the care rules can see; `enclosures` are in the order of the file."""
    for i, enclosure in enumerate(enclosures):
        yield from _overrides(enclosure, ("enclosure", i))
    yield from _skills(site)


def _overrides(enclosure: Enclosure, path: Path) -> Iterator[Problem]:
    for key, override in enclosure.job.items():
        here = (*path, "job", key)
        if key not in RULES:
            close = nearest(key, RULES)
            own = "a duty of your own is an [[enclosure.extra_job]]"
            yield Problem(
                path=here,
                message=f"there is no job {clip(key)}",
                hint=f"nearest: {close}; {own}" if close else f"jobs: {', '.join(RULES)}; {own}",
            )
        every = override.every
        if (
            key == "quarantine-release"
            and every is not None
            and every.days + every.months * 30 < LEAST_QUARANTINE_DAYS
        ):
            yield Problem(
                path=(*here, "every"),
                message=f"a quarantine of {every} is under the minimum of {LEAST_QUARANTINE_DAYS} days (AZA standards 2007)",
                hint=f'write "{LEAST_QUARANTINE_DAYS} days" or more; 90 is the house rule',
            )
    for i, extra in enumerate(enclosure.extra_job):
        if extra.key in RULES:
            yield Problem(
                path=(*path, "extra_job", i, "key"),
                message=f'the key "{extra.key}" belongs to a job of the program',
                hint=f"change that job with [enclosure.job.{extra.key}], or choose another key",
            )


def _skills(site: Site) -> Iterator[Problem]:
    """Report each skill that jobs here ask for and no keeper has: those jobs could never be shared out."""
    if not site.skills_are_used:
        return
    import datetime as dt

    from scheduler.care import jobs

    known = {skill for keeper in site.keepers for skill in keeper.can or ()}
    reported: set[str] = set()
    # Which skills a job asks for does not depend on the day; extra jobs are checked where they stand.
    for job in jobs(site, dt.date(2000, 1, 1)):
        for skill in set(job.skills) - known - reported if job.rank < 1000 else ():
            reported.add(skill)
            yield Problem(
                path=("keeper",),
                message=f'no keeper can "{skill}", which {job.key} of {clip(job.enclosure.name)} asks for',
                hint=f'add "{skill}" to the `can` of a keeper',
            )
