"""Old water out and new water in: how much, how warm, treated with what, by hose or by pail."""

from __future__ import annotations

import math
from collections.abc import Iterator

from scheduler.care.engine.case import Case
from scheduler.care.figures.change import taps_cannot_warm
from scheduler.handbook import volume
from scheduler.sources import Source

MATCH_K = 2.0
"""New water comes within so many kelvin of the tank.

Veterinary convention, 2 to 3 K, from memory; the narrower end.
"""


MATCHING = Source("new water within 2 °C of the tank: veterinary convention of 2 to 3 °C", "from memory")


def drain(case: Case) -> list[str]:
    """Return the steps of the old water: how much, down to which line, in how many pails."""
    share = f"{case.change_share * 100:.0f} %"
    line = case.value("line_after_change")
    own = case.enclosure.job.get("water-change")
    first = []
    if case.enclosure.outdoors and (own is None or own.share is None):
        # The customary half is custom of tanks; nothing published was found for ponds.
        first = [
            (
                "Half the water is custom for tanks; for a pond let your water tests say how much, and "
                "write the share into the description."
            )
        ]
    mass = case.value("pail_mass")
    if case.change_l is None or line is None or mass is None:
        return [
            *first,
            f"Drain {share} of the water. How many litres that is follows once length, width and water "
            "depth are "
            "measured and stand in the description.",
        ]
    low = ""
    if case.enclosure.heater and case.enclosure.water_depth:
        low = f", {case.cm(case.enclosure.water_depth - line)} lower: a hot heater above it cracks or burns"
    drained = (
        f"Drain {case.litres(case.change_l)} ({share}): stop when the water stands {case.cm(line)} over the "
        f"floor{low}."
    )
    count = volume.pails(case.change_l, case.house.pail_l)
    each = case.change_l / count
    by_pail = (
        f"{count} pail{'s' if count > 1 else ''} of {case.litres(each)} (about {case.kilograms(mass)} each)"
    )
    if case.change_l > case.house.hose_from_l:
        return [*first, drained, f"Use a hose or a pump; by hand it would be {by_pail}."]
    return [*first, drained, f"By hand that is {by_pail}; never fill one fuller."]


def new_water_by_hose(case: Case) -> Iterator[str]:
    """Yield the steps of new water from the tap: what treats it is in the tank before it runs, for all of the
    tank's water."""
    if case.chlorine_level:
        yield _treated(
            case,
            f"Put conditioner for the whole tank{_whole(case)} into it before any water runs, by its label",
            case.water_l,
        )
    step = case.degrees_apart(MATCH_K)
    target = case.set_to_c
    warm = (
        f"at {case.degrees(target)}, within {step}"
        if target is not None
        else f"as warm as the tank, within {step}"
    )
    parts, chills = _parts(case)
    mixed = f": {parts}. {chills}" if parts else "."
    yield f"Set the mixer tap so that the hose runs {warm}, by a thermometer in the stream{mixed}"
    yield (
        "Tie the hose's end above the water, so that none is drawn back. Run the water in slowly, away from "
        "the animals, up to "
        "the usual line; stay with it."
    )


def _whole(case: Case) -> str:
    return f", {case.litres(case.water_l)}," if case.water_l is not None else ""


def _parts(case: Case) -> tuple[str, str]:
    """Return how much cold and hot water make the new water, and what cold water alone would do; both ""
    where it is not known."""
    tap, hot, target = case.site.settings.tap_water, case.hot_l, case.set_to_c
    if case.change_l is None or hot is None or tap.cold is None or tap.hot is None or target is None:
        return "", ""
    chilled = volume.mixed_temperature(case.change_share, target, tap.cold)
    return (
        (
            f"{case.litres(case.change_l - hot)} cold ({case.degrees(tap.cold)}) and {case.litres(hot)} hot "
            f"({case.degrees(tap.hot)})"
        ),
        f"Cold water alone would bring the tank down to {case.degrees(chilled)}.",
    )


def new_water_by_pail(case: Case) -> Iterator[str]:
    """Yield the steps of new water in pails: mixed there, treated there, and only then poured in."""
    yield _mixed(case)
    if case.chlorine_level:
        yield _treated(case, "Treat it in the pails, with conditioner by its label", case.change_l)
    yield "Pour the new water in slowly, away from the animals, up to the usual line."


def _mixed(case: Case) -> str:
    tap = case.site.settings.tap_water
    target = case.set_to_c
    step = case.degrees_apart(MATCH_K)
    if target is None:
        return (
            f"Measure the tank's water, and mix new water in clean pails to within {step} of it, by "
            "thermometer."
        )
    if taps_cannot_warm(case):
        assert tap.cold is not None and tap.hot is not None
        return (
            f"Bring the new water to {case.degrees(target)}, within {step}: the taps alone "
            f"({case.degrees(tap.cold)} to "
            f"{case.degrees(tap.hot)}) do not give that, so let it stand in clean, covered pails or tubs in "
            "the room."
        )
    parts, chills = _parts(case)
    if parts:
        return f"Mix {parts} in clean pails: {case.degrees(target)} by thermometer, within {step}. {chills}"
    missing = "the water's volume" if case.change_l is None else "cold and hot tap water"
    return (
        f"Mix new water of {case.degrees(target)} in clean pails, by thermometer, within {step}. The litres "
        "of hot and cold "
        f"follow once {missing} is measured and stands in the description."
    )


def dose(case: Case, litres: float | None) -> str:
    """Return how much conditioner so many litres take, as a sentence; "" where the description does not say
    what a bottle holds and treats.

    To half a mL, from 10 mL on to a whole one: what a syringe or a measuring cap shows.
    """
    c = case.enclosure.conditioner
    if litres is None or c.treats is None or c.bottle is None:
        return ""
    ml = c.bottle * 1000.0 * litres / c.treats
    step = 0.5 if ml < 10.0 else 1.0
    return (
        " By what the bottle holds and treats that is "
        f"{case.numeral(max(step, math.ceil(ml / step - 1e-9) * step))} mL; its label comes first."
    )


def _treated(case: Case, how: str, litres: float | None) -> str:
    """Return how new water is treated, and with how much; `litres` are those that the dose is for."""
    kind = "chloramine" if case.frees_ammonia else "chlorine"
    mg = case.value("chlorine_to_neutralise")
    if mg is None:
        return f"{how}: there are {case.numeral(case.chlorine_level)} mg of {kind} in each litre."
    text = f"{how}: it has to neutralise {case.milligrams(mg)} of {kind} (as Cl2).{dose(case, litres)}"
    freed = case.value("freed_ammonia")
    if freed is not None:
        text += (
            f" That frees {case.numeral(freed, '.2g')} mg/L of ammonia nitrogen in the new water: take a "
            "conditioner that binds ammonia too."
        )
    return text
