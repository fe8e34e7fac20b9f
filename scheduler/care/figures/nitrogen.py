"""Nitrogen: what the food brings into the water, and how high nitrate stands before a change."""

from __future__ import annotations

from scheduler.care.change_interval import (
    change_override,
    days_by_nitrate,
    gaps,
    tap_is_over,
    tap_nitrate,
    whole_weeks,
)
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.feeding import meals_a_week
from scheduler.care.measured_nitrate import MEASURED, PLANNED_BY, MeasuredRate, measured
from scheduler.care.nitrifying import nitrifies
from scheduler.care.watch.registry import once
from scheduler.handbook import feeding, nitrogen
from scheduler.handbook.nitrogen import Change
from scheduler.sources import KEEPER, Source

RATION = Source("grams of a meal x meals a week / 7", "computed")


@figure("ration", "g/d")
def ration(case: Case) -> Made:
    """Compute the mean food a day, as fed."""
    if not case.enclosure.resident:
        raise NotKnown(why="nobody lives here yet", applies=False)
    (grams,) = case.need(feed__grams=case.enclosure.feed.grams)
    meals = meals_a_week(case)
    daily = feeding.grams_a_day(grams, meals)
    source = KEEPER if case.enclosure.feed.meals_a_week is not None else RATION
    return Made(
        daily,
        source,
        lambda: f"{case.numeral(grams)} g x {meals} meals a week / 7 = {case.numeral(daily, '.2f')} g a day",
    )


@figure("feed_nitrogen", "g/d")
def feed_nitrogen(case: Case) -> Made:
    """Compute the nitrogen that reaches the water: all of the food's, or by the coefficient for growing
    fish."""
    daily = case.number("ration")
    (protein,) = case.need(feed__protein=case.enclosure.feed.protein)
    everything, fish = nitrogen.feed_nitrogen_g(daily, protein), nitrogen.fish_tan_g(daily, protein)
    if not case.house.all_nitrogen:
        return Made(
            fish,
            nitrogen.FISH,
            lambda: (
                f"{case.numeral(daily, '.2f')} g a day x {case.numeral(protein)} protein x "
                f"{case.numeral(nitrogen.FISH_COEFFICIENT)} = {case.numeral(fish, '.3f')} g of nitrogen "
                f"a day (growing fish, your choice; all of it: {case.numeral(everything, '.3f')})"
            ),
        )
    return Made(
        everything,
        nitrogen.UPPER_BOUND,
        lambda: (
            f"{case.numeral(daily, '.2f')} g a day x {case.numeral(protein)} protein x "
            f"{case.numeral(nitrogen.N_IN_PROTEIN)} = {case.numeral(everything, '.3f')} g of nitrogen a "
            f"day, all of it (growing fish excrete {case.numeral(fish, '.3f')})"
        ),
    )


def rise_by_food(case: Case) -> float:
    """Return what a day's food adds to the nitrate, mg/L. NotKnown when food or volume are."""
    return nitrogen.nitrate_rise_mg_l(case.number("feed_nitrogen"), case.number("net_volume"))


@once
def by_food_days(case: Case) -> int | None:
    """Return the days between changes that follow from the food; None when that is not known."""
    try:
        return days_by_nitrate(case, rise_by_food(case), by_readings=False)
    except (NotKnown, ValueError):
        return None


@once
def by_readings(case: Case) -> MeasuredRate | None:
    """Return what the nitrate readings say about the rise; None where they are too few."""
    if tap_is_over(case) or not nitrifies(case):
        return None
    try:
        by_food = rise_by_food(case)
    except (NotKnown, ValueError):
        by_food = None
    planned = by_food_days(case)
    return measured(
        case,
        tap_nitrate(case),
        lambda rise: days_by_nitrate(case, rise, by_readings=True),
        by_food,
        None if planned is None else whole_weeks(planned),
    )


@figure("nitrate_rise", "mg/L/d")
def nitrate_rise(case: Case) -> Made:
    """Compute what a day adds to the nitrate: by the food, or by the tank's own readings once they are
    sure."""
    if not nitrifies(case):
        raise NotKnown(why="nothing turns ammonia into nitrate here yet", applies=False)
    found = by_readings(case)
    if found is not None and found.rise is not None:
        rate, rise = found.rate, found.rise
        sure = f"{PLANNED_BY * 100:.0f} %"
        return Made(
            rise,
            MEASURED,
            lambda: (
                f"{rate.n} readings over {rate.days} days give {case.numeral(rate.rate, '.2f')} "
                f"({case.numeral(rate.low, '.2f')} to {case.numeral(rate.high, '.2f')}) mg/L a day; "
                f"taken: what it is under with {sure}, {case.numeral(rise, '.2f')}"
            ),
        )
    daily, net, rise = case.number("feed_nitrogen"), case.number("net_volume"), rise_by_food(case)
    return Made(
        rise,
        nitrogen.STEADY_STATE,
        lambda: (
            f"{case.numeral(daily, '.3f')} g x {case.numeral(nitrogen.NO3_PER_N, '.3f')} (nitrate from "
            f"nitrogen) in {case.litres(net)} = {case.numeral(rise, '.2f')} mg/L a day"
        ),
    )


def is_measured(case: Case) -> bool:
    """Tell whether nitrate is reckoned by the tank's own readings."""
    found = by_readings(case)
    return found is not None and found.rise is not None


def steady(case: Case) -> tuple[float, float]:
    """Return the highest level before and the lowest after a change at steady state, mg/L of nitrate."""
    rise = case.number("nitrate_rise")
    own = change_override(case)
    tap = tap_nitrate(case)
    if own is not None and own.rule is not None:
        return nitrogen.cycle_mg_l(
            rise, [Change(float(gap), case.change_share) for gap in gaps(case, own)], tap
        )
    added = rise * case.number("water_change_interval")
    return nitrogen.peak_mg_l(added, case.change_share, tap), nitrogen.trough_mg_l(
        added, case.change_share, tap
    )


@figure("nitrate_peak", "mg/L", "nitrate before a change")
def nitrate_peak(case: Case) -> Made:
    """Compute the nitrate before a change, once it no longer rises from one to the next."""
    peak, _ = steady(case)
    return Made(
        peak,
        nitrogen.STEADY_STATE,
        lambda: (
            f"tap {case.numeral(tap_nitrate(case))} + "
            f"{case.numeral(case.number('nitrate_rise'), '.2f')} mg/L a day x "
            f"{case.numeral(case.number('water_change_interval'), '.3g')} days / "
            f"{case.numeral(case.change_share)} = {peak:.0f} mg/L, reached within 5 % after "
            f"{nitrogen.changes_to_steady(case.change_share)} changes"
        ),
    )


@figure("nitrate_trough", "mg/L", "nitrate after a change", extra=True)
def nitrate_trough(case: Case) -> Made:
    """Compute the nitrate after a change, at the same steady state."""
    _, trough = steady(case)
    return Made(
        trough,
        nitrogen.STEADY_STATE,
        lambda: (
            f"what is left of that after {case.change_share * 100:.0f} % were changed = {trough:.0f} mg/L"
        ),
    )


@figure("alkalinity_used", "mg/L/d", extra=True)
def alkalinity_used(case: Case) -> Made:
    """Compute the alkalinity, as CaCO3, that nitrification uses in a day."""
    if not nitrifies(case):
        raise NotKnown(why="nothing turns ammonia into nitrate here yet", applies=False)
    daily, net = case.number("feed_nitrogen"), case.number("net_volume")
    used = nitrogen.alkalinity_used_g(daily) * 1000.0 / net
    return Made(
        used,
        nitrogen.ALKALINITY,
        lambda: (
            f"{case.numeral(daily, '.3f')} g of nitrogen x {nitrogen.CACO3_PER_N} in {case.litres(net)} "
            f"= {case.numeral(used, '.1f')} mg/L a day"
        ),
    )
