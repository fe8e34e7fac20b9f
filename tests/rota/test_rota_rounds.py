"""Rounds: quarantine last, room by room, and how many of them in a week; a description in, the whole rota out."""

from __future__ import annotations

import datetime as dt

from support.rota.in_short import POND, SEDGE, job, keeper, made, rota, text
from support.rota.small_sites import DAY, duties

from scheduler.rota import Assigned, Past

WARD = '[[enclosure]]\nname = "Jetty"\nroom = "ward"\n'


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
