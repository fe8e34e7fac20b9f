"""Services that disturb the biofilter are kept apart, on days that somebody has, and spread over the site's week."""

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.described import (
    TODAY,
    WEEKDAYS,
    days,
    descriptions,
    enclosures,
    load,
    plan,
    set_up_days,
    text_of,
    weekdays,
)

import scheduler

APART = 3
"""Days between two heavy services of one enclosure: house value, so that the biofilter gets over one before the next."""

HEAVY = ("water-change", "filter-check", "media-rinse")
FIRST, LAST = dt.date(2027, 1, 1), dt.date(2028, 12, 31)


def services(site, enclosure="sedge"):
    """Return (day, key) of the heavy services of two years in the order of days."""
    found = plan(site, FIRST, LAST)
    return sorted((day, key) for key in HEAVY for day in days(found, enclosure, key))


def one_tank(set_up, keeper_days=None, **job):
    keeper = [{"name": "Noor", "weekdays": keeper_days}] if keeper_days else []
    tank = {"name": "Sedge", "filter": {"kind": "canister"}, "job": job}
    return load(
        text_of(
            {
                "site": {"name": "Fen Lane"},
                "keeper": keeper,
                "enclosure": [tank | {"set_up": set_up} if set_up else tank],
            }
        )
    )


@given(st.none() | set_up_days, st.none() | weekdays)
@settings(max_examples=examples(60), deadline=None)
def test_the_customary_services_keep_apart_on_days_that_somebody_has(set_up, keeper_days):
    found = services(one_tank(set_up, keeper_days))
    assert {key for _, key in found} == set(HEAVY)
    for (before, one), (after, other) in pairwise(found):
        assert (after - before).days >= APART, (one, before, other, after)
    if keeper_days:
        assert {WEEKDAYS[day.weekday()] for day, _ in found} <= set(keeper_days)


@given(set_up_days, st.integers(7, 20), st.integers(21, 45), st.integers(46, 90))
@settings(max_examples=examples(50), deadline=None)
def test_any_intervals_keep_apart_where_every_day_is_free(set_up, change, check, rinse):
    # Changes a week or more apart leave two free days or more in every seven: one in 11 for the check, one in 29 for
    # the rinse.
    site = one_tank(
        set_up,
        **{
            "water-change": {"every": f"{change} days", "window": "2 days"},
            "filter-check": {"every": f"{check} days", "window": "5 days"},
            "media-rinse": {"every": f"{rinse} days", "window": "14 days"},
        },
    )
    for (before, one), (after, other) in pairwise(services(site)):
        assert (after - before).days >= APART, (one, before, other, after)


@pytest.mark.parametrize("weekday", WEEKDAYS)
def test_a_weekly_change_on_the_only_free_day_leaves_that_day_to_it(weekday):
    # Every week has a change on the one day of the keeper: only another day is 3 days away from all of them.
    site = one_tank(dt.date(2027, 1, 4), [weekday], **{"water-change": {"every": "7 days"}})
    found = services(site)
    assert {WEEKDAYS[day.weekday()] for day, key in found if key == "water-change"} == {weekday}
    assert all((after - before).days >= APART for (before, _), (after, _) in pairwise(found))


@given(set_up_days, st.sampled_from(["14 days", "28 days", "56 days"]), weekdays)
@settings(max_examples=examples(30), deadline=None)
def test_the_keepers_own_weekdays_win_over_the_keepers_days(set_up, every, named):
    site = one_tank(set_up, ["Mon"], **{"water-change": {"every": every, "weekdays": named}})
    found = days(plan(site, FIRST, LAST), "sedge", "water-change")
    assert found
    assert {WEEKDAYS[day.weekday()] for day in found} <= set(named)


def test_a_small_change_disturbs_nobody():
    # Under 0.3 of the water a change is not heavy: with a filter service every other day there would be no room for it.
    job = {"water-change": {"every": "2 days", "share": 0.1}, "filter-check": {"every": "2 days"}}
    for key in ("water-change", "filter-check"):
        found = days(plan(one_tank(dt.date(2027, 1, 4), **job), FIRST, LAST), "sedge", key)
        assert {(after - before).days for before, after in pairwise(found)} == {2}


def test_the_work_of_many_enclosures_is_spread_over_the_week():
    tanks = [
        {
            "name": f"Tank {n}",
            "set_up": dt.date(2027, 1, 4),
            "filter": {"kind": "canister"},
            "length": "100 cm",
            "width": "50 cm",
            "water_depth": "40 cm",
        }
        for n in range(300)
    ]
    site = load(text_of({"site": {"name": "Fen Lane", "latitude": 53}, "enclosure": tanks}))
    # Sixteen weeks of spring; in October the cold season check has its own day, the same for all.
    last = TODAY + dt.timedelta(days=111)
    series = list(scheduler.schedule(site, list(scheduler.jobs(site)), TODAY, last))
    by_day = {}
    for o in scheduler.occurrences(site, series, TODAY, last):
        by_day[o.day] = by_day.get(o.day, 0) + o.job.minutes
    by_weekday = [sum(m for day, m in by_day.items() if day.weekday() == w) for w in range(7)]
    assert max(by_weekday) <= 1.1 * sum(by_weekday) / 7
    assert max(by_day.values()) <= 1.25 * sum(by_day.values()) / len(by_day)


def test_days_with_more_hands_get_more_of_the_work():
    keepers = [
        {"name": "Noor", "weekdays": ["Sat"], "minutes": 240},
        {"name": "Ivo", "weekdays": ["Wed"], "minutes": 60},
    ]
    tanks = [{"name": f"Tank {n}", "set_up": dt.date(2027, 1, 4)} for n in range(40)]
    site = load(text_of({"site": {"name": "Fen Lane"}, "keeper": keepers, "enclosure": tanks}))
    changes = [
        day.weekday()
        for day, _, _, key, _ in plan(site, TODAY, TODAY + dt.timedelta(days=55))
        if key == "water-change"
    ]
    saturdays, wednesdays = changes.count(5), changes.count(2)
    assert saturdays + wednesdays == len(changes)
    # Four times the minutes: about four fifths of the changes.
    assert 0.7 <= saturdays / len(changes) <= 0.9


@given(descriptions(most=3), enclosures("Zostera"))
@settings(max_examples=examples(40), deadline=None)
def test_a_new_enclosure_moves_no_job_of_the_others(description, new):
    horizon = TODAY + dt.timedelta(days=120)
    before = plan(load(text_of(description)), TODAY, horizon)
    new = {key: value for key, value in new.items() if key != "feed"}
    new |= {"set_up": dt.date(2028, 4, 1), "resident": []}
    more = description | {"enclosure": [*description["enclosure"], new]}
    after = plan(load(text_of(more)), TODAY, horizon)
    assert before == [o for o in after if o[2] != "zostera"]
