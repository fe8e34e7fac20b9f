"""Nitrate before a change, held against the limit to plan for, and the ways out that a person can take."""

from __future__ import annotations

import math
from collections.abc import Iterator

from scheduler.care.change_interval import (
    MOST_SHARE,
    change_override,
    days_by_nitrate,
    largest_share,
    longest_allowed,
    longest_days,
    nitrate_limit,
    own_share,
    rhythm,
    tap_is_over,
    tap_nitrate,
)
from scheduler.care.engine.case import Case
from scheduler.care.figures.nitrogen import is_measured
from scheduler.care.findings.finding import Finding, rule
from scheduler.handbook import feeding, nitrogen
from scheduler.sources import KEEPER, Source

LEAST_PROTEIN = 0.20
"""Crude protein under which no food is proposed, to grown animals either. House value."""

LEAST_MEAL = 0.5
"""Meals are not proposed to be smaller than this part of those of now. House value."""

MOST_VOLUME = 3.0
"""Nor a tank larger than this many times the one of now. House value."""

LARGE_CHANGE = Source("no more than half the water at one change", "house value")


@rule
def nitrate(case: Case) -> Iterator[Finding]:
    """Hold the nitrate before a change against the limits, and name the ways out."""
    peak, every = case.number("nitrate_peak"), case.number("water_change_interval")
    limit, look, act = nitrate_limit(case), case.house.nitrate_look, case.house.nitrate_act
    limits = case.house.source("nitrate_look" if limit == look else "nitrate_over_tap")
    said = _stands(case, peak, every, limit)
    if tap_is_over(case):
        text = (
            f"{said} The tap alone brings {case.numeral(tap_nitrate(case))} mg/L: no change of water gets "
            "under the limit. Ask for other water (rain, reverse osmosis), or set nitrate_look for what "
            "your animals have shown to stand."
        )
        yield Finding(
            "nitrate_peak", "act", text, limits, gist="the tap alone brings more nitrate than the limit"
        )
        return
    own = change_override(case)
    fixed = own is not None and own.rule is not None
    allowed = round(every) if fixed else longest_allowed(case)
    over = peak >= limit + 0.5
    if not over and (fixed or every >= allowed):
        yield Finding("nitrate_peak", "fine", said, limits)
        return
    if over:
        kept = " Your weekdays keep changes that far apart." if own is not None and own.weekdays else ""
        text = f"{said}{kept}{_readings_may(case, fixed=fixed)} {_ways_out(case, round(every))}"
        yield Finding(
            "nitrate_peak",
            "act" if peak >= act else "look",
            text,
            limits,
            gist="nitrate over the limit before a change",
        )
        return
    at_most = "your" if own is not None and own.every is not None else "the customary"
    rare = nitrogen.peak_mg_l(case.number("nitrate_rise") * allowed, largest_share(case), tap_nitrate(case))
    text = (
        f"{said} With {at_most} {allowed} days it would be {rare:.0f}, so changes come "
        f"{rhythm(case, every)}. {_ways_out(case, allowed)}"
    )
    yield Finding(
        "nitrate_peak", "look", text, limits, gist="water is changed more often than usual, for the nitrate"
    )


def _stands(case: Case, peak: float, every: float, limit: float) -> str:
    """Say how high nitrate stands before a change, by what, and what the limit is."""
    own_readings = is_measured(case)
    by = (
        "by your own readings"
        if own_readings
        else "if all nitrogen of the food ends in the water"
        if case.house.all_nitrogen
        else "if the animals excrete as growing fish do"
    )
    tap = tap_nitrate(case)
    if limit == case.house.nitrate_look:
        whose = "your limit" if case.house.source("nitrate_look") is KEEPER else "the house limit"
        held = f"{whose} is {case.numeral(limit)}"
    elif tap_is_over(case):
        held = f"the limit is {case.numeral(limit)}"
    else:
        held = f"the limit is {case.numeral(limit)}, {case.numeral(limit - tap)} over what the tap brings"
    said = (
        f"Nitrate stands at {peak:.0f} mg/L before a change of {case.change_share * 100:.0f} % "
        f"{rhythm(case, every)}, {by}; {held}."
    )
    other = "" if own_readings else _other_coefficient(case, peak, tap)
    assumed = (
        ""
        if case.site.settings.tap_water.nitrate is not None
        else " The tap is taken as free of nitrate: measure it."
    )
    return f"{said}{other}{assumed}"


def _other_coefficient(case: Case, peak: float, tap: float) -> str:
    """Return the peak by the coefficient that was not taken."""
    fish = nitrogen.FISH_COEFFICIENT / nitrogen.N_IN_PROTEIN
    if case.house.all_nitrogen:
        return f" By the coefficient of growing fish it would be {tap + (peak - tap) * fish:.0f}."
    return f" If all of it ends in the water it is {tap + (peak - tap) / fish:.0f}."


def _readings_may(case: Case, *, fixed: bool) -> str:
    """Say that the food alone brings no change more often, and what does."""
    if fixed or is_measured(case):
        return ""
    wanted = days_by_nitrate(case, case.number("nitrate_rise"), by_readings=True)
    if wanted >= case.number("water_change_interval"):
        return ""
    least = rhythm(case, case.house.change_least_days)
    return (
        f" On the food alone changes come no more often than {least}: test nitrate each week, and they "
        "follow what the tank itself shows."
    )


def _ways_out(case: Case, days: int) -> str:
    """Return what keeps nitrate under the limit at an interval in days, as far as a person can do it: share,
    food, water."""
    rise, share = case.number("nitrate_rise"), largest_share(case)
    longest = longest_days(case, rise)
    part = longest / days
    """What the rise would have to come down to, as a part of what it is."""
    with_share = f"at {share * 100:.0f} % {rhythm(case, days)}"
    ways = []
    needed = nitrogen.share_needed(rise * days, nitrate_limit(case), tap_nitrate(case))
    if share < needed <= MOST_SHARE:
        ways.append(f"change {math.ceil(needed * 100 - 1e-9)} % {rhythm(case, days)}")
    if case.house.change_least_days <= longest < case.number("water_change_interval"):
        ways.append(f"change {share * 100:.0f} % {rhythm(case, math.floor(longest))}")
    ways += _less_food(case, part, with_share)
    if 1.0 / part <= MOST_VOLUME:
        ways.append(f"have {case.litres(case.number('net_volume') / part)} of water {with_share}")
    if not ways:
        return "This tank is too small for this food: larger water, or fewer animals in it, is the way out."
    return f"Ways to stay under it: {'; '.join(ways)}."


def _less_food(case: Case, part: float, with_share: str) -> list[str]:
    """Return the foods and meals that a keeper may give, where so small a part of the nitrogen is to be
    left."""
    protein = case.enclosure.feed.protein
    if protein is None or case.value("ration") is None:
        return []
    young = any(case.stage_by_size(r) in (0, 1) for r in case.enclosure.resident)
    least = feeding.LEAST_PROTEIN_YOUNG if young else LEAST_PROTEIN
    lower, ways = math.floor(protein * part * 100), []
    if lower >= least * 100:
        ways.append(f"feed {lower} % protein {with_share}")
    if part >= LEAST_MEAL:
        ways.append(f"feed {case.numeral(case.number('ration') * part, '.2g')} g a day {with_share}")
    return ways


@rule
def large_change(case: Case) -> Iterator[Finding]:
    """Say that the keeper's own share is more than is planned otherwise."""
    own = own_share(case)
    if own is None or own <= MOST_SHARE or not case.enclosure.resident:
        return
    yield Finding(
        "water_change_share",
        "look",
        (
            f"You change {own * 100:.0f} % at once: temperature, pH and hardness jump with so much new "
            f"water. {MOST_SHARE * 100:.0f} % more often does as much; keep yours where a vet asked for it."
        ),
        LARGE_CHANGE,
        gist="more than half of the water at one change",
    )
