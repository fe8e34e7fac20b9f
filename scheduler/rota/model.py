"""What a rota is: rounds, what nobody takes, and how good it is. Plain data."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduler.care import Job, urgency
from scheduler.description.site import Keeper
from scheduler.history import OccurrenceRef
from scheduler.plan import Occurrence

Slot = tuple[dt.date, int]
"""(day, number of the keeper)"""


@dataclass(frozen=True, slots=True)
class Item:
    """One occurrence that somebody has to take: the days on which it is done, in order, and its place in the
    plan.

    `outer` are the days of its whole window, for when nobody has the minutes on the others.
    """

    occurrence: Occurrence
    number: int
    days: tuple[dt.date, ...]
    quarantine: bool = False
    outer: tuple[dt.date, ...] = ()

    @property
    def job(self) -> Job:
        """Return the job."""
        return self.occurrence.job

    @property
    def due(self) -> dt.date:
        """Return the day on which it fell due, also where it is open since."""
        return self.occurrence.due

    @property
    def ref(self) -> OccurrenceRef:
        """Return the identity of the occurrence."""
        return self.occurrence.ref

    @property
    def waited(self) -> int:
        """Return for how many days it is open already."""
        return (self.occurrence.day - self.due).days

    @property
    def rank(self) -> tuple[int, int]:
        """Return how urgent it is, the least first: by its class, and within that by the days for which it is
        open."""
        return urgency(self.job), -self.waited


Assignment = tuple[Item, Slot]


@dataclass(frozen=True, slots=True)
class Task:
    """An item in somebody's round. `helper` lends a hand with what one person should not lift."""

    item: Item
    day: dt.date
    keeper: Keeper
    helper: Keeper | None = None


@dataclass(frozen=True, slots=True)
class Round:
    """Everything that one keeper does at the site on one day, in the order in which it is done.

    `helps` are tasks of others in which the keeper lends a hand; they count as minutes and stand in the
    other's order.
    """

    day: dt.date
    keeper: Keeper
    tasks: tuple[Task, ...]
    helps: tuple[Task, ...] = ()

    @property
    def minutes(self) -> int:
        """Return the minutes of all that is done."""
        return sum(task.item.job.minutes for task in (*self.tasks, *self.helps))


@dataclass(frozen=True, slots=True)
class Unfilled:
    """An occurrence that nobody takes: why, and what would mend it."""

    item: Item
    why: str
    mend: str


@dataclass(frozen=True, slots=True)
class Fairness:
    """How good the rota is.

    `objective` is what the weeks' programs cost together, in minutes, `bound` what no rota of these weeks,
    each after the ones before it, can go below. `jain` and `gini` are of the minutes over the share, those of
    the log counted in. `spread` is the largest less the least minutes of the plan over their fair share, as a
    part of it. `coarse` are the keepers, by id, of whose fair minutes a single job is more than the whole:
    there the bound says little. `by_class`: what is left is less urgent than something that is done, and the
    bound is that of rotas which leave the same.
    """

    objective: float = 0.0
    bound: float = 0.0
    jain: float = 1.0
    gini: float = 0.0
    spread: float = 0.0
    coarse: tuple[str, ...] = ()
    by_class: bool = False

    @property
    def gap(self) -> float:
        """Return how far the objective may be above what is possible, as a part of it."""
        return (self.objective - self.bound) / self.objective if self.objective > 1e-9 else 0.0


@dataclass(frozen=True, slots=True)
class Assigned:
    """A task as it was published: which job is done on which day by whom."""

    enclosure: str
    job: str
    variant: str
    due: dt.date
    day: dt.date
    keeper: str

    @property
    def ref(self) -> OccurrenceRef:
        """Return the identity of the occurrence."""
        return OccurrenceRef(self.enclosure, self.job, self.variant, self.due)


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What the log says of the keepers, by their ids.

    `ahead`: minutes that somebody did beyond a fair share, since the first entry. `knows`: minutes spent in
    an enclosure of late. `turns`: how often somebody did a job of late. `today`: minutes already done today.
    `out`: days of this week, before today, on which somebody was there.
    """

    ahead: Mapping[str, float] = field(default_factory=dict)
    knows: Mapping[tuple[str, str], float] = field(default_factory=dict)
    turns: Mapping[tuple[str, str], int] = field(default_factory=dict)
    today: Mapping[str, int] = field(default_factory=dict)
    out: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rota:
    """Who does what from `first` to `last`, both included.

    Nothing is `possible` and no `fairness` is known where nobody judged it.
    """

    first: dt.date
    last: dt.date
    rounds: tuple[Round, ...]
    unfilled: tuple[Unfilled, ...]
    alone: tuple[Task, ...]
    loads: Mapping[str, int]
    possible: Mapping[str, float]
    fairness: Fairness | None

    def tasks(self) -> list[Task]:
        """Return all tasks, round by round."""
        return [task for one in self.rounds for task in one.tasks]

    def assigned(self) -> list[Assigned]:
        """Return the tasks as they are published."""
        return [Assigned(*task.item.ref, task.day, task.keeper.id) for task in self.tasks()]
