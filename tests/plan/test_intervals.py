"""No interval is overstretched, and nothing but the description decides on the days."""

import datetime as dt
from itertools import pairwise

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.described import TODAY, days, descriptions, load, plan, text_of

import scheduler
from scheduler.care import Case, Every, jobs_of
from scheduler.quantities import Span, parse_span

DAY = dt.timedelta(days=1)


@given(descriptions())
@settings(max_examples=examples(60), deadline=None)
def test_no_gap_exceeds_the_interval_and_its_window(description):
    site = load(text_of(description))
    first, horizon = dt.date(2026, 1, 1), dt.date(2028, 12, 31)
    found = {}
    for day, _, enclosure, key, variant in plan(site, first, horizon):
        found.setdefault((enclosure, key, variant), []).append(day)
    intervals = [job for job in scheduler.jobs(site) if isinstance(job.cadence, Every)]
    assert intervals
    for job in intervals:
        most = dt.timedelta(days=job.cadence.span.interval_days + job.window)
        # The first gap counts too: from set-up or arrival, or from the first day that the view may show.
        begin = max(filter(None, (first, job.cadence.anchor, site.settings.start)))
        seen = found.get((job.enclosure.id, job.key, job.variant), [])
        for before, after in zip([begin, *seen], [*seen, None], strict=True):
            assert (after or horizon) - before <= most, (job.key, before, after)


@given(descriptions(), st.integers(1, 200))
@settings(max_examples=examples(40), deadline=None)
def test_a_longer_horizon_only_adds(description, more):
    site = load(text_of(description))
    horizon = TODAY + 60 * DAY
    short, long = plan(site, TODAY, horizon), plan(site, TODAY, horizon + more * DAY)
    assert short == [o for o in long if o[0] <= horizon]


def test_a_longer_horizon_only_adds_where_services_make_way_for_each_other():
    # Neither interval fits the one weekday: both are walked from day to day, and the later one looks at the earlier.
    site = load("""
[site]
name = "Fen Lane"
[[keeper]]
name = "Noor"
weekdays = ["Mon", "Thu", "Sat"]
[[enclosure]]
name = "Sedge"
set_up = 2027-03-05
filter = {kind = "canister"}
job.water-change = {every = "9 days", window = "3 days"}
job.filter-check = {every = "16 days", window = "4 days"}
job.media-rinse = {every = "25 days", window = "4 days"}
""")
    long = plan(site, TODAY, TODAY + 250 * DAY)
    for horizon in (TODAY + n * DAY for n in range(10, 200)):
        assert plan(site, TODAY, horizon) == [o for o in long if o[0] <= horizon], horizon


@given(descriptions(), st.integers(1, 100))
@settings(max_examples=examples(40), deadline=None)
def test_a_later_view_is_the_rest_of_the_earlier_one(description, later):
    site = load(text_of(description))
    horizon = TODAY + 150 * DAY
    whole, rest = plan(site, TODAY, horizon), plan(site, TODAY + later * DAY, horizon)
    assert rest == [o for o in whole if o[0] >= TODAY + later * DAY]


@given(descriptions(), st.dates(dt.date(2026, 1, 1), dt.date(2029, 12, 31)))
@settings(max_examples=examples(40), deadline=None)
def test_no_job_rests_on_today(description, today):
    # Some figures grow from day to day, and their case knows the day; if a job rested on one, every export would move it.
    site = load(text_of(description))
    for enclosure in site.enclosures:
        without, with_today = (
            list(jobs_of(Case(site, enclosure))),
            list(jobs_of(Case(site, enclosure, today))),
        )
        assert without == with_today
        assert [job.notes().text() for job in without] == [job.notes().text() for job in with_today]


# --- Months and leap days ---------------------------------------------------------------------------------------

EXTRA = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
set_up = {set_up}
[[enclosure.extra_job]]
key = "duty"
title = "Duty"
{cadence}
"""


def duty(set_up, cadence, first, last):
    site = load(EXTRA.format(set_up=set_up, cadence=cadence))
    return [f"{day}" for day in days(plan(site, first, last), "sedge", "duty")]


@pytest.mark.parametrize(
    ("set_up", "cadence", "expected", "source"),
    [
        ("2028-02-27", 'every = "2 days"', ["2028-02-29", "2028-03-02", "2028-03-04"], "2028 is a leap year"),
        ("2027-02-27", 'every = "2 days"', ["2027-03-01", "2027-03-03", "2027-03-05"], "2027 is none"),
        (
            # "Recurrence rules may generate recurrence instances with an invalid date ... such instances MUST be ignored."
            "2024-02-29",
            'rule = "FREQ=YEARLY"',
            ["2024-02-29", "2028-02-29", "2032-02-29"],
            "RFC 5545, section 3.3.10",
        ),
        (
            "2027-01-31",
            'rule = "FREQ=MONTHLY"',
            ["2027-01-31", "2027-03-31", "2027-05-31"],
            "RFC 5545, section 3.3.10",
        ),
        (
            "2027-12-01",
            'rule = "FREQ=MONTHLY;BYMONTHDAY=-1"',
            ["2027-12-31", "2028-01-31", "2028-02-29"],
            "RFC 5545, section 3.3.10",
        ),
        ("2028-02-01", "on = [2028-02-29, 2028-02-28]", ["2028-02-28", "2028-02-29"], "the two days"),
    ],
)
def test_months_years_and_leap_days(set_up, cadence, expected, source):
    first = dt.date.fromisoformat(set_up)
    assert duty(set_up, cadence, first, first + dt.timedelta(days=3300))[:3] == expected, source


@pytest.mark.parametrize(
    ("written", "days"),
    [
        ("1 month", 28),
        ("2 months", 56),
        ("3 months", 91),
        ("6 months", 182),
        ("1 year", 364),
        ("2 years", 728),
    ],
)
def test_months_are_planned_as_whole_weeks(written, days):
    # House rule: the weekday stays. A month of 28 days is the shortest there is.
    assert parse_span(written).interval_days == days
    found = [
        dt.date.fromisoformat(day)
        for day in duty("2026-01-31", f'every = "{written}"', dt.date(2026, 1, 31), dt.date(2036, 1, 1))
    ]
    assert {(after - before).days for before, after in pairwise(found)} == {days}
    assert dt.timedelta(0) < found[0] - dt.date(2026, 1, 31) <= dt.timedelta(days=days)


@given(st.dates(dt.date(2026, 1, 1), dt.date(2029, 12, 31)), st.integers(1, 240))
def test_months_in_weeks_are_not_longer_than_months_are_on_the_mean(start, months):
    # dateutil's relativedelta as the calendar of reference. Half a year from 1 February is 181 days, a day less than
    # 26 weeks: months differ by up to three days, and their mean is what the weeks keep under.
    calendar_days = (start + relativedelta(months=months) - start).days
    assert calendar_days - 10 <= Span(months=months).interval_days <= calendar_days + 2


def test_the_life_of_a_lamp_is_not_cut_short_to_find_a_day():
    lamp = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
[[enclosure.lamp]]
kind = "T5 HO tube"
installed = 2026-11-20
"""
    found = plan(load(lamp), dt.date(2026, 12, 1), dt.date(2028, 12, 1))
    first = {key: days(found, "sedge", key)[0] for key in ("uv-lamp-order", "uv-lamp-replace")}
    installed, ahead = dt.date(2026, 11, 20), dt.timedelta(days=28)
    due = installed + dt.timedelta(days=364)
    assert due - dt.timedelta(days=14) <= first["uv-lamp-replace"] <= due
    assert due - ahead - dt.timedelta(days=14) <= first["uv-lamp-order"] <= due - ahead
