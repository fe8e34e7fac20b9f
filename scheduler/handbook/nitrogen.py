"""Nitrogen: from feed to nitrate, how water changes hold it down, and how much of the ammonia is poisonous."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scheduler.sources import Source

FISH = Source(
    "ammonia of growing fish, 0.092 g N for each g of protein fed: Timmons & Ebeling 2010, Recirculating Aquaculture, ch. 4",
    "from memory",
)
UPPER_BOUND = Source(
    "upper bound: all nitrogen of the feed (16 % of its protein) ends in the water; a mass balance, taken as the house value",
    "house value",
)
STEADY_STATE = Source(
    "mass balance of a mixed tank: full nitrification, no plants, peak = tap + rise / share", "computed"
)
EMERSON = Source(
    "un-ionised ammonia: Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379", "published"
)
EPA = Source(
    "US EPA 2013, Aquatic Life Ambient Water Quality Criteria for Ammonia - Freshwater, EPA-822-R-13-001",
    "published",
)
ALKALINITY = Source(
    "7.14 g of alkalinity (as CaCO3) for each g of nitrogen: chemistry of nitrification", "computed"
)
NITRATE_LIMITS = Source(
    "house limits for nitrate, look at 40 mg/L and act at 80 (as NO3): no published figure for turtles was found",
    "house value",
)
AMMONIA_LIMITS = Source(
    "house limits for un-ionised ammonia, look at 0.02 mg/L and act at 0.05 (as N)", "house value"
)

NITRATE_LOOK, NITRATE_ACT = 40.0, 80.0
"""mg/L as NO3. House values: the first just under the drinking-water limits of 44 to 50, the second twice that."""

AMMONIA_LOOK, AMMONIA_ACT = 0.02, 0.05
"""mg/L of un-ionised ammonia, as N. House values, between the limits known for fish."""

FISH_COEFFICIENT = 0.092
"""g of ammonia nitrogen for each g of protein fed to growing fish (Timmons & Ebeling; from memory): the product, rounded, of
0.16 (nitrogen in protein) x 0.80 (assimilated) x 0.80 (of that excreted) x 0.90 (of that as ammonia)."""

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
"""g of alkalinity, as CaCO3, that nitrifying one g of nitrogen uses: two equivalents for each N (computed)."""

CACO3_PER_N_GROWTH = 7.05
"""The same with the growth of the bacteria: Ebeling, Timmons & Bisogni 2006, Aquaculture 257:346 (from memory)."""

O2_PER_N = 4.57
"""g of oxygen that nitrifying one g of nitrogen uses: two O2 for each N (computed); 4.18 with growth (same source)."""

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


# --- From feed to nitrate ---------------------------------------------------------------------------------------


def fish_tan_g(feed_g: float, protein: float) -> float:
    """Return the g of total ammonia nitrogen a day that growing fish make: 0.092 x protein x feed.

    Feed in g a day as fed, protein as a share of it, 0 to 1. Timmons & Ebeling (from memory).
    """
    return _feed_protein_g(feed_g, protein) * FISH_COEFFICIENT


def feed_nitrogen_g(feed_g: float, protein: float) -> float:
    """Return all the nitrogen of the feed in g a day, the most that can reach the water: 0.16 x protein x feed.

    Feed in g a day as fed, protein as a share of it, 0 to 1; computed. A turtle tank can come near it: adults keep
    little, and what is left over rots.
    """
    return _feed_protein_g(feed_g, protein) * N_IN_PROTEIN


def nitrate_rise_mg_l(nitrogen_g_day: float, litres: float) -> float:
    """Return the mg/L of nitrate (as NO3) that a day adds: g of nitrogen x 4.427 / litres; computed.

    Everything is nitrified, nothing is taken up by plants or turned to gas.
    """
    if not 0.0 < litres < math.inf:
        raise ValueError(f"nitrate needs water to rise in: more than 0 L, not {litres:g}")
    return _at_least_0("nitrogen", nitrogen_g_day) * NO3_PER_N * 1000.0 / litres


# --- Build-up between partial changes ---------------------------------------------------------------------------
# Mass balance of mixed water with a steady rise; computed. Only drained water counts as changed: a top-up takes no
# nitrate away. Levels and rises in mg/L of NO3; a share is above 0 and at most 1; the tap brings 0 mg/L or more.


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


def peak_before_change_mg_l(n: int, rise_per_interval: float, share: float, tap: float = 0.0) -> float:
    """Return the mg/L before change number `n` (from 1) of a tank that began with tap water.

    tap + rise x (1 - (1 - share)^n) / share.
    """
    if n < 1:
        raise ValueError(f"changes are counted from 1, not from {n}")
    rise = _at_least_0("the rise of nitrate", rise_per_interval)
    return _at_least_0("nitrate in tap water", tap) + rise * (1.0 - (1.0 - _share(share)) ** n) / share


def changes_to_steady(share: float, within: float = 0.05) -> int:
    """Return after how many changes the peak's rise over the tap is within a share (0 to 1) of its steady value.

    The fewest n with (1 - share)^n <= within.
    """
    if not 0.0 < within < 1.0:
        raise ValueError(f"how near to the steady value is a share between 0 and 1, not {within:g}")
    if _share(share) == 1.0:
        return 1
    return max(1, math.ceil(math.log(within) / math.log1p(-share) - 1e-12))


def share_needed(rise_per_interval: float, target: float, tap: float = 0.0) -> float:
    """Return the share that holds the steady peak at `target` mg/L: rise / (target - tap).

    Over 1 means that the interval is too long for any share. ValueError when the tap brings as much as the target:
    no change can reach it then.
    """
    return _at_least_0("the rise of nitrate", rise_per_interval) / _room(target, tap)


def interval_days(rise_per_day: float, share: float, target: float, tap: float = 0.0) -> float:
    """Return the longest interval in days that holds the steady peak at `target`: share x (target - tap) / rise.

    Infinite without a rise. ValueError when the tap brings as much as the target.
    """
    room = _room(target, tap) * _share(share)
    return room / rise_per_day if _at_least_0("the rise of nitrate", rise_per_day) else math.inf


def changes_a_week(rise_per_week: float, share: float, target: float, tap: float = 0.0) -> int:
    """Return the fewest equal, evenly spread changes a week that hold the steady peak at or under `target`.

    The fewest m >= rise / (share x (target - tap)); 0 without a rise. ValueError when the tap brings as much as the
    target.
    """
    room = _share(share) * _room(target, tap)
    return math.ceil(_at_least_0("the rise of nitrate", rise_per_week) / room - 1e-12)


class Change(NamedTuple):
    """A change in a repeating round: so many days after the one before, replacing a share of the water."""

    days: float
    share: float


def cycle_mg_l(rise_per_day: float, changes: Sequence[Change], tap: float = 0.0) -> tuple[float, float]:
    """Return the highest peak and the lowest trough, mg/L, at steady state of any repeating round of changes.

    Each change maps the level over the tap linearly, x -> (1 - f)(x + r d); the level that a whole round maps to
    itself is the steady one. Two changes on one day have 0 days between them.
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


# --- Ammonia ----------------------------------------------------------------------------------------------------


def pka(celsius: float) -> float:
    """Return the pKa of ammonium in fresh water, 0 to 50 degC: 0.09018 + 2729.92 / T, T in kelvin.

    Emerson et al. 1975 (published). Here T is degC + 273.15; the paper's own table takes 273.2, which moves a share
    by less than 0.5 %.
    """
    if not 0.0 <= celsius <= 50.0:
        raise ValueError(f"un-ionised ammonia is defined here from 0 to 50 degC, not at {celsius:g}")
    return 0.09018 + 2729.92 / (celsius + 273.15)


def unionised_share(ph: float, celsius: float) -> float:
    """Return the share, 0 to 1, of total ammonia nitrogen that is un-ionised and poisonous: 1 / (1 + 10^(pKa - pH)).

    Fresh water of 0 to 50 degC, pH 4 to 11 (the pH range is a house value). Emerson et al. 1975 (published).
    """
    if not 4.0 <= ph <= 11.0:
        raise ValueError(f"un-ionised ammonia is defined here from pH 4 to 11, not at pH {ph:g}")
    return 1.0 / (1.0 + math.pow(10.0, pka(celsius) - ph))


def _criteria_range(ph: float, celsius: float) -> None:
    if not 6.5 <= ph <= 9.0:
        raise ValueError(f"the ammonia criteria are defined here from pH 6.5 to 9, not at pH {ph:g}")
    if not 0.0 <= celsius <= 30.0:
        raise ValueError(f"the ammonia criteria are defined here from 0 to 30 degC, not at {celsius:g}")


def epa_acute_mg_l(ph: float, celsius: float, trout: bool = False, mussels: bool = True) -> float:
    """Return the acute criterion in mg/L of total ammonia nitrogen, pH 6.5 to 9, 0 to 30 degC: US EPA 2013 (published).

    For waters with or without trout, with or without mussels. It protects wild fish and mussels: a ceiling for a
    warning, not a target for turtles.
    """
    _criteria_range(ph, celsius)
    acid, alkaline = 1.0 + math.pow(10.0, 7.204 - ph), 1.0 + math.pow(10.0, ph - 7.204)
    bracket = 0.7249 * (0.0114 / acid + 1.6181 / alkaline)
    warmth = (23.12 if mussels else 62.15) * math.pow(10.0, 0.036 * (20.0 - celsius))
    if trout:
        return min(0.275 / acid + 39.0 / alkaline, bracket * warmth)
    return bracket * min(51.93, warmth)


def epa_chronic_mg_l(ph: float, celsius: float, mussels: bool = True) -> float:
    """Return the chronic criterion (mean of 30 days) in mg/L of total ammonia nitrogen: US EPA 2013 (published).

    pH 6.5 to 9, 0 to 30 degC. Without mussels it is the form for waters that hold no early life stages of fish either.
    """
    _criteria_range(ph, celsius)
    bracket = 0.0278 / (1.0 + math.pow(10.0, 7.688 - ph)) + 1.1994 / (1.0 + math.pow(10.0, ph - 7.688))
    warmth = math.pow(10.0, 0.028 * (20.0 - max(7.0, celsius)))
    return (0.8876 * 2.126 if mussels else 0.9405 * 7.547) * bracket * warmth


# --- Alkalinity -------------------------------------------------------------------------------------------------


def alkalinity_used_g(nitrogen_g_day: float) -> float:
    """Return the g of alkalinity, as CaCO3, that nitrifying so many g of nitrogen a day uses: 7.14 x N; computed."""
    return _at_least_0("nitrogen", nitrogen_g_day) * CACO3_PER_N


def bicarbonate_g(caco3_mg_l: float, litres: float) -> float:
    """Return the g of sodium bicarbonate that raise the alkalinity of a volume by so many mg/L as CaCO3; computed."""
    _at_least_0("the water in litres", litres)
    return _at_least_0("the rise of alkalinity", caco3_mg_l) * litres / 1000.0 * NAHCO3_PER_CACO3
