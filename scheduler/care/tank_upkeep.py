"""Keeping the tank itself: topped up and clean."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from scheduler.care import cautions, skills, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.handbook import volume
from scheduler.quantities import Span
from scheduler.sources import HOUSE


@job("top-up", where="always")
def top_up(case: Case) -> Iterator[Job]:
    """Replace what evaporated, weekly or sooner by how fast the line falls; how much the line tells."""
    fall = _fall_cm_a_day(case)
    days = 7 if not fall else max(1, min(7, math.floor(case.house.top_up_fall_cm / fall)))

    yield Job(
        enclosure=case.enclosure,
        title="top up",
        short="Top up",
        cadence=Every(span=Span(days), anchor=case.anchor, by_weekdays=True),
        window=min(2, days - 1),
        minutes=5,
        # A pail of water mixed from the hot tap.
        skills=(*skills.plugs(case, "heater"), "lifting"),
        notes=partial(_top_up_notes, case, days),
    )


def _top_up_notes(case: Case, days: int) -> Notes:
    measure = "Mark the full line on the outside once."
    if case.floor is not None:
        step_cm, step = (2.54, "inch") if case.units == "us" else (1.0, "cm")
        litres = case.litres(volume.gross_litres(*case.floor, step_cm))
        measure = f"Read how far the line has fallen: each {step} is {litres}."
    expect = (
        (
            f"About {case.litres(evaporated * days)} will have gone in {days} day{'s' if days > 1 else ''}, "
            "less in a warm room."
        )
        if (evaporated := case.value("evaporation"))
        else ""
    )
    treated = "treated water" if case.chlorine_level else "water"
    heater = bool(case.enclosure.heater)
    wet = " and ".join(
        filter(None, ("heater" if heater else "", "filter inlet" if case.enclosure.filter else ""))
    )
    steps = (
        measure,
        expect,
        f"Heater partly out of the water: unplug it, and come back after {switching.COOLING_MINUTES} minutes."
        if heater
        else "",
        (
            f"Mix {treated} of the tank's temperature in a clean pail, and pour it in slowly up to the "
            f"line{f': {wet} well under water' if wet else ''}."
        ),
        *switching.plug_in_again(case, "heater", lead="If it was unplugged, plug in again, and see"),
    )
    return Notes(
        steps=tuple(filter(None, steps)),
        amount=Amount(case.litres(evaporated * days), "or so, up to the line")
        if evaporated
        else Amount("", "up to the line"),
        cautions=(
            *((cautions.HEATER,) if heater else ()),
            cautions.HOT_WATER,
            cautions.HANDS,
        ),
        reason=(
            "a heater that falls dry can crack or burn. Topping up takes no nitrate out: it does not "
            "replace a change."
        ),
        sources=(
            case.house.source("top_up_fall"),
            *(figure.source for figure in case.known("evaporation")),
            *([volume.GEOMETRY] if case.floor is not None else []),
        ),
        worked=case.known("heat_loss", "evaporation"),
    )


def _fall_cm_a_day(case: Case) -> float | None:
    """Return by how much the water line falls in a day; None where evaporation cannot be computed."""
    evaporated = case.value("evaporation")
    if evaporated is None or case.floor is None:
        return None
    return evaporated / volume.gross_litres(*case.floor, 1.0)


@job("wipe-down", where="of a tank or tub")
def wipe_down(case: Case) -> Iterator[Job]:
    """Wipe panes and basking place; a pond has no panes."""
    kind = case.enclosure.kind
    if kind == "pond":
        return

    yield Job(
        enclosure=case.enclosure,
        title="wipe down",
        short="Wipe down",
        cadence=Every(span=Span(7), anchor=case.anchor),
        window=3,
        minutes=10,
        # Plugs are pulled before hands go in, and cords are wiped.
        skills=skills.PLUGS,
        notes=partial(_wipe_notes, case, kind),
    )


def _wipe_notes(case: Case, kind: str) -> Notes:
    return Notes(
        steps=(
            *switching.unplug(case),
            (
                f"Wipe the {'panes' if kind == 'tank' else 'walls'} inside with a cloth or a scraper kept "
                "for this enclosure alone."
            ),
            (
                f"Scrub the basking place in a bucket with {case.litres(2.0)} of tank water, no soap; empty "
                "it into the toilet or garden."
            ),
            "Set it back firmly. Wipe salt and drops off the cover, the cords and the outside.",
            *switching.plug_in_again(case),
        ),
        amount=Amount("", "panes, basking place, cover" if kind == "tank" else "walls, basking place, cover"),
        cautions=(
            *switching.hands_in_water(case),
            cautions.SINK,
            cautions.NATURE,
            cautions.HANDS,
        ),
        reason=(
            "algae on the panes do no harm, but a slimy basking place does, and deposits on a cover take "
            "light."
        ),
        sources=(HOUSE,),
    )
