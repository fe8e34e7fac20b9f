"""A checker of rotas that shares nothing with what makes them: the rules again, from the words in which they were asked for.

Of the rota's own code it takes the plain data. Days, windows, skills, minutes and measures are worked out from the site
and the jobs.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.plan import Occurrence
from scheduler.rota import Assigned, Item, Past, Rota, Task

APART = 3
"""Days between two heavy services of one enclosure."""

UNFILLED = 1000.0
"""Minutes that one minute of undone work counts as in the objective."""

STEEP = 200.0
"""The most that one minute more of somebody counts, however small the share."""

CATCH_UP = 0.5
"""The part of a fair load that the past may add or take away."""

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

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

Spans = Mapping[str, Sequence[tuple[dt.date, dt.date]]]
Name = tuple[str, str, str, dt.date]


def check(
    made: Rota,
    site: Site,
    occurrences: Sequence[Occurrence],
    *,
    quarantined: Callable[[str, dt.date], bool],
    absent: Spans | None = None,
    past: Past | None = None,
    published: Sequence[Assigned] = (),
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> list[str]:
    """Return every rule that a rota breaks, a sentence each; nothing where it is right."""
    checker = _Checker(
        made,
        site,
        list(occurrences),
        quarantined,
        absent or {},
        past or Past(),
        published,
        first or made.first,
        last or made.last,
    )
    return [sentence for rule in RULES for sentence in rule(checker)]


@dataclass
class _Checker:
    """What is checked, and what the rules look up in it."""

    made: Rota
    site: Site
    occurrences: list[Occurrence]
    quarantined: Callable[[str, dt.date], bool]
    absent: Spans
    past: Past
    published: Sequence[Assigned]
    first: dt.date
    last: dt.date
    used: Counter[tuple[str, dt.date]] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        for one in self.made.rounds:
            for task in (*one.tasks, *one.helps):
                self.used[one.keeper.id, one.day] += task.item.job.minutes

    @property
    def due(self) -> list[Occurrence]:
        """Return what the rota is of: what falls due in its span, but what was published for a day outside goes with that."""
        found = []
        for o in self.occurrences:
            name = (o.job.enclosure.id, o.job.key, o.job.variant)
            days = [
                a.day
                for a in self.published
                if (a.enclosure, a.job, a.variant, a.due) == (*name, o.since or o.day)
            ]
            valid = days and (o.since is not None or abs((days[0] - o.day).days) <= o.job.window)
            day = days[0] if valid and days[0] >= self.first else o.day
            if self.first <= day <= self.last and o.state != "done" and not self.is_met(o):
                found.append(o)
        return found

    def is_met(self, o: Occurrence) -> bool:
        """Tell whether an open one of a job that goes on from when it was done is done so late that it meets this one too."""
        open_ = next((x for x in self.occurrences if x.series is o.series and x.since is not None), None)
        if not o.series.moves or open_ is None or open_ is o:
            return False
        later = sorted(x.day for x in self.occurrences if x.series is o.series and x.day > open_.day)
        half_way = open_.day + dt.timedelta(days=((later[0] - open_.day).days - 1) // 2)
        soonest = next((d for d in _span(open_.day, self.last) if self.anybody(open_.job, d)), None)
        if soonest is None or soonest <= half_way:
            return False
        gap = min((b - a).days for a, b in pairwise(later)) if len(later) > 1 else 0
        return o.day <= soonest or (o.day - soonest).days < (gap + 1) // 2

    def anybody(self, job: Job, day: dt.date) -> bool:
        """Tell whether anybody could do a job on a day with nothing else to do."""
        return (job.weekdays is None or day.weekday() in job.weekdays) and any(
            self.comes(k, day) and self.can(k, job.skills) and self.has_minutes(k, day) >= job.minutes
            for k in self.site.keepers
        )

    def away(self, keeper: Keeper, day: dt.date) -> bool:
        spans = [(span.first, span.last) for span in keeper.away]
        return any(begin <= day <= end for begin, end in (*spans, *self.absent.get(keeper.id, ())))

    def comes(self, keeper: Keeper, day: dt.date) -> bool:
        own = not keeper.weekdays or WEEKDAYS[day.weekday()] in keeper.weekdays
        return own and not self.away(keeper, day)

    def has_minutes(self, keeper: Keeper, day: dt.date) -> float:
        limit = math.inf if keeper.minutes is None else keeper.minutes
        return limit - (self.past.today.get(keeper.id, 0) if day == self.first else 0)

    def can(self, keeper: Keeper, skills: Sequence[str]) -> bool:
        lists = [k.can for k in self.site.keepers if k.can is not None]
        return not lists or all(skill in (keeper.can or ()) for skill in skills)

    def rounds_in_week(self, keeper: Keeper, day: dt.date) -> set[dt.date]:
        """Return the days of a week on which a keeper is there."""
        return {d for (k, d), _ in self.used.items() if k == keeper.id and _monday(d) == _monday(day)}

    def rounds_left(self, keeper: Keeper, day: dt.date) -> int:
        if keeper.rounds_a_week is None:
            return 7
        gone = self.past.out.get(keeper.id, 0) if _monday(day) == _monday(self.first) else 0
        return keeper.rounds_a_week - gone - len(self.rounds_in_week(keeper, day))

    def window(self, o: Occurrence) -> tuple[dt.date, dt.date]:
        """Return the first and the last day on which an occurrence may be done; what is open waits as long as it must."""
        days = dt.timedelta(days=o.job.window)
        if o.put_off is not None:
            return o.day, o.day + days
        return (o.day, self.last) if o.since is not None else (o.day - days, o.day + days)

    def days_done(self) -> dict[Name, dt.date]:
        """Return the day of every occurrence: of the round that it is in, else the day on which it falls due.

        One that is met by what is open has none.
        """
        found = {_name(o): o.day for o in self.occurrences if not self.is_met(o)}
        found |= {_name(t.item.occurrence): t.day for t in self.made.tasks()}
        for left in self.made.unfilled:
            found.pop(_name(left.item.occurrence), None)
        return found


def _name(o: Occurrence) -> Name:
    return o.job.enclosure.id, o.job.key, o.job.variant, o.day


def _span(first: dt.date, last: dt.date) -> list[dt.date]:
    return [first + dt.timedelta(days=n) for n in range((last - first).days + 1)]


def _class(job: Job) -> int:
    if (job.key, job.variant.partition("-")[0]) in ALARMS and job.recorded_as is not None:
        return 1
    if job.of_young or (job.key == "weigh-measure" and job.variant.startswith("again-")):
        return 3
    return CLASSES.get(job.key, 4)


def _waited(o: Occurrence) -> int:
    return 0 if o.since is None else (o.day - o.since).days


def _monday(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def _label(item: Item) -> str:
    return f"{item.job.enclosure.name} {item.job.key} of {item.occurrence.day}"


def nothing_lost_nothing_doubled(c: _Checker) -> Iterator[str]:
    due = Counter(map(_name, c.due))
    found = Counter(_name(t.item.occurrence) for t in c.made.tasks())
    found.update(_name(left.item.occurrence) for left in c.made.unfilled)
    for name in sorted({*due, *found}):
        if due[name] != found[name]:
            yield f"{' '.join(map(str, name))} falls due {due[name]} times and is there {found[name]} times"


def within_the_window(c: _Checker) -> Iterator[str]:
    for task in c.made.tasks():
        begin, end = c.window(task.item.occurrence)
        if not begin <= task.day <= end:
            yield f"{_label(task.item)} is done on {task.day}, outside {begin} to {end}"
        if not c.first <= task.day <= c.last:
            yield f"{_label(task.item)} is done on {task.day}, outside the rota"


def on_its_own_weekdays(c: _Checker) -> Iterator[str]:
    for task in c.made.tasks():
        job = task.item.job
        # Where it falls due on another day, that is the plan's doing.
        if (
            job.weekdays is not None
            and task.day.weekday() not in job.weekdays
            and task.day != task.item.occurrence.day
        ):
            yield f"{_label(task.item)} is done on a {task.day:%A}, which is none of its days"


def somebody_who_is_there(c: _Checker) -> Iterator[str]:
    for one in c.made.rounds:
        if not c.comes(one.keeper, one.day):
            yield f"{one.keeper.name} does not come on {one.day}"
        if not one.tasks and not one.helps:
            yield f"the round of {one.keeper.name} on {one.day} is empty"
        for task in one.tasks:
            if task.keeper != one.keeper or task.day != one.day:
                yield f"{_label(task.item)} is another's or another day's than its round, {one.keeper.name} on {one.day}"


def somebody_who_can(c: _Checker) -> Iterator[str]:
    for one in c.made.rounds:
        for task in one.tasks:
            if not c.can(one.keeper, task.item.job.skills):
                yield f"{one.keeper.name} cannot do {_label(task.item)}: it asks for {task.item.job.skills}"


def within_the_minutes(c: _Checker) -> Iterator[str]:
    for one in c.made.rounds:
        minutes = c.used[one.keeper.id, one.day]
        if minutes > c.has_minutes(one.keeper, one.day):
            yield f"{one.keeper.name} has {minutes} min on {one.day}, more than {c.has_minutes(one.keeper, one.day)}"
        if one.minutes != minutes:
            yield f"the round of {one.keeper.name} on {one.day} says {one.minutes} min and has {minutes}"


def one_round_a_day_and_no_more_than_agreed(c: _Checker) -> Iterator[str]:
    for (day, who), count in Counter((r.day, r.keeper.id) for r in c.made.rounds).items():
        if count > 1:
            yield f"{who} has {count} rounds on {day}"
    days = sorted({day for _, day in c.used}, key=lambda d: (_monday(d), d))
    for keeper in c.site.keepers:
        for monday in sorted({_monday(d) for d in days}):
            if c.rounds_left(keeper, max(monday, c.first)) < 0 and c.rounds_in_week(keeper, monday):
                yield f"{keeper.name} has more than {keeper.rounds_a_week} rounds in the week of {monday}"


def quarantine_last_and_rooms_in_one_go(c: _Checker) -> Iterator[str]:
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


def services_apart(c: _Checker) -> Iterator[str]:
    done = c.days_done()
    heavy: dict[str, list[Name]] = defaultdict(list)
    for o in c.occurrences:
        if o.job.heavy and _name(o) in done:
            heavy[o.job.enclosure.id].append(_name(o))
    for enclosure, some in heavy.items():
        for at, one in enumerate(some):
            for other in some[at + 1 :]:
                apart, planned = abs((done[one] - done[other]).days), abs((one[3] - other[3]).days)
                if apart < min(APART, planned):
                    yield f"{enclosure}: {one[1]} and {other[1]} are {apart} days apart, due {one[3]} and {other[3]}"


def each_series_in_order(c: _Checker) -> Iterator[str]:
    done = c.days_done()
    by_series: dict[int, list[Name]] = defaultdict(list)
    for o in c.occurrences:
        if _name(o) in done:
            by_series[id(o.series)].append(_name(o))
    for some in by_series.values():
        for one, other in pairwise(sorted(some, key=lambda n: n[3])):
            if done[one] >= done[other]:
                yield f"{' '.join(one[:3])} of {one[3]} is done on {done[one]}, not before that of {other[3]}"


def two_where_one_is_not_enough(c: _Checker) -> Iterator[str]:
    helped = [(t.item.number, one.keeper.id, one.day) for one in c.made.rounds for t in one.helps]
    alone = {task.item.number for task in c.made.alone}
    for task in c.made.tasks():
        item, helper = task.item, task.helper
        if not item.job.needs_two:
            if helper is not None:
                yield f"{_label(item)} needs nobody's help and has that of {helper.name}"
            continue
        if (helper is None) != (item.number in alone):
            yield f"{_label(item)} needs two: it has help, or it stands among those that are done alone"
        if helper is None:
            for other in c.site.keepers:
                if other != task.keeper and _could_help(c, other, task):
                    yield f"{_label(item)} is done alone though {other.name} could help"
            continue
        if helper == task.keeper:
            yield f"{helper.name} helps himself or herself with {_label(item)}"
        if not c.can(helper, ("lifting",)):
            yield f"{helper.name} helps with {_label(item)} and does not lift"
        if helped.count((item.number, helper.id, task.day)) != 1:
            yield f"{_label(item)} is not once in the round of {helper.name}, who helps"
    tasks = {(t.item.number, t.helper.id, t.day) for t in c.made.tasks() if t.helper is not None}
    for number, keeper, day in helped:
        if (number, keeper, day) not in tasks:
            yield f"{keeper} helps on {day} with a task that asks for nobody"


def _could_help(c: _Checker, other: Keeper, task: Task) -> bool:
    there = task.day in c.rounds_in_week(other, task.day) or c.rounds_left(other, task.day) > 0
    spare = c.has_minutes(other, task.day) - c.used[other.id, task.day]
    can = c.comes(other, task.day) and c.can(other, ("lifting",))
    return can and there and spare >= task.item.job.minutes


def loads_are_the_sums(c: _Checker) -> Iterator[str]:
    for keeper in c.site.keepers:
        minutes = sum(m for (k, _), m in c.used.items() if k == keeper.id)
        if c.made.loads.get(keeper.id) != minutes:
            yield f"{keeper.name} has {minutes} min and is said to have {c.made.loads.get(keeper.id)}"
    if set(c.made.loads) != {k.id for k in c.site.keepers}:
        yield f"the loads are of {sorted(c.made.loads)}"


def what_is_left_says_why(c: _Checker) -> Iterator[str]:
    for left in c.made.unfilled:
        if not left.why.strip() or not left.mend.strip():
            yield f"{_label(left.item)} is left and does not say why, or what would mend it"


def what_is_left_nobody_could_take(c: _Checker) -> Iterator[str]:
    done = c.days_done()
    for left in c.made.unfilled:
        for day in _days_open(c, left.item, done):
            for keeper in c.site.keepers:
                if not (c.comes(keeper, day) and c.can(keeper, left.item.job.skills)):
                    continue
                there = day in c.rounds_in_week(keeper, day) or c.rounds_left(keeper, day) > 0
                if there and c.has_minutes(keeper, day) - c.used[keeper.id, day] >= left.item.job.minutes:
                    yield f"{_label(left.item)} is left though {keeper.name} could take it on {day}"


def nothing_urgent_is_left_for_something_less_so(c: _Checker) -> Iterator[str]:
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
                    told = ", ".join(_label(t.item) for t in lower)
                    yield f"{_label(left.item)} is left while {keeper.name} does {told} on {day}"


def what_is_overdue_comes_as_soon_as_it_can(c: _Checker) -> Iterator[str]:
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
                    yield f"{_label(task.item)} is overdue and waits to {task.day} though {keeper.name} has time on {day}"


def _days_open(c: _Checker, left: Item, done: Mapping[Name, dt.date]) -> Iterator[dt.date]:
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
    at = done.get(_name(other))
    same = other.job.enclosure.id == o.job.enclosure.id
    return at is not None and same and abs((at - day).days) < min(APART, abs((other.day - o.day).days))


def measures_are_right(c: _Checker) -> Iterator[str]:
    fairness, keepers = c.made.fairness, c.site.keepers
    if fairness is None:
        return
    shares = [k.share for k in keepers] if any(k.share for k in keepers) else [1.0 for _ in keepers]
    loads = [sum(m for (k, _), m in c.used.items() if k == keeper.id) for keeper in keepers]
    before = _before(c, shares)
    counted = [(x + b) / s for x, b, s in zip(loads, before, shares, strict=True) if s > 0]
    squares = sum(x * x for x in counted)
    jain = sum(counted) ** 2 / (len(counted) * squares) if squares else 1.0
    if abs(jain - fairness.jain) > 1e-9:
        yield f"Jain's index is {jain}, not {fairness.jain}"
    # The sum of all differences, without going through all pairs of thousands of keepers.
    ranked, n = sorted(counted), len(counted)
    differences = 2 * sum(x * (at - (n - 1 - at)) for at, x in enumerate(ranked))
    gini = differences / (2 * n * sum(counted)) if any(counted) else 0.0
    if abs(gini - fairness.gini) > 1e-9:
        yield f"the Gini coefficient is {gini}, not {fairness.gini}"
    of_plan = [x / s for x, s in zip(loads, shares, strict=True) if s > 0]
    spread = (max(of_plan) - min(of_plan)) * len(of_plan) / sum(of_plan) if any(of_plan) else 0.0
    if abs(spread - fairness.spread) > 1e-9:
        yield f"the spread is {spread}, not {fairness.spread}"
    objective = _objective(c, shares, before)
    if abs(objective - fairness.objective) > 1e-6 * max(1.0, objective):
        yield f"the objective is {objective}, not {fairness.objective}"


def _work(c: _Checker) -> int:
    return sum(o.job.minutes for o in c.due)


def _before(c: _Checker, shares: Sequence[float]) -> list[float]:
    """Return what counts of the past: at most half a fair load either way, none below nothing."""
    work, whole = _work(c), sum(shares)
    fair = [s * work / whole for s in shares]
    ahead = [
        min(CATCH_UP * f, max(-CATCH_UP * f, c.past.ahead.get(k.id, 0.0)))
        for k, f in zip(c.site.keepers, fair, strict=True)
    ]
    lift = max([0.0, *(-a / s for a, s in zip(ahead, shares, strict=True) if s > 0)])
    return [max(0.0, a + lift * s) for a, s in zip(ahead, shares, strict=True)]


def _objective(c: _Checker, shares: Sequence[float], before: Sequence[float]) -> float:
    """Return the square of each load, help counted in, over the fair one of the work without it, and what is undone."""
    whole = _work(c) + sum(before)
    total = UNFILLED * sum(left.item.job.minutes for left in c.made.unfilled)
    for keeper, share, past in zip(c.site.keepers, shares, before, strict=True):
        load = sum(m for (k, _), m in c.used.items() if k == keeper.id) + past
        fair = share * whole / sum(shares)
        total += cost_of_one(load, fair)
    return total


def cost_of_one(load: float, fair: float) -> float:
    """Return the square over the fair load as long as its slope, 2 load / fair, is below `STEEP`; from there on a line."""
    if 2.0 * load < STEEP * fair:
        return load * load / fair
    return STEEP * load - STEEP * STEEP * fair / 4.0


def the_bound_is_one(c: _Checker) -> Iterator[str]:
    fairness = c.made.fairness
    if fairness is None:
        return
    if not 0.0 <= fairness.bound <= fairness.objective:
        yield f"the bound {fairness.bound} is not between 0 and the objective {fairness.objective}"
    gap = (fairness.objective - fairness.bound) / fairness.objective if fairness.objective > 1e-9 else 0.0
    if abs(gap - fairness.gap) > 1e-12:
        yield f"the gap is {gap}, not {fairness.gap}"


def in_order(c: _Checker) -> Iterator[str]:
    order = [(r.day, r.keeper.id) for r in c.made.rounds]
    if order != sorted(order):
        yield "the rounds are not in the order of days and keepers"
    if (c.made.first, c.made.last) != (c.first, c.last):
        yield f"the rota is of {c.made.first} to {c.made.last}, not of {c.first} to {c.last}"


def the_job_is_the_plans(c: _Checker) -> Iterator[str]:
    """An item carries the occurrence of the plan: minutes and skills are not changed on the way."""
    jobs: dict[Name, Job] = {_name(o): o.job for o in c.occurrences}
    for item in (*(t.item for t in c.made.tasks()), *(left.item for left in c.made.unfilled)):
        if jobs.get(_name(item.occurrence)) is not item.job:
            yield f"{_label(item)} is another job than the plan's"


def keepers_are_the_sites(c: _Checker) -> Iterator[str]:
    """What a keeper can and when he or she comes is read off the keepers of the rota: they must be those of the site."""
    for one in c.made.rounds:
        for who in (one.keeper, *(t.helper for t in one.tasks if t.helper is not None)):
            if who not in c.site.keepers:
                yield f"{who.name} is no keeper of the site as it is described"


RULES: tuple[Callable[[_Checker], Iterator[str]], ...] = (
    nothing_lost_nothing_doubled,
    the_job_is_the_plans,
    keepers_are_the_sites,
    within_the_window,
    on_its_own_weekdays,
    somebody_who_is_there,
    somebody_who_can,
    within_the_minutes,
    one_round_a_day_and_no_more_than_agreed,
    quarantine_last_and_rooms_in_one_go,
    services_apart,
    each_series_in_order,
    two_where_one_is_not_enough,
    loads_are_the_sums,
    what_is_left_says_why,
    what_is_left_nobody_could_take,
    nothing_urgent_is_left_for_something_less_so,
    what_is_overdue_comes_as_soon_as_it_can,
    measures_are_right,
    the_bound_is_one,
    in_order,
)
