"""Ammonia where nothing nitrifies: what the food adds in a day, how much the animals stand, and what is
reached."""

from __future__ import annotations

from scheduler.care import limits
from scheduler.care.conditions import ph_at, water_at
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.nitrifying import nitrifies
from scheduler.handbook import ammonia, nitrogen


def _applies(case: Case) -> None:
    if not case.enclosure.resident:
        raise NotKnown(why="nobody lives here yet", applies=False)
    if nitrifies(case):
        raise NotKnown(why="the filter turns ammonia into nitrate", applies=False)


@figure("ammonia_rise", "mg/L/d", "ammonia of a day's food", extra=True)
def ammonia_rise(case: Case) -> Made:
    """Compute what a day's food adds to the ammonia, in all, as nitrogen."""
    _applies(case)
    daily, net = case.number("feed_nitrogen"), case.number("net_volume")
    rise = daily * 1000.0 / net
    return Made(
        rise,
        nitrogen.UPPER_BOUND if case.house.all_nitrogen else nitrogen.FISH,
        lambda: (
            f"{case.numeral(daily, '.3f')} g of nitrogen in {case.litres(net)} = "
            f"{case.numeral(rise, '.2g')} mg/L a day"
        ),
    )


@figure("ammonia_limit", "mg/L", "ammonia in all that is planned for at most", extra=True)
def ammonia_limit(case: Case) -> Made:
    """Compute the ammonia, in all, as nitrogen, whose un-ionised part is at its act limit; under the ceiling
    of wild waters."""
    _applies(case)
    ph, ph_from = ph_at(case)
    celsius, celsius_from = water_at(case)
    share = ammonia.unionised_share(ph, celsius)
    by_poison = case.house.ammonia_act / share
    ceiling = limits.ammonia_ceiling(ph, celsius)
    at = f"at pH {case.numeral(ph)} ({ph_from}) and {case.degrees(celsius)} ({celsius_from})"
    if ceiling < by_poison:
        return Made(
            ceiling,
            ammonia.EPA_CHRONIC,
            lambda: f"the chronic criterion for wild waters {at}: {case.numeral(ceiling, '.2g')} mg/L",
        )
    return Made(
        by_poison,
        case.house.source("ammonia_act"),
        lambda: (
            f"{case.numeral(case.house.ammonia_act)} mg/L un-ionised / "
            f"{case.numeral(share * 100, '.2g')} % {at} = {case.numeral(by_poison, '.2g')} mg/L in all"
        ),
    )


@figure("ammonia_peak", "mg/L", "ammonia before a change", extra=True)
def ammonia_peak(case: Case) -> Made:
    """Compute the ammonia, in all, before a change, once it no longer rises from one to the next."""
    _applies(case)
    rise, days = case.number("ammonia_rise"), case.number("water_change_interval")
    new, share = case.brought_ammonia, case.change_share
    peak = nitrogen.peak_mg_l(rise * days, share, new)
    return Made(
        peak,
        nitrogen.AMMONIA_BALANCE,
        lambda: (
            f"new water {case.numeral(new, '.2g')} + {case.numeral(rise, '.2g')} mg/L a day x "
            f"{case.numeral(days, '.3g')} days / {case.numeral(share)} = {case.numeral(peak, '.2g')} "
            "mg/L"
        ),
    )
