"""Jobs that come seldom keep off each other's days: a day of the calendar holds few entries that are read one by one."""

import datetime as dt
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from support.described import load
from support.recorded import history, planned

from scheduler import workflow
from scheduler.workflow.site_files import read_site

SAMPLES = Path(__file__).parents[2] / "sample_configs"
FIRST = dt.date(2026, 12, 1)


def rare(site, days, first=FIRST):
    """Return the rare jobs of each part of each day, in the order of a round."""
    found = {(first + dt.timedelta(n), part): [] for n in range(days) for part in ("morning", "evening")}
    for o in workflow.days_of(workflow.make_plan(site, first, first, days)):
        if not o.job.routine:
            found[o.day, o.job.part].append(o.job)
    return found


@pytest.mark.parametrize(
    ("sample", "few", "days", "most"),
    [
        # One entry of a part of the day is the routine's. Over the year 15 days are left to what events bring.
        ("one-tank", 1, 350, 3),
        # Three enclosures: 2.9 rare jobs a day on the mean, so nearly every day has to hold three.
        ("household", 3, 330, 5),
    ],
)
def test_a_year_of_a_sample_has_few_entries_on_nearly_every_day(sample, few, days, most):
    found = rare(read_site(SAMPLES / f"{sample}.toml"), 365)
    for part in ("morning", "evening"):
        counts = Counter(len(jobs) for (_, at), jobs in found.items() if at == part)
        assert sum(n for jobs, n in counts.items() if jobs <= few) >= days, counts
        assert max(counts) <= most, counts


TANK = """
[site]
name = "Fen Lane"
{site}
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {{kind = "canister"}}
heater = [{{power = "200 W", set_to = "24 degC"}}]
resident = [{{name = "Fern", species = "painted turtle"}}]
job.water-change = {{every = "7 days"}}
{enclosure}
"""


def tank(site="", enclosure=""):
    return TANK.format(site=site, enclosure=enclosure)


def listed(text, days=28):
    return [f"{day:%a %d} {job.key}" for (day, _), jobs in rare(load(text), days).items() for job in jobs]


def test_four_weeks_of_a_tank_have_one_rare_job_a_day():
    assert listed(tank()) == [
        *("Thu 03 top-up", "Fri 04 water-test", "Sat 05 water-change", "Sun 06 wipe-down"),
        "Tue 08 weigh-measure",
        *("Thu 10 top-up", "Fri 11 water-test", "Sat 12 water-change", "Sun 13 wipe-down"),
        *("Mon 14 supplies", "Wed 16 rcd-test"),
        *("Thu 17 top-up", "Fri 18 water-test", "Sat 19 water-change", "Sun 20 wipe-down"),
        # The filter is three days away from the changes.
        *("Mon 21 cuttlebone", "Tue 22 filter-check", "Wed 23 heater-check"),
        *("Thu 24 top-up", "Fri 25 water-test", "Sat 26 water-change", "Sun 27 wipe-down"),
    ]


@pytest.mark.parametrize("weekday", ["MO", "TU", "WE", "TH", "FR", "SA", "SU"])
def test_a_job_by_calendar_stands_in_the_way_too(weekday):
    own = f'[[enclosure.extra_job]]\nkey = "skim"\ntitle = "skim"\nrule = "FREQ=WEEKLY;BYDAY={weekday}"\n'
    met = Counter()
    for jobs in rare(load(tank(enclosure=own)), 56).values():
        keys = {job.key for job in jobs}
        met.update(keys - {"skim"} if "skim" in keys else ())
    # Of the seven weekdays the weekly jobs have four, this one has the fifth.
    # But a test stays on the eve of its change.
    assert not {"water-change", "top-up", "wipe-down"} & set(met), met


def test_what_is_done_in_the_evening_is_in_nobodys_way_in_the_morning():
    own = "".join(
        f'[[enclosure.extra_job]]\nkey = "duty-{n}"\ntitle = "duty"\nevery = "7 days"\npart = "evening"\n'
        for n in range(7)
    )
    found = rare(load(tank(enclosure=own)), 56)
    assert max(len(jobs) for jobs in found.values()) == 1
    assert all(found[FIRST + dt.timedelta(n), "evening"] for n in range(7, 56))


# --- a test of the water before the change ---


def weekdays_of(text, key):
    return {
        f"{day:%a}" for (day, _), jobs in rare(load(text), 56).items() if key in {job.key for job in jobs}
    }


@pytest.mark.parametrize(
    ("keeper_days", "change", "test"),
    [
        ("Mon, Tue, Wed, Thu, Fri, Sat, Sun", "Wed", "Tue"),
        ("Tue, Wed", "Wed", "Tue"),
        # Nobody has the Tuesday: on the day itself, where it comes first in the round.
        ("Wed, Sun", "Wed", "Wed"),
    ],
)
@pytest.mark.parametrize("share", [0.5, 0.2])
def test_the_water_is_tested_on_the_eve_of_a_change(keeper_days, change, test, share):
    days = ", ".join(f'"{day}"' for day in keeper_days.split(", "))
    text = tank().replace(
        '{every = "7 days"}', f'{{every = "7 days", weekdays = ["{change}"], share = {share}}}'
    )
    text += f'[[keeper]]\nname = "Noor"\nweekdays = [{days}]\n'
    assert weekdays_of(text, "water-change") == {change}
    assert weekdays_of(text, "water-test") == {test}


# --- twice a week ---

OPEN = tank('room_low = "15 degC"').replace("cycled", "covered = false\ncycled")
"""A tank without a cover: by the computed evaporation the line falls by its allowance in 3 days."""


def top_ups(text, days=56):
    found = rare(load(text), days)
    return [day for (day, _), jobs in found.items() if any(job.key == "top-up" for job in jobs)]


def gaps(found):
    return {(after - before).days for before, after in pairwise(found)}


def test_what_is_topped_up_every_three_days_comes_on_two_weekdays():
    found = top_ups(OPEN)
    assert gaps(found) == {3, 4}
    assert {f"{day:%a}" for day in found} == {"Thu", "Sun"}


@pytest.mark.parametrize(
    ("own", "expected"),
    [
        # The keeper's own interval is kept to the day, and where nothing late is allowed it never is.
        ('every = "3 days"', {3}),
        ('every = "4 days"', {4}),
        ('window = "0 days"', {3}),
        ('window = "1 day"', {3, 4}),
        ('weekdays = ["Mon", "Wed", "Fri"]', {2, 3}),
    ],
)
def test_an_interval_of_the_keepers_own_is_kept(own, expected):
    assert gaps(top_ups(OPEN + f"job.top-up = {{{own}}}\n")) == expected


@pytest.mark.parametrize(
    ("today", "done", "following"),
    [
        ("2026-12-03", "2026-12-03", ["2026-12-06", "2026-12-10"]),
        # A day late, or early: the next of its two weekdays that lies within the window of three days later.
        ("2026-12-04", "2026-12-04", ["2026-12-06", "2026-12-10"]),
        ("2026-12-05", "2026-12-05", ["2026-12-06", "2026-12-10"]),
        ("2026-12-02", "2026-12-02", ["2026-12-06", "2026-12-10"]),
        # Open since the 3rd; the one after it is two days away at least.
        ("2026-12-04", "", ["2026-12-04", "2026-12-06", "2026-12-10"]),
        ("2026-12-05", "", ["2026-12-05", "2026-12-10", "2026-12-13"]),
    ],
)
def test_what_is_done_leaves_the_two_weekdays_as_they_are(today, done, following):
    lines = ["2026-12-01 did daily-look", *([f"{done} did top-up"] if done else [])]
    plan = planned(OPEN, today, history("2026-12-01", lines))
    found = [o.day.isoformat() for o in workflow.days_of(plan, job="top-up") if o.state != "done"]
    assert found[: len(following)] == following
