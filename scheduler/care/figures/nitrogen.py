"""Nitrogen: what the food brings into the water, and how high nitrate stands before a change."""

from __future__ import annotations

import datetime as dt
import math
from itertools import pairwise

from scheduler.care.case import Case
from scheduler.care.feeding import meals_a_week
from scheduler.care.figure import Made, NotKnown, figure
from scheduler.care.measured_nitrate import MEASURED, Measured, measured
from scheduler.care.watch.registry import once
from scheduler.description.site import JobOverride
from scheduler.handbook import feeding, nitrogen
from scheduler.handbook.nitrogen import Change
from scheduler.sources import COMMON_PRACTICE, KEEPER, Source

CUSTOMARY_DAYS = 14
"""Half the water every two weeks: common practice, no published source."""

RATION = Source("grams of a meal x meals a week / 7", "computed")
SOME_DAY = dt.date(2024, 1, 1)


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
    """Compute the nitrogen that reaches the water: all of the food's, or by the coefficient for growing fish."""
    daily = case.number("ration")
    (protein,) = case.need(feed__protein=case.enclosure.feed.protein)
    everything, fish = nitrogen.feed_nitrogen_g(daily, protein), nitrogen.fish_tan_g(daily, protein)
    if not case.house.all_nitrogen:
        return Made(
            fish,
            nitrogen.FISH,
            lambda: (
                f"{case.numeral(daily, '.2f')} g a day x {case.numeral(protein)} protein x {case.numeral(nitrogen.FISH_COEFFICIENT)} = {case.numeral(fish, '.3f')} g of nitrogen a day (growing fish, your choice; all of it: {case.numeral(everything, '.3f')})"
            ),
        )
    return Made(
        everything,
        nitrogen.UPPER_BOUND,
        lambda: (
            f"{case.numeral(daily, '.2f')} g a day x {case.numeral(protein)} protein x {case.numeral(nitrogen.N_IN_PROTEIN)} = {case.numeral(everything, '.3f')} g of nitrogen a day, all of it (growing fish excrete {case.numeral(fish, '.3f')})"
        ),
    )


def rise_by_food(case: Case) -> float:
    """Return what a day's food adds to the nitrate, mg/L. NotKnown when food or volume are."""
    return nitrogen.nitrate_rise_mg_l(case.number("feed_nitrogen"), case.number("net_volume"))


@once
def by_food_days(case: Case) -> int | None:
    """Return the days between changes that follow from the food; None when that is not known."""
    try:
        return _days_at(case, rise_by_food(case))
    except (NotKnown, ValueError):
        return None


@once
def by_readings(case: Case) -> Measured | None:
    """Return what the nitrate readings say about the rise; None where they are too few."""
    tap = tap_nitrate(case)
    if tap >= case.house.nitrate_look:
        return None
    return measured(case, tap, lambda rise: _days_at(case, rise), by_food_days(case))


def _days_at(case: Case, rise: float) -> int:
    """Return the interval to plan at a rise in mg/L a day."""
    allowed, tap = longest_allowed(case), tap_nitrate(case)
    if tap >= case.house.nitrate_look:
        return allowed
    return planned_days(
        nitrogen.interval_days(rise, case.change_share, case.house.nitrate_look, tap), allowed
    )


@figure("nitrate_rise", "mg/L/d")
def nitrate_rise(case: Case) -> Made:
    """Compute what a day adds to the nitrate: by the food, or by the tank's own readings once they are sure."""
    found = by_readings(case)
    if found is not None and found.rise is not None:
        rate, rise = found.rate, found.rise
        why = "the rate itself" if found.direction == "more often" else "its upper end"
        return Made(
            rise,
            MEASURED,
            lambda: (
                f"{rate.n} readings over {rate.days:.0f} days give {case.numeral(rate.rate, '.2f')} ({case.numeral(rate.low, '.2f')} to {case.numeral(rate.high, '.2f')}) mg/L a day; taken: {why}, {case.numeral(rise, '.2f')}"
            ),
        )
    daily, net, rise = case.number("feed_nitrogen"), case.number("net_volume"), rise_by_food(case)
    return Made(
        rise,
        nitrogen.STEADY_STATE,
        lambda: (
            f"{case.numeral(daily, '.3f')} g x {case.numeral(nitrogen.NO3_PER_N, '.3f')} (nitrate from nitrogen) in {case.litres(net)} = {case.numeral(rise, '.2f')} mg/L a day"
        ),
    )


def is_measured(case: Case) -> bool:
    """Tell whether nitrate is reckoned by the tank's own readings."""
    found = by_readings(case)
    return found is not None and found.rise is not None


def changing(case: Case) -> JobOverride | None:
    """Return the keeper's table for the water change. NotKnown when changes are switched off."""
    own = case.enclosure.job.get("water-change")
    if own is not None and own.off:
        raise NotKnown(why="water changes are switched off", applies=False)
    return own


def change_override(case: Case) -> JobOverride | None:
    """Return the keeper's table for changes that come back. NotKnown when they are off or come on single days."""
    own = changing(case)
    if own is not None and own.on is not None:
        raise NotKnown(why="the water changes come on single days of your choice")
    return own


def longest_allowed(case: Case) -> int:
    """Return the days that an interval may have at most: the keeper's own, else the customary two weeks."""
    own = case.enclosure.job.get("water-change")
    return own.every.interval_days if own is not None and own.every is not None else CUSTOMARY_DAYS


def tap_nitrate(case: Case) -> float:
    """Return the nitrate that new water brings, mg/L; 0 where it was not measured, which the review says."""
    return case.site.place.tap_water.nitrate or 0.0


def computed_days(case: Case) -> float | None:
    """Return the longest interval that keeps the peak at the limit, in days; None where no change can reach it.

    NotKnown when food or volume are missing.
    """
    rise = case.number("nitrate_rise")
    tap = tap_nitrate(case)
    if tap >= case.house.nitrate_look:
        return None
    return nitrogen.interval_days(rise, case.change_share, case.house.nitrate_look, tap)


def planned_days(computed: float, allowed: int) -> int:
    """Return the interval to plan: the computed one within the allowed, from a week on in whole weeks, at least a day.

    Whole weeks keep the weekday, and the days that filter service keeps off from a change.
    """
    if computed >= allowed:
        return allowed
    days = math.floor(computed + 1e-9)
    return max(1, days // 7 * 7 if days >= 7 else days)


def rhythm(case: Case, days: float) -> str:
    """Return an interval as it is said: every day, every 7 days."""
    return "every day" if days == 1 else f"every {case.numeral(days, '.3g')} days"


@figure("water_change_interval", "d")
def water_change_interval(case: Case) -> Made:
    """Compute the days between changes: the keeper's rule, else what keeps nitrate under the limit, two weeks at most."""
    own = change_override(case)
    if own is not None and own.rule is not None:
        gaps = _gaps(case, own)
        mean = sum(gaps) / len(gaps)
        return Made(mean, KEEPER, lambda: f"your rule, {case.numeral(mean, '.3g')} days on the mean")
    allowed = longest_allowed(case)
    whose = KEEPER if own is not None and own.every is not None else COMMON_PRACTICE
    said = "yours" if whose is KEEPER else "custom"
    try:
        computed = computed_days(case)
    except NotKnown:
        return Made(
            allowed, whose, lambda: f"{allowed} days ({said}); from nitrate alone it cannot be computed yet"
        )
    if computed is None:
        return Made(
            allowed,
            whose,
            lambda: (
                f"{allowed} days ({said}): the tap brings {case.numeral(tap_nitrate(case))} mg/L of nitrate, no interval gets under {case.numeral(case.house.nitrate_look)}"
            ),
        )
    days = planned_days(computed, allowed)
    if own is not None and own.weekdays is not None and days < 7:
        # The keeper has named the days of the week: more than once a week would not keep to them.
        days = min(7, allowed)
    source = whose if days == allowed else nitrogen.STEADY_STATE

    def how() -> str:
        sum_ = f"({case.numeral(case.house.nitrate_look)} - {case.numeral(tap_nitrate(case))}) mg/L x {case.numeral(case.change_share)} / {case.numeral(case.number('nitrate_rise'), '.2f')} mg/L a day"
        if days == allowed:
            return f"{sum_} = {case.numeral(computed, '.1f')} days would keep nitrate under {case.numeral(case.house.nitrate_look)} mg/L; {allowed} days ({said}) at most"
        whole = (
            " in whole weeks"
            if days >= 7 and computed >= 8
            else " on your weekdays"
            if days > computed
            else ""
        )
        return f"{sum_} = {case.numeral(computed, '.1f')} days, planned{whole}: {rhythm(case, days)}"

    return Made(days, source, how)


def _gaps(case: Case, own: JobOverride) -> list[int]:
    """Return the days between the changes of the keeper's rule over two years."""
    assert own.rule is not None
    start = case.anchor or SOME_DAY
    days = list(own.rule.dates(start, start + dt.timedelta(days=731)))
    gaps = [(b - a).days for a, b in pairwise(days)]
    if not gaps:
        raise NotKnown(why="your rule for the water change gives fewer than two changes in two years")
    return gaps


def steady(case: Case) -> tuple[float, float]:
    """Return the highest level before and the lowest after a change at steady state, mg/L of nitrate."""
    rise = case.number("nitrate_rise")
    own = change_override(case)
    tap = tap_nitrate(case)
    if own is not None and own.rule is not None:
        return nitrogen.cycle_mg_l(
            rise, [Change(float(gap), case.change_share) for gap in _gaps(case, own)], tap
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
            f"tap {case.numeral(tap_nitrate(case))} + {case.numeral(case.number('nitrate_rise'), '.2f')} mg/L a day x {case.numeral(case.number('water_change_interval'), '.3g')} days / {case.numeral(case.change_share)} = {peak:.0f} mg/L, reached within 5 % after {nitrogen.changes_to_steady(case.change_share)} changes"
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
    daily, net = case.number("feed_nitrogen"), case.number("net_volume")
    used = nitrogen.alkalinity_used_g(daily) * 1000.0 / net
    return Made(
        used,
        nitrogen.ALKALINITY,
        lambda: (
            f"{case.numeral(daily, '.3f')} g of nitrogen x {nitrogen.CACO3_PER_N} in {case.litres(net)} = {case.numeral(used, '.1f')} mg/L a day"
        ),
    )
