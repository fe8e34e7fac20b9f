"""Ultraviolet, lamps and their hours."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care import lamps
from scheduler.care.case import Case
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.verdicts import Verdict
from scheduler.handbook import daylight, ultraviolet
from scheduler.sources import COMMON_PRACTICE

_VERDICTS: dict[str, Verdict] = {"too weak": "act", "fine": "fine", "bright": "look", "too strong": "act"}

_ADVICE = {
    "too weak": "Too weak: bring the lamp nearer, within what its maker allows, or take a stronger one; measure again.",
    "fine": "Fine, with shade to go to.",
    "bright": "Bright: only as the brightest spot of a slope that ends in full shade.",
    "too strong": "Too strong: raise the lamp, and measure again before the animal goes under it.",
}


@rule
def basking(case: Case) -> Iterator[Finding]:
    """Hold the UVI at the basking place against each species' zone."""
    uvi = case.number("uvi_at_basking")
    for species, uv in sorted(lamps.zones(case).items()):
        if uv.zone is None:
            yield Finding(
                "uvi_at_basking",
                "look",
                f"UVI {case.numeral(uvi, '.2g')} at the basking place. {species}: {uv.ask}",
                uv.cited,
            )
            continue
        zone = ultraviolet.ZONES[uv.zone]
        found = ultraviolet.verdict(uvi, uv.zone)
        text = (
            f"UVI {case.numeral(uvi, '.2g')} at the basking place; {species} is of Ferguson zone {uv.zone}, {case.numeral(zone.mean_low)} to {case.numeral(zone.mean_high)} "
            f"on the mean of a day, highest {case.numeral(zone.most_low)} to {case.numeral(zone.most_high)}. {_ADVICE[found]}"
        )
        yield Finding("uvi_at_basking", _VERDICTS[found], text, ultraviolet.ZONES_SOURCE)


@rule
def no_uv(case: Case) -> Iterator[Finding]:
    """Say where an indoor animal that basks gets no ultraviolet."""
    if lamps.uv_lamps(case) or not case.enclosure.resident or case.enclosure.outdoors:
        return
    needy = sorted(name for name, uv in lamps.zones(case).items() if uv.zone is not None and uv.zone >= 3)
    verdict: Verdict = "act" if needy and case.enclosure.kind == "tank" else "look"
    who = f"{' and '.join(needy)} bask in the open sun" if needy else "all of them need some"
    yield Finding(
        "uvi-reading",
        verdict,
        f"There is no UV lamp, and glass keeps the sun's ultraviolet out: {who}. Add one, and measure.",
        ultraviolet.ZONES_SOURCE,
    )


@rule
def replacement(case: Case) -> Iterator[Finding]:
    """Say when lamps are due, and which are overdue."""
    today = case.today
    for _, lamp, installed in lamps.dated(case):
        found = lamps.life(case, lamp, installed)
        day = installed + dt.timedelta(days=found.days)
        said = f"The {lamp.kind} lamp of {case.date(installed)} is to be replaced on {case.date(day)}: {found.why}."
        order = day - dt.timedelta(days=case.house.lamps_ahead_days)
        if found.days < 28:
            text = f"{said} So soon means that it is too weak or too far away: bring it nearer, or take a stronger one."
            yield Finding("uv_lamp_replace_on", "act", text, found.source)
        elif today is not None and day < today:
            text = f"{said} Overdue: measure its UVI today; without a meter replace it now."
            yield Finding("uv_lamp_replace_on", "act", text, found.source)
        elif today is not None and order <= today:
            yield Finding("uv_lamp_replace_on", "look", f"{said} Order one now.", found.source)
        else:
            text = f"{said} Order one by {case.date(order)}."
            yield Finding("uv_lamp_replace_on", "fine", text, found.source)


@rule
def people(case: Case) -> Iterator[Finding]:
    """Say how long people may be under the lamp."""
    minutes = case.number("people_minutes")
    yield Finding(
        "people_minutes",
        "fine",
        f"Under the lamps {minutes:.0f} minutes in 8 hours are the most for a person's eyes and skin, on the safe side. Never look into a lamp; switch UV and heat lamps off before reaching in; one with a cracked envelope stays off.",
        ultraviolet.ICNIRP,
    )


@rule
def hours(case: Case) -> Iterator[Finding]:
    """Hold the lamps' hours against the seasons' range."""
    low, high = daylight.SHORTEST_H, daylight.LONGEST_H
    for lamp in case.enclosure.lamp:
        if isinstance(lamp.hours_a_day, float) and not low <= lamp.hours_a_day <= high:
            yield Finding(
                "lamp-timer",
                "look",
                f"The {lamp.kind} lamp burns {case.numeral(lamp.hours_a_day)} hours a day; {case.numeral(low)} in winter to {case.numeral(high)} in summer are usual. Set its timer.",
                daylight.MERCK,
            )
        elif lamp.hours_a_day == "daylight" and case.site.place.latitude is None:
            yield Finding(
                "lamp-timer",
                "look",
                f"The {lamp.kind} lamp follows the daylight, but of where: write site.latitude.",
                daylight.DAYLIGHT,
                ("site.latitude",),
            )


@rule
def basking_lamp(case: Case) -> Iterator[Finding]:
    """Say where nothing warms a basking place."""
    e = case.enclosure
    if (
        e.outdoors
        or not e.resident
        or any(lamp.kind in ("heat", "mercury vapour", "metal halide") for lamp in e.lamp)
    ):
        return
    band = f" of {case.band(case.basking_band)}" if case.basking_band else ""
    yield Finding(
        "basking-review",
        "look",
        f"No lamp here warms a basking place: the animals want a dry surface{band}. Add a heat lamp, with guard and ceramic socket.",
        COMMON_PRACTICE,
    )
