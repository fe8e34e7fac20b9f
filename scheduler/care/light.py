"""Lamps: what shines, and what fades without being seen."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

from scheduler.care import cautions
from scheduler.care.case import Case
from scheduler.care.job import Every, Job, Notes, On
from scheduler.care.registry import job
from scheduler.description.identity import slug
from scheduler.description.site import Lamp
from scheduler.quantities import Span
from scheduler.sources import HOUSE, Source

REPLACE_MONTHS = {"compact": 6, "T8 tube": 6, "mercury vapour": 6, "T5 HO tube": 12, "metal halide": 12}
"""Months after which a UV lamp is replaced where no meter says otherwise. Veterinary convention, from memory; for
mercury vapour it says 6 to 12, and the earlier end is taken."""

CALENDAR_LIFE = Source(
    "replacement by calendar: compact, T8 and mercury vapour 6 months (the last 6 to 12), T5 and metal halide 12; veterinary convention",
    "from memory",
)
ORDER_AHEAD_DAYS = 28
"""A lamp is ordered so many days before its replacement. House value."""

BURN_IN_HOURS = 100
"""Hours after which a new discharge lamp is read for its baseline (IES test practice; Baines et al. 2016; from memory)."""

BURN_IN = Source(
    "100 hours of burn-in before the baseline: IES test practice; Baines et al. 2016, J. Zoo Aquar. Res. 4(1):42-63",
    "from memory",
)
SHORTEST_DAY_H = 8
"""The lamp schedule is never shorter. House value."""


def _lamps(case: Case) -> list[tuple[str, Lamp]]:
    """Return the lamps with a variant that does not depend on their order in the file."""
    found: list[tuple[str, Lamp]] = []
    for lamp in sorted(case.enclosure.lamp, key=lambda lamp: lamp.model_dump_json()):
        base = "-".join(filter(None, [slug(lamp.kind), lamp.installed.isoformat() if lamp.installed else ""]))
        same = sum(1 for name, _ in found if name == base or name.startswith(base + "--"))
        found.append((base if not same else f"{base}--{same + 1}", lamp))
    return found


def _dated(case: Case) -> Iterator[tuple[str, Lamp, dt.date]]:
    """Yield the UV lamps whose day of installation is known, with variant and day."""
    for variant, lamp in _lamps(case):
        if lamp.gives_uv and lamp.installed is not None:
            yield variant, lamp, lamp.installed


@job("lamp-clean")
def lamp_clean(case: Case) -> Iterator[Job]:
    """Dust lamps and reflectors monthly."""
    if not case.enclosure.lamp:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                "Switch the lamps off, unplug them and let them cool for half an hour.",
                "Wipe bulbs, tubes, reflectors and guards with a dry cloth.",
                "See that sockets are whole, guards tight, and each lamp hangs from something better than its clamp.",
            ),
            cautions=(cautions.LAMP_OFF, cautions.MERCURY)
            if any(lamp.gives_uv for lamp in case.enclosure.lamp)
            else (cautions.LAMP_OFF,),
            reason="dust and lime take light and ultraviolet, and dust on a hot lamp burns.",
            sources=(HOUSE,),
        )

    yield Job(
        enclosure=case.enclosure,
        title="clean lamps",
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=7,
        minutes=10,
        skills=("electrics",),
        notes=notes,
    )


@job("uvi-reading")
def uvi_reading(case: Case) -> Iterator[Job]:
    """Measure the UV Index at the basking place monthly."""
    lamps = [lamp for _, lamp in _lamps(case) if lamp.gives_uv]
    if not lamps:
        return

    def notes() -> Notes:
        steps = [
            "Let the lamps burn for half an hour, then hold the meter where the shell is when the turtle basks."
        ]
        for lamp in lamps:
            at = f" {case.cm(lamp.basking_distance)} from the lamp" if lamp.basking_distance else ""
            before = (
                f"; it gave {lamp.uvi:g} at {case.cm(lamp.uvi_at)}"
                if lamp.uvi is not None and lamp.uvi_at
                else ""
            )
            steps.append(f"Write down the UVI of the {lamp.kind} lamp{at}{before}.")
        steps.append(
            "Under 70 % of the lamp's baseline, or under what the species needs: replace the lamp now."
        )
        if any(lamp.installed is None for lamp in lamps):
            steps.append("Write `installed` into the lamp's table: without it no replacement can be planned.")
        zones = [(s.species, s.uv) for r in case.enclosure.resident if (s := case.sheet(r)) is not None]
        for species, uv in dict(zones).items():
            steps.append(
                f"{species} belongs to Ferguson zone {uv.zone}."
                if uv.zone is not None
                else f"{species}: {uv.ask}"
            )
        return Notes(
            steps=tuple(steps),
            cautions=(cautions.LAMP_OFF,),
            reason="ultraviolet fades unseen: a lamp can look as bright as ever and give none.",
            sources=(
                Source("replace under 70 % of the baseline", "house value"),
                *dict.fromkeys(uv.cited for _, uv in zones),
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="UVI reading",
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=7,
        minutes=10,
        notes=notes,
    )


@job("burn-in-baseline")
def burn_in_baseline(case: Case) -> Iterator[Job]:
    """Read a new UV lamp once it has burned in: that value is what later readings are compared with."""
    for variant, lamp, installed in _dated(case):
        hours = SHORTEST_DAY_H if lamp.hours_a_day == "daylight" else lamp.hours_a_day
        if hours is None:
            continue
        day = installed + dt.timedelta(days=math.ceil(BURN_IN_HOURS / hours))
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"baseline of the {lamp.kind} lamp",
            cadence=On(days=(day,)),
            window=7,
            minutes=10,
            notes=lambda lamp=lamp, hours=hours: _baseline_notes(case, lamp, hours),  # type: ignore[misc]
        )


def _baseline_notes(case: Case, lamp: Lamp, hours: float) -> Notes:
    where = (
        f"{case.cm(lamp.basking_distance)} from the lamp"
        if lamp.basking_distance
        else "at the basking place; measure the distance too"
    )
    return Notes(
        steps=(
            f"The {lamp.kind} lamp has burned {BURN_IN_HOURS} hours by now (at {hours:g} hours a day).",
            f"Read the UVI {where}.",
            "Write it into the lamp's table as uvi and uvi_at: later readings are compared with it.",
        ),
        cautions=(cautions.LAMP_OFF,),
        reason="a discharge lamp settles in its first hundred hours; a baseline read earlier is too high.",
        sources=(BURN_IN,),
    )


def _life(case: Case, lamp: Lamp) -> Span:
    """Return how long a UV lamp is used: the keeper's own interval, else the convention for its kind."""
    own = case.enclosure.job.get("uv-lamp-replace")
    return own.every if own is not None and own.every is not None else Span(months=REPLACE_MONTHS[lamp.kind])


@job("uv-lamp-order")
def uv_lamp_order(case: Case) -> Iterator[Job]:
    """Order a UV lamp four weeks before its replacement."""
    for variant, lamp, installed in _dated(case):
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"order a {lamp.kind} lamp",
            cadence=Every(
                span=_life(case, lamp),
                anchor=installed - dt.timedelta(days=ORDER_AHEAD_DAYS),
                lasts=True,
            ),
            window=14,
            minutes=10,
            notes=lambda lamp=lamp: _order_notes(lamp),  # type: ignore[misc]
        )


def _order_notes(lamp: Lamp) -> Notes:
    watts = f" of {lamp.power:g} W" if lamp.power is not None else ""
    return Notes(
        steps=(
            f"Order one {lamp.kind} lamp{watts}.",
            "Keep it in its box, upright and dry, until the day of replacement.",
        ),
        reason=f"the replacement is due in {ORDER_AHEAD_DAYS // 7} weeks.",
        sources=(CALENDAR_LIFE, HOUSE),
    )


@job("uv-lamp-replace")
def uv_lamp_replace(case: Case) -> Iterator[Job]:
    """Replace a UV lamp by the calendar; a falling reading brings it forward."""
    for variant, lamp, installed in _dated(case):
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"replace the {lamp.kind} lamp",
            cadence=Every(span=_life(case, lamp), anchor=installed, lasts=True),
            window=14,
            minutes=20,
            skills=("adult", "electrics"),
            notes=lambda lamp=lamp: _replace_notes(lamp),  # type: ignore[misc]
        )


def _replace_notes(lamp: Lamp) -> Notes:
    return Notes(
        steps=(
            "Read the old lamp's UVI once more and write it down.",
            "Switch off, unplug, and let the lamp cool for half an hour.",
            f"Fit the new {lamp.kind} lamp at the same distance, in a ceramic socket, with its guard.",
            "Write the new `installed` date into the description, and take the old UVI out.",
        ),
        cautions=(cautions.LAMP_OFF, cautions.UNPLUG, cautions.MERCURY),
        reason="the ultraviolet of a lamp fades long before its light does.",
        sources=(CALENDAR_LIFE,),
    )


@job("lamp-timer")
def lamp_timer(case: Case) -> Iterator[Job]:
    """Set the timer by the season, or see that it still keeps the time."""
    lamps = case.enclosure.lamp
    if not lamps:
        return
    seasonal = any(lamp.hours_a_day == "daylight" for lamp in lamps)

    def notes() -> Notes:
        steps = ["Compare the timer's clock with yours; mend it after power cuts and clock changes."]
        if seasonal:
            steps += [
                "Look up today's length of day where you live.",
                "Set the lamps to it, never under 8 or over 16 hours, and by no more than 15 minutes a week.",
            ]
        fixed = sorted({lamp.hours_a_day for lamp in lamps if isinstance(lamp.hours_a_day, float)})
        if fixed:
            steps.append(
                "Lamps with fixed hours burn " + " and ".join(f"{h:g}" for h in fixed) + " hours a day."
            )
        if not seasonal and not fixed:
            steps.append("Write hours_a_day into the lamps' tables.")
        return Notes(
            steps=tuple(steps),
            reason="day length tells the animal the season; a stuck timer tells it nothing.",
            sources=(
                Source("lamps between 8 and 16 hours, steps of at most 15 minutes a week", "house value"),
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="lamp timer",
        cadence=Every(span=Span(28 if seasonal else 91), anchor=case.anchor),
        window=7,
        minutes=5,
        notes=notes,
    )
