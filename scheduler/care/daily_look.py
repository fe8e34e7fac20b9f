"""The daily look: temperatures, flow, behaviour and leftovers."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from scheduler.care import cautions, lamp_hours, signs
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import Amount, ByRule, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.care.figures.heat import LIMITS, WATER_LIMITS_C
from scheduler.care.signs import SIGNS
from scheduler.care.watch.outdoors import come_in, staying
from scheduler.rules import Rule
from scheduler.sources import Source


@job("daily-look", where="always", routine=True)
def daily_look(case: Case) -> Iterator[Job]:
    """Look at temperatures, flow, behaviour and leftovers every day."""
    yield Job(
        enclosure=case.enclosure,
        title="daily look",
        short="Look in",
        cadence=ByRule(rule=Rule(freq="DAILY"), start=case.anchor),
        minutes=5,
        notes=partial(_look_notes, case),
    )


def _look_notes(case: Case) -> Notes:
    water = f" (fine: {case.band(case.water_band)})" if case.water_band else ""
    basking = (
        f"; basking surface{f' (fine: {case.band(case.basking_band)})' if case.basking_band else ''}"
        if case.enclosure.lamp
        else ""
    )
    if basking and not lamp_hours.is_on(case, lamp_hours.warm_lamps(case), case.house.warm_up, "morning"):
        basking += f" once its lamp has been on for {case.house.warm_up} minutes"
    steps = (
        [_outdoor_water(case)]
        if case.enclosure.outdoors
        else [
            (
                f"Read the water temperature{water}{basking}. Water under {case.degrees(WATER_LIMITS_C[0])} "
                f"or over {case.degrees(WATER_LIMITS_C[1])}: act now."
            ),
            ACT_NOW,
        ]
    )
    if case.enclosure.filter:
        steps.append("See the filter's flow, and listen for air.")
    if case.enclosure.resident:
        steps += [
            "Count the animals; see each move, breathe and look about as usual.",
            *(
                ["Who rests on the bottom in the cold is left there, and not lifted out to be counted."]
                if case.enclosure.outdoors and staying(case)
                else []
            ),
            "Take leftovers and droppings out with a net, hands dry.",
            signs.soon(case),
            signs.today(case),
        ]
    steps.append("See that the cover and the lamps sit right.")
    return Notes(
        steps=tuple(steps),
        amount=Amount("", f"water fine: {case.band(case.water_band)}") if case.water_band else None,
        cautions=(cautions.HANDS, cautions.VET),
        reason="most trouble shows a day before it is trouble.",
        sources=(
            LIMITS,
            Source(
                (
                    "leftovers and droppings out daily: New South Wales Department of Education, Animals in "
                    "Schools"
                ),
                "published",
            ),
            SIGNS,
        ),
    )


def _outdoor_water(case: Case) -> str:
    """Return what is read of water outdoors, which follows the weather: who comes in from the cold, and when
    it is too warm."""
    names = join(tuple(r.name for r in come_in(case)))
    inside = f" bring {names} in today;" if names else ""
    limit = case.degrees(case.house.bring_in_c)
    return (
        f"Read the water temperature. Under {limit}:{inside} nobody is fed. Over "
        f"{case.degrees(WATER_LIMITS_C[1])}: shade it now."
    )


ACT_NOW = (
    "Act now: too warm, heater and lamps off at the plug, shade and air; too cold, no food. Record it: its "
    "note says how to go on. "
    "A child calls a grown-up instead."
)
"""What helps first where the water is past its limits; the rest stands in the note that such a reading
brings."""
