"""Weights: what an animal has lost, and whether it goes on losing."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care.case import Case
from scheduler.care.watch.registry import Consequence, once, watch
from scheduler.description.site import Resident
from scheduler.sources import Source

BEST_DAYS = 365
"""The best weight of so many days is what a loss is held against. House value."""

TREND_DAYS, TREND_READINGS = 120, 4
"""A trend is looked for in so many days, with so many weights at least. House values."""

AGAIN_DAYS = 7
"""Days after which an animal that loses weight is weighed again. House value."""

FURTHER = 0.5
"""Share of the limit that it has to lose again, after a visit to the vet, to be due for the next one. House value."""

TREND = Source("straight line through the weights, least squares, 95 % interval of its slope", "computed")


@dataclass(frozen=True, slots=True)
class Loss:
    """What an animal has lost: the share of its best weight, since when it is over the limit, its trend in g a week.

    `seen_on` is the day of a visit to the vet since its best weight: what it had lost by then is known there.
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

    @property
    def share(self) -> float:
        """Return the share of the best weight that is lost."""
        return 1.0 - self.last_g / self.best_g

    @property
    def watched(self) -> bool:
        """Tell whether it is weighed again soon: it falls for sure, or is over half of the limit, and not over it."""
        near = self.share > self.limit / 2 + 1e-9
        return self.over_since is None and (self.trend_g_week is not None or near)


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
    young = case.stage_by_size(resident) == 0
    limit = case.house.weight_loss_young if young else case.house.weight_loss
    least_g, seen_g = best_g * (1.0 - limit), math.inf
    visits = [day for day in _visits(case, resident) if day >= best_on]
    seen_on = max(visits, default=None)
    over = None
    for day, g in recent[best + 1 :]:
        if seen_on is not None and day <= seen_on:
            # The vet has seen what it weighed by then: only a further loss is news, and a gram is none.
            seen_g = g
            continue
        over = (over or day) if g <= min(least_g, seen_g * (1.0 - FURTHER * limit)) + 1e-9 else None
    trend = _trend(recent, last_on)
    return Loss(resident, best_g, best_on, last_g, last_on, limit, young, seen_on, over, trend)


def _visits(case: Case, resident: Resident) -> list[dt.date]:
    """Return the days on which the vet saw a resident, here and where it lived before."""
    here, history = case.enclosure.id, case.history
    return [
        *history.variants(here, "vet-check").values(),
        *history.done_before(here, resident.id, "vet-check"),
    ]


def _trend(weights: list[tuple[dt.date, float]], last_on: dt.date) -> tuple[float, float, float] | None:
    """Return the slope of the weights in g a week with its interval, where it falls for sure; None otherwise."""
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
        said = f"{name} weighed {last} on {case.date(loss.last_on)}, {_short(case, loss.share * 100)} % under its best of {best} ({case.date(loss.best_on)})."
        source = case.house.source("weight_loss_young" if loss.young else "weight_loss")
        vet = "" if loss.seen_on is None else f" The vet saw it on {case.date(loss.seen_on)}."
        limit = f"The limit is {case.numeral(loss.limit * 100)} %.{vet}"
        if loss.over_since is not None:
            yield Consequence(
                key="vet-check",
                verdict="act",
                reading=said,
                rule=limit,
                source=source,
                plan="A visit to the vet is due at once.",
            )
            continue
        if loss.trend_g_week is not None:
            slope, low, high = loss.trend_g_week
            yield Consequence(
                key="weigh-measure",
                verdict="look",
                reading=said,
                rule=f"It loses {_short(case, -slope)} g a week ({_short(case, -high)} to {_short(case, -low)}). {limit}",
                source=TREND,
                plan=_again(case, loss),
            )
        elif loss.watched:
            yield Consequence(
                key="weigh-measure",
                verdict="look",
                reading=said,
                rule=limit
                if loss.share >= loss.limit
                else f"That is over half of the limit of {case.numeral(loss.limit * 100)} %.{vet}",
                source=source,
                plan=_again(case, loss),
            )


def _short(case: Case, number: float) -> str:
    """Return a number to two figures, as plain digits."""
    return f"{case.numeral(number, '.2g')}" if number < 10 else f"{number:.0f}"


def _again(case: Case, loss: Loss) -> str:
    return f"It is weighed again on {case.date(again_on(loss))}."


def again_on(loss: Loss) -> dt.date:
    """Return the day on which an animal that loses weight is weighed again."""
    return loss.last_on + dt.timedelta(days=AGAIN_DAYS)


def weighed_again(case: Case) -> list[Loss]:
    """Return the losses that are watched by a weighing, and not by the vet yet."""
    return [loss for loss in losses(case) if loss.watched]
