"""Nitrate readings: the tank's own rate, and whether water changes follow it."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.change_interval import change_override, rhythm
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.figures.nitrogen import by_food_days, by_readings
from scheduler.care.measured_nitrate import LEAST_DAYS, LEAST_READINGS, MEASURED, are_few, points
from scheduler.care.watch.alarms import alarms
from scheduler.care.watch.registry import Consequence, watch


@watch
def nitrate(case: Case) -> Iterator[Consequence]:
    """Say over which limit nitrate was, and what rate the readings tell."""
    level = list(_level(case))
    yield from level
    found = by_readings(case)
    if found is None or (level and found.rise is None):
        # What is too high is not told beside a rate that is fine.
        return
    try:
        change_override(case)
    except NotKnown:
        # No changes come back here whose interval could follow.
        return
    rate = found.rate
    odd = f" without that of {case.date(found.odd)}, which does not fit," if found.odd is not None else ""
    said = (
        f"By {rate.n} nitrate readings{odd} it rises by {_rate(case, rate.rate)} mg/L a day "
        f"({_rate(case, rate.low)} to {_rate(case, rate.high)})."
    )
    planned = by_food_days(case)
    by_food = f" By the food changes would come {rhythm(case, planned)}." if planned is not None else ""
    if found.rise is None:
        sure = (
            "That agrees with the plan."
            if found.direction == "as it is"
            else f"It asks for changes {found.direction}, but {found.lacks}."
        )
        yield Consequence(
            key="water_change_interval",
            verdict="fine",
            reading=said,
            rule=sure + by_food,
            source=MEASURED,
            plan="The plan stays as it is.",
        )
        return
    days = case.number("water_change_interval")
    yield Consequence(
        key="water_change_interval",
        verdict="look",
        reading=said,
        rule=f"Two readings in a row ask for changes {found.direction}.{by_food}",
        source=MEASURED,
        plan=f"Changes come {rhythm(case, days)}.",
        gist="changes follow the nitrate readings",
    )


def _rate(case: Case, mg_l_day: float) -> str:
    """Return a rate in mg/L a day to two figures, as plain digits; what is under a hundredth is none."""
    return (
        f"{mg_l_day:.0f}"
        if abs(mg_l_day) >= 10
        else f"{case.numeral(mg_l_day, '.2g')}"
        if abs(mg_l_day) >= 0.01
        else "0"
    )


def _level(case: Case) -> Iterator[Consequence]:
    found = points(case)
    if not found or any(alarm.what == "nitrate" for alarm in alarms(case).open):
        # Two readings in a row at the act limit are an alarm, which has its own words.
        return
    day, value = found[-1]
    act = value >= case.house.nitrate_act
    limit, own = (case.house.nitrate_act, "nitrate_act") if act else (case.house.nitrate_look, "nitrate_look")
    if value < limit:
        return
    # To a tenth where whole numbers would show the limit itself.
    near = limit < value < limit + 0.5
    shown = f"{case.numeral(value, '.1f')} mg/L" if near else case.reading("nitrate", value)
    few = are_few([day for day, _ in found])
    yield Consequence(
        key="nitrate_peak",
        judges="nitrate",
        verdict="act" if act else "look",
        reading=f"Nitrate was {shown} on {case.date(day)}.",
        rule=f"The limit is {case.numeral(limit)}.",
        source=case.house.source(own),
        plan=(
            "Measure nitrate again tomorrow, in a fresh sample: a second reading as high brings an extra "
            "change."
        )
        if act
        else (
            f"Test nitrate each week: one reading moves nothing, {LEAST_READINGS} over {LEAST_DAYS} days "
            "tell the tank's own rate."
        )
        if few
        else "",
        gist="nitrate was read over the limit",
    )
