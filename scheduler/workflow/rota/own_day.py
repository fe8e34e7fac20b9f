"""A round, or some of its jobs, on another day of the same keeper: a swap with oneself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from scheduler.errors import UsageError
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.rota.reschedule import Shift, shift
from scheduler.workflow.rota.shares import shares_of
from scheduler.workflow.rota.site_rota import known_of
from scheduler.workflow.rota.swap import HandedOver, named_tasks
from scheduler.workflow.workspace import Workspace


def move_round(
    space: Workspace, name: str, day: dt.date, to: dt.date, words: Sequence[str] = ()
) -> HandedOver:
    """Move jobs of a keeper's round, those that words name or all of them, to another day of that keeper.

    All or nothing, checked against the rules. UsageError says which rule forbids it.
    """
    from scheduler.rota import Assigned
    from scheduler.rota.refusal import sentence

    keeper = pick_named(name, space.site.keepers, "keeper")
    formats = space.site.settings.formats
    if min(day, to) < space.today:
        raise UsageError(f"{formats.date(min(day, to))} is over; today is {formats.date(space.today)}")
    if to == day:
        raise UsageError(f"the round is on {formats.date(to)} already")
    known = known_of(space)
    if known.published is None:
        raise UsageError("no rota is published yet; `pondround rota --publish` does it")
    weeks = -(-((max(known.published.last, day, to) - space.today).days + 1) // 7)
    shares = shares_of(space, weeks, kept={})
    tasks = [t for t in shares.tasks if t.keeper.id == keeper.id and t.day == day]
    if not tasks:
        raise UsageError(f"{keeper.name} has no round on {formats.date(day)} in the published rota")
    round_ = [Assigned(*t.item.ref, t.day, keeper.id) for t in tasks]
    chosen = named_tasks(space.site, shares.jobs, round_, words)
    whys = shift(space, shares, [Shift(a.ref, keeper, to) for a in chosen], all_or_none=True)
    for one, why in zip(chosen, whys, strict=True):
        if why is not None:
            job = shares.jobs[one.ref.job]
            raise UsageError(f"{job.enclosure.name}: {job.title}: {sentence(why, job.title, formats)}")
    titles = {ref: f"{job.enclosure.name}: {job.title}" for ref, job in shares.jobs.items()}
    remark = f"now on {formats.weekday_date(to)}, {formats.weekday_date(day)} before"
    return HandedOver(tuple((one, keeper, keeper) for one in chosen), titles, (remark,))
