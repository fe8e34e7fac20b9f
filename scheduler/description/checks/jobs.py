"""The cadence and the skills of the keeper's own changes and duties."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

from scheduler.description.fields import WEEKDAY_NAMES
from scheduler.description.site import (
    ExtraJob,
    JobOverride,
    Keeper,
)
from scheduler.errors import Path, Problem, nearest

_SOME_DAY = dt.date(2024, 1, 1)


def cadence(
    job: JobOverride | ExtraJob, path: Path, start: dt.date | None, *, required: bool
) -> Iterator[Problem]:
    """Yield the problems of a cadence; `required` where there has to be one."""
    given = [name for name in ("every", "rule", "on") if getattr(job, name) is not None]
    if len(given) > 1:
        yield Problem(
            path=(*path, given[1]), message=f"found {' and '.join(given)} together", hint="keep one of them"
        )
    if required and not given:
        yield Problem(path=path, message="says neither every, rule nor on", hint='add every = "6 weeks"')
    if job.every is not None and job.weekdays is not None:
        window = job.window.most_days if job.window is not None else 0
        if job.every.days and job.every.days % 7 and job.every.days + window < _longest_wait(job.weekdays):
            yield Problem(
                path=(*path, "weekdays"),
                message=(
                    f"every {job.every} cannot be kept on {', '.join(job.weekdays)} alone, even {window} "
                    "day(s) late"
                ),
                hint="name more days, or a longer interval",
            )
    if job.weekdays is not None and (job.rule is not None or job.on is not None):
        yield Problem(
            path=(*path, "weekdays"),
            message="weekdays go with `every`, not with rule or on",
            hint="put the days into the rule: BYDAY=SA",
        )
    if job.every is not None and job.window is not None and job.window.most_days >= job.every.most_days:
        yield Problem(
            path=(*path, "window"),
            message=f"the window ({job.window}) is not shorter than the interval ({job.every})",
            hint="write how many days early or late do no harm",
        )
    # Whether an interval meets the other parts depends on the job's first day, which the care rules know.
    if job.rule is not None and not replace(job.rule, interval=1).happens(_SOME_DAY):
        yield Problem(path=(*path, "rule"), message="the rule never happens", hint="mend its BY parts")
    if job.on is not None and start is not None and max(job.on) < start:
        yield Problem(
            path=(*path, "on"),
            involves=(("site", "start"),),
            message=f"every day is before {start}, when the plan starts",
            hint="mend the year, or leave site.start out",
        )


def skills(extra: ExtraJob, path: Path, keepers: tuple[Keeper, ...]) -> Iterator[Problem]:
    """Yield a problem for each skill of an extra job that no keeper has."""
    known = {skill for keeper in keepers for skill in keeper.can or ()}
    # As long as no keeper lists what he can, everybody can do everything.
    for skill in extra.can if any(keeper.can is not None for keeper in keepers) else ():
        if skill not in known:
            close = nearest(skill, known)
            hint = f'nearest: "{close}"' if close else f'add "{skill}" to the `can` of a keeper'
            yield Problem(
                path=(*path, "can"), involves=(("keeper",),), message=f'no keeper can "{skill}"', hint=hint
            )


def _longest_wait(weekdays: tuple[str, ...]) -> int:
    days = sorted({WEEKDAY_NAMES.index(d) for d in weekdays})
    return max((b - a for a, b in zip(days, [*days[1:], days[0] + 7], strict=True)), default=7)
