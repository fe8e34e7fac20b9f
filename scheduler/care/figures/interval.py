"""How often water is changed and how much of it: from nitrate where a filter works, from ammonia where none
does."""

from __future__ import annotations

import math

from scheduler.care.change_interval import (
    CUSTOMARY_DAYS,
    MOST_SHARE,
    UNDER_ACT,
    change_override,
    days_by_nitrate,
    gaps,
    largest_share,
    longest_allowed,
    longest_days,
    nitrate_limit,
    own_share,
    own_weekdays,
    rhythm,
    tap_is_over,
    tap_nitrate,
)
from scheduler.care.engine.case import CUSTOMARY_SHARE, Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.figures.nitrogen import is_measured
from scheduler.care.nitrifying import nitrifies
from scheduler.handbook import nitrogen
from scheduler.handbook.nitrogen import AMMONIA_BALANCE
from scheduler.sources import COMMON_PRACTICE, KEEPER, Source

# --- What ammonia asks for, where nothing nitrifies ---


def ammonia_room(case: Case) -> float:
    """Return by how many mg/L ammonia may rise over what new water brings: a tenth under the limit, which is
    itself an alarm."""
    return UNDER_ACT * case.number("ammonia_limit") - case.brought_ammonia


def days_by_ammonia(case: Case) -> int:
    """Return the days between changes that hold ammonia at its limit with the largest share, a day at
    least."""
    allowed = longest_allowed(case)
    rise, room = case.number("ammonia_rise"), ammonia_room(case)
    if room <= 0.0:
        return 1
    share = largest_share(case)
    return max(1, min(allowed, math.floor(share * room / rise + 1e-9))) if rise else allowed


# --- The interval and the share ---


@figure("water_change_interval", "d")
def water_change_interval(case: Case) -> Made:
    """Compute the days between changes: the keeper's rule, else what keeps the water within its limits, two
    weeks at most."""
    own = change_override(case)
    if own is not None and own.rule is not None:
        found = gaps(case, own)
        mean = sum(found) / len(found)
        return Made(mean, KEEPER, lambda: f"your rule, {case.numeral(mean, '.3g')} days on the mean")
    allowed = longest_allowed(case)
    whose = KEEPER if own is not None and own.every is not None else COMMON_PRACTICE
    said = "yours" if whose is KEEPER else "custom"
    try:
        return _by_nitrate(case, allowed, whose, said) if nitrifies(case) else _by_ammonia(case, whose, said)
    except NotKnown:
        return Made(
            allowed,
            whose,
            lambda: (
                f"{allowed} days ({said}); from {'nitrate' if nitrifies(case) else 'ammonia'} alone it "
                "cannot be computed yet"
            ),
        )


def _by_nitrate(case: Case, allowed: int, whose: Source, said: str) -> Made:
    rise, limit, tap = case.number("nitrate_rise"), nitrate_limit(case), tap_nitrate(case)
    days = days_by_nitrate(case, rise, by_readings=is_measured(case))
    source = whose if days == allowed else nitrogen.STEADY_STATE
    if tap_is_over(case):
        return Made(
            days,
            source,
            lambda: (
                f"{days} days: the tap brings {case.numeral(tap)} mg/L of nitrate, no interval gets "
                f"under {case.numeral(limit)}"
            ),
        )
    longest = longest_days(case, rise)

    def how() -> str:
        sum_ = (
            f"({case.numeral(limit)} - {case.numeral(tap)}) mg/L x {case.numeral(largest_share(case))} / "
            f"{case.numeral(rise, '.2f')} mg/L a day"
        )
        if longest >= allowed:
            return (
                f"{sum_} = {case.numeral(longest, '.1f')} days would keep nitrate under "
                f"{case.numeral(limit)} mg/L; {allowed} days ({said}) at most"
            )
        if days > longest:
            least = "on your weekdays" if own_weekdays(case) else "no more often on the food alone"
            return f"{sum_} = {case.numeral(longest, '.1f')} days, {least}: {rhythm(case, days)}"
        whole = " in whole weeks" if longest - days >= 1 else ""
        return f"{sum_} = {case.numeral(longest, '.1f')} days, planned{whole}: {rhythm(case, days)}"

    return Made(days, source, how)


def _by_ammonia(case: Case, whose: Source, said: str) -> Made:
    rise, limit, new = case.number("ammonia_rise"), case.number("ammonia_limit"), case.brought_ammonia
    days = days_by_ammonia(case)
    at_most = f"; {days} days ({said}) at most" if days == longest_allowed(case) else ""
    return Made(
        days,
        whose if at_most else AMMONIA_BALANCE,
        lambda: (
            f"({case.numeral(UNDER_ACT)} x {case.numeral(limit, '.2g')} - {case.numeral(new, '.2g')}) "
            f"mg/L of ammonia x {case.numeral(largest_share(case))} / {case.numeral(rise, '.2g')} mg/L "
            f"a day, planned: {rhythm(case, days)}{at_most}"
        ),
    )


@figure("water_change_share", "1", extra=True)
def water_change_share(case: Case) -> Made:
    """Compute the share of the water of one change: the keeper's, else the smallest that keeps the limit at
    its interval.

    Never less than what custom changes in as many days (half in two weeks), and never over half.
    """
    own = own_share(case)
    if own is not None:
        return Made(own, KEEPER, lambda: f"{own * 100:.0f} %, yours")
    try:
        override = change_override(case)
        days = (
            float(max(gaps(case, override)))
            if override is not None and override.rule is not None
            else case.number("water_change_interval")
        )
        needed = _needed_share(case, days)
    except NotKnown:
        return Made(CUSTOMARY_SHARE, COMMON_PRACTICE, lambda: f"{CUSTOMARY_SHARE * 100:.0f} % (custom)")
    custom = nitrogen.share_as_often(CUSTOMARY_SHARE, CUSTOMARY_DAYS, days)
    share = min(MOST_SHARE, math.ceil(max(needed, custom) * 100 - 1e-9) / 100)
    if share >= CUSTOMARY_SHARE:
        return Made(CUSTOMARY_SHARE, COMMON_PRACTICE, lambda: f"{CUSTOMARY_SHARE * 100:.0f} % (custom)")
    why = "keeps the limit" if needed > custom else "is custom's half in two weeks, as often"
    return Made(
        share,
        nitrogen.STEADY_STATE if nitrifies(case) else AMMONIA_BALANCE,
        lambda: f"{share * 100:.0f} % {rhythm(case, days)} {why}",
    )


def _needed_share(case: Case, days: float) -> float:
    """Return the share that holds the steady level at its limit; the largest where none does, or readings say
    the rate."""
    if not nitrifies(case):
        room = ammonia_room(case)
        return case.number("ammonia_rise") * days / room if room > 0.0 else MOST_SHARE
    if tap_is_over(case) or is_measured(case):
        # By readings the amount stays as it is, and only the interval follows.
        return MOST_SHARE
    return nitrogen.share_needed(case.number("nitrate_rise") * days, nitrate_limit(case), tap_nitrate(case))
