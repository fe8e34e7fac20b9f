"""Rules of what nobody takes and of what is late: nobody could have taken it, and nothing less urgent comes first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping

from scheduler.care import Job
from scheduler.plan import Occurrence
from scheduler.rota import Item
from support.rota.checked import APART, Checked, Name, label_of, name_of

CLASSES = {
    "daily-look": 2, "quarantine-watch": 2, "feed": 2,
    "water-change": 3, "water-test": 3, "cycle-test": 3, "ammonia-dose": 3, "faecal-test": 3, "quarantine-weigh": 3,
}  # fmt: skip
"""What goes to animals first: 1 alarms, 2 looking and feeding, 3 changes, tests and weighing, 4 the rest."""

ALARMS = {
    ("water-change", "alarm"),
    ("water-test", "alarm"),
    ("vet-check", "weight"),
    ("heater-check", "temperature"),
}
"""By key and the first word of the variant."""


def _class(job: Job) -> int:
    if (job.key, job.variant.partition("-")[0]) in ALARMS and job.recorded_as is not None:
        return 1
    if job.of_young or (job.key == "weigh-measure" and job.variant.startswith("again-")):
        return 3
    return CLASSES.get(job.key, 4)


def _waited(o: Occurrence) -> int:
    return 0 if o.since is None else (o.day - o.since).days


def what_is_left_says_why(c: Checked) -> Iterator[str]:
    for left in c.made.unfilled:
        if not left.why.strip() or not left.mend.strip():
            yield f"{label_of(left.item)} is left and does not say why, or what would mend it"


def what_is_left_nobody_could_take(c: Checked) -> Iterator[str]:
    done = c.days_done()
    for left in c.made.unfilled:
        for day in _days_open(c, left.item, done):
            for keeper in c.site.keepers:
                if not (c.comes(keeper, day) and c.can(keeper, left.item.job.skills)):
                    continue
                there = day in c.rounds_in_week(keeper, day) or c.rounds_left(keeper, day) > 0
                if there and c.has_minutes(keeper, day) - c.used[keeper.id, day] >= left.item.job.minutes:
                    yield f"{label_of(left.item)} is left though {keeper.name} could take it on {day}"


def nothing_urgent_is_left_for_something_less_so(c: Checked) -> Iterator[str]:
    """Alarms before food, food before changes, changes before the rest; and of one class what is open for longer."""
    done = c.days_done()
    rounds = {(r.keeper.id, r.day): r for r in c.made.rounds}
    for left in c.made.unfilled:
        own = (_class(left.item.job), -_waited(left.item.occurrence))
        for day in _days_open(c, left.item, done):
            for keeper in c.site.keepers:
                if not (c.comes(keeper, day) and c.can(keeper, left.item.job.skills)):
                    continue
                there = rounds.get((keeper.id, day))
                if there is None:
                    continue
                lower = [t for t in there.tasks if (_class(t.item.job), -_waited(t.item.occurrence)) > own]
                spare = c.has_minutes(keeper, day) - c.used[keeper.id, day]
                if lower and spare + sum(t.item.job.minutes for t in lower) >= left.item.job.minutes:
                    told = ", ".join(label_of(t.item) for t in lower)
                    yield f"{label_of(left.item)} is left while {keeper.name} does {told} on {day}"


def what_is_overdue_comes_as_soon_as_it_can(c: Checked) -> Iterator[str]:
    done = c.days_done()
    for task in c.made.tasks():
        o = task.item.occurrence
        if o.state != "overdue":
            continue
        for day in _days_open(c, task.item, done):
            for keeper in c.site.keepers:
                if day >= task.day or not (c.comes(keeper, day) and c.can(keeper, o.job.skills)):
                    continue
                there = day in c.rounds_in_week(keeper, day) or c.rounds_left(keeper, day) > 0
                if there and c.has_minutes(keeper, day) - c.used[keeper.id, day] >= o.job.minutes:
                    yield f"{label_of(task.item)} is overdue and waits to {task.day} though {keeper.name} has time on {day}"


def _days_open(c: Checked, left: Item, done: Mapping[Name, dt.date]) -> Iterator[dt.date]:
    """Yield the days on which an item that is left could be done, with all others where they are.

    Each day of a series belongs to the occurrence that falls due nearest to it; a day in the middle to none. How far a
    heavy service may move hangs on all the services of its enclosure: there the item's own days are taken.
    """
    o = left.occurrence
    begin, end = (max(c.window(o)[0], c.first), min(c.window(o)[1], c.last))
    others = [
        x
        for x in c.occurrences
        if x is not o and not c.is_met(x) and (x.series is o.series or (x.job.heavy and o.job.heavy))
    ]
    day = begin
    while day <= end:
        own = o.job.weekdays is None or day.weekday() in o.job.weekdays
        own = own and (not o.job.heavy or day in (*left.days, *left.outer))
        if own and not any(_clashes(o, day, x, done) for x in others):
            yield day
        day += dt.timedelta(days=1)


def _clashes(o: Occurrence, day: dt.date, other: Occurrence, done: Mapping[Name, dt.date]) -> bool:
    if other.series is o.series:
        return abs((other.day - day).days) <= abs((o.day - day).days)
    at = done.get(name_of(other))
    same = other.job.enclosure.id == o.job.enclosure.id
    return at is not None and same and abs((at - day).days) < min(APART, abs((other.day - o.day).days))
