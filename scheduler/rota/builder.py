"""The rota: week after week, what was published first, then the rest as fairly as it can be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property, partial

from scheduler.care import LEAST_URGENT, urgency
from scheduler.description.site import Site
from scheduler.errors import UsageError
from scheduler.history import OccurrenceRef
from scheduler.plan import Occurrence
from scheduler.rota import incumbent
from scheduler.rota.availability import Absences, Roster
from scheduler.rota.capacity import Gaps
from scheduler.rota.consolidation import Trimming, whole_items
from scheduler.rota.eligibility import can_anybody
from scheduler.rota.fairness import gini, jain, spread
from scheduler.rota.grouping import Groups, grouped
from scheduler.rota.items import Quarantined, items
from scheduler.rota.matching import Assigning, Slot
from scheduler.rota.model import Assigned, Fairness, Item, Past, Rota
from scheduler.rota.repair import Repair, by_class
from scheduler.rota.rounds import rounds
from scheduler.rota.targets import UNFILLED, Level, cost, level
from scheduler.rota.unfilled import explain
from scheduler.rota.week_program import Key, Week, WeekProgram
from scheduler.rota.weeks import Weeks, days_of_week, inside, monday_of, widened

NODES = 100
"""How far the search for whole items goes in a week; alike on every machine."""

CATCH_UP = 0.5
"""How much of a fair load somebody makes up for, or is let off, in one rota. House value."""

FULL = 0.95
"""How full a keeper's days can be made with whole jobs; who needs more of them later does more before. House value."""

MOST_KEEPERS = 300
"""With more, those take part to whom most is due, of each set of days and skills, so that it ends in time."""

Taken = list[tuple[Item, Slot]]

Targets = Callable[[], list[float]]
"""What each keeper should do in a week, in minutes."""


def assign(
    site: Site,
    occurrences: Iterable[Occurrence],
    first: dt.date,
    last: dt.date,
    *,
    quarantined: Quarantined,
    past: Past | None = None,
    published: Sequence[Assigned] = (),
    absent: Absences | None = None,
    left: Collection[OccurrenceRef] = (),
    seconds: float = 60.0,
    judged: bool = True,
) -> Rota:
    """Return who does what of the occurrences that fall due from `first` to `last`, both included.

    Occurrences before and after, and those that are done, tell how far others may move. What was `published` stays
    wherever no rule forbids it; `absent` are days on which keepers cannot come besides those of the description; what was
    published as `left` is taken by nobody as long as nobody has room for it. After `seconds` each week is taken as far as
    it was. Unless it is to be `judged` nothing is said of how fair it is, which is most of the time where nothing is new.
    UsageError where there is no keeper.
    """
    if not site.keepers:
        raise UsageError(
            "the description has no keepers, so that everything is yours; write [[keeper]] with a name for each person"
        )
    past = past or Past()
    roster = Roster(site, absent, first, past, most=MOST_KEEPERS)
    found = items(occurrences, roster, first, last, quarantined, published=published)
    wished = incumbent.slots(found, published, roster)
    held = incumbent.still_hold(found, wished, roster, past.out, first)
    stuck = {item.number for item in found if item.number not in held and item.ref in left}
    making = _Making(
        roster, found, first, last, past=past, wished=wished, held=held, stuck=stuck, seconds=seconds
    )
    making.run()
    return making.rota(judged=judged)


class _Making:
    """A rota in the making."""

    def __init__(
        self,
        roster: Roster,
        found: list[Item],
        first: dt.date,
        last: dt.date,
        *,
        past: Past,
        wished: Mapping[int, Slot],
        held: Mapping[int, Slot],
        stuck: Collection[int],
        seconds: float,
    ) -> None:
        self.roster, self.past, self.first, self.last = roster, past, first, last
        self.wished, self.held = wished, held
        self.seconds = seconds
        # What nobody could do on any day is left at once: it would only stand in the way of sharing out the rest.
        self.hopeless = [i for i in found if not can_anybody(roster, i.job, {*i.days, *i.outer})]
        none = {item.number for item in self.hopeless}
        found = [item for item in found if item.number not in none]
        self.found = found
        weeks = Weeks(first, last)
        for item in found:
            weeks.add(item, roster, held[item.number][0] if item.number in held else None)
        self.mondays = list(weeks)
        self.undone: list[Item] = []
        self.stuck = stuck
        self.total = minutes_of(found) + minutes_of(self.hopeless)
        shares = [keeper.share for keeper in roster.keepers]
        # Where nobody has a share, all have the same.
        self.shares = shares if any(shares) else [1.0] * len(shares)
        self.before = self._before()
        # Those who take no part because there are so many of them have a share too.
        rest = [k.share for k in roster.site.keepers if k not in roster.keepers] if roster.few else []
        self.resting = [share for share in rest if share > 0.0]
        whole = (self.total + sum(self.before)) / (sum(self.shares) + sum(self.resting))
        self.fair = [share * whole for share in self.shares]
        self.room = self._room_by_week()
        self.loads = [0] * len(roster.keepers)
        self.taken: Taken = []
        self.assigning = Assigning(roster, past, wished)

    def _before(self) -> list[float]:
        """Return the minutes that count already: what each is ahead, over the one who is furthest behind."""
        fair = self.total / sum(self.shares)
        ahead = [
            max(-CATCH_UP * fair * s, min(CATCH_UP * fair * s, self.past.ahead.get(k.id, 0.0)))
            for k, s in zip(self.roster.keepers, self.shares, strict=True)
        ]
        base = max((-a / s for a, s in zip(ahead, self.shares, strict=True) if s > 0.0), default=0.0)
        return [max(0.0, a + max(0.0, base) * s) for a, s in zip(ahead, self.shares, strict=True)]

    @cached_property
    def level(self) -> Level:
        """The fairest loads, week by week: asked for only where something is to be shared out, or the rota judged."""
        roster = self.roster
        weeks = [
            ([r[number] for r in self.room], grouped(roster, inside(monday, own)))
            for number, (monday, own) in enumerate(self.mondays)
        ]
        everything = [widened(item) for _, own in self.mondays for item in own]
        # Fair is what can be done; what it costs is reckoned of all work.
        part = (minutes_of(everything) + sum(self.before)) / ((self.total + sum(self.before)) or 1.0)
        return level(roster, weeks, self.before, [fair * part for fair in self.fair])

    def _least(self, left: Collection[int]) -> float:
        """Return what no rota of the span costs less than, of those that leave these items."""
        undone = [*self.hopeless, *(item for item in self.found if item.number in left)]
        everything = [widened(item) for item in self.found if item.number not in left]
        whole = [([sum(r) for r in self.room], grouped(self.roster, everything))]
        # Of a few of many keepers no more is known than that all could be fair.
        least = (
            float(minutes_of(everything))
            if self.resting
            else level(self.roster, whole, self.before, self.fair).bound
        )
        return least + UNFILLED * minutes_of(undone)

    def run(self) -> None:
        """Share out all weeks."""
        done = 0
        carried: list[Item] = []
        for number, (monday, own) in enumerate(self.mondays):
            mine = [*carried, *(item for item in own if item.number not in self.stuck)]
            self.undone += [item for item in own if item.number in self.stuck]
            done += sum(item.job.minutes for item in own)
            targets = partial(self._targets, done, number + 1)
            left = self._share_out(monday, mine, targets)
            following = monday + dt.timedelta(days=7)
            carried = [item for item in left if item.days[-1] >= following]
            self.undone += [item for item in left if item.days[-1] < following]
        self.undone += carried
        self._repair()

    def _repair(self) -> None:
        """Look at the span as a whole: what is left, what is more urgent than what is done, and what is overdue."""
        gaps = Gaps(self.roster, self.taken, self.past.out, self.first)

        def loads() -> list[float]:
            found = [0] * len(self.loads)
            for (_, keeper), minutes in gaps.used.items():
                found[keeper] += minutes
            return [load / (share or 0.01) for load, share in zip(found, self.shares, strict=True)]

        left = Repair(gaps, loads).run(self.found, self.undone)
        self.undone = [*self.hopeless, *left]
        self.taken = [(item, gaps.slots[item.number]) for item in self.found if item.number in gaps.slots]
        done = min((urgency(item.job) for item, _ in self.taken), default=LEAST_URGENT)
        # Not the cost but the class decided what is left: the bound is that of all rotas which leave the same.
        by_class = any(urgency(item.job) > done for item in left)
        self.left_by_class = {item.number for item in left} if by_class else set[int]()

    def _room_by_week(self) -> list[list[float]]:
        """Return the minutes that each keeper has in each week."""
        found = []
        for keeper in self.roster.keepers:
            per_week = []
            for monday, _ in self.mondays:
                days = days_of_week(monday, self.first, self.last)
                room = sorted((self.roster.minutes(keeper, day) for day in days), reverse=True)
                per_week.append(float(sum(room[: keeper.rounds_a_week])))
            found.append(per_week)
        return found

    def _targets(self, done: float, weeks: int) -> list[float]:
        """Return what each should do in a week: what is fair by its end, and no less than the later weeks have no room for.

        `done` are the minutes of all work by the end of it, and `weeks` how many have passed by then.
        """
        room = self.room
        raw = [
            load * sum(r[:weeks]) / (sum(r) or 1.0) for load, r in zip(self.level.loads, room, strict=True)
        ]
        scale = done / sum(raw) if sum(raw) > 0.0 else 0.0
        later = [load - FULL * sum(r[weeks:]) for load, r in zip(self.level.loads, room, strict=True)]
        return [
            max(fair * scale, least) - load for fair, least, load in zip(raw, later, self.loads, strict=True)
        ]

    def _share_out(self, monday: dt.date, own: list[Item], targets: Targets) -> list[Item]:
        """Share out one week; return what is left."""
        whole = {item.number: item for item in own}
        mine = inside(monday, own)
        # What gave way in the week before, and is carried into this one, is held no more.
        held = {n: slot for n, slot in self.held.items() if monday_of(slot[0]) == monday}
        kept = [(item, held[item.number]) for item in mine if item.number in held]
        free = [item for item in mine if item.number not in held]
        groups, left, counts = self._solve(monday, free, kept, targets, {})
        if left:
            # The rest of its window, for what nobody has the minutes for.
            free = inside(monday, [widened(whole[item.number]) for item in free])
            found = self._solve(monday, free, kept, targets, {})
            if by_class(found[1]) < by_class(left):
                groups, left, counts = found
        if left and kept:
            # What was published gives way where something would be left undone by it, and only there.
            was = {item.number: slot for item, slot in kept}
            found = self._solve(monday, [*free, *(item for item, _ in kept)], [], targets, was)
            if by_class(found[1]) < by_class(left):
                (groups, left, counts), kept = found, []
        for item, slot in kept:
            self.assigning.take(item, slot)
        taken = [*kept, *self.assigning.assign(groups, counts)]
        for item, (_, keeper) in taken:
            self.loads[keeper] += item.job.minutes
        self.taken += [(whole[item.number], slot) for item, slot in taken]
        given = {item.number for item, _ in taken}
        assert len(given) == len(mine) - len(left)
        return [widened(item) for item in own if item.number not in given]

    def _solve(
        self, monday: dt.date, free: list[Item], kept: Taken, asked: Targets, was: Mapping[int, Slot]
    ) -> tuple[Groups, list[Item], Mapping[Key, int]]:
        """Return the groups of the free items, as many of their items as are left, and the counts."""
        if not free:
            return {}, [], {}
        roster, days = self.roster, days_of_week(monday, self.first, self.last)
        used: dict[tuple[int, dt.date], int] = {}
        targets = asked()
        for item, (day, keeper) in kept:
            used[keeper, day] = used.get((keeper, day), 0) + item.job.minutes
            targets[keeper] -= item.job.minutes
        room = {
            (n, day): roster.minutes(roster.keepers[n], day) - used.get((n, day), 0)
            for n in range(len(roster.keepers))
            for day in days
            if roster.comes(roster.keepers[n], day)
        }
        # The most urgent of those that are alike come first, and those that were published: what is left is of the end.
        groups = {
            kind: sorted(some, key=lambda i: (i.rank, i.number not in self.wished, i.number))
            for kind, some in grouped(roster, free).items()
        }
        mean = sum(self.shares) / len(self.shares)
        there = frozenset((keeper, day, item.quarantine) for item, (day, keeper) in kept)
        week = Week(
            room,
            targets,
            [s / mean for s in self.shares],
            there,
            _counted(groups, was),
            self._rounds_left(monday, {(k, day) for k, day, _ in there}),
        )
        built = WeekProgram(groups, week)
        trimming = Trimming(built)
        trimming.run()
        solved = whole_items(built, trimming, seconds=self.seconds / len(self.mondays), nodes=NODES)
        counts = {} if solved is None else dict(built.counts(solved.values))
        taken: dict[int, int] = {}
        for (number, _, _), count in counts.items():
            taken[number] = taken.get(number, 0) + count
        left = [i for n, some in enumerate(groups.values()) for i in some[taken.get(n, 0) :]]
        return groups, left, counts

    def _rounds_left(self, monday: dt.date, there: set[tuple[int, dt.date]]) -> dict[int, int]:
        """Return how many more rounds those keepers may have who want only so many in a week."""
        found: dict[int, int] = {}
        for n, keeper in enumerate(self.roster.keepers):
            if keeper.rounds_a_week is not None:
                gone = sum(k == n for k, _ in there)
                gone += self.past.out.get(keeper.id, 0) if monday == monday_of(self.first) else 0
                found[n] = max(0, keeper.rounds_a_week - gone)
        return found

    def rota(self, *, judged: bool) -> Rota:
        """Return what was made."""
        roster = self.roster
        made, alone = rounds(roster, self.taken, self.past.out, self.first)
        loads = {k.id: 0 for k in roster.site.keepers}
        for one in made:
            loads[one.keeper.id] += one.minutes
        gaps = Gaps(roster, self.taken, self.past.out, self.first)
        return Rota(
            first=self.first,
            last=self.last,
            rounds=made,
            unfilled=tuple(
                explain(gaps, widened(item)) for item in sorted(self.undone, key=lambda i: i.number)
            ),
            alone=alone,
            loads=loads,
            possible={k.id: load for k, load in zip(roster.keepers, self.level.loads, strict=True)}
            if judged
            else {},
            fairness=self._fairness([float(loads[k.id]) for k in roster.keepers]) if judged else None,
        )

    def _coarse(self) -> tuple[str, ...]:
        """Return the keepers of whose fair minutes a single job is more than the whole."""
        longest = max((item.job.minutes for item in self.found), default=0)
        return tuple(k.id for k, fair in zip(self.roster.keepers, self.fair, strict=True) if fair < longest)

    def _fairness(self, loads: Sequence[float]) -> Fairness:
        """Return how fair loads are, those that lend a hand counted in."""
        sharing = [n for n, share in enumerate(self.shares) if share > 0.0]
        together = [load + before for load, before in zip(loads, self.before, strict=True)]
        whole = [together[n] / self.shares[n] for n in sharing] + [0.0] * len(self.resting)
        objective = cost(together, self.fair, minutes_of(self.undone))
        bound = self._least(frozenset())
        if self.left_by_class:
            bound = max(bound, self._least(self.left_by_class))
        return Fairness(
            objective=objective,
            bound=min(objective, bound),
            jain=jain(whole),
            gini=gini(whole),
            spread=spread([*(loads[n] / self.shares[n] for n in sharing), *[0.0] * len(self.resting)]),
            coarse=self._coarse(),
            by_class=bool(self.left_by_class),
        )


def minutes_of(some: Iterable[Item]) -> int:
    """Return the minutes of items together."""
    return sum(item.job.minutes for item in some)


def _counted(groups: Groups, was: Mapping[int, Slot]) -> dict[Key, int]:
    found: dict[Key, int] = {}
    for number, some in enumerate(groups.values()):
        for item in some:
            slot = was.get(item.number)
            if slot is not None:
                key = (number, *slot)
                found[key] = found.get(key, 0) + 1
    return found
