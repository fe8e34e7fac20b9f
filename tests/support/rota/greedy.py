"""The greedy baseline that a rota is compared with: day by day, the longest job first, as a person would do it by hand.

Each job goes, on the day on which it falls due, to whoever is there, can do it and has done least for his or her share.
What nobody can take waits for the next day of its window, heavy services excepted: moved, they could come too near others.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.plan import Occurrence

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class GreedyRota:
    """What the baseline gives: minutes of each keeper, rounds, minutes that nobody takes, spread and Gini as `Fairness` has them."""

    loads: dict[str, int]
    rounds: int
    unfilled: int
    spread: float
    gini: float


def greedy_rota(site: Site, occurrences: Sequence[Occurrence], first: dt.date, last: dt.date) -> GreedyRota:
    """Return the greedy rota of the occurrences that fall due from `first` to `last`."""
    due: dict[dt.date, list[Occurrence]] = defaultdict(list)
    for o in occurrences:
        if first <= o.day <= last and o.state != "done":
            due[o.day].append(o)
    minutes: dict[tuple[str, dt.date], int] = defaultdict(int)
    loads = {k.id: 0 for k in site.keepers}
    unfilled, day = 0, first
    waiting: list[Occurrence] = []
    while day <= last:
        today = sorted(
            [*waiting, *due[day]], key=lambda o: (-o.job.minutes, o.day, o.job.enclosure.id, o.job.key)
        )
        waiting = []
        for o in today:
            able = [k for k in site.keepers if _takes(site, k, o, day, minutes)]
            if able:
                keeper = min(able, key=lambda k: (loads[k.id] / (k.share or 0.01), k.id))
                loads[keeper.id] += o.job.minutes
                minutes[keeper.id, day] += o.job.minutes
            elif not o.job.heavy and day < min(last, o.day + o.job.window * DAY):
                waiting.append(o)
            else:
                unfilled += o.job.minutes
        day += DAY
    of_share = [loads[k.id] / k.share for k in site.keepers if k.share]
    mean = sum(of_share) / len(of_share)
    spread = (max(of_share) - min(of_share)) / mean if mean else 0.0
    return GreedyRota(loads, len(minutes), unfilled, spread, _gini(of_share))


def _gini(loads: Sequence[float]) -> float:
    """Return half the mean difference of all pairs over the mean: the definition, not the package's sum over ranks."""
    total = sum(loads)
    return sum(abs(a - b) for a in loads for b in loads) / (2 * len(loads) * total) if total else 0.0


def _takes(
    site: Site, keeper: Keeper, o: Occurrence, day: dt.date, minutes: dict[tuple[str, dt.date], int]
) -> bool:
    if keeper.weekdays and WEEKDAYS[day.weekday()] not in keeper.weekdays:
        return False
    if any(span.first <= day <= span.last for span in keeper.away):
        return False
    if any(k.can is not None for k in site.keepers) and not set(o.job.skills) <= set(keeper.can or ()):
        return False
    if o.job.weekdays is not None and day.weekday() not in o.job.weekdays and day != o.day:
        return False
    used = minutes.get((keeper.id, day), 0)
    if keeper.minutes is not None and used + o.job.minutes > keeper.minutes:
        return False
    if keeper.rounds_a_week is None:
        return True
    monday = day - day.weekday() * DAY
    rounds = {d for (k, d) in minutes if k == keeper.id and monday <= d <= monday + 6 * DAY}
    return day in rounds or len(rounds) < keeper.rounds_a_week
