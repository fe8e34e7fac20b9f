"""The first and the last day that a job may take, and the day after each: windows, first occurrences, half intervals."""

import datetime as dt

import pytest
from support.recorded import history, listed, load, planned

from scheduler.care import Every, Job, Notes
from scheduler.plan.days import Days
from scheduler.plan.spacing import Phase, Wish, place, walk
from scheduler.quantities import Span

TANK = """
[site]
name = "Plover Yard"
[[enclosure]]
name = "Quillet"
set_up = 2026-01-05
"""
MONDAY = dt.date(2026, 1, 5)
MON, TUE, WED, THU, FRI, SAT, SUN = range(7)


def job(period: int, window: int, **more) -> Job:
    (enclosure,) = load(TANK).enclosures
    cadence = Every(span=Span(period), anchor=MONDAY, lasts=more.pop("lasts", False))
    return Job(
        enclosure=enclosure,
        key="prune",
        title="prune",
        short="prune",
        cadence=cadence,
        window=window,
        minutes=10,
        notes=lambda: Notes(steps=("Prune.",)),
        **more,
    )


@pytest.mark.parametrize(
    ("weekday", "day"),
    [
        # Ten days after Monday 5 January 2026 is Thursday the 15th; two days early to two days late are Tuesday to Saturday.
        (TUE, 13),
        (WED, 14),
        (THU, 15),
        (FRI, 16),
        (SAT, 17),
        # Outside the window the last day before it is taken: nothing comes later than that.
        (SUN, 11),
        (MON, 12),
    ],
)
def test_a_walk_takes_the_first_and_the_last_day_of_the_window_and_none_after(weekday, day):
    wish = Wish(job(10, 2), 10, MONDAY, False, (weekday,), [])
    phase = walk(wish, MONDAY.toordinal() + 9, "single dates")
    assert dt.date.fromordinal(phase.days[0]) == dt.date(2026, 1, day)


@pytest.mark.parametrize(
    ("weekdays", "service", "day"),
    [
        # Of the two days that somebody has the one is taken that keeps off the other service, as long as it is in the window.
        ((TUE, SAT), 17, 13),
        ((TUE, SAT), 13, 17),
        ((MON, SAT), 17, 17),
        ((TUE, SUN), 13, 13),
    ],
)
def test_a_walk_keeps_off_another_service_on_the_days_of_its_window_alone(weekdays, service, day):
    other = Phase(days=[dt.date(2026, 1, service).toordinal()], why="single dates")
    wish = Wish(job(10, 2, heavy=True), 10, MONDAY, False, weekdays, [(90, other)])
    phase = walk(wish, MONDAY.toordinal() + 9, "single dates")
    assert dt.date.fromordinal(phase.days[0]) == dt.date(2026, 1, day)


def first_day(period: int, window: int, weekday: int, **more) -> dt.date:
    site = load(TANK)
    one = job(period, window, weekdays=(weekday,), **more)
    (phase,) = place([one], Days(site), dt.date(2026, 12, 31)).values()
    return dt.date.fromordinal(phase.first)


@pytest.mark.parametrize(
    ("weekday", "day"),
    [(MON, 12), (TUE, 6), (WED, 7), (SUN, 11)],
)
def test_a_weekly_job_finds_its_first_day_in_the_whole_first_week(weekday, day):
    assert first_day(7, 2, weekday) == dt.date(2026, 1, day)


@pytest.mark.parametrize(
    ("weekday", "day"),
    [
        # Four weeks after Monday 5 January is Monday 2 February: what lasts so long comes up to its window earlier.
        (MON, dt.date(2026, 2, 2)),
        (SUN, dt.date(2026, 2, 1)),
        (FRI, dt.date(2026, 1, 30)),
        (THU, dt.date(2026, 2, 2)),
    ],
)
def test_the_life_of_a_thing_ends_at_most_the_window_early(weekday, day):
    assert first_day(28, 3, weekday, lasts=True) == day


@pytest.mark.parametrize(
    ("today", "period", "following"),
    [
        # Due on Thursday 8 January and not done. Half of 7 days is 3.5: the next one keeps 4 days away, not 3.
        ("2026-01-11", 7, "2026-01-15"),
        ("2026-01-12", 7, "2026-01-22"),
        # Half of 14 is 7.
        ("2026-01-15", 14, "2026-01-22"),
        ("2026-01-16", 14, "2026-02-05"),
    ],
)
def test_the_next_time_after_an_open_one_is_at_least_half_an_interval_away(today, period, following):
    text = (
        TANK
        + f'[[enclosure.extra_job]]\nkey = "prune"\ntitle = "prune"\nevery = "{period} days"\nminutes = 10\n'
    )
    done = dt.date(2026, 1, 8) - dt.timedelta(days=period)
    found = history(min(done, dt.date(2025, 12, 1)).isoformat(), [f"{done} did prune"], "quillet")
    days = listed(
        planned(text.replace("set_up = 2026-01-05", "set_up = 2025-12-01"), today, found), "prune", 40
    )
    assert [d.split()[0] for d in days[:2]] == [today, following]
