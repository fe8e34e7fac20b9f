"""Nitrogen: from feed to nitrate, how water changes hold it down, and the alkalinity that it uses."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scheduler.sources import Source

FISH = Source(
    (
        "ammonia of growing fish, 0.092 g N for each g of protein fed: Timmons & Ebeling 2010, "
        "Recirculating Aquaculture, ch. 4"
    ),
    "from memory",
)
UPPER_BOUND = Source(
    (
        "upper bound: all nitrogen of the feed (16 % of its protein) ends in the water; a mass balance, "
        "taken as the house value"
    ),
    "house value",
)
STEADY_STATE = Source(
    "mass balance of a mixed tank: full nitrification, no plants, peak = tap + rise / share", "computed"
)
AMMONIA_BALANCE = Source(
    "mass balance of a mixed tank in which nothing nitrifies: peak = new water + rise / share", "computed"
)
ALKALINITY = Source(
    "7.14 g of alkalinity (as CaCO3) for each g of nitrogen: chemistry of nitrification", "computed"
)
NITRATE_LIMITS = Source(
    (
        "house limits for nitrate, look at 40 mg/L and act at 80 (as NO3): no published figure for turtles "
        "was found"
    ),
    "house value",
)

NITRATE_LOOK, NITRATE_ACT = 40.0, 80.0
"""mg/L as NO3. House values: the first just under the drinking-water limits of 44 to 50, the second twice
that."""


NITRATE_OVER_TAP = 20.0
"""mg/L as NO3 that the tap leaves room for where it brings much: so far over it nitrate may stand before a
change. House value."""


NITRATE_OVER_TAP_SOURCE = Source(
    "nitrate may stand 20 mg/L over the tap's before a change, where that is more than its limit",
    "house value",
)

NITRITE_LIMITS = Source("house limits for nitrite, look at 0.1 mg/L and act at 0.5 (as N)", "house value")

NITRITE_LOOK, NITRITE_ACT = 0.1, 0.5
"""mg/L as N. House values, under the drinking-water limit of 1 mg/L (40 CFR 141, from memory)."""

FISH_COEFFICIENT = 0.092
"""g of ammonia nitrogen for each g of protein fed to growing fish (Timmons & Ebeling; from memory): the
product, rounded, of 0.16 (nitrogen in protein) x 0.80 (assimilated) x 0.80 (of that excreted) x 0.90 (of that
as ammonia).
"""


N_IN_PROTEIN = 0.16
"""g of nitrogen in each g of crude protein: the convention behind every label's protein figure."""

MOLAR_N, MOLAR_H, MOLAR_O = 14.007, 1.008, 15.999
"""Molar masses in g/mol (IUPAC)."""

NO3_PER_N = (MOLAR_N + 3 * MOLAR_O) / MOLAR_N
NO2_PER_N = (MOLAR_N + 2 * MOLAR_O) / MOLAR_N
NH3_PER_N = (MOLAR_N + 3 * MOLAR_H) / MOLAR_N
NH4_PER_N = (MOLAR_N + 4 * MOLAR_H) / MOLAR_N
"""g of the ion or molecule for each g of nitrogen in it (computed)."""

CACO3_PER_N = 7.14
"""g of alkalinity, as CaCO3, that nitrifying one g of nitrogen uses: two equivalents for each N
(computed)."""


NAHCO3_PER_CACO3 = 84.007 / 50.044
"""g of sodium bicarbonate that carry the alkalinity of one g of CaCO3 (computed: equivalent masses)."""


def _at_least_0(what: str, value: float) -> float:
    if not 0.0 <= value < math.inf:
        raise ValueError(f"{what} must be 0 or more, not {value:g}")
    return value


def _feed_protein_g(feed_g: float, protein: float) -> float:
    if not 0.0 <= protein <= 1.0:
        raise ValueError(f"protein is a share of the feed from 0 to 1, not {protein:g}")
    return _at_least_0("feed", feed_g) * protein


def _share(share: float) -> float:
    if not 0.0 < share <= 1.0:
        raise ValueError(
            f"a change replaces more than none and at most all of the water, not a share of {share:g}"
        )
    return share


def _room(target: float, tap: float) -> float:
    _at_least_0("the nitrate target", target)
    if target <= _at_least_0("nitrate in tap water", tap):
        raise ValueError(
            f"the tap water brings {tap:g} mg/L of nitrate: no change of water holds it at {target:g} mg/L"
        )
    return target - tap


# --- From feed to nitrate
# ---------------------------------------------------------------------------------------


def fish_tan_g(feed_g: float, protein: float) -> float:
    """Return the g of total ammonia nitrogen a day that growing fish make: 0.092 x protein x feed.

    Feed in g a day as fed, protein as a share of it, 0 to 1. Timmons & Ebeling (from memory).
    """
    return _feed_protein_g(feed_g, protein) * FISH_COEFFICIENT


def feed_nitrogen_g(feed_g: float, protein: float) -> float:
    """Return all the nitrogen of the feed in g a day, the most that can reach the water: 0.16 x protein x
    feed.

    Feed in g a day as fed, protein as a share of it, 0 to 1; computed. A turtle tank can come near it: adults
    keep little, and what is left over rots.
    """
    return _feed_protein_g(feed_g, protein) * N_IN_PROTEIN


def nitrate_rise_mg_l(nitrogen_g_day: float, litres: float) -> float:
    """Return the mg/L of nitrate (as NO3) that a day adds: g of nitrogen x 4.427 / litres; computed.

    Everything is nitrified, nothing is taken up by plants or turned to gas.
    """
    if not 0.0 < litres < math.inf:
        raise ValueError(f"nitrate needs water to rise in: more than 0 L, not {litres:g}")
    return _at_least_0("nitrogen", nitrogen_g_day) * NO3_PER_N * 1000.0 / litres


# --- Build-up between partial changes
# --------------------------------------------------------------------------- Mass balance of mixed water with
# a steady rise; computed. Only drained water counts as changed: a top-up takes no nitrate away. Levels and
# rises in mg/L of NO3; a share is above 0 and at most 1; the tap brings 0 mg/L or more.


def peak_mg_l(rise_per_interval: float, share: float, tap: float = 0.0) -> float:
    """Return the mg/L before a change at steady state: tap + rise / share.

    `rise_per_interval` is what an interval adds, `tap` what new water brings.
    """
    rise = _at_least_0("the rise of nitrate", rise_per_interval)
    return _at_least_0("nitrate in tap water", tap) + rise / _share(share)


def trough_mg_l(rise_per_interval: float, share: float, tap: float = 0.0) -> float:
    """Return the mg/L after a change at steady state: tap + rise x (1 - share) / share."""
    rise = _at_least_0("the rise of nitrate", rise_per_interval)
    return _at_least_0("nitrate in tap water", tap) + rise * (1.0 - _share(share)) / share


def changes_to_steady(share: float, within: float = 0.05) -> int:
    """Return after how many changes the peak's rise over the tap is within a share (0 to 1) of its steady
    value.

    The fewest n with (1 - share)^n <= within.
    """
    if not 0.0 < within < 1.0:
        raise ValueError(f"how near to the steady value is a share between 0 and 1, not {within:g}")
    if _share(share) == 1.0:
        return 1
    return max(1, math.ceil(math.log(within) / math.log1p(-share) - 1e-12))


def share_needed(rise_per_interval: float, target: float, tap: float = 0.0) -> float:
    """Return the share that holds the steady peak at `target` mg/L: rise / (target - tap).

    Over 1 means that the interval is too long for any share. ValueError when the tap brings as much as the
    target: no change can reach it then.
    """
    return _at_least_0("the rise of nitrate", rise_per_interval) / _room(target, tap)


def interval_days(rise_per_day: float, share: float, target: float, tap: float = 0.0) -> float:
    """Return the longest interval in days that holds the steady peak at `target`: share x (target - tap) /
    rise.

    Infinite without a rise. ValueError when the tap brings as much as the target.
    """
    room = _room(target, tap) * _share(share)
    return room / rise_per_day if _at_least_0("the rise of nitrate", rise_per_day) else math.inf


def share_as_often(share: float, days: float, other_days: float) -> float:
    """Return the share at other intervals that leaves as much of the first water in the long run: 1 - (1 -
    share)^(t2 / t1); computed.

    A half every 14 days leaves as much as 29.3 % every 7: two of those leave 0.707 x 0.707 = 0.5.
    """
    if not (0.0 < days < math.inf and 0.0 < other_days < math.inf):
        raise ValueError("intervals are more than 0 days")
    return -math.expm1(math.log1p(-_share(share)) * other_days / days) if share < 1.0 else 1.0


class Change(NamedTuple):
    """A change in a repeating round: so many days after the one before, replacing a share of the water."""

    days: float
    share: float


def cycle_mg_l(rise_per_day: float, changes: Sequence[Change], tap: float = 0.0) -> tuple[float, float]:
    """Return the highest peak and the lowest trough, mg/L, at steady state of any repeating round of changes.

    Each change maps the level over the tap linearly, x -> (1 - f)(x + r d); the level that a whole round maps
    to itself is the steady one. Two changes on one day have 0 days between them.
    """
    _at_least_0("the rise of nitrate", rise_per_day)
    _at_least_0("nitrate in tap water", tap)
    gone = made = round_days = 0.0  # gone: the share of the round's first water that its changes take out
    for days, share in changes:
        round_days += _at_least_0("days between changes", days)
        made = (made + rise_per_day * days) * (1.0 - _share(share))
        gone += share * (1.0 - gone)
    if not round_days:
        raise ValueError("nitrate is steady only with changes over more than 0 days")
    level = made / gone
    high, low = 0.0, level
    for days, share in changes:
        level += rise_per_day * days
        high = max(high, level)
        level *= 1.0 - share
        low = min(low, level)
    return tap + high, tap + low


# --- Alkalinity
# -------------------------------------------------------------------------------------------------


def alkalinity_used_g(nitrogen_g_day: float) -> float:
    """Return the g of alkalinity, as CaCO3, that nitrifying so many g of nitrogen a day uses: 7.14 x N;
    computed."""
    return _at_least_0("nitrogen", nitrogen_g_day) * CACO3_PER_N


def bicarbonate_g(caco3_mg_l: float, litres: float) -> float:
    """Return the g of sodium bicarbonate that raise the alkalinity of a volume by so many mg/L as CaCO3;
    computed."""
    _at_least_0("the water in litres", litres)
    return _at_least_0("the rise of alkalinity", caco3_mg_l) * litres / 1000.0 * NAHCO3_PER_CACO3
