"""Ultraviolet, lamps and their hours."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

from scheduler.care import lamps
from scheduler.care.engine.case import Case
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.verdicts import Verdict
from scheduler.description.enclosure import WARM_KINDS
from scheduler.handbook import daylight, ultraviolet
from scheduler.sources import COMMON_PRACTICE

_VERDICTS: dict[str, Verdict] = {"too weak": "act", "fine": "fine", "bright": "look", "too strong": "act"}

_ADVICE = {
    "too weak": "Too weak: bring the lamp nearer, or take a stronger one.",
    "fine": "Fine, with shade to go to.",
    "bright": "Bright: only as the brightest spot of a slope that ends in full shade.",
    "too strong": "Too strong: raise the lamp, and measure again before the animal goes under it.",
}

_GISTS = {
    "too weak": "the ultraviolet at the basking place is too weak",
    "fine": "",
    "bright": "the basking place is bright; it has to end in full shade",
    "too strong": "the ultraviolet at the basking place is too strong",
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
                gist="no UVI is published for a species; ask a vet",
            )
            continue
        zone = ultraviolet.ZONES[uv.zone]
        found = ultraviolet.verdict(uvi, uv.zone)
        text = (
            f"UVI {case.numeral(uvi, '.2g')} at the basking place; {species} is of Ferguson zone {uv.zone}, "
            f"{case.numeral(zone.mean_low)} to {case.numeral(zone.mean_high)} "
            f"on the mean of a day, highest {case.numeral(zone.most_low)} to "
            f"{case.numeral(zone.most_high)}. {_ADVICE[found]}"
        )
        if found == "too weak":
            text += f" {lamps.not_nearer(case)}"
        elif found == "too strong":
            text += _raise_to(case)
        yield Finding("uvi_at_basking", _VERDICTS[found], text, ultraviolet.ZONES_SOURCE, gist=_GISTS[found])


def _raise_to(case: Case) -> str:
    """Say how far off the only UV lamp stays within what the residents stand; "" where that is not known."""
    found = lamps.uv_lamps(case)
    near = lamps.nearest_cm(case, found[0], found[0].uvi, found[0].uvi_at) if len(found) == 1 else None
    return "" if near is None else f" The nearest that is safe is {case.cm(math.ceil(near))}."


@rule
def too_near(case: Case) -> Iterator[Finding]:
    """Say where the basking place was moved so near that no reading can be carried there: what is sure is how
    much at least."""
    most = lamps.most_uvi(case)
    for lamp in lamps.uv_lamps(case):
        if most is None or lamp.uvi is None or lamp.uvi_at is None or lamp.basking_distance is None:
            continue
        half = lamp.uvi_at / ultraviolet.FARTHEST
        if lamp.basking_distance >= half:
            continue
        least = ultraviolet.at_distance(lamp.uvi, lamp.uvi_at, half, lamp.kind, lamps.tube_cm(lamp))
        if least <= most:
            continue
        safe = lamps.nearest_cm(case, lamp, lamp.uvi, lamp.uvi_at)
        where = "" if safe is None else f" to {case.cm(math.ceil(safe))} or more"
        yield Finding(
            "uvi_at_basking",
            "act",
            (
                f"The {lamp.kind} lamp gives over UVI {case.numeral(least, '.2g')} at "
                f"{case.cm(lamp.basking_distance)}, by its reading at {case.cm(lamp.uvi_at)}; "
                f"{case.numeral(most)} is the most for these animals. Switch it off, raise it{where}, and "
                "measure before an animal goes under it."
            ),
            ultraviolet.LAW_SOURCE,
            gist="a lamp so near that its ultraviolet harms",
        )


@rule
def burning_in(case: Case) -> Iterator[Finding]:
    """Say which lamps are new: until they have burned in they give more than later."""
    most = lamps.most_uvi(case)
    for _, lamp, installed in lamps.dated(case):
        day = lamps.burned_in_on(case, lamp, installed)
        if case.today is None or not installed <= case.today < day:
            continue
        over = f"over UVI {case.numeral(most)}" if most is not None else "over what the species stands"
        yield Finding(
            "burn-in-baseline",
            "look",
            (
                f"The {lamp.kind} lamp of {case.date(installed)} is new: until it has burned "
                f"{ultraviolet.BURN_IN_HOURS} hours, on {case.date(day)}, it gives more ultraviolet than "
                f"later; how much more is not published. Measure before an animal goes under it; {over} "
                "hang it higher."
            ),
            ultraviolet.BURN_IN,
            gist="a new lamp, which gives more ultraviolet until it has burned in",
        )


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
        gist="no UV lamp",
    )


@rule
def replacement(case: Case) -> Iterator[Finding]:
    """Say when lamps are due, and which are overdue."""
    today = case.today
    for _, lamp, installed in lamps.dated(case):
        found = lamps.life(case, lamp, installed)
        day = installed + dt.timedelta(days=found.days)
        said = (
            f"The {lamp.kind} lamp of {case.date(installed)} is to be replaced on {case.date(day)}: "
            f"{found.why}."
        )
        order = day - dt.timedelta(days=case.house.lamps_ahead_days)
        if found.days < 28:
            text = (
                f"{said} So soon means that it is too weak or too far away: bring it nearer, or take a "
                f"stronger one. {lamps.not_nearer(case)}"
            )
            yield Finding(
                "uv_lamp_replace_on",
                "act",
                text,
                found.source,
                gist="a lamp that fades soon, too weak or too far away",
            )
        elif today is not None and day < today:
            text = f"{said} Overdue: measure its UVI today; without a meter replace it now."
            yield Finding(
                "uv_lamp_replace_on", "act", text, found.source, gist="a lamp is overdue; replace it"
            )
        elif today is not None and order <= today:
            yield Finding(
                "uv_lamp_replace_on",
                "look",
                f"{said} Order one now.",
                found.source,
                gist="a lamp to be ordered now",
            )
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
        (
            f"Under the lamps {minutes:.0f} minutes in 8 hours are the most for a person's eyes and skin, "
            "on the safe side. Never look into a lamp; switch UV and heat lamps off before reaching in; "
            "one with a cracked envelope stays off."
        ),
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
                (
                    f"The {lamp.kind} lamp burns {case.numeral(lamp.hours_a_day)} hours a day; "
                    f"{case.numeral(low)} in winter to {case.numeral(high)} in summer are usual. Set its "
                    "timer."
                ),
                daylight.MERCK,
                gist="a lamp burns longer or shorter than any day",
            )
        elif lamp.hours_a_day == "daylight" and case.site.settings.latitude is None:
            yield Finding(
                "lamp-timer",
                "look",
                f"The {lamp.kind} lamp follows the daylight, but of where: write site.latitude.",
                daylight.DAYLIGHT,
                ("site.latitude",),
                gist="a lamp follows the daylight, but of where; write latitude",
            )


@rule
def basking_lamp(case: Case) -> Iterator[Finding]:
    """Say where nothing warms a basking place."""
    e = case.enclosure
    if e.outdoors or not e.resident or any(lamp.kind in WARM_KINDS for lamp in e.lamp):
        return
    band = f" of {case.band(case.basking_band)}" if case.basking_band else ""
    yield Finding(
        "basking-review",
        "look",
        (
            f"No lamp here warms a basking place: the animals want a dry surface{band}. Add a heat lamp, "
            "with guard and ceramic socket."
        ),
        COMMON_PRACTICE,
        gist="nothing warms a basking place",
    )
