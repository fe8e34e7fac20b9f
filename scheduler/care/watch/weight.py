"""Weights: what an animal has lost, and whether it goes on losing.

One weighing scatters by two or three percent, and the best of many is one that erred upwards. So an animal is
held against its level by all its weighings, the vet is called once two of them say so, and what looks like a
loss is weighed again soon. The numbers that decide are house values, chosen on simulated animals: see
tests/benchmarks/bench_weights.py.
"""

from __future__ import annotations

import datetime as dt
import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler.care.engine.case import Case
from scheduler.care.stages import ADULT, HATCHLING
from scheduler.care.watch.illness import ill
from scheduler.care.watch.registry import Consequence, once, watch
from scheduler.description.site import Resident
from scheduler.handbook import weighing
from scheduler.sources import Source

BEST_DAYS = 365
"""The best weight of so many days is what a loss is held against. House value."""

TREND_DAYS, TREND_READINGS = 120, 4
"""A trend is looked for in so many days, with so many weights at least. House values."""

AGAIN_DAYS = 7
"""Days after which an animal that loses weight is weighed again. House value."""

SECOND_DAYS = 3
"""Days within which a loss above the limit is weighed a second time, before the vet is called.

House value.
"""


PAIR_DAYS = 4
"""Two weighings no further apart say the same thing twice: a day more than SECOND_DAYS. House value."""

FEW = 4
"""Of so few weighings each is held against the best by then, since what came before is not known.

House value.
"""


BY_LEVEL = 0.8
"""Share of the limit that two weighings have to show where the level, or its fall, shows it too.

House value.
"""


WATCHED_FROM = 0.3
"""Share of the limit by which the level has to be lower for an animal to be weighed again soon.

House value.
"""


AT_ONCE = 2.0
"""A single weighing that is so many limits lighter calls the vet at once. House value."""

FURTHER = 0.5
"""Share of the limit that it has to lose again, after a visit to the vet, to be due for the next one.

House value.
"""


TREND = Source("straight line through the weights, least squares, 95 % interval of its slope", "computed")


Weighing = tuple[dt.date, float]
"""The day, and the weight in g."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What all weighings of a year say: the share that the level has lost, and what follows."""

    lost: float
    calls: bool
    goes_on: bool
    asks_for_another: bool
    is_near: bool


@dataclass(frozen=True, slots=True)
class Loss:
    """What an animal has lost: the share of its best weight, since when it is over the limit, its trend in g
    a week.

    `judged` is what all its weighings say. `seen_on` is the day of a visit to the vet since its best weight:
    what it had lost by then is known there.
    """

    resident: Resident
    best_g: float
    best_on: dt.date
    last_g: float
    last_on: dt.date
    limit: float
    young: bool
    seen_on: dt.date | None
    over_since: dt.date | None
    trend_g_week: tuple[float, float, float] | None
    judged: Judged
    is_doubtful: bool
    """Whether it is over the limit by one weighing, so that a second one decides."""
    signs: str = ""
    """Signs of illness that stand, as a phrase: with them a loss is not watched."""

    @property
    def share(self) -> float:
        """Return the share of the best weight that is lost."""
        return 1.0 - self.last_g / self.best_g

    @property
    def watched(self) -> bool:
        """Tell whether it is weighed again soon: it falls for sure, or is near the limit, and the vet is not
        called."""
        near = self.share > self.limit / 2 + SMALL
        return self.over_since is None and (
            self.trend_g_week is not None or near or self.judged.is_near or self.is_doubtful
        )


SMALL = 1e-9
"""Sums of the same weights in another order differ in their last digits."""


@once
def losses(case: Case) -> tuple[Loss, ...]:
    """Return what the animals have lost, those that weigh less than at their best."""
    found = (_loss(case, resident) for resident in case.enclosure.resident)
    return tuple(loss for loss in found if loss is not None)


def _weights(case: Case, resident: Resident) -> list[tuple[dt.date, float]]:
    weights = [(e.day, e.value) for e in case.readings("weight", resident.id) if e.value]
    written = next((r for r in case.described.resident if r.id == resident.id), None)
    day = case.measured_on(written) if written is not None else None
    if written is not None and written.mass is not None and day is not None:
        weights.insert(0, (day, written.mass))
    # By day alone: those of one day stay in the order of their hours.
    return sorted(weights, key=lambda weight: weight[0])


def _loss(case: Case, resident: Resident) -> Loss | None:
    weights = _weights(case, resident)
    if len(weights) < 2:
        return None
    last_on, last_g = weights[-1]
    recent = [(day, g) for day, g in weights if (last_on - day).days <= BEST_DAYS]
    best_g = max(g for _, g in recent)
    if last_g >= best_g:
        return None
    best = max(n for n, (_, g) in enumerate(recent) if g == best_g)
    best_on = recent[best][0]
    young = case.stage_by_size(resident) == HATCHLING
    limit = case.house.weight_loss_young if young else case.house.weight_loss
    visits = [day for day in _visits(case, resident) if day >= best_on]
    seen_on = max(visits, default=None)
    swings = resident.sex == "female" and case.stage_by_size(resident) == ADULT
    judged = judge(recent, limit, swings=swings)
    over = called_since(recent, limit, seen_on, swings=swings, judged=judged)
    is_doubtful = over is None and judged.asks_for_another and is_news(recent, limit, seen_on)
    trend = _trend(recent, last_on)
    loss = Loss(
        resident, best_g, best_on, last_g, last_on, limit, young, seen_on, over, trend, judged, is_doubtful
    )
    return _with_signs(case, loss)


def _with_signs(case: Case, loss: Loss) -> Loss:
    """Return a loss as it is judged beside signs of illness: what would be weighed again calls the vet at
    once."""
    sick = next((one for one in ill(case) if one.resident.id == loss.resident.id), None)
    if sick is None or not (loss.watched or loss.over_since is not None):
        return loss
    over = loss.over_since or max(loss.last_on, sick.since)
    return replace(loss, over_since=over, is_doubtful=False, signs=sick.signs)


def judge(weighings: Sequence[Weighing], limit: float, *, swings: bool = False) -> Judged:
    """Return what weighings, in order and at least two, say of an animal that may lose a share `limit` before
    the vet is asked.

    It is held against the highest level of the time; one that `swings`, a grown female with and without eggs,
    against its middle level where that is lower.
    """
    days = [float(day.toordinal()) for day, _ in weighings]
    logs = [math.log(g) for _, g in weighings]
    scatter = weighing.own_scatter(days, logs)
    by_then = weighing.levels(days, logs, scatter)
    usual = weighing.smoothed(days, by_then)
    if swings and len(logs) > FEW:
        best = min(statistics.median(usual[:-1]), max(usual))
    elif len(logs) <= FEW:
        # Lower by half of its error, since the best of some is one that erred upwards.
        best = max(level.value - level.error / 2.0 for level in by_then)
    else:
        best = max(usual)
    level = by_then[-1].value
    fall = weighing.fall(days, logs, scatter)
    if fall is not None:
        level = min(level, fall.now)
        # What an animal that swings has lost since its highest weight may be its eggs.
        best = best if swings else max(best, fall.begins)
    lost, once = -math.expm1(level - best), -math.expm1(logs[-1] - best)
    # Also a month apart two weighings say it, where each does.
    is_pair = days[-1] - days[-2] <= PAIR_DAYS or -math.expm1(logs[-2] - best) >= limit - SMALL
    twice = -math.expm1((logs[-2] + logs[-1]) / 2.0 - best) if is_pair else 0.0
    by_level = lost >= limit - SMALL or (fall is not None and lost >= BY_LEVEL * limit)
    return Judged(
        lost=max(0.0, lost),
        calls=once >= AT_ONCE * limit - SMALL
        or twice >= limit - SMALL
        or (is_pair and by_level and twice >= BY_LEVEL * limit),
        goes_on=lost >= BY_LEVEL * limit or once >= limit - SMALL,
        asks_for_another=by_level or (once >= limit - SMALL and not is_pair),
        is_near=fall is not None or lost >= WATCHED_FROM * limit,
    )


def called_since(
    weighings: Sequence[Weighing],
    limit: float,
    seen_on: dt.date | None = None,
    *,
    swings: bool = False,
    judged: Judged | None = None,
) -> dt.date | None:
    """Return the day since which the weighings call the vet; None where they do not.

    `judged` is what all of them say, where it is known.

    Once called it goes on while the loss does. What the vet has seen by `seen_on` is known there: only a
    further loss is news, and a gram is none.
    """
    since: dt.date | None = None
    for n in range(len(weighings), 1, -1):
        by_then = weighings[:n]
        if not is_news(by_then, limit, seen_on):
            return since
        judged = judged or judge(by_then, limit, swings=swings)
        if judged.calls:
            since = by_then[-1][0]
        elif not judged.goes_on:
            return since
        judged = None
    return since


def is_news(weighings: Sequence[Weighing], limit: float, seen_on: dt.date | None) -> bool:
    """Tell whether the last weighing is of after a visit to the vet, and enough lighter than what was seen
    there."""
    if seen_on is None:
        return True
    day, g = weighings[-1]
    seen_g = next((g for day, g in reversed(weighings) if day <= seen_on), math.inf)
    return day > seen_on and g <= seen_g * (1.0 - FURTHER * limit) + SMALL


def _visits(case: Case, resident: Resident) -> list[dt.date]:
    """Return the days on which the vet saw a resident, here and where it lived before."""
    here, history = case.enclosure.id, case.history
    return [
        *history.variants(here, "vet-check").values(),
        *history.done_before(here, resident.id, "vet-check"),
    ]


def _trend(weights: list[tuple[dt.date, float]], last_on: dt.date) -> tuple[float, float, float] | None:
    """Return the slope of the weights in g a week with its interval, where it falls for sure; None
    otherwise."""
    near = [(day, g) for day, g in weights if (last_on - day).days <= TREND_DAYS]
    if len(near) < TREND_READINGS or len({day for day, _ in near}) < TREND_READINGS:
        return None
    from scheduler.handbook import trend

    found = trend.line([float((day - near[0][0]).days) for day, _ in near], [g for _, g in near])
    return (found.slope * 7, found.low * 7, found.high * 7) if found.high < 0 else None


@watch
def weights(case: Case) -> Iterator[Consequence]:
    """Say which animals have lost weight."""
    for loss in losses(case):
        name = loss.resident.name
        last, best = (case.reading("weight", g) for g in (loss.last_g, loss.best_g))
        said = (
            f"{name} weighed {last} on {case.date(loss.last_on)}, {_short(case, loss.share * 100)} % under "
            f"its best of {best} ({case.date(loss.best_on)})."
        )
        source = case.house.source("weight_loss_young" if loss.young else "weight_loss")
        vet = "" if loss.seen_on is None else f" The vet saw it on {case.date(loss.seen_on)}."
        limit = f"The limit is {case.numeral(loss.limit * 100)} %.{vet}"
        if loss.over_since is not None:
            yield Consequence(
                key="vet-check",
                verdict="act",
                reading=said,
                rule=f"With a sign of illness ({loss.signs}) a loss is not waited for."
                if loss.signs
                else limit
                if loss.share >= loss.limit
                else f"{_by_all(case, loss)} {limit}",
                source=source,
                plan="A visit to the vet is due at once.",
                gist="an animal lost weight; a vet is due",
            )
            continue
        if loss.trend_g_week is not None:
            slope, low, high = loss.trend_g_week
            yield Consequence(
                key="weigh-measure",
                verdict="look",
                reading=said,
                rule=(
                    f"It loses {_short(case, -slope)} g a week ({_short(case, -high)} to "
                    f"{_short(case, -low)}). {limit}"
                ),
                source=TREND,
                plan=_again(case, loss),
                gist="an animal loses weight",
            )
        elif loss.watched:
            yield Consequence(
                key="weigh-measure",
                verdict="look",
                reading=said,
                rule=limit
                if loss.share >= loss.limit
                else f"That is over half of the limit of {case.numeral(loss.limit * 100)} %.{vet}"
                if loss.share > loss.limit / 2 + SMALL
                else f"{_by_all(case, loss)} {limit}",
                source=source,
                plan=_again(case, loss),
                gist="an animal weighs less than it did",
            )


def _short(case: Case, number: float) -> str:
    """Return a number to two figures, as plain digits."""
    # No scale shows less than a hundredth of a gram, and 7e-05 is no number for a keeper.
    return case.numeral(number, ".2f" if number < 0.1 else ".2g") if number < 10 else f"{number:.0f}"


def _by_all(case: Case, loss: Loss) -> str:
    return f"By all its weighings it has lost about {_short(case, loss.judged.lost * 100)} %."


def _again(case: Case, loss: Loss) -> str:
    if loss.is_doubtful:
        by = case.date(loss.last_on + dt.timedelta(days=SECOND_DAYS))
        return (
            f"Weigh {loss.resident.name} again by {by}: one weighing may err. If it is as light, the vet is "
            "due."
        )
    return f"{loss.resident.name} is weighed again on {case.date(again_on(loss))}."


def again_on(loss: Loss) -> dt.date:
    """Return the day on which an animal that loses weight is weighed again; a doubtful one may be so a day
    sooner or later."""
    return loss.last_on + dt.timedelta(days=SECOND_DAYS - 1 if loss.is_doubtful else AGAIN_DAYS)


def weighed_again(case: Case) -> list[Loss]:
    """Return the losses that are watched by a weighing, and not by the vet yet."""
    return [loss for loss in losses(case) if loss.watched]
