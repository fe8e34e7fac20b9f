"""What a rota is made of: who is there, what is to be done, what was published.

Nothing of it changes while it is made.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from scheduler.rota.availability import Availability
from scheduler.rota.eligibility import can_anybody
from scheduler.rota.grouping import grouped
from scheduler.rota.model import Assignment, Item, Past, Slot
from scheduler.rota.targets import Targets, solve_targets
from scheduler.rota.weeks import Week, days_of_week, inside, weeks_of, widened

CATCH_UP = 0.5
"""How much of a fair load somebody makes up for, or is let off, in one rota. House value."""


@dataclass(frozen=True, slots=True)
class FairShares:
    """What is due to whom, each in the order of the keepers.

    `own` are their shares (where nobody has one, all have the same), `credit` the minutes that count as done
    already, and `fair` what each should have done in the end, credit counted in. `resting` are the shares of
    those who take no part because there are so many of them.
    """

    own: Sequence[float]
    resting: Sequence[float]
    credit: Sequence[float]
    fair: Sequence[float]


@dataclass(frozen=True, kw_only=True)
class RotaProblem:
    """The work from `first` to `last`, and those who share it.

    `items` are what somebody could do on some day, by `weeks`; `infeasible` what nobody could. `published`
    are the slots of items by their number, `incumbent` those of them that no rule forbids. The items of
    `still_unfilled` were published as left, and nobody has room for them now. After `seconds` the search
    ends.
    """

    availability: Availability
    past: Past
    first: dt.date
    last: dt.date
    items: Sequence[Item]
    infeasible: Sequence[Item]
    weeks: Sequence[Week]
    published: Mapping[int, Slot]
    incumbent: Mapping[int, Slot]
    still_unfilled: Collection[int]
    shares: FairShares
    seconds: float

    @cached_property
    def minutes_by_week(self) -> list[list[float]]:
        """The minutes that each keeper has in each week."""
        return [
            [float(sum(self._longest_days(number, week)[: keeper.rounds_a_week])) for week in self.weeks]
            for number, keeper in enumerate(self.availability.keepers)
        ]

    def _longest_days(self, number: int, week: Week) -> list[int]:
        keeper = self.availability.keepers[number]
        days = days_of_week(week.monday, self.first, self.last)
        return sorted((self.availability.minutes(keeper, day) for day in days), reverse=True)

    @cached_property
    def targets(self) -> Targets:
        """The fairest loads, week by week: asked for only where something is to be shared out, or the rota
        judged."""
        credit, fair = self.shares.credit, self.shares.fair
        spans = [
            (
                [minutes[number] for minutes in self.minutes_by_week],
                grouped(self.availability, inside(week.monday, week.items)),
            )
            for number, week in enumerate(self.weeks)
        ]
        shared = sum(minutes_of(week.items) for week in self.weeks)
        every = minutes_of([*self.items, *self.infeasible])
        # Fair is what can be done; what it costs is reckoned of all work.
        part = (shared + sum(credit)) / ((every + sum(credit)) or 1.0)
        return solve_targets(self.availability, spans, credit, [load * part for load in fair])

    def least_load(self, left: Collection[int]) -> float:
        """Return what the loads of no rota cost less than, of those that leave these items."""
        rest = [widened(item) for item in self.items if item.number not in left]
        if self.shares.resting:
            # Of a few of many keepers no more is known than that all could be fair.
            return float(minutes_of(rest))
        whole = [([sum(minutes) for minutes in self.minutes_by_week], grouped(self.availability, rest))]
        return solve_targets(self.availability, whole, self.shares.credit, self.shares.fair).bound

    def loads(self, assignments: Iterable[Assignment]) -> list[int]:
        """Return the minutes of each keeper in assignments."""
        loads = [0] * len(self.availability.keepers)
        for item, (_, keeper) in assignments:
            loads[keeper] += item.job.minutes
        return loads


def state_problem(
    availability: Availability,
    items: Sequence[Item],
    first: dt.date,
    last: dt.date,
    *,
    past: Past,
    published: Mapping[int, Slot],
    incumbent: Mapping[int, Slot],
    still_unfilled: Collection[int],
    seconds: float,
) -> RotaProblem:
    """Return the problem of sharing out items, by weeks, with what is fair."""
    # What nobody could do on any day is left at once: it would only stand in the way of sharing out the rest.
    infeasible = [i for i in items if not can_anybody(availability, i.job, {*i.days, *i.outer})]
    none = {item.number for item in infeasible}
    feasible = [item for item in items if item.number not in none]
    return RotaProblem(
        availability=availability,
        past=past,
        first=first,
        last=last,
        items=feasible,
        infeasible=infeasible,
        weeks=weeks_of(feasible, availability, incumbent, first, last),
        published=published,
        incumbent=incumbent,
        still_unfilled=still_unfilled,
        shares=_shares(availability, past, minutes_of(items)),
        seconds=seconds,
    )


def minutes_of(items: Iterable[Item]) -> int:
    """Return the minutes of items together."""
    return sum(item.job.minutes for item in items)


def _shares(availability: Availability, past: Past, minutes: int) -> FairShares:
    own = [keeper.share for keeper in availability.keepers]
    if not any(own):
        own = [1.0] * len(own)
    rest = (
        [k.share for k in availability.site.keepers if k not in availability.keepers]
        if availability.few
        else []
    )
    resting = [share for share in rest if share > 0.0]
    credit = _credit(availability, past, own, minutes)
    whole = (minutes + sum(credit)) / (sum(own) + sum(resting))
    return FairShares(own, resting, credit, [share * whole for share in own])


def _credit(availability: Availability, past: Past, shares: Sequence[float], minutes: int) -> list[float]:
    """Return the minutes that count already: what each is ahead, over the one who is furthest behind."""
    fair = minutes / sum(shares)
    ahead = [
        max(-CATCH_UP * fair * s, min(CATCH_UP * fair * s, past.ahead.get(k.id, 0.0)))
        for k, s in zip(availability.keepers, shares, strict=True)
    ]
    base = max((-a / s for a, s in zip(ahead, shares, strict=True) if s > 0.0), default=0.0)
    return [max(0.0, a + max(0.0, base) * s) for a, s in zip(ahead, shares, strict=True)]
