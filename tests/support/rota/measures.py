"""The measures of a rota again: minutes, indices of fairness, the objective and its bound."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from support.rota.checked import Checked

UNFILLED = 1000.0
"""Minutes that one minute of undone work counts as in the objective."""

STEEP = 200.0
"""The most that one minute more of somebody counts, however small the share."""

CATCH_UP = 0.5
"""The part of a fair load that the past may add or take away."""


def loads_are_the_sums(c: Checked) -> Iterator[str]:
    for keeper in c.site.keepers:
        minutes = sum(m for (k, _), m in c.used.items() if k == keeper.id)
        if c.made.loads.get(keeper.id) != minutes:
            yield f"{keeper.name} has {minutes} min and is said to have {c.made.loads.get(keeper.id)}"
    if set(c.made.loads) != {k.id for k in c.site.keepers}:
        yield f"the loads are of {sorted(c.made.loads)}"


def measures_are_right(c: Checked) -> Iterator[str]:
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


def _work(c: Checked) -> int:
    return sum(o.job.minutes for o in c.due)


def _before(c: Checked, shares: Sequence[float]) -> list[float]:
    """Return what counts of the past: at most half a fair load either way, none below nothing."""
    work, whole = _work(c), sum(shares)
    fair = [s * work / whole for s in shares]
    ahead = [
        min(CATCH_UP * f, max(-CATCH_UP * f, c.past.ahead.get(k.id, 0.0)))
        for k, f in zip(c.site.keepers, fair, strict=True)
    ]
    lift = max([0.0, *(-a / s for a, s in zip(ahead, shares, strict=True) if s > 0)])
    return [max(0.0, a + lift * s) for a, s in zip(ahead, shares, strict=True)]


def _objective(c: Checked, shares: Sequence[float], before: Sequence[float]) -> float:
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


def the_bound_is_one(c: Checked) -> Iterator[str]:
    fairness = c.made.fairness
    if fairness is None:
        return
    if not 0.0 <= fairness.bound <= fairness.objective:
        yield f"the bound {fairness.bound} is not between 0 and the objective {fairness.objective}"
    gap = (fairness.objective - fairness.bound) / fairness.objective if fairness.objective > 1e-9 else 0.0
    if abs(gap - fairness.gap) > 1e-12:
        yield f"the gap is {gap}, not {fairness.gap}"
