"""What the keeper wrote about water changes, and how often nitrate asks for them."""

from __future__ import annotations

import datetime as dt
import math
from itertools import pairwise

from scheduler.care.engine.case import CUSTOMARY_SHARE, Case
from scheduler.care.engine.figure import NotKnown
from scheduler.description.site import JobOverride
from scheduler.handbook import nitrogen

CUSTOMARY_DAYS = 14
"""Half the water every two weeks: common practice, no published source."""

UNDER_ACT = 0.9
"""Nitrate, and ammonia where nothing nitrifies, are never planned nearer to their act limits than a tenth of
it. House value."""


MOST_SHARE = CUSTOMARY_SHARE
"""More of the water than this is never planned: a larger change at once is a shock. House value."""

SOME_DAY = dt.date(2024, 1, 1)


# --- What the keeper wrote ---


def changing(case: Case) -> JobOverride | None:
    """Return the keeper's table for the water change. NotKnown when changes are switched off."""
    own = case.enclosure.job.get("water-change")
    if own is not None and own.off:
        raise NotKnown(why="water changes are switched off", applies=False)
    return own


def change_override(case: Case) -> JobOverride | None:
    """Return the keeper's table for changes that come back.

    NotKnown when they are off or come on single days.
    """
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
    return case.site.settings.tap_water.nitrate or 0.0


def own_share(case: Case) -> float | None:
    """Return the share of the water that the keeper wrote for a change; None without one."""
    own = case.enclosure.job.get("water-change")
    return None if own is None else own.share


def own_weekdays(case: Case) -> bool:
    """Tell whether the keeper named the weekdays of the water change."""
    own = case.enclosure.job.get("water-change")
    return own is not None and own.weekdays is not None


def usual_share(case: Case) -> float:
    """Return the share of a change of which the record does not say how much it was: the keeper's, or
    custom."""
    return own_share(case) or CUSTOMARY_SHARE


def largest_share(case: Case) -> float:
    """Return the share that intervals are reckoned with: the keeper's, else the most that is planned."""
    return own_share(case) or MOST_SHARE


def gaps(case: Case, own: JobOverride) -> list[int]:
    """Return the days between the changes of the keeper's rule over two years."""
    assert own.rule is not None
    start = case.anchor or SOME_DAY
    days = list(own.rule.dates(start, start + dt.timedelta(days=731)))
    found = [(b - a).days for a, b in pairwise(days)]
    if not found:
        raise NotKnown(why="your rule for the water change gives fewer than two changes in two years")
    return found


# --- What nitrate asks for ---


def nitrate_limit(case: Case) -> float:
    """Return the mg/L before a change to plan for: the look limit, or what the tap leaves room for, under the
    act limit."""
    house = case.house
    reachable = min(tap_nitrate(case) + house.nitrate_over_tap, UNDER_ACT * house.nitrate_act)
    return max(house.nitrate_look, reachable)


def tap_is_over(case: Case) -> bool:
    """Tell whether new water alone brings as much nitrate as the limit to plan for: no change of water gets
    under it then."""
    return tap_nitrate(case) >= nitrate_limit(case)


def longest_days(case: Case, rise: float) -> float:
    """Return the longest interval in days that keeps nitrate at its limit, at the largest share; 0 where none
    does.

    `rise` in mg/L a day.
    """
    if tap_is_over(case):
        return 0.0
    return nitrogen.interval_days(rise, largest_share(case), nitrate_limit(case), tap_nitrate(case))


def days_by_nitrate(case: Case, rise: float, *, by_readings: bool) -> int:
    """Return the days between changes to plan at a rise in mg/L a day.

    On the food alone never more often than `change_least_days`, and to the day, so that a little more nitrate
    moves the change by little. By the tank's own readings as often as they ask for, in whole weeks from one
    on, so that a reading more does not move it to and fro. On the keeper's weekdays always in whole weeks.
    """
    allowed, longest = longest_allowed(case), longest_days(case, rise)
    if longest >= allowed:
        return allowed
    on_weekdays = own_weekdays(case)
    least = 1 if by_readings and not tap_is_over(case) else case.house.change_least_days
    days = max(math.floor(longest + 1e-9), least, 7 if on_weekdays else 1)
    return min(whole_weeks(days) if by_readings or on_weekdays else days, allowed)


def whole_weeks(days: int) -> int:
    """Return an interval from a week on in whole weeks, rounded down."""
    return days // 7 * 7 if days >= 7 else days


# --- In words ---


def rhythm(case: Case, days: float) -> str:
    """Return an interval as it is said: every day, every 7 days."""
    return "every day" if days == 1 else f"every {case.numeral(days, '.3g')} days"
