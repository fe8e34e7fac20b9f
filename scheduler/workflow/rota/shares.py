"""Who does what from today on, keeper by keeper: what a sync puts into collections."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.history import JobRef, OccurrenceRef
from scheduler.workflow.plan import days_of, make_plan
from scheduler.workflow.rota.publication import renew
from scheduler.workflow.rota.site_rota import (
    EXPORTED_WEEKS,
    MARGIN_DAYS,
    further,
    known_of,
    quarantined_in,
    shown_rota,
    still_to_come,
)
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.rota import Item, Round, Task

FURTHER = dt.timedelta(days=14)
"""A rota of many weeks is published so much at a time, and not a day with each day. House value."""

Kept = Mapping[OccurrenceRef, dt.date]
"""Days to which somebody moved what falls due."""


@dataclass(frozen=True, slots=True)
class Share:
    """What one keeper does, round by round; of a site without keepers it is everybody's."""

    keeper: Keeper | None
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class Shares:
    """Who does what from today on, for a number of weeks.

    `site` is as its record leaves it. `items` are what falls due with the days on which it may be done,
    `tasks` whose they are where there are keepers, and `jobs` the jobs of the plan. `untaken` counts what
    nobody takes.
    """

    site: Site
    shares: tuple[Share, ...]
    items: tuple[Item, ...]
    tasks: tuple[Task, ...]
    jobs: Mapping[JobRef, Job]
    untaken: int


def shares_of(space: Workspace, weeks: int, *, kept: Kept) -> Shares:
    """Return who does what. Without keepers there is no rota: each occurrence is on its day, or where it was
    `kept`.

    The rota is the published one: what people have on their telephones has to hold still. Where none is, or
    two weeks of those that are asked for are missing, it is published.
    """
    last = space.today + dt.timedelta(days=weeks * 7 - 1)
    if space.site.keepers:
        return _shared_out(space, last)
    return _everybodys(space, last, kept)


def _shared_out(space: Workspace, last: dt.date) -> Shares:
    # The same rota as in the calendars, unless more of it is asked for.
    known = known_of(space)
    made = shown_rota(space.site, known, space.today, space.today)
    if made.rota.last < last - FURTHER and (last - space.today).days >= EXPORTED_WEEKS * 7:
        made = further(space.site, known, made, last)
    renew(space, made)
    rounds = [one for one in made.rota.rounds if one.day <= last]
    shares = tuple(
        Share(k, tuple(one for one in rounds if one.keeper.id == k.id)) for k in space.site.keepers
    )
    tasks = tuple(made.rota.tasks())
    untaken = sum(u.item.occurrence.day <= last for u in made.rota.unfilled)
    jobs = {series.job.ref: series.job for series in made.planned.series}
    items = tuple(task.item for task in tasks)
    return Shares(made.planned.site, shares, items, tasks, jobs, untaken)


def _everybodys(space: Workspace, last: dt.date, kept: Kept) -> Shares:
    from scheduler.rota import Round, Task
    from scheduler.rota.availability import Availability
    from scheduler.rota.items import items

    known = known_of(space)
    planned = make_plan(
        space.site, space.today, space.today, (last - space.today).days + 1 + MARGIN_DAYS, known.history
    )
    late = sorted((o for o in planned.done if o.day < space.today), key=lambda o: o.day)
    to_come = [*late, *days_of(planned)]
    found = items(
        [*still_to_come(planned, to_come, kept), *to_come],
        Availability(planned.site),
        space.today,
        last,
        quarantined_in(space.site, known.history),
    )
    nobody = Keeper(name=space.site.settings.name, id=space.site.settings.id)
    rounds = []
    for item in found:
        day = kept.get(item.ref, item.occurrence.day)
        # A day that is over, or no longer in the window, is none.
        day = day if day in item.outer else item.occurrence.day
        rounds.append(Round(day, nobody, (Task(item, day, nobody),)))
    rounds.sort(key=lambda one: one.day)
    jobs = {series.job.ref: series.job for series in planned.series}
    return Shares(planned.site, (Share(None, tuple(rounds)),), tuple(found), (), jobs, 0)
