"""Lamps as the care rules and the review see them: which they are, what reaches the basking place, how long
they last."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.fading import Fade, fade
from scheduler.description.identity import slug
from scheduler.description.site import Lamp
from scheduler.handbook import daylight, ultraviolet
from scheduler.history import Entry
from scheduler.quantities import Span
from scheduler.sources import KEEPER, Source
from scheduler.species import Zone


def lamps(case: Case) -> list[tuple[str, Lamp]]:
    """Return the lamps with their variants: the keeper's id, else one that does not depend on their order in
    the file."""
    return named(case.enclosure.lamp)


def named(lamps: Iterable[Lamp]) -> list[tuple[str, Lamp]]:
    """Return lamps with their variants."""
    found: list[tuple[str, Lamp]] = []
    for lamp in sorted(lamps, key=lambda lamp: lamp.model_dump_json()):
        base = lamp.id or "-".join(
            filter(None, [slug(lamp.kind), lamp.installed.isoformat() if lamp.installed else ""])
        )
        same = sum(1 for name, _ in found if name == base or name.startswith(base + "--"))
        found.append((base if not same else f"{base}--{same + 1}", lamp))
    return found


def uv_lamps(case: Case) -> list[Lamp]:
    """Return the lamps that are there for their ultraviolet."""
    return [lamp for lamp in case.enclosure.lamp if lamp.gives_uv]


def dated(case: Case) -> Iterator[tuple[str, Lamp, dt.date]]:
    """Yield the UV lamps whose day of installation is known, with variant and day."""
    for variant, lamp in lamps(case):
        if lamp.gives_uv and lamp.installed is not None:
            yield variant, lamp, lamp.installed


def uvi_at_basking(lamp: Lamp) -> tuple[float, str]:
    """Return the UVI that a lamp gives at the basking place, and the law it was carried there by.

    NotKnown without a reading or distance; ValueError where the reading was too far away to tell.
    """
    missing = [key for key in ("uvi", "uvi_at", "basking_distance") if getattr(lamp, key) is None]
    if missing:
        raise NotKnown(*(f"lamp.{key}" for key in missing))
    assert lamp.uvi is not None and lamp.uvi_at is not None and lamp.basking_distance is not None
    long = tube_cm(lamp)
    law = ultraviolet.law_of(lamp.kind, lamp.uvi_at, lamp.basking_distance, long)
    return ultraviolet.at_distance(lamp.uvi, lamp.uvi_at, lamp.basking_distance, lamp.kind, long), law


def tube_cm(lamp: Lamp) -> float | None:
    """Return the length of a tube in cm: the keeper's, else that of the standard tube of its power; None
    where neither is known."""
    return lamp.length if lamp.length is not None else ultraviolet.tube_length_cm(lamp.kind, lamp.power)


def zones(case: Case) -> dict[str, Zone]:
    """Return the zone of each resident's species, by species."""
    found = [(s.species, s.uv) for r in case.enclosure.resident if (s := case.sheet(r)) is not None]
    return dict(found)


def least_uvi(case: Case) -> float | None:
    """Return the UVI under which the neediest species of known zone has too little; None without any."""
    known = [ultraviolet.ZONES[z.zone].mean_low for z in zones(case).values() if z.zone is not None]
    return max(known, default=0.0) or None


def most_uvi(case: Case) -> float | None:
    """Return the highest UVI that the residents should meet, by the species of known zone that stands least;
    None without any."""
    known = [ultraviolet.ceiling(z.zone) for z in zones(case).values() if z.zone is not None]
    return min(known, default=None)


def nearest_cm(case: Case, lamp: Lamp, uvi: float | None, at_cm: float | None) -> float | None:
    """Return the nearest distance in cm at which a lamp that gives so much UVI at a distance stays within
    what the residents stand.

    None where a value or the zone is not known, and where it lies outside half to double the distance of the
    reading.
    """
    most = most_uvi(case)
    if most is None or uvi is None or at_cm is None:
        return None
    try:
        return ultraviolet.distance_of(uvi, at_cm, most, lamp.kind, tube_cm(lamp))
    except ValueError:
        return None


def not_nearer(case: Case) -> str:
    """Return how near a lamp may be brought, for ultraviolet and for fire: what stands wherever a note says
    to lower one."""
    found, most = uv_lamps(case), most_uvi(case)
    fire = (
        "and no nearer to anything than its maker allows, since lamps start fires (Merck Veterinary "
        f"Manual: {case.cm(ultraviolet.FIRE_CM)} at least "
        f"for {ultraviolet.FIRE_W[0]:.0f} to {ultraviolet.FIRE_W[1]:.0f} W)"
    )
    if not found:
        return f"Lower it only so far that no animal can touch it, {fire}."
    near = _nearest_told(case, found[0]) if len(found) == 1 else None
    meter = "a UV meter at the basking place shows"
    if near is not None and most is not None:
        bound = (
            f"not nearer to the basking place than {near} (UVI {case.numeral(most)} is the most for these "
            "animals)"
        )
    elif most is not None:
        bound = f"only as long as {meter} UVI {case.numeral(most)} or less, the most for these animals"
    else:
        bound = f"only as long as {meter} no more than the species stands"
    return f"Lower it {bound}, {fire}. Measure the UVI again before an animal goes under it."


def _nearest_told(case: Case, lamp: Lamp) -> str | None:
    """Return the nearest distance that a lamp's own reading vouches for, with why; None where it vouches for
    none."""
    most, near = most_uvi(case), nearest_cm(case, lamp, lamp.uvi, lamp.uvi_at)
    if near is not None:
        return f"{case.cm(math.ceil(near))}, where the {lamp.kind} lamp comes to it"
    if most is None or lamp.uvi is None or lamp.uvi_at is None:
        return None
    half = lamp.uvi_at / ultraviolet.FARTHEST
    if ultraviolet.at_distance(lamp.uvi, lamp.uvi_at, half, lamp.kind, tube_cm(lamp)) > most:
        return None
    return f"{case.cm(math.ceil(half))}, half the distance at which it was read"


def burned_in_on(case: Case, lamp: Lamp, installed: dt.date) -> dt.date:
    """Return the day on which a UV lamp has burned in; at the usual hours a day where its own are not
    known."""
    try:
        daily = hours_a_day(case, lamp)
    except NotKnown:
        daily = ultraviolet.HOURS_A_DAY
    return daylight.day_after_hours(installed, ultraviolet.BURN_IN_HOURS, daily, case.site.settings.latitude)


def hours_a_day(case: Case, lamp: Lamp) -> float | None:
    """Return the hours that a lamp burns each day, or None for one that follows the daylight at a known
    latitude.

    NotKnown where the description does not say.
    """
    if lamp.hours_a_day is None:
        raise NotKnown("lamp.hours_a_day")
    if isinstance(lamp.hours_a_day, str):
        if case.site.settings.latitude is None:
            raise NotKnown("site.latitude")
        return None
    return lamp.hours_a_day


def _together(case: Case, lamp: Lamp) -> float | None:
    """Return the UVI at the basking place that a lamp is part of: of all UV lamps, else its own; None where
    it is not known.

    What the species needs is asked of all of them together: a weak lamp beside a strong one need not give it
    alone.
    """
    for some in (uv_lamps(case), [lamp]):
        try:
            return sum(uvi_at_basking(one)[0] for one in some)
        except (NotKnown, ValueError):
            continue
    return None


@dataclass(frozen=True, slots=True)
class Life:
    """How long a UV lamp is used: in days, why it ends then, and whose figure that is."""

    days: int
    why: str
    source: Source


def life(case: Case, lamp: Lamp, installed: dt.date) -> Life:
    """Return how long a UV lamp is used.

    The keeper's own interval; else until it has faded to 70 % of its baseline or under what its species
    needs, by the hours that it burns, and never beyond the customary months. From a week on in whole weeks,
    rounded down.
    """
    own = case.enclosure.job.get("uv-lamp-replace")
    if own is not None and own.every is not None:
        return Life(own.every.interval_days, f"your interval of {own.every}", KEEPER)
    custom = Span(months=ultraviolet.REPLACE_MONTHS[lamp.kind])
    calendar = Life(custom.interval_days, f"the customary {custom} for its kind", ultraviolet.LIFE)
    faded = fading_of(case, lamp, installed)
    if faded is not None and faded.days is not None:
        return calendar if faded.days >= calendar.days else Life(faded.days, faded.why, faded.source)
    hours, why = ultraviolet.hours_until_replacement(lamp.kind, _together(case, lamp), least_uvi(case))
    try:
        daily = hours_a_day(case, lamp)
    except NotKnown:
        return calendar
    end = daylight.day_after_hours(installed, hours, daily, case.site.settings.latitude)
    days = max(1, (end - installed).days)
    days = days // 7 * 7 if days >= 7 else days
    source = ultraviolet.DECAY_T8 if lamp.kind == "T8 tube" else ultraviolet.DECAY
    # At the customary twelve hours both ends are the same day, but for the rounding.
    return calendar if days >= calendar.days - 7 else Life(days, f"{why} after {hours:.0f} hours", source)


def readings_of(case: Case, lamp: Lamp) -> list[Entry]:
    """Return the readings under a lamp: those that name none are its own where it is the only one for
    ultraviolet."""
    return case.readings("uvi") if len(uv_lamps(case)) == 1 else case.readings("uvi", lamp.id)


def fading_of(case: Case, lamp: Lamp, installed: dt.date) -> Fade | None:
    """Return how a lamp fades by its readings since it burned in; None where they tell nothing.

    Readings that name no lamp are its own where it is the only one for ultraviolet.
    """
    found = readings_of(case, lamp)
    if not found:
        return None
    burned_in = burned_in_on(case, lamp, installed)
    readings = [(e.day, e.value) for e in found if e.value is not None and e.day >= burned_in]
    try:
        baseline = (burned_in, uvi_at_basking(lamp)[0])
    except (NotKnown, ValueError):
        # Without a baseline in the description it is the first reading after burn-in.
        if not readings:
            return None
        baseline = readings.pop(0)
    worn = ultraviolet.BASELINE_SHARE * baseline[1]
    least = least_uvi(case) if len(uv_lamps(case)) == 1 else None
    bound, what = (worn, "70 % of its baseline")
    if least is not None and worn < least < baseline[1]:
        bound, what = least, "what the species needs"
    return fade(readings, installed, baseline, bound, what, formats=case.formats)


def replace_on(case: Case, lamp: Lamp, installed: dt.date) -> dt.date:
    """Return the day on which a UV lamp is to be replaced."""
    return installed + dt.timedelta(days=life(case, lamp, installed).days)


def told(case: Case, lamp: Lamp, installed: dt.date) -> str:
    """Return how the day of a replacement came about."""
    found = life(case, lamp, installed)
    left = ultraviolet.half_life_hours(lamp.kind)
    return (
        f"{lamp.kind} lamp of {case.date(installed)} + {found.days} days ({found.why}; its ultraviolet "
        f"halves in {left:.0f} hours)"
    )
