"""Replacing UV lamps: ordered in time, and fitted as they are fed with current."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import partial
from typing import NamedTuple

from scheduler.care import cautions, lamps, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.description.site import Lamp
from scheduler.handbook.ultraviolet import BASELINE, BURN_IN_HOURS
from scheduler.quantities import Span
from scheduler.sources import COMMON_PRACTICE

SHORTEST_LIFE_DAYS = 28
"""A replacement is not planned more often: a lamp that would need it hangs too far away, or is too weak.

House value.
"""


def _span(case: Case, lamp: Lamp, installed: dt.date) -> Span:
    """Return how long each lamp at this place is planned to last."""
    return Span(max(SHORTEST_LIFE_DAYS, lamps.life(case, lamp, installed).days))


@job("uv-lamp-order", where="for each lamp that gives ultraviolet and has its day `installed`")
def uv_lamp_order(case: Case) -> Iterator[Job]:
    """Order a UV lamp four weeks before its replacement."""
    for variant, lamp, installed in lamps.dated(case):
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"order a {lamp.kind} lamp",
            short="Order lamp",
            cadence=Every(
                span=_span(case, lamp, installed),
                anchor=installed - dt.timedelta(days=case.house.lamps_ahead_days),
                lasts=True,
            ),
            window=14,
            minutes=10,
            skills=("adult",),
            notes=partial(_order_notes, case, lamp, installed),
        )


class _Fitting(NamedTuple):
    """What a lamp is bought for, and what it is fitted into."""

    bought: str
    fitted: str


_FITTINGS = {
    "mercury vapour": _Fitting(
        "self-ballasted, for a ceramic socket and no dimmer", "in a ceramic socket and on no dimmer"
    ),
    "metal halide": _Fitting(
        "for the ballast that you have, of its wattage", "on its own ballast, never in a socket of the mains"
    ),
    "T5 HO tube": _Fitting(
        "a tube for your T5 HO ballast, of its wattage and length",
        "on a T5 HO ballast of its wattage and length",
    ),
    "T8 tube": _Fitting(
        "a tube for your T8 ballast, of its wattage and length", "on a T8 ballast of its wattage and length"
    ),
    "compact": _Fitting(
        "for an E27 socket (E26 in North America)", "in a ceramic E27 socket (E26 in North America)"
    ),
}
"""How each kind of UV lamp is fed with current: common practice, no published source; the maker's
instructions go first."""


def _order_notes(case: Case, lamp: Lamp, installed: dt.date) -> Notes:
    watts = f" of {case.numeral(lamp.power)} W" if lamp.power is not None else ""
    return Notes(
        steps=(
            f"Order one {lamp.kind} lamp{watts}: {_FITTINGS[lamp.kind].bought}.",
            "Keep it in its box, upright and dry, until the day of replacement.",
        ),
        reason=(
            f"the replacement is due in {Span(case.house.lamps_ahead_days)}: "
            f"{lamps.life(case, lamp, installed).why}."
        ),
        sources=(
            lamps.life(case, lamp, installed).source,
            case.house.source("lamps_ahead"),
            COMMON_PRACTICE,
        ),
        worked=case.known("uv_lamp_replace_on"),
    )


@job("uv-lamp-replace", where="for each lamp that gives ultraviolet and has its day `installed`")
def uv_lamp_replace(case: Case) -> Iterator[Job]:
    """Replace a UV lamp by the calendar; a falling reading brings it forward."""
    for variant, lamp, installed in lamps.dated(case):
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"replace the {lamp.kind} lamp",
            short="Replace lamp",
            cadence=Every(span=_span(case, lamp, installed), anchor=installed, lasts=True),
            window=14,
            minutes=20,
            skills=("adult", "electrics"),
            notes=partial(_replace_notes, case, lamp, installed),
        )


def _over(case: Case) -> str:
    most = lamps.most_uvi(case)
    return "" if most is None else f" Over UVI {case.numeral(most)} hang it higher."


def _replace_notes(case: Case, lamp: Lamp, installed: dt.date) -> Notes:
    return Notes(
        steps=(
            "Read the old lamp's UVI once more and write it down.",
            *switching.unplug(case, "lamp"),
            (
                f"Fit the new {lamp.kind} lamp at the same distance, {_FITTINGS[lamp.kind].fitted}, with "
                "its guard."
            ),
            *switching.plug_in_again(case, "lamp"),
            (
                "Measure the UVI at the basking place before an animal goes under it: a new lamp gives "
                f"more for its first {BURN_IN_HOURS} hours.{_over(case)}"
            ),
            (
                "Record the job: the new lamp's age counts from then. Without a record write the new "
                "`installed` into the description, and take the old UVI out."
            ),
        ),
        amount=Amount("", f"1 {lamp.kind} lamp"),
        cautions=(cautions.LAMP_ON, cautions.LAMP_OFF, cautions.MERCURY),
        reason=(
            "the ultraviolet of a lamp fades long before its light does. The day comes from "
            f"{lamps.life(case, lamp, installed).why}."
        ),
        sources=(lamps.life(case, lamp, installed).source, BASELINE, COMMON_PRACTICE),
        worked=case.known("uvi_at_basking", "uv_lamp_replace_on"),
    )
