"""A rota that was published stays: it changes where somebody fell ill, or a job was done, and nowhere else."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from functools import cache
from math import floor

import pytest
from support.rota.checker import check
from support.rota.small_sites import DAY, MONDAY, TODAY, Case, duties, moved, sample, shown, slots

from scheduler.rota import Rota

MORE = 0.05
"""The part of all occurrences that may move besides those of the keeper who is ill."""


@cache
def published(name: str, weeks: int) -> tuple[Case, Rota]:
    case = sample(name, weeks)
    return case, case.rota()


def again(case: Case, before: Rota, **changes: object) -> Rota:
    """Return the rota of the case, changed, with what was published; it keeps the rules."""
    other = case.but(published=before.assigned(), **changes)
    made = other.rota()
    assert (
        check(made, other.site, other.occurrences, quarantined=other.quarantined, absent=other.absent) == []
    )
    return made


SAMPLES = pytest.mark.parametrize(
    ("name", "weeks"), [("household", 4), pytest.param("rescue", 4, marks=pytest.mark.slow)]
)


@SAMPLES
def test_the_same_input_gives_the_same_rota(name, weeks):
    _, first = published(name, weeks)
    second = sample(name, weeks).rota()
    assert slots(second) == slots(first)
    assert second.fairness == first.fairness
    assert [(r.day, r.keeper.id, [t.item.number for t in r.tasks]) for r in second.rounds] == [
        (r.day, r.keeper.id, [t.item.number for t in r.tasks]) for r in first.rounds
    ]


@SAMPLES
def test_what_is_published_stays(name, weeks):
    case, before = published(name, weeks)
    after = again(case, before)
    assert slots(after) == slots(before)
    assert slots(again(case, after)) == slots(before)
    assert after.fairness == before.fairness


def ill(case: Case, before: Rota, day: dt.date, keeper: str) -> None:
    """One keeper is ill for a day: at most what he or she had that day, and a twentieth of all, move."""
    own = {name for name, slot in slots(before).items() if slot == (day, keeper)}
    after = again(case, before, absent={keeper: [(day, day)]})
    gone = set(moved(slots(before), slots(after)))
    assert own <= gone
    assert len(gone - own) <= floor(MORE * len(slots(before))), (
        f"{len(gone - own)} besides the {len(own)} of {keeper}"
    )
    assert (day, keeper) not in slots(after).values()


@pytest.mark.parametrize("at", [0, 3, 9, 17, 40])
@SAMPLES
def test_a_keeper_is_ill_for_a_day(name, weeks, at):
    case, before = published(name, weeks)
    one = before.rounds[at]
    ill(case, before, one.day, one.keeper.id)


def test_on_the_day_itself_only_what_is_left_of_it_moves():
    """The rota is made anew on the ninth day: what lies before is over."""
    case, before = published("rescue", 4)
    today = TODAY + 8 * DAY
    one = next(r for r in before.rounds if r.day == today)
    later = case.but(first=today, occurrences=[o for o in case.occurrences if o.day >= today])
    own = {n for n, slot in slots(before).items() if slot == (today, one.keeper.id) and n[3] >= today}
    assert own
    after = again(later, before, absent={one.keeper.id: [(today, today)]})
    still = {n: slot for n, slot in slots(before).items() if n[3] >= today}
    # What was to be done before today and falls due later would be in the record; here nobody kept one.
    overtaken = {n for n, (day, _) in still.items() if day < today}
    gone = set(moved(still, slots(after)))
    assert own <= gone
    assert len(gone - own - overtaken) <= MORE * len(still)


@SAMPLES
def test_a_job_that_was_done_early_moves_only_its_own(name, weeks):
    case, before = published(name, weeks)
    task = next(t for t in before.tasks() if t.item.job.window >= 2 and t.day > TODAY + 10 * DAY)
    done = [
        replace(o, state="done") if o.job is task.item.job and o.day == task.item.occurrence.day else o
        for o in case.occurrences
    ]
    after = again(case, before, occurrences=done)
    name_of = (*task.item.ref.job, task.item.occurrence.day)
    assert moved(slots(before), slots(after)) == [name_of]


@SAMPLES
def test_a_whole_series_that_comes_a_day_later_moves_only_its_own(name, weeks):
    """As after a job was done late: all its occurrences are due a day later, and those of others are not."""
    case, before = published(name, weeks)
    task = next(t for t in before.tasks() if t.item.job.window >= 2 and not t.item.job.heavy)
    later = sorted(
        (
            replace(o, day=o.day + DAY) if o.series is task.item.occurrence.series else o
            for o in case.occurrences
        ),
        key=lambda o: o.day,
    )
    after = again(case, before, occurrences=later)
    gone = moved(slots(before), slots(after))
    others = [one for one in gone if one[:3] != task.item.ref.job]
    assert others == []


def test_a_new_keeper_changes_nothing_that_is_published():
    text = """
    [[keeper]]
    name = "Noor"
    [[keeper]]
    name = "Ivo"
    weekdays = ["Mon", "Wed"]
    [[enclosure]]
    name = "Sedge"
    [[enclosure.extra_job]]
    key = "sweep"
    title = "Duty"
    rule = "FREQ=DAILY"
    minutes = 20
    """
    case = duties(text, days=14)
    before = case.rota()
    more = duties('[[keeper]]\nname = "Ada"\n' + text, days=14)
    after = again(more, before)
    assert slots(after) == slots(before)
    assert after.loads == {**before.loads, "ada": 0}
    # In the weeks after those that were published the new keeper takes a share.
    longer = duties('[[keeper]]\nname = "Ada"\n' + text, days=28, published=before.assigned()).rota()
    assert moved(slots(before), slots(longer)) == []
    assert longer.loads["ada"] > 0


def test_a_keeper_who_left_hands_over_what_was_published():
    text = '[[keeper]]\nname = "{}"\n[[keeper]]\nname = "Ivo"\n[[enclosure]]\nname = "Sedge"\n' + "".join(
        f'[[enclosure.extra_job]]\nkey = "d{n}"\ntitle = "Duty"\non = [2026-12-{7 + n:02}]\nminutes = 20\n'
        for n in range(4)
    )
    before = duties(text.format("Noor")).rota()
    after = again(duties(text.format("Ada")), before)
    own = {n for n, (_, who) in slots(before).items() if who == "noor"}
    assert set(moved(slots(before), slots(after))) == own
    assert {slots(after)[n][1] for n in own} <= {"ada", "ivo"}


def test_what_is_published_gives_way_where_something_would_be_left_undone():
    """Noor has 40 minutes. A long job comes that only she can do: the short one goes to Ivo."""
    site = """
    [[keeper]]
    name = "Noor"
    minutes = 40
    can = ["electrics"]
    [[keeper]]
    name = "Ivo"
    minutes = 40
    can = []
    [[enclosure]]
    name = "Sedge"
    [[enclosure.extra_job]]
    key = "sweep"
    title = "Duty"
    on = [2026-12-07]
    minutes = 20
    """
    fuse = '[[enclosure.extra_job]]\nkey = "fuse"\ntitle = "Duty"\non = [2026-12-07]\nminutes = 30\ncan = ["electrics"]\n'
    first = duties(site)
    task = first.rota().assigned()[0]
    held = [replace(task, keeper="noor")]
    assert shown(first.but(published=held).rota()).startswith("Mon 07 Dec Noor 20 min")
    assert shown(duties(site + fuse, published=held).rota()).splitlines() == [
        "Mon 07 Dec Ivo 20 min: Sedge sweep",
        "Mon 07 Dec Noor 30 min: Sedge fuse",
        "minutes: ivo 20, noor 30",
    ]


@pytest.mark.parametrize(
    ("why", "change"),
    [
        ("the keeper no longer comes that day", 'weekdays = ["Tue"]'),
        ("the keeper has fewer minutes", "minutes = 10"),
        ("the keeper has gone away", 'away = ["2026-12-07/2026-12-07"]'),
        ("the keeper no longer does that", "can = []"),
    ],
)
def test_what_is_published_goes_where_a_rule_forbids_it(why, change):
    text = '[[keeper]]\nname = "Noor"\n{}\n[[keeper]]\nname = "Ivo"\n{}\nshare = 0.01\n[[enclosure]]\nname = "Sedge"\n'
    duty = '[[enclosure.extra_job]]\nkey = "d"\ntitle = "Duty"\non = [2026-12-07]\nminutes = 20\ncan = ["lifting"]\n'
    can = 'can = ["lifting"]'
    before = duties(text.format(can, can) + duty).rota()
    assert slots(before) == {("sedge", "d", "", MONDAY): (MONDAY, "noor")}
    own = change if change.startswith("can") else f"{can}\n{change}"
    after = again(duties(text.format(own, can) + duty), before)
    assert slots(after) == {("sedge", "d", "", MONDAY): (MONDAY, "ivo")}, why


def test_what_was_published_of_jobs_that_are_gone_is_passed_over():
    case, before = published("household", 4)
    strange = [
        *(replace(a, enclosure="gone") for a in before.assigned()[:5]),
        *(replace(a, keeper="gone") for a in before.assigned()[5:10]),
        *(replace(a, day=a.day - 400 * DAY) for a in before.assigned()[10:15]),
    ]
    other = case.but(published=strange)
    made = other.rota()
    assert check(made, other.site, other.occurrences, quarantined=other.quarantined) == []
    assert slots(made).keys() == slots(before).keys()
