"""A series gives the same days from wherever it is looked at: held against dateutil, which walks from the start."""

import datetime as dt

import pytest
from dateutil.rrule import rrulestr
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.described import TODAY, descriptions, load, text_of

import scheduler
from scheduler.care import On
from scheduler.plan import Series, irregular
from scheduler.rules import parse

WEEKDAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]
DAY = dt.timedelta(days=1)

(JOB, *_) = scheduler.jobs(load('[site]\nname = "Fen Lane"\n[[enclosure]]\nname = "Sedge"\n'))

weekly = st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=7, unique=True).map(
    lambda d: ";BYDAY=" + ",".join(d)
)
monthly = st.sampled_from([1, 2, 15, 28, 29, 30, 31, -1, -2]).map(";BYMONTHDAY={}".format) | st.builds(
    ";BYDAY={}{}".format, st.sampled_from([1, 2, 3, 4, 5, -1, -2]), st.sampled_from(WEEKDAYS)
)
portable = st.one_of(
    st.builds("FREQ=DAILY;INTERVAL={}".format, st.integers(1, 60)),
    st.builds("FREQ=WEEKLY;INTERVAL={}{}".format, st.integers(1, 12), weekly),
    st.builds("FREQ=MONTHLY;INTERVAL={}{}".format, st.integers(1, 14), monthly),
    st.builds("FREQ=YEARLY;INTERVAL={}".format, st.integers(1, 3)),
)
"""The shapes that a regular series has: those that calendar programs agree on."""


def moments(text, start, low, high):
    """Return the days that dateutil finds from `low` to `high`, both included, walking from `start`."""
    start, low, high = (dt.datetime.combine(day, dt.time()) for day in (start, low, high))
    return [moment.date() for moment in rrulestr(text, dtstart=start).between(low, high, inc=True)]


@given(
    portable,
    st.dates(dt.date(2024, 3, 1), dt.date(2028, 2, 28)),
    st.integers(-400, 1500),
    st.integers(0, 400),
    st.none() | st.integers(0, 1200),
)
@settings(max_examples=examples(150), deadline=None)
def test_the_days_between_two_days_are_those_of_the_rule(text, day, before, length, end):
    instances = moments(text, day, day, day + 1500 * DAY)
    assume(instances)
    first = instances[0]  # a series begins with the rule's own first instance
    until = None if end is None else first + end * DAY
    low, high = first + before * DAY, first + (before + length) * DAY
    expected = [d for d in moments(text, first, low, high) if until is None or d <= until]
    series = Series(job=JOB, rule=parse(text), first=first, until=until)
    assert list(series.between(low, high)) == expected


@given(
    st.sets(st.dates(dt.date(2028, 1, 1), dt.date(2028, 12, 31))), st.integers(0, 366), st.integers(0, 366)
)
def test_single_dates_are_given_as_they_are(found, low, length):
    low = dt.date(2028, 1, 1) + low * DAY
    series = Series(job=JOB, dates=tuple(sorted(found)), why="single dates")
    assert list(series.between(low, low + length * DAY)) == sorted(
        d for d in found if low <= d <= low + length * DAY
    )


RULE = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Sedge"
set_up = 2027-12-04
[[enclosure.extra_job]]
key = "duty"
title = "Duty"
rule = "{rule}"
"""


@pytest.mark.parametrize(
    ("rule", "regular"),
    [
        # What the readers of calendars agree on stays a rule.
        ("FREQ=DAILY;INTERVAL=3", True),
        ("FREQ=WEEKLY;BYDAY=MO,TH", True),
        ("FREQ=MONTHLY;BYDAY=1SA", True),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", True),
        ("FREQ=YEARLY", True),
        ("FREQ=WEEKLY;COUNT=5", True),
        ("FREQ=WEEKLY;UNTIL=20280301", True),
        # Everything else is written out.
        ("FREQ=MONTHLY;BYMONTHDAY=1,15", False),
        ("FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1", False),
        ("FREQ=YEARLY;BYMONTH=3;BYDAY=1SA", False),
        ("FREQ=YEARLY;BYWEEKNO=20", False),
        ("FREQ=DAILY;BYMONTH=1,2", False),
        ("FREQ=MONTHLY;INTERVAL=2;BYMONTHDAY=1,-1;COUNT=4", False),
    ],
)
@pytest.mark.parametrize(
    "view", [dt.date(2027, 12, 1), dt.date(2027, 12, 4), dt.date(2028, 1, 17), dt.date(2028, 2, 29)]
)
def test_a_keepers_rule_falls_on_the_days_of_rfc_5545(rule, regular, view):
    site = load(RULE.format(rule=rule))
    last = dt.date(2029, 6, 30)
    series = [
        s for s in scheduler.schedule(site, list(scheduler.jobs(site)), view, last) if s.job.key == "duty"
    ]
    expected = moments(
        rule.replace("UNTIL=20280301", "UNTIL=20280301T000000"), dt.date(2027, 12, 4), view, last
    )
    assert [day for s in series for day in s.between(view, last)] == expected
    assert all((s.rule is not None) == regular and (s.why == "") == regular for s in series)


@given(descriptions())
@settings(max_examples=examples(60), deadline=None)
def test_which_jobs_are_no_rule_is_known_as_by_planning_them(description):
    # The review asks for these alone, and plans only where something may be irregular.
    site = load(text_of(description))
    jobs, last = list(scheduler.jobs(site)), TODAY + 366 * DAY
    planned = [
        (s.job.enclosure.id, s.job.key, s.job.variant, s.why)
        for s in scheduler.schedule(site, jobs, TODAY, last)
        if s.why and not isinstance(s.job.cadence, On)
    ]
    found = irregular(site, jobs, TODAY, last)
    assert sorted((j.enclosure.id, j.key, j.variant, why) for j, why in found) == sorted(planned)
