"""Nitrate, ammonia, alkalinity, and the work of a water change."""

from __future__ import annotations

import math
from collections.abc import Iterator

from scheduler.care.case import Case
from scheduler.care.figures.nitrogen import (
    change_override,
    computed_days,
    is_measured,
    longest_allowed,
    rhythm,
    tap_nitrate,
)
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.verdicts import Verdict
from scheduler.care.water import MATCH_K
from scheduler.handbook import ammonia, feeding, lifting, nitrogen
from scheduler.sources import KEEPER, Source

LEAST_ALKALINITY = 50.0
"""mg/L as CaCO3 under which the pH may slide between changes. House value."""

BUFFER = Source("at least 50 mg/L of alkalinity (as CaCO3) before a change", "house value")


@rule
def nitrate(case: Case) -> Iterator[Finding]:
    """Hold the nitrate before a change against the limits, and name the ways out."""
    peak = case.number("nitrate_peak")
    every = case.number("water_change_interval")
    look, act = case.house.nitrate_look, case.house.nitrate_act
    limits = case.house.source("nitrate_look")
    whose = "your limit" if limits is KEEPER else "the house limit"
    tap = tap_nitrate(case)
    assumed = (
        ""
        if case.site.place.tap_water.nitrate is not None
        else " The tap is taken as free of nitrate: measure it."
    )
    own_readings = is_measured(case)
    by = (
        "by your own readings"
        if own_readings
        else "if all nitrogen of the food ends in the water"
        if case.house.all_nitrogen
        else "if the animals excrete as growing fish do"
    )
    said = f"Nitrate stands at {peak:.0f} mg/L before a change of {case.change_share * 100:.0f} % {rhythm(case, every)}, {by}; {whose} is {case.numeral(look)}."
    other = "" if own_readings else _other_coefficient(case, peak, tap)
    if tap >= look:
        text = f"{said}{other} The tap alone brings {case.numeral(tap)} mg/L: no change of water gets under the limit. Ask for other water (rain, reverse osmosis), or set nitrate_look for what your animals have shown to stand."
        yield Finding("nitrate_peak", "act" if peak > act else "look", text, limits)
        return
    allowed = longest_allowed(case)
    own = change_override(case)
    computed = computed_days(case)
    fixed = own is not None and own.rule is not None
    if computed is None or (not fixed and computed >= allowed) or (fixed and peak <= look):
        yield Finding("nitrate_peak", "fine", f"{said}{other}{assumed}", limits)
        return
    verdict: Verdict = "look"
    if fixed or peak > look:
        verdict = "act" if peak > act else "look"
        kept = " Your weekdays keep changes that far apart." if own is not None and own.weekdays else ""
        text = f"{said}{other}{assumed}{kept} {_ways_out(case, computed, round(every) if fixed else allowed)}"
    else:
        at_most = "your" if own is not None and own.every is not None else "the customary"
        text = f"{said}{other}{assumed} With {at_most} {allowed} days it would be {nitrogen.peak_mg_l(case.number('nitrate_rise') * allowed, case.change_share, tap):.0f}, so changes come {rhythm(case, every)}. {_ways_out(case, computed, allowed)}"
    yield Finding("nitrate_peak", verdict, text, limits)


def _other_coefficient(case: Case, peak: float, tap: float) -> str:
    """Return the peak by the coefficient that was not taken."""
    fish = nitrogen.FISH_COEFFICIENT / nitrogen.N_IN_PROTEIN
    if case.house.all_nitrogen:
        return f" By the coefficient of growing fish it would be {tap + (peak - tap) * fish:.0f}."
    return f" If all of it ends in the water it is {tap + (peak - tap) / fish:.0f}."


def _ways_out(case: Case, computed: float, days: int) -> str:
    """Return what keeps nitrate under the limit: a bigger share, more changes, less food, more water, with numbers.

    `computed` is the longest interval of the share as it is; `days` the one that custom or the keeper wants.
    """
    share = nitrogen.share_needed(
        case.number("nitrate_rise") * days, case.house.nitrate_look, tap_nitrate(case)
    )
    own = f"{case.change_share * 100:.0f} %"
    ways, no = [], []
    if share <= 1:
        ways.append(f"change {math.ceil(share * 100 - 1e-9)} % {rhythm(case, days)}")
    else:
        no.append(f"no share of the water is enough {rhythm(case, days)}")
    if computed >= 1:
        ways.append(f"change {own} {rhythm(case, math.floor(computed))}")
    else:
        no.append("not even daily changes are enough")
    with_share = f"at {own} {rhythm(case, days)}"
    protein = case.enclosure.feed.protein
    if protein is not None and case.value("ration") is not None:
        lower = math.floor(protein * computed / days * 100)
        young = any(case.stage_by_size(r) in (0, 1) for r in case.enclosure.resident)
        if lower < 1 or (young and lower < feeding.LEAST_PROTEIN_YOUNG * 100):
            no.append("less protein is not for growing animals" if young else "no food is so poor in protein")
        else:
            ways.append(f"feed {lower} % protein {with_share}")
        ways.append(
            f"feed {case.numeral(case.number('ration') * computed / days, '.2g')} g a day {with_share}"
        )
    ways.append(f"have {case.litres(case.number('net_volume') * days / computed)} of water {with_share}")
    return f"Ways to stay under it: {'; '.join(ways)}." + (f" But {' and '.join(no)}." if no else "")


@rule
def freed_ammonia(case: Case) -> Iterator[Finding]:
    """Hold the ammonia that one change frees against the limits and the EPA's ceiling."""
    poison = case.number("unionised_ammonia")
    total = case.number("freed_ammonia") * case.change_share
    ph, celsius = case.site.place.tap_water.ph, case.set_to_c
    assert ph is not None and celsius is not None
    limits = case.house.source("ammonia_look")
    said = f"One change frees {case.numeral(total, '.2f')} mg/L of ammonia nitrogen in the tank, {case.numeral(poison, '.3f')} mg/L of it un-ionised at pH {case.numeral(ph)} and {case.degrees(celsius)}; the limit is {case.numeral(case.house.ammonia_look)}."
    try:
        ceiling = f" The chronic criterion for wild waters there is {case.numeral(ammonia.epa_chronic_mg_l(ph, celsius), '.2f')} mg/L in all (US EPA 2013), a ceiling."
    except ValueError as outside:
        ceiling = f" No ceiling is named: {outside}."
    if poison <= case.house.ammonia_look:
        yield Finding("unionised_ammonia", "fine", said + ceiling, limits)
    else:
        verdict: Verdict = "act" if poison > case.house.ammonia_act else "look"
        text = (
            f"{said}{ceiling} Use a conditioner that binds ammonia too, and change smaller shares more often."
        )
        yield Finding("unionised_ammonia", verdict, text, limits)


@rule
def alkalinity(case: Case) -> Iterator[Finding]:
    """Hold what nitrification uses between changes against what the tap brings."""
    brought = case.site.place.tap_water.alkalinity
    used = case.number("alkalinity_used")
    every = case.number("water_change_interval")
    if brought is None:
        yield Finding(
            "alkalinity_used",
            "fine",
            f"Nitrification uses {used * every:.0f} mg/L of alkalinity (as CaCO3) between changes: write site.tap_water.alkalinity, from the utility's report.",
            nitrogen.ALKALINITY,
            ("site.tap_water.alkalinity",),
        )
        return
    left = brought - used * every / case.change_share
    said = f"Before a change {max(0.0, left):.0f} of the tap's {case.numeral(brought)} mg/L of alkalinity are left."
    if left >= LEAST_ALKALINITY:
        yield Finding("alkalinity_used", "fine", said, nitrogen.ALKALINITY)
        return
    grams = nitrogen.bicarbonate_g(LEAST_ALKALINITY - left, case.number("net_volume"))
    text = f"{said} Under {case.numeral(LEAST_ALKALINITY)} the pH may slide and the filter falter: change more often; {grams:.0f} g of sodium bicarbonate would make up for it once. Test pH first."
    yield Finding("alkalinity_used", "act" if left <= 0 else "look", text, BUFFER)


@rule
def taps(case: Case) -> Iterator[Finding]:
    """Say where the taps cannot give the tank's temperature."""
    tap, target = case.site.place.tap_water, case.set_to_c
    if target is None or tap.cold is None or tap.hot is None or case.value("hot_water_volume") is not None:
        return
    if case.value("water_change_volume") is None:
        return
    yield Finding(
        "hot_water_volume",
        "look",
        f"The taps give {case.degrees(tap.cold)} to {case.degrees(tap.hot)}: the tank's {case.degrees(target)} cannot be mixed from them. Let new water stand in the room until it is within {case.degrees_apart(MATCH_K)}.",
        KEEPER,
    )


@rule
def lifting_pails(case: Case) -> Iterator[Finding]:
    """Hold a pail of the change against the limit for one lift."""
    mass, limit = case.number("pail_mass"), case.number("lifting_limit")
    change = case.number("water_change_volume")
    said = f"A full pail weighs {case.kilograms(mass)}; for lifting it from the floor {case.kilograms(limit)} are the limit (index {case.numeral(lifting.lifting_index(mass, limit), '.2f')})."
    if mass > limit:
        text = f"{said} Fill the pails less: set house_values.pail, or use a hose or a pump."
        yield Finding("pail_mass", "act", text, lifting.NIOSH)
    elif change > case.house.hose_from_l:
        text = f"{said} A change is {case.litres(change)}: a hose or a pump spares the back."
        yield Finding("pail_mass", "fine", text, case.house.source("hose_from"))
    else:
        yield Finding("pail_mass", "fine", said, lifting.NIOSH)


@rule
def not_cycled(case: Case) -> Iterator[Finding]:
    """Say that animals live on a filter that does not work yet."""
    e, today = case.enclosure, case.today
    here = [r for r in e.resident if r.arrived is None or (today is not None and r.arrived <= today)]
    if e.cycled is False and here:
        yield Finding(
            "cycle-test",
            "look",
            "The biofilter does not work yet, and animals are in: test ammonia and nitrite daily and change water when they show.",
            Source("two clean tests a day or more apart end the start-up", "house value"),
        )
