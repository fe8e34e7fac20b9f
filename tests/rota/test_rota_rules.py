"""Each rule of the rota in a site that can be read at a glance: a description in, the whole rota out."""

from __future__ import annotations

import datetime as dt
from copy import copy
from dataclasses import replace
from textwrap import dedent

import pytest
from support.rota.checker import check
from support.rota.small_sites import DAY, MONDAY, Case, case, duties, loaded, sample, shown

from scheduler.errors import UsageError
from scheduler.rota import Assigned, Past, Rota

SEDGE = '[[enclosure]]\nname = "Sedge"\n'


def job(key: str, *due: int, minutes: int = 20, window: int = 0, can: str = "") -> str:
    """Return a duty due on days of December 2026; the 7th is a Monday."""
    days = ", ".join(f"2026-12-{day:02}" for day in due)
    skills = f'can = ["{can}"]\n' if can else ""
    return (
        f'[[enclosure.extra_job]]\nkey = "{key}"\ntitle = "Duty"\non = [{days}]\nminutes = {minutes}\n'
        f'window = "{window} days"\n{skills}'
    )


def keeper(name: str, **what: object) -> str:
    lines = "".join(f"{key} = {_toml(value)}\n" for key, value in what.items())
    return f'[[keeper]]\nname = "{name}"\n{lines}'


def _toml(value: object) -> str:
    return str(value).replace("'", '"')


def made(some: Case) -> Rota:
    found = some.rota()
    complaints = check(
        found, some.site, some.occurrences, quarantined=some.quarantined, absent=some.absent, past=some.past
    )
    assert complaints == []
    return found


def rota(*parts: str, **changes: object) -> str:
    return shown(made(duties("".join(parts), **changes)))


def text(expected: str) -> str:
    return dedent(expected).strip()


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


# --- rounds ---

WARD = '[[enclosure]]\nname = "Jetty"\nroom = "ward"\n'
POND = '[[enclosure]]\nname = "Alder"\nroom = "yard"\n'


def isolated(enclosure: str, day: dt.date) -> bool:
    return enclosure == "jetty"


def test_quarantine_comes_last_in_a_round():
    """Though its room comes first by name."""
    assert rota(keeper("Noor"), WARD, job("look", 7), POND, job("sweep", 7), quarantined=isolated) == text("""
        Mon 07 Dec Noor 40 min: Alder sweep, Jetty look
        minutes: noor 40
    """)


def test_a_tank_whose_quarantine_is_over_is_gone_to_once_and_in_its_place():
    """The weighing might have been done while it lasted, the look not: on Thursday neither is in quarantine."""

    def until_tuesday(enclosure: str, day: dt.date) -> bool:
        return enclosure == "jetty" and day <= dt.date(2026, 12, 8)

    parts = (keeper("Noor", weekdays=["Thu"]), WARD, job("look", 10), job("weigh", 10, window=2), POND)
    assert rota(*parts, job("sweep", 10), quarantined=until_tuesday) == text("""
        Thu 10 Dec Noor 60 min: Jetty look, Jetty weigh, Alder sweep
        minutes: noor 60
    """)


def test_quarantine_is_tended_by_somebody_who_goes_to_no_others_that_day():
    parts = (
        keeper("Noor"),
        keeper("Ivo"),
        WARD,
        job("look", 7),
        job("weigh", 7),
        POND,
        job("sweep", 7),
        job("rake", 7),
    )
    lines = rota(*parts, quarantined=isolated).splitlines()
    assert [line.partition(": ")[2] for line in lines[:2]] in (
        ["Jetty look, Jetty weigh", "Alder rake, Alder sweep"],
        ["Alder rake, Alder sweep", "Jetty look, Jetty weigh"],
    )


def test_in_walking_order_room_by_room():
    rooms = "".join(
        f'[[enclosure]]\nname = "{name}"\nroom = "{room}"\n' + job(f"look-{name.lower()}", 7, minutes=5)
        for name, room in [("Alder", "yard"), ("Birch", "annexe"), ("Caddis", "yard"), ("Dock", "annexe")]
    )
    assert rota(keeper("Noor"), rooms) == text("""
        Mon 07 Dec Noor 20 min: Birch look-birch, Dock look-dock, Alder look-alder, Caddis look-caddis
        minutes: noor 20
    """)


def test_so_many_rounds_a_week_and_no_more():
    """Ivo, who need not come at all, stands in for one."""
    some = duties(
        keeper("Noor", rounds_a_week=2) + keeper("Ivo", share=0) + SEDGE + job("sweep", 7, 8, 9, minutes=30)
    )
    found = made(some)
    assert sorted(r.keeper.name for r in found.rounds) == ["Ivo", "Noor", "Noor"]
    assert not found.unfilled


def test_rounds_of_this_week_that_are_over_count():
    past = Past(out={"noor": 1})
    found = duties(
        keeper("Noor", rounds_a_week=2) + SEDGE + job("sweep", 9, 10, 14, 15), first=dt.date(2026, 12, 9), days=7, past=past
    ).rota()  # fmt: skip
    weeks = [round_.day.isocalendar().week for round_ in found.rounds]
    assert [weeks.count(50), weeks.count(51)] == [1, 2]
    [left] = found.unfilled
    assert (
        left.why
        == "Noor has as many rounds in that week as rounds_a_week allows, and nobody else the minutes"
    )


def test_what_gave_way_in_a_week_is_not_held_to_it_in_the_next():
    """One round a week. The rake was published for Sunday, but then the sweep of Thursday would be left."""
    due = dt.date(2026, 12, 14)
    rake = Assigned("sedge", "rake", "", due, due - DAY, "noor")
    comb = Assigned("sedge", "comb", "", due, due, "noor")
    jobs = job("sweep", 10, minutes=60) + job("rake", 14, minutes=15, window=2) + job("comb", 14)
    some = duties(keeper("Noor", rounds_a_week=1) + SEDGE + jobs, days=14, published=[rake, comb])
    found = made(some)
    assert [(r.day.day, [t.item.job.key for t in r.tasks]) for r in found.rounds] == [
        (10, ["sweep"]),
        (14, ["comb", "rake"]),
    ]


# --- shares and wishes ---


def test_half_a_share_is_half_the_minutes():
    days = range(7, 13)
    found = made(duties(keeper("Noor") + keeper("Ivo", share=0.5) + SEDGE + job("sweep", *days)))
    assert found.loads == {"noor": 80, "ivo": 40}
    assert (found.fairness.jain, found.fairness.gini, found.fairness.spread) == pytest.approx((1.0, 0.0, 0.0))


def test_who_has_no_share_is_asked_only_where_nobody_else_is_there():
    assert rota(keeper("Noor", weekdays=["Mon"]), keeper("Ivo", share=0), SEDGE, job("a", 7), job("b", 7), job("c", 8)) == text("""
        Mon 07 Dec Noor 40 min: Sedge a, Sedge b
        Tue 08 Dec Ivo 20 min: Sedge c
        minutes: ivo 20, noor 40
    """)  # fmt: skip


def shareless(some: Case) -> Case:
    """Return a case in which all shares are nothing. A description that says so is refused; nothing else guards the rota."""
    site = copy(some.site)
    site.keepers = tuple(k.model_copy(update={"share": 0.0}) for k in site.keepers)
    return some.but(site=site)


def test_where_nobody_has_a_share_all_have_the_same():
    found = made(shareless(duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8, 9, 10))))
    assert found.loads == {"noor": 40, "ivo": 40}
    assert found.fairness.jain == pytest.approx(1.0)


def test_who_has_done_more_before_does_less_now():
    past = Past(ahead={"noor": 20.0, "ivo": -20.0})
    found = made(duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8, 9, 10), past=past))
    assert found.loads == {"noor": 20, "ivo": 60}
    assert found.fairness.jain == pytest.approx(1.0)


def test_nobody_makes_up_for_more_than_half_a_fair_load_at_once():
    past = Past(ahead={"noor": 4000.0, "ivo": -4000.0})
    found = made(duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8, 9, 10), past=past))
    assert found.loads == {"noor": 20, "ivo": 60}


@pytest.mark.parametrize(("who", "other"), [("Noor", "Ivo"), ("Ivo", "Noor")])
@pytest.mark.parametrize("name", ["Alder", "alder", "sweep"])
def test_who_likes_a_job_or_an_enclosure_gets_it(who, other, name):
    """Whichever of the two comes first by name, by weekdays or by skills."""
    for more in ({}, {"weekdays": ["Mon", "Tue"]}):
        some = duties(
            keeper(who, prefers=[name], **more)
            + keeper(other)
            + POND
            + job("sweep", 7)
            + SEDGE
            + job("rake", 7)
        )
        assert {t.item.job.key: t.keeper.name for t in made(some).tasks()} == {"sweep": who, "rake": other}


@pytest.mark.parametrize(("who", "other"), [("Noor", "Ivo"), ("Ivo", "Noor")])
def test_who_would_rather_not_does_the_other_job(who, other):
    for more in ({}, {"weekdays": ["Mon", "Tue"]}):
        some = duties(
            keeper(who, avoids=["sweep"], **more)
            + keeper(other)
            + POND
            + job("sweep", 7)
            + SEDGE
            + job("rake", 7)
        )
        assert {t.item.job.key: t.keeper.name for t in made(some).tasks()} == {"sweep": other, "rake": who}


def test_a_wish_is_no_rule():
    assert rota(keeper("Noor", avoids=["sweep"]), SEDGE, job("sweep", 7)) == text("""
        Mon 07 Dec Noor 20 min: Sedge sweep
        minutes: noor 20
    """)


def test_the_keeper_who_knows_the_enclosure():
    for knows in ("noor", "ivo"):
        past = Past(knows={(knows, "alder"): 500.0})
        some = duties(
            keeper("Noor") + keeper("Ivo") + POND + job("sweep", 7) + SEDGE + job("rake", 7), past=past
        )
        assert {t.item.job.key: t.keeper.id for t in made(some).tasks()}["sweep"] == knows


def test_unloved_jobs_go_to_who_did_them_least():
    wipe = '[[enclosure.extra_job]]\nkey = "{}"\ntitle = "Duty"\non = [2026-12-07]\nminutes = 20\n'
    for turns in ("noor", "ivo"):
        past = Past(turns={(turns, "wipe-down"): 3})
        some = duties(
            keeper("Noor") + keeper("Ivo") + POND + wipe.format("dry") + SEDGE + wipe.format("look"),
            past=past,
        ).with_jobs(lambda j: replace(j, key="wipe-down" if j.key == "dry" else j.key))
        found = made(some)
        assert {t.item.job.key: t.keeper.id for t in found.tasks()}["wipe-down"] != turns


# --- two for what one should not lift ---


def two(some: Case, key: str = "haul") -> Case:
    return some.with_jobs(lambda j: replace(j, needs_two=j.key == key))


def test_a_second_person_who_is_there_anyway():
    some = duties(
        keeper("Noor", can=["lifting"]) + keeper("Ivo", can=["lifting"]) + keeper("Ada", can=["lifting"], weekdays=["Mon"], share=0)
        + SEDGE + job("haul", 7, can="lifting", minutes=40) + job("sweep", 7, minutes=40)
    )  # fmt: skip
    found = made(two(some))
    [task] = [t for t in found.tasks() if t.item.job.key == "haul"]
    assert {task.keeper.name, task.helper.name} == {"Noor", "Ivo"}
    assert sorted(found.loads.values()) == [0, 40, 80]


def test_where_nobody_can_help_it_is_said():
    some = duties(
        keeper("Noor", can=["lifting"]) + keeper("Ivo", can=[]) + SEDGE + job("haul", 7, can="lifting")
    )
    assert shown(made(two(some))) == text("""
        Mon 07 Dec Noor 20 min: Sedge haul
        alone: haul on Mon 07 Dec by Noor
        minutes: ivo 0, noor 20
    """)


def test_helping_is_no_reason_to_come_more_often_than_agreed():
    some = duties(
        keeper("Noor", weekdays=["Mon"])
        + keeper("Ivo", rounds_a_week=1)
        + SEDGE
        + job("sweep", 9)
        + job("haul", 7)
    )
    assert shown(made(two(some))) == text("""
        Mon 07 Dec Noor 20 min: Sedge haul
        Wed 09 Dec Ivo 20 min: Sedge sweep
        alone: haul on Mon 07 Dec by Noor
        minutes: ivo 20, noor 20
    """)


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


def test_nothing_falls_due():
    some = duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 28))
    assert shown(made(some)) == "minutes: ivo 0, noor 0"


def test_without_keepers_there_is_no_rota():
    with pytest.raises(UsageError) as refused:
        duties(SEDGE + job("sweep", 7)).rota()
    assert str(refused.value) == (
        "the description has no keepers, so that everything is yours; write [[keeper]] with a name for each person"
    )


@pytest.mark.parametrize(
    ("name", "weeks"), [("household", 4), pytest.param("rescue", 4, marks=pytest.mark.slow)]
)
def test_the_samples_keep_every_rule(name, weeks):
    some = sample(name, weeks)
    found = made(some)
    assert len(found.tasks()) > 200
    assert sum(left.item.job.minutes for left in found.unfilled) <= {"household": 20, "rescue": 0}[name]


def test_a_real_quarantine_is_tended_last():
    some = sample("rescue", 2)
    found = made(some)
    sick = [o for o in some.occurrences if some.quarantined(o.job.enclosure.id, o.day)]
    assert {o.job.enclosure.id for o in sick} >= {"causeway", "jetty"}
    mixed = [
        r
        for r in found.rounds
        if len({some.quarantined(t.item.job.enclosure.id, r.day) for t in r.tasks}) == 2
    ]
    assert len(mixed) <= len(found.rounds) // 10


def test_a_description_as_it_is_written():
    """A tank with all that the care rules ask for, shared by two for a week."""
    site = loaded(
        keeper("Noor", minutes=240)
        + keeper("Ivo", minutes=240)
        + SEDGE
        + 'length = "100 cm"\nwidth = "50 cm"\nheight = "50 cm"\nwater_depth = "40 cm"\ncovered = true\ncycled = true\n'
        + '[enclosure.filter]\nkind = "canister"\n[[enclosure.resident]]\nname = "Fern"\nspecies = "Trachemys scripta"\n'
        + 'carapace = "14 cm"\n'
    )
    found = made(case(site, MONDAY, 7))
    assert not found.unfilled
    assert len(found.tasks()) >= 14
    assert found.fairness.spread <= 0.35


# --- what is scarce ---


def test_a_minute_that_nobody_does_costs_more_than_any_unfairness():
    """More than the dearest minute of the span's program and of a week's, or work would be left to be fair."""
    from scheduler.rota.targets import STEEP, UNFILLED
    from scheduler.rota.week_program import MOST_WEIGHT, TIERS

    assert STEEP < UNFILLED
    assert TIERS[-1][1] * MOST_WEIGHT < UNFILLED


def test_what_is_open_is_never_done_before_its_day():
    """It is open from Wednesday on, whatever its window: Noor, who comes on Mondays, cannot have done it by then."""
    some = duties(keeper("Noor", weekdays=["Mon"]) + SEDGE + job("sweep", 9, window=4), days=5)
    open_ = [replace(o, state="overdue", since=o.day - 6 * DAY) for o in some.occurrences]
    found = made(some.but(occurrences=open_))
    assert [left.item.job.key for left in found.unfilled] == ["sweep"]
    # Of a week and a half there is another Monday.
    longer = made(some.but(occurrences=open_, last=MONDAY + 9 * DAY))
    assert [r.day for r in longer.rounds] == [MONDAY + 7 * DAY]


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


def test_where_the_bound_says_little_is_said():
    """A job of twenty minutes is more than all that is fair for somebody with a thousandth of a share."""
    some = duties(keeper("Noor", share=1000) + keeper("Ivo") + SEDGE + job("sweep", 7, 8))
    assert made(some).fairness.coarse == ("ivo",)
    even = duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8))
    assert made(even).fairness.coarse == ()
