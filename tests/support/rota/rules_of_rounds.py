"""Rules of rounds: who does what on which day, in which order, and that nothing is lost or doubled."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import pairwise

from scheduler.care import Job
from scheduler.description.site import Keeper
from scheduler.rota import Task
from support.rota.checked import APART, Checked, Name, label_of, monday_of, name_of


def nothing_lost_nothing_doubled(c: Checked) -> Iterator[str]:
    due = Counter(map(name_of, c.due))
    found = Counter(name_of(t.item.occurrence) for t in c.made.tasks())
    found.update(name_of(left.item.occurrence) for left in c.made.unfilled)
    for name in sorted({*due, *found}):
        if due[name] != found[name]:
            yield f"{' '.join(map(str, name))} falls due {due[name]} times and is there {found[name]} times"


def within_the_window(c: Checked) -> Iterator[str]:
    for task in c.made.tasks():
        begin, end = c.window(task.item.occurrence)
        if not begin <= task.day <= end:
            yield f"{label_of(task.item)} is done on {task.day}, outside {begin} to {end}"
        if not c.first <= task.day <= c.last:
            yield f"{label_of(task.item)} is done on {task.day}, outside the rota"


def on_its_own_weekdays(c: Checked) -> Iterator[str]:
    for task in c.made.tasks():
        job = task.item.job
        # Where it falls due on another day, that is the plan's doing.
        if (
            job.weekdays is not None
            and task.day.weekday() not in job.weekdays
            and task.day != task.item.occurrence.day
        ):
            yield f"{label_of(task.item)} is done on a {task.day:%A}, which is none of its days"


def somebody_who_is_there(c: Checked) -> Iterator[str]:
    for one in c.made.rounds:
        if not c.comes(one.keeper, one.day):
            yield f"{one.keeper.name} does not come on {one.day}"
        if not one.tasks and not one.helps:
            yield f"the round of {one.keeper.name} on {one.day} is empty"
        for task in one.tasks:
            if task.keeper != one.keeper or task.day != one.day:
                yield f"{label_of(task.item)} is another's or another day's than its round, {one.keeper.name} on {one.day}"


def somebody_who_can(c: Checked) -> Iterator[str]:
    for one in c.made.rounds:
        for task in one.tasks:
            if not c.can(one.keeper, task.item.job.skills):
                yield f"{one.keeper.name} cannot do {label_of(task.item)}: it asks for {task.item.job.skills}"


def within_the_minutes(c: Checked) -> Iterator[str]:
    for one in c.made.rounds:
        minutes = c.used[one.keeper.id, one.day]
        if minutes > c.has_minutes(one.keeper, one.day):
            yield f"{one.keeper.name} has {minutes} min on {one.day}, more than {c.has_minutes(one.keeper, one.day)}"
        if one.minutes != minutes:
            yield f"the round of {one.keeper.name} on {one.day} says {one.minutes} min and has {minutes}"


def one_round_a_day_and_no_more_than_agreed(c: Checked) -> Iterator[str]:
    for (day, who), count in Counter((r.day, r.keeper.id) for r in c.made.rounds).items():
        if count > 1:
            yield f"{who} has {count} rounds on {day}"
    days = sorted({day for _, day in c.used}, key=lambda d: (monday_of(d), d))
    for keeper in c.site.keepers:
        for monday in sorted({monday_of(d) for d in days}):
            if c.rounds_left(keeper, max(monday, c.first)) < 0 and c.rounds_in_week(keeper, monday):
                yield f"{keeper.name} has more than {keeper.rounds_a_week} rounds in the week of {monday}"


def quarantine_last_and_rooms_in_one_go(c: Checked) -> Iterator[str]:
    for one in c.made.rounds:
        sick = [c.quarantined(t.item.job.enclosure.id, t.day) for t in one.tasks]
        if sick != sorted(sick):
            yield f"{one.keeper.name} goes on from quarantine to others on {one.day}"
        for isolated in (False, True):
            for part in ("morning", "evening"):
                rooms = [
                    t.item.job.enclosure.room
                    for t, s in zip(one.tasks, sick, strict=True)
                    if s == isolated and t.item.job.part == part
                ]
                visits = [room for at, room in enumerate(rooms) if at == 0 or rooms[at - 1] != room]
                if len(visits) != len(set(visits)):
                    yield f"{one.keeper.name} goes to and fro between rooms on {one.day}: {visits}"


def services_apart(c: Checked) -> Iterator[str]:
    done = c.days_done()
    heavy: dict[str, list[Name]] = defaultdict(list)
    for o in c.occurrences:
        if o.job.heavy and name_of(o) in done:
            heavy[o.job.enclosure.id].append(name_of(o))
    for enclosure, some in heavy.items():
        for at, one in enumerate(some):
            for other in some[at + 1 :]:
                apart, planned = abs((done[one] - done[other]).days), abs((one[3] - other[3]).days)
                if apart < min(APART, planned):
                    yield f"{enclosure}: {one[1]} and {other[1]} are {apart} days apart, due {one[3]} and {other[3]}"


def each_series_in_order(c: Checked) -> Iterator[str]:
    done = c.days_done()
    by_series: dict[int, list[Name]] = defaultdict(list)
    for o in c.occurrences:
        if name_of(o) in done:
            by_series[id(o.series)].append(name_of(o))
    for some in by_series.values():
        for one, other in pairwise(sorted(some, key=lambda n: n[3])):
            if done[one] >= done[other]:
                yield f"{' '.join(one[:3])} of {one[3]} is done on {done[one]}, not before that of {other[3]}"


def two_where_one_is_not_enough(c: Checked) -> Iterator[str]:
    helped = [(t.item.number, one.keeper.id, one.day) for one in c.made.rounds for t in one.helps]
    alone = {task.item.number for task in c.made.alone}
    for task in c.made.tasks():
        item, helper = task.item, task.helper
        if not item.job.needs_two:
            if helper is not None:
                yield f"{label_of(item)} needs nobody's help and has that of {helper.name}"
            continue
        if (helper is None) != (item.number in alone):
            yield f"{label_of(item)} needs two: it has help, or it stands among those that are done alone"
        if helper is None:
            for other in c.site.keepers:
                if other != task.keeper and _could_help(c, other, task):
                    yield f"{label_of(item)} is done alone though {other.name} could help"
            continue
        if helper == task.keeper:
            yield f"{helper.name} helps himself or herself with {label_of(item)}"
        if not c.can(helper, ("lifting",)):
            yield f"{helper.name} helps with {label_of(item)} and does not lift"
        if helped.count((item.number, helper.id, task.day)) != 1:
            yield f"{label_of(item)} is not once in the round of {helper.name}, who helps"
    tasks = {(t.item.number, t.helper.id, t.day) for t in c.made.tasks() if t.helper is not None}
    for number, keeper, day in helped:
        if (number, keeper, day) not in tasks:
            yield f"{keeper} helps on {day} with a task that asks for nobody"


def _could_help(c: Checked, other: Keeper, task: Task) -> bool:
    there = task.day in c.rounds_in_week(other, task.day) or c.rounds_left(other, task.day) > 0
    spare = c.has_minutes(other, task.day) - c.used[other.id, task.day]
    can = c.comes(other, task.day) and c.can(other, ("lifting",))
    return can and there and spare >= task.item.job.minutes


def in_order(c: Checked) -> Iterator[str]:
    order = [(r.day, r.keeper.id) for r in c.made.rounds]
    if order != sorted(order):
        yield "the rounds are not in the order of days and keepers"
    if (c.made.first, c.made.last) != (c.first, c.last):
        yield f"the rota is of {c.made.first} to {c.made.last}, not of {c.first} to {c.last}"


def the_job_is_the_plans(c: Checked) -> Iterator[str]:
    """An item carries the occurrence of the plan: minutes and skills are not changed on the way."""
    jobs: dict[Name, Job] = {name_of(o): o.job for o in c.occurrences}
    for item in (*(t.item for t in c.made.tasks()), *(left.item for left in c.made.unfilled)):
        if jobs.get(name_of(item.occurrence)) is not item.job:
            yield f"{label_of(item)} is another job than the plan's"


def keepers_are_the_sites(c: Checked) -> Iterator[str]:
    """What a keeper can and when he or she comes is read off the keepers of the rota: they must be those of the site."""
    for one in c.made.rounds:
        for who in (one.keeper, *(t.helper for t in one.tasks if t.helper is not None)):
            if who not in c.site.keepers:
                yield f"{who.name} is no keeper of the site as it is described"
