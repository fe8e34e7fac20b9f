"""No interval is overstretched, and nothing but the description decides on the days."""

import datetime as dt

import pytest
from dateutil.relativedelta import relativedelta
from described import TODAY, days, descriptions, load, plan, text_of
from hypothesis import given, settings
from hypothesis import strategies as st

import scheduler
from scheduler.care import Every

DAY = dt.timedelta(days=1)


@given(descriptions())
@settings(max_examples=60, deadline=None)
def test_no_gap_exceeds_the_interval_and_its_window(description):
    site = load(text_of(description))
    first, horizon = dt.date(2026, 1, 1), dt.date(2028, 12, 31)
    found = {}
    for day, _, enclosure, key, variant in plan(site, first, horizon):
        found.setdefault((enclosure, key, variant), []).append(day)
    intervals = [job for job in scheduler.jobs(site, TODAY) if isinstance(job.cadence, Every)]
    assert intervals
    for job in intervals:
        if job.cadence.span.months:
            continue
        most = dt.timedelta(days=job.cadence.span.days + job.window)
        # The first gap counts too: from set-up or arrival, or from the first day that the view may show.
        begin = max(filter(None, (first, job.cadence.anchor, site.place.start)))
        seen = found.get((job.enclosure.id, job.key, job.variant), [])
        for before, after in zip([begin, *seen], [*seen, None], strict=True):
            assert (after or horizon) - before <= most, (job.key, before, after)


@given(descriptions(), st.integers(1, 200))
@settings(max_examples=40, deadline=None)
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
@settings(max_examples=40, deadline=None)
def test_a_later_view_is_the_rest_of_the_earlier_one(description, later):
    site = load(text_of(description))
    horizon = TODAY + 150 * DAY
    whole, rest = plan(site, TODAY, horizon), plan(site, TODAY + later * DAY, horizon)
    assert rest == [o for o in whole if o[0] >= TODAY + later * DAY]


@given(descriptions(), st.integers(-60, 60))
@settings(max_examples=40, deadline=None)
def test_the_day_of_asking_moves_nothing(description, moved):
    site = load(text_of(description))
    first, horizon = TODAY + 60 * DAY, TODAY + 200 * DAY
    assert plan(site, first, horizon) == plan(site, first, horizon, today=TODAY + moved * DAY)


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
        # A month has no 31st every time: kept on the 28th, early rather than late.
        ("2028-01-31", 'every = "1 month"', ["2028-02-28", "2028-03-28", "2028-04-28"], "house rule"),
        ("2028-01-28", 'every = "3 months"', ["2028-04-28", "2028-07-28", "2028-10-28"], "house rule"),
        ("2024-02-29", 'every = "1 year"', ["2025-02-28", "2026-02-28", "2027-02-28"], "house rule"),
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
        (
            "2027-12-31",
            'every = "1 month"\nweekdays = ["Sat"]',
            ["2028-01-22", "2028-02-26", "2028-03-25"],
            "last Saturday up to the 28th",
        ),
    ],
)
def test_months_years_and_leap_days(set_up, cadence, expected, source):
    first = dt.date.fromisoformat(set_up)
    assert duty(set_up, cadence, first, first + dt.timedelta(days=3300))[:3] == expected, source


@given(
    st.dates(dt.date(2026, 1, 1), dt.date(2029, 12, 31)),
    st.integers(1, 30),
    st.sets(st.integers(0, 6), max_size=6),
)
@settings(max_examples=50, deadline=None)
def test_months_count_from_the_start_and_fall_on_the_named_weekday_before(set_up, months, weekdays):
    names = [day for i, day in enumerate(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")) if i in weekdays]
    cadence = f'every = "{months} months"' + (f"\nweekdays = {names}" if names else "")
    last = set_up + dt.timedelta(days=1200)
    # dateutil's relativedelta as the calendar of reference; the day that every month has is the 28th.
    start = set_up.replace(day=min(set_up.day, 28))
    due = [start + relativedelta(months=months * n) for n in range(1, 45)]
    back = [
        max(day - DAY * n for n in range(7) if not names or (day - DAY * n).weekday() in weekdays)
        for day in due
    ]
    assert duty(set_up, cadence, set_up, last) == [f"{day}" for day in back if day <= last]
