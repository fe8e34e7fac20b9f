"""Freed ammonia, alkalinity, and the work of a water change."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.new_water import MATCH_K
from scheduler.care.verdicts import Verdict
from scheduler.handbook import ammonia, lifting, nitrogen
from scheduler.sources import KEEPER, Source

LEAST_ALKALINITY = 50.0
"""mg/L as CaCO3 under which the pH may slide between changes. House value."""

BUFFER = Source("at least 50 mg/L of alkalinity (as CaCO3) before a change", "house value")


@rule
def freed_ammonia(case: Case) -> Iterator[Finding]:
    """Hold the ammonia that one change frees against the limits and the EPA's ceiling."""
    poison = case.number("unionised_ammonia")
    total = case.number("freed_ammonia") * case.change_share
    ph, celsius = case.site.settings.tap_water.ph, case.set_to_c
    assert ph is not None and celsius is not None
    limits = case.house.source("ammonia_look")
    said = (
        f"One change frees {case.numeral(total, '.2f')} mg/L of ammonia nitrogen in the tank, "
        f"{case.numeral(poison, '.3f')} mg/L of it un-ionised at pH {case.numeral(ph)} and "
        f"{case.degrees(celsius)}; the limit is {case.numeral(case.house.ammonia_look)}."
    )
    try:
        ceiling = (
            " The chronic criterion for wild waters there is "
            f"{case.numeral(ammonia.epa_chronic_mg_l(ph, celsius), '.2f')} mg/L in all (US EPA 2013), a "
            "ceiling."
        )
    except ValueError as outside:
        ceiling = f" No ceiling is named: {outside}."
    if poison < case.house.ammonia_look:
        yield Finding("unionised_ammonia", "fine", said + ceiling, limits)
    else:
        verdict: Verdict = "act" if poison >= case.house.ammonia_act else "look"
        text = (
            f"{said}{ceiling} Use a conditioner that binds ammonia too, and change smaller shares more often."
        )
        yield Finding("unionised_ammonia", verdict, text, limits, gist="a change frees too much ammonia")


@rule
def alkalinity(case: Case) -> Iterator[Finding]:
    """Hold what nitrification uses between changes against what the tap brings."""
    brought = case.site.settings.tap_water.alkalinity
    used = case.number("alkalinity_used")
    every = case.number("water_change_interval")
    if brought is None:
        yield Finding(
            "alkalinity_used",
            "fine",
            (
                f"Nitrification uses {used * every:.0f} mg/L of alkalinity (as CaCO3) between changes: "
                "write site.tap_water.alkalinity, from the utility's report."
            ),
            nitrogen.ALKALINITY,
            ("site.tap_water.alkalinity",),
        )
        return
    left = brought - used * every / case.change_share
    said = (
        f"Before a change {max(0.0, left):.0f} of the tap's {case.numeral(brought)} mg/L of alkalinity are "
        "left."
    )
    if left >= LEAST_ALKALINITY:
        yield Finding("alkalinity_used", "fine", said, nitrogen.ALKALINITY)
        return
    grams = nitrogen.bicarbonate_g(LEAST_ALKALINITY - left, case.number("net_volume"))
    text = (
        f"{said} Under {case.numeral(LEAST_ALKALINITY)} the pH may slide and the filter falter: change more "
        f"often; {grams:.0f} g of sodium bicarbonate would make up for it once. Test pH first."
    )
    yield Finding(
        "alkalinity_used",
        "act" if left <= 0 else "look",
        text,
        BUFFER,
        gist="too little alkalinity is left before a change",
    )


@rule
def taps(case: Case) -> Iterator[Finding]:
    """Say where the taps cannot give the tank's temperature."""
    tap, target = case.site.settings.tap_water, case.set_to_c
    if target is None or tap.cold is None or tap.hot is None or case.value("hot_water_volume") is not None:
        return
    if case.value("water_change_volume") is None:
        return
    yield Finding(
        "hot_water_volume",
        "look",
        (
            f"The taps give {case.degrees(tap.cold)} to {case.degrees(tap.hot)}: the tank's "
            f"{case.degrees(target)} cannot be mixed from them. Let new water stand in the room until it is "
            f"within {case.degrees_apart(MATCH_K)}."
        ),
        KEEPER,
        gist="the taps cannot give the tank's temperature",
    )


@rule
def lifting_pails(case: Case) -> Iterator[Finding]:
    """Hold a pail of the change against the limits for one person and for two."""
    mass, limit = case.number("pail_mass"), case.number("lifting_limit")
    change = case.number("water_change_volume")
    said = (
        f"A full pail weighs {case.kilograms(mass)}; for lifting it from the floor in one hand "
        f"{case.kilograms(limit)} are the limit (index "
        f"{case.numeral(lifting.lifting_index(mass, limit), '.2f')})."
    )
    if mass > limit:
        two = lifting.two_people_kg(limit)
        fuller = (
            f"fill the pails to {case.litres(lifting.largest_pail_l(limit))}: set house_values.pail, or use "
            "a hose or a pump."
        )
        if mass > two:
            text = f"{said} Two people may lift {case.kilograms(two)} together: {fuller}"
            yield Finding(
                "pail_mass", "act", text, lifting.ISO, gist="a full pail is too heavy for two people"
            )
        else:
            yield Finding(
                "pail_mass",
                "look",
                f"{said} Two people carry it between them, or {fuller}",
                lifting.ISO,
                gist="a full pail is too heavy for one person",
            )
    elif change > case.house.hose_from_l:
        text = f"{said} A change is {case.litres(change)}: a hose or a pump spares the back."
        yield Finding("pail_mass", "fine", text, case.house.source("hose_from"))
    else:
        yield Finding("pail_mass", "fine", said, lifting.ISO)
