"""The first occurrence of a small site, as a sync puts it into a collection."""

from __future__ import annotations

import datetime as dt

from scheduler import care
from scheduler.calendar import Options, Writer
from scheduler.description.site import Keeper
from scheduler.plan import occurrences, schedule
from scheduler.rota import Item, Round, Task
from scheduler.sync.resource import Local, local_of
from support.ponds import NOBODY
from support.recorded import load

TODAY = dt.date(2026, 12, 7)
LAST = TODAY + dt.timedelta(days=27)


def first_local(
    text: str = NOBODY, *, to_dos: bool = True, day: dt.date | None = None
) -> tuple[Writer, Local]:
    """Return the first occurrence of a site from a Monday on, as it is to be put for its day or another one."""
    site = load(text)
    series = tuple(schedule(site, list(care.jobs(site)), TODAY, LAST))
    first = next(occurrences(site, series, TODAY, LAST))
    nobody = Keeper(name="Alder Row", id="alder-row")
    task = Task(Item(first, 0, (first.day,)), day or first.day, nobody)
    writer = Writer(site, Options(to_dos=to_dos))
    (made,) = local_of(writer, [Round(task.day, nobody, (task,))])
    return writer, made
