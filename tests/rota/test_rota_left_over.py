"""What nobody takes and why, what would mend it, and what comes first where minutes are scarce."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.rota.in_short import SEDGE, job, keeper, made
from support.rota.small_sites import DAY, Case, duties, shown

# --- what nobody takes, and what would mend it ---


def test_nobody_has_the_skill():
    parts = [keeper("Noor", can=["adult"]), keeper("Ivo", can=["lifting"]), SEDGE, job("sweep", 7)]
    some = duties("".join(parts)).with_jobs(lambda j: replace(j, skills=("electrics",)))
    assert shown(made(some)).splitlines()[0] == (
        'nobody: sweep of Mon 07 Dec, no keeper lists "electrics"; mend: add it to can of Noor, if that is so, or ask '
        "somebody from outside who is fit for it"
    )
    mended = duties("".join([keeper("Noor", can=["adult", "electrics"]), *parts[1:]]))
    assert not made(mended.with_jobs(lambda j: replace(j, skills=("electrics",)))).unfilled


def test_no_single_keeper_has_both_skills():
    parts = [keeper("Noor", can=["adult"]), keeper("Ivo", can=["lifting"]), SEDGE, job("sweep", 7)]
    both = ("adult", "lifting")
    some = duties("".join(parts)).with_jobs(lambda j: replace(j, skills=both))
    [left] = made(some).unfilled
    assert left.why == 'no single keeper lists all of "adult", "lifting"'
    mended = duties("".join([keeper("Noor", can=["adult", "lifting"]), *parts[1:]]))
    assert not made(mended.with_jobs(lambda j: replace(j, skills=both))).unfilled


@pytest.mark.parametrize(
    ("why", "mend", "before", "after", "jobs"),
    [
        (
            "all who can do it are away (Noor), 8 December 2026",
            "somebody to stand in on 8 December 2026: `pondround rota --sitter NAME`",
            keeper("Noor", away=["2026-12-08/2026-12-10"]),
            keeper("Noor", away=["2026-12-08/2026-12-10"]) + keeper("Sitter", weekdays=["Tue"]),
            job("sweep", 7, 8),
        ),
        (
            "nobody who can do it comes (Noor), 8 December 2026",
            "Noor on Tuesday, 8 December 2026",
            keeper("Noor", weekdays=["Mon"]),
            keeper("Noor", weekdays=["Mon", "Tue"]),
            job("sweep", 7, 8),
        ),
        (
            "the minutes of all who can do it and are there are used up (Noor)",
            "10 more minutes of Noor on 8 December 2026",
            keeper("Noor", minutes=30),
            keeper("Noor", minutes=40),
            job("sweep", 8) + job("rake", 8),
        ),
        (
            "the minutes of all who can do it and are there are used up (Ivo and Noor)",
            "10 more minutes of Noor on 8 December 2026",
            keeper("Noor", minutes=80) + keeper("Ivo", minutes=45),
            keeper("Noor", minutes=90) + keeper("Ivo", minutes=45),
            job("sweep", 8, minutes=90),
        ),
        (
            "Noor has as many rounds in that week as rounds_a_week allows, and nobody else the minutes",
            "rounds_a_week of Noor one higher",
            keeper("Noor", rounds_a_week=1),
            keeper("Noor", rounds_a_week=2),
            job("sweep", 8) + job("rake", 10, minutes=25),
        ),
    ],
)
def test_whoever_does_what_would_mend_it_has_mended_it(why, mend, before, after, jobs):
    [left] = made(duties(before + SEDGE + jobs)).unfilled
    assert (left.why, left.mend) == (why, mend)
    assert not made(duties(after + SEDGE + jobs)).unfilled


def test_many_names_are_not_all_named():
    names = "".join(keeper(f"Keeper {n}", weekdays=["Mon"]) for n in range(6))
    [left] = made(duties(names + SEDGE + job("sweep", 9))).unfilled
    assert left.why == (
        "nobody who can do it comes (Keeper 0, Keeper 1, Keeper 2, Keeper 3 and 2 more), 9 December 2026"
    )


# --- what is scarce ---


def test_a_minute_that_nobody_does_costs_more_than_any_unfairness():
    """More than the dearest minute of the span's program and of a week's, or work would be left to be fair."""
    from scheduler.rota.targets import STEEP, UNFILLED
    from scheduler.rota.week_program import MOST_WEIGHT, TIERS

    assert STEEP < UNFILLED
    assert TIERS[-1][1] * MOST_WEIGHT < UNFILLED


def urgent(some: Case, **keys: str) -> Case:
    """Return a case in which duties are other jobs, by their keys."""
    return some.with_jobs(lambda j: replace(j, key=keys.get(j.key, j.key)))


def test_food_goes_before_a_change_and_a_change_before_the_rest():
    """Thirty minutes for sixty: the duty of twenty is left for the feeding of ten, and then for the change of twenty."""
    some = duties(
        keeper("Noor", minutes=30)
        + SEDGE
        + job("a", 7, minutes=30)
        + job("b", 7, minutes=20)
        + job("c", 7, minutes=10)
    )
    assert shown(made(urgent(some, b="water-change", c="feed"))).splitlines()[0] == (
        "Mon 07 Dec Noor 30 min: Sedge water-change, Sedge feed"
    )
    assert shown(made(urgent(some, a="feed"))).splitlines()[0] == "Mon 07 Dec Noor 30 min: Sedge feed"


def test_one_minute_of_a_higher_class_outweighs_an_hour_of_a_lower():
    some = duties(keeper("Noor", minutes=60) + SEDGE + job("a", 7, minutes=60) + job("b", 7, minutes=5))
    assert (
        shown(made(urgent(some, b="daily-look"))).splitlines()[0] == "Mon 07 Dec Noor 5 min: Sedge daily-look"
    )


def test_the_days_for_which_something_is_open_count_within_its_class_alone():
    """Both changes are open, one for longer: it comes first; a duty that is open for a year does not come before them."""
    some = urgent(
        duties(
            keeper("Noor", minutes=20) + SEDGE + "".join(job(key, 7, minutes=20) for key in ("a", "b", "c"))
        ),
        a="water-change",
        b="water-test",
    )
    days = {"water-change": 3, "water-test": 9, "c": 365}
    found = made(
        some.but(
            occurrences=[
                replace(o, state="overdue", since=o.day - days[o.job.key] * DAY) for o in some.occurrences
            ]
        )
    )
    assert [(r.day.day, [t.item.job.key for t in r.tasks]) for r in found.rounds] == [
        (7, ["water-test"]),
        (8, ["water-change"]),
        (9, ["c"]),
    ]
