"""Who is asked for what, and on which day it is done: a description in, the whole rota out."""

from __future__ import annotations

from dataclasses import replace

from support.rota.in_short import SEDGE, job, keeper, made, rota, text
from support.rota.small_sites import DAY, MONDAY, Case, duties, shown

from scheduler.rota import Past

# --- who can ---


def test_a_skill_that_one_keeper_has():
    assert rota(
        keeper("Noor", can=["electrics"]), keeper("Ivo", can=[]), SEDGE, job("fuse", 7, can="electrics"), job("sweep", 7)
    ) == text("""
        Mon 07 Dec Ivo 20 min: Sedge sweep
        Mon 07 Dec Noor 20 min: Sedge fuse
        minutes: ivo 20, noor 20
    """)  # fmt: skip


def test_as_long_as_nobody_lists_a_skill_everybody_has_it():
    assert rota(keeper("Noor"), keeper("Ivo", weekdays=["Tue"]), SEDGE, job("fuse", 8, can="electrics"), job("sweep", 7)) == text("""
        Mon 07 Dec Noor 20 min: Sedge sweep
        Tue 08 Dec Ivo 20 min: Sedge fuse
        minutes: ivo 20, noor 20
    """)  # fmt: skip


# --- who is there ---


def test_weekdays():
    assert rota(keeper("Noor", weekdays=["Mon", "Wed"]), keeper("Ivo", weekdays=["Tue"]), SEDGE, job("sweep", 7, 8, 9)) == text("""
        Mon 07 Dec Noor 20 min: Sedge sweep
        Tue 08 Dec Ivo 20 min: Sedge sweep
        Wed 09 Dec Noor 20 min: Sedge sweep
        minutes: ivo 20, noor 40
    """)  # fmt: skip


def test_who_is_away_on_the_day_that_is_named_is_not_asked():
    away = ["2026-12-08/2026-12-09"]
    assert rota(
        keeper("Noor", away=away), keeper("Ivo", share=0.01), SEDGE, job("sweep", 7, 8, 9, 10)
    ) == text("""
        Mon 07 Dec Noor 20 min: Sedge sweep
        Tue 08 Dec Ivo 20 min: Sedge sweep
        Wed 09 Dec Ivo 20 min: Sedge sweep
        Thu 10 Dec Noor 20 min: Sedge sweep
        minutes: ivo 40, noor 40
    """)


def test_who_has_fallen_ill_is_not_asked():
    ill = {"noor": [(MONDAY, MONDAY)]}
    assert rota(keeper("Noor"), keeper("Ivo", share=0), SEDGE, job("sweep", 7, 8), absent=ill) == text("""
        Mon 07 Dec Ivo 20 min: Sedge sweep
        Tue 08 Dec Noor 20 min: Sedge sweep
        minutes: ivo 20, noor 20
    """)


def test_minutes_of_a_day():
    assert rota(keeper("Noor", minutes=45), keeper("Ivo", share=0), SEDGE, job("a", 7), job("b", 7), job("c", 7)) == text("""
        Mon 07 Dec Ivo 20 min: Sedge c
        Mon 07 Dec Noor 40 min: Sedge a, Sedge b
        minutes: ivo 20, noor 40
    """)  # fmt: skip


def test_minutes_that_are_done_today_are_used_up():
    past = Past(today={"noor": 30})
    assert rota(keeper("Noor", minutes=45), SEDGE, job("sweep", 7, 8), past=past) == text("""
        Tue 08 Dec Noor 20 min: Sedge sweep
        nobody: sweep of Mon 07 Dec, the minutes of all who can do it and are there are used up (Noor); mend: 5 more minutes of Noor on 7 December 2026
        minutes: noor 20
    """)


# --- when ---


def test_a_window_moves_a_job_to_where_somebody_is():
    assert rota(keeper("Noor", weekdays=["Wed"]), SEDGE, job("early", 10, window=2), job("late", 8, window=2)) == text("""
        Wed 09 Dec Noor 40 min: Sedge late (due Tue), Sedge early (due Thu)
        minutes: noor 40
    """)  # fmt: skip


def test_no_further_than_the_window():
    assert rota(keeper("Noor", weekdays=["Wed"]), SEDGE, job("late", 7, window=1), job("early", 11, window=1)) == text("""
        nobody: late of Mon 07 Dec, nobody who can do it comes (Noor), 7 December 2026 to 8 December 2026; mend: Noor on Monday, 7 December 2026
        nobody: early of Fri 11 Dec, nobody who can do it comes (Noor), 10 December 2026 to 12 December 2026; mend: Noor on Thursday, 10 December 2026
        minutes: noor 0
    """)  # fmt: skip


def test_the_outer_half_of_a_window_is_for_when_there_are_no_minutes_in_the_inner():
    """Two days of window, of which one to either side is used freely."""
    assert rota(keeper("Noor", minutes=20), SEDGE, job("a", 9), job("b", 10), job("c", 11), job("d", 10, window=2)) == text("""
        Wed 09 Dec Noor 20 min: Sedge a
        Thu 10 Dec Noor 20 min: Sedge b
        Fri 11 Dec Noor 20 min: Sedge c
        Sat 12 Dec Noor 20 min: Sedge d (due Thu)
        minutes: noor 80
    """)  # fmt: skip


def test_jobs_are_drawn_together_into_one_round():
    assert rota(keeper("Noor"), SEDGE, job("a", 8, window=2), job("b", 9), job("c", 10, window=2)) == text("""
        Wed 09 Dec Noor 60 min: Sedge a (due Tue), Sedge b, Sedge c (due Thu)
        minutes: noor 60
    """)


def test_a_window_over_the_end_of_a_week():
    assert rota(
        keeper("Noor", weekdays=["Mon"]), SEDGE, job("sweep", 13, window=1), days=14
    ) == text("""
        Mon 14 Dec Noor 20 min: Sedge sweep (due Sun)
        minutes: noor 20
    """)  # fmt: skip


def test_the_last_day_of_a_rota_is_the_last():
    assert rota(keeper("Noor", weekdays=["Mon"]), SEDGE, job("sweep", 13, window=1)) == text("""
        nobody: sweep of Sun 13 Dec, nobody who can do it comes (Noor), 12 December 2026 to 13 December 2026; mend: Noor on Saturday, 12 December 2026
        minutes: noor 0
    """)


def test_a_job_keeps_to_its_own_weekdays():
    extra = '[[enclosure.extra_job]]\nkey = "market"\ntitle = "Duty"\nevery = "7 days"\nweekdays = ["Tue"]\nminutes = 20\nwindow = "3 days"\n'
    assert rota(keeper("Noor", weekdays=["Mon", "Tue", "Wed"]), SEDGE, extra, job("sweep", 9)) == text("""
        Tue 08 Dec Noor 20 min: Sedge market
        Wed 09 Dec Noor 20 min: Sedge sweep
        minutes: noor 40
    """)


def test_services_of_one_tank_stay_three_days_apart():
    """Moving both together would save a round."""
    some = duties(
        keeper("Noor", weekdays=["Mon", "Wed", "Thu"])
        + SEDGE
        + job("change", 7, window=3)
        + job("filter", 10, window=3)
    )
    assert shown(made(some)) == text("""
        Mon 07 Dec Noor 20 min: Sedge change
        Thu 10 Dec Noor 20 min: Sedge filter
        minutes: noor 40
    """).replace("Mon 07 Dec Noor 20 min: Sedge change\nThu 10 Dec Noor 20 min: Sedge filter", together(some))
    heavy = some.with_jobs(lambda j: replace(j, heavy=True))
    assert shown(made(heavy)) == text("""
        Mon 07 Dec Noor 20 min: Sedge change
        Thu 10 Dec Noor 20 min: Sedge filter
        minutes: noor 40
    """)


def together(some: Case) -> str:
    """Return the one round of a rota, which has both jobs."""
    [only] = some.rota().rounds
    assert [t.item.job.key for t in only.tasks] == ["change", "filter"]
    return shown(some.rota()).splitlines()[0]


# --- what else ---


def test_what_is_done_is_not_given_to_anybody_again():
    some = duties(keeper("Noor") + SEDGE + job("sweep", 7, 8))
    done = some.but(
        occurrences=[replace(o, state="done") if o.day == MONDAY else o for o in some.occurrences]
    )
    assert shown(made(done)) == text("""
        Tue 08 Dec Noor 20 min: Sedge sweep
        minutes: noor 20
    """)


def test_what_is_overdue_is_not_put_before_today():
    some = duties(keeper("Noor", weekdays=["Tue", "Wed"]) + SEDGE + job("sweep", 7, window=2))
    opened = [replace(o, state="overdue", since=MONDAY - 5 * DAY) for o in some.occurrences]
    assert shown(made(some.but(occurrences=opened))) == text("""
        Tue 08 Dec Noor 20 min: Sedge sweep (due Mon)
        minutes: noor 20
    """)


def test_what_is_open_is_never_done_before_its_day():
    """It is open from Wednesday on, whatever its window: Noor, who comes on Mondays, cannot have done it by then."""
    some = duties(keeper("Noor", weekdays=["Mon"]) + SEDGE + job("sweep", 9, window=4), days=5)
    open_ = [replace(o, state="overdue", since=o.day - 6 * DAY) for o in some.occurrences]
    found = made(some.but(occurrences=open_))
    assert [left.item.job.key for left in found.unfilled] == ["sweep"]
    # Of a week and a half there is another Monday.
    longer = made(some.but(occurrences=open_, last=MONDAY + 9 * DAY))
    assert [r.day for r in longer.rounds] == [MONDAY + 7 * DAY]


def test_the_rest_of_a_window_is_used_over_the_border_of_a_week():
    """Monday's work needs Noor's Sunday, which is full; what lies there can move seven days, and does."""
    some = duties(
        keeper("Noor", weekdays=["Sun"], minutes=30)
        + SEDGE
        + job("fixed", 13, minutes=30)
        + job("wide", 13, minutes=30, window=7),
        days=14,
    )
    found = made(some)
    assert not found.unfilled
    assert [(r.day.day, [t.item.job.key for t in r.tasks]) for r in found.rounds] == [
        (13, ["fixed"]),
        (20, ["wide"]),
    ]
