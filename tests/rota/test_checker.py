"""The checker notices: each rule is broken in a rota that keeps all of them, and says so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

import pytest
from support.rota.checker import RULES, check
from support.rota.small_sites import DAY, Case, duties

from scheduler.rota import Rota, Task, Unfilled

MON, TUE, WED, THU = (dt.date(2026, 12, 7) + n * DAY for n in range(4))

SITE = """
[[keeper]]
name = "Noor"
minutes = 60
weekdays = ["Mon", "Tue", "Wed", "Thu"]
can = ["adult", "lifting"]
rounds_a_week = 4
[[keeper]]
name = "Ivo"
minutes = 60
away = ["2026-12-08/2026-12-08"]
can = ["lifting"]
[[enclosure]]
name = "Sedge"
room = "kitchen"
[[enclosure.extra_job]]
key = "pump"
title = "Pump"
on = [2026-12-07, 2026-12-10]
window = "1 day"
minutes = 20
can = ["adult"]
[[enclosure.extra_job]]
key = "rinse"
title = "Rinse"
on = [2026-12-07]
minutes = 15
window = "3 days"
[[enclosure.extra_job]]
key = "haul"
title = "Haul"
on = [2026-12-08]
minutes = 25
[[enclosure]]
name = "Jetty"
room = "shed"
[[enclosure.extra_job]]
key = "look"
title = "Look"
on = [2026-12-07]
minutes = 10
[[enclosure.extra_job]]
key = "weigh"
title = "Weigh"
on = [2026-12-09]
minutes = 90
"""


def sound_case() -> Case:
    """Two enclosures, Jetty in quarantine. Hauling takes two; pump and rinse are heavy services; nobody has 90 minutes.

    The rinse is not done on a Tuesday.
    """
    case = duties(SITE, quarantined=lambda enclosure, day: enclosure == "jetty")
    return case.with_jobs(
        lambda job: replace(
            job,
            needs_two=job.key == "haul",
            heavy=job.key in ("pump", "rinse"),
            weekdays=(0, 2, 3) if job.key == "rinse" else None,
        )
    )


def rearranged(case: Case, tasks: list[tuple[str, dt.date, dt.date, str]], made: Rota) -> Rota:
    """Return a rota in which jobs (key, due) are done on a day by a keeper, in that order within a round."""
    keepers = {k.id: k for k in case.site.keepers}
    items = {
        (i.job.key, i.occurrence.day): i
        for i in (*(t.item for t in made.tasks()), *(u.item for u in made.unfilled))
    }
    found: dict[tuple[dt.date, str], list[Task]] = {}
    for key, due, day, keeper in tasks:
        found.setdefault((day, keeper), []).append(Task(items[key, due], day, keepers[keeper]))
    loads = {
        k: sum(t.item.job.minutes for (_, who), some in found.items() if who == k for t in some)
        for k in keepers
    }
    rounds = [
        replace(made.rounds[0], day=day, keeper=keepers[keeper], tasks=tuple(some), helps=())
        for (day, keeper), some in sorted(found.items())
    ]
    return replace(made, rounds=tuple(rounds), loads=loads)


SOUND = [
    ("pump", MON, MON, "noor"),
    ("look", MON, MON, "noor"),
    ("haul", TUE, TUE, "noor"),
    ("pump", THU, THU, "noor"),
    ("rinse", MON, MON, "ivo"),
]


def complaints(case: Case, made: Rota, **changes: object) -> list[str]:
    found = check(made, case.site, case.occurrences, quarantined=case.quarantined, **changes)
    # Who does what is changed by hand here: the measures are those of the sound rota and have a test of their own.
    return [c for c in found if not c.startswith(("Jain", "the Gini", "the spread", "the objective"))]


def test_a_sound_rota_has_no_complaints():
    case = sound_case()
    made = case.rota()
    assert check(made, case.site, case.occurrences, quarantined=case.quarantined) == []
    assert complaints(case, rearranged(case, SOUND, made)) == []


def moved(key: str, due: dt.date, day: dt.date, keeper: str) -> Callable[[list], list]:
    return lambda tasks: [
        (k, d, day, keeper) if (k, d) == (key, due) else (k, d, *rest) for k, d, *rest in tasks
    ]


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        (lambda tasks: tasks[1:], "sedge pump  2026-12-07 falls due 1 times and is there 0 times"),
        (lambda tasks: [*tasks, tasks[0]], "sedge pump  2026-12-07 falls due 1 times and is there 2 times"),
        (moved("look", MON, TUE, "noor"), "Jetty look of 2026-12-07 is done on 2026-12-08, outside 2026-12-07 to 2026-12-07"),
        (moved("rinse", MON, MON - DAY, "ivo"), "Sedge rinse of 2026-12-07 is done on 2026-12-06, outside the rota"),
        (moved("rinse", MON, TUE, "noor"), "Sedge rinse of 2026-12-07 is done on a Tuesday, which is none of its days"),
        (moved("haul", TUE, TUE, "ivo"), "Ivo does not come on 2026-12-08"),
        (moved("pump", THU, THU + DAY, "noor"), "Noor does not come on 2026-12-11"),
        (moved("pump", MON, MON, "ivo"), "Ivo cannot do Sedge pump of 2026-12-07: it asks for ('adult',)"),
        (lambda tasks: [*tasks, ("weigh", WED, WED, "noor")], "Noor has 90 min on 2026-12-09, more than 60"),
        (lambda tasks: [tasks[1], tasks[0], *tasks[2:]], "Noor goes on from quarantine to others on 2026-12-07"),
        (moved("rinse", MON, WED, "ivo"), "sedge: rinse and pump are 1 days apart, due 2026-12-07 and 2026-12-10"),
        (moved("pump", MON, THU, "noor"), "sedge pump  of 2026-12-07 is done on 2026-12-10, not before that of 2026-12-10"),
    ],
)  # fmt: skip
def test_a_job_in_the_wrong_place(change, complaint):
    case = sound_case()
    found = complaints(case, rearranged(case, change(SOUND), case.rota()))
    assert complaint in found, found


def first_round(made: Rota, keeper: str) -> int:
    return next(n for n, r in enumerate(made.rounds) if r.keeper.id == keeper)


def with_round(made: Rota, at: int, **changes: object) -> Rota:
    rounds = list(made.rounds)
    rounds[at] = replace(rounds[at], **changes)
    return replace(made, rounds=tuple(rounds))


def twice(made: Rota) -> Rota:
    one = made.rounds[0]
    return replace(
        made, rounds=(replace(one, tasks=one.tasks[:1]), replace(one, tasks=one.tasks[1:]), *made.rounds[1:])
    )


@pytest.mark.parametrize(
    ("break_it", "complaint"),
    [
        (lambda m: replace(m, rounds=m.rounds[::-1]), "the rounds are not in the order of days and keepers"),
        (lambda m: with_round(m, 0, tasks=()), "is empty"),
        (lambda m: with_round(m, 0, day=m.rounds[0].day + DAY), "is another's or another day's than its round"),
        (lambda m: replace(m, loads={**m.loads, "ivo": 1}), "and is said to have 1"),
        (lambda m: replace(m, loads={**m.loads, "stranger": 0}), "the loads are of ['ivo', 'noor', 'stranger']"),
        (lambda m: replace(m, last=m.last + DAY), "the rota is of 2026-12-07 to 2026-12-14, not of 2026-12-07 to 2026-12-13"),
        (lambda m: replace(m, fairness=replace(m.fairness, bound=m.fairness.objective + 1)), "is not between 0 and the objective"),
        (lambda m: replace(m, fairness=replace(m.fairness, bound=-1.0)), "the bound -1.0 is not between 0 and the objective"),
        (lambda m: replace(m, fairness=replace(m.fairness, jain=m.fairness.jain - 1e-8)), "Jain's index is"),
        (lambda m: replace(m, fairness=replace(m.fairness, gini=m.fairness.gini + 1e-8)), "the Gini coefficient is"),
        (lambda m: replace(m, fairness=replace(m.fairness, spread=0.9)), "the spread is"),
        (lambda m: replace(m, fairness=replace(m.fairness, objective=1e6)), "the objective is"),
        (lambda m: replace(m, unfilled=tuple(Unfilled(u.item, " ", u.mend) for u in m.unfilled)), "does not say why"),
        (lambda m: replace(m, unfilled=tuple(Unfilled(u.item, u.why, "") for u in m.unfilled)), "or what would mend it"),
        (twice, "has 2 rounds on 2026-12-07"),
    ],
)  # fmt: skip
def test_a_rota_that_contradicts_itself(break_it, complaint):
    case = sound_case()
    made = case.rota()
    broken = break_it(made)
    assert broken != made
    found = check(
        broken, case.site, case.occurrences, quarantined=case.quarantined, first=case.first, last=case.last
    )
    assert any(complaint in sentence for sentence in found), found


def test_help_from_nobody_from_oneself_and_from_one_who_does_not_lift():
    """Without Ivo's day away there is somebody to help: with haul he does, and nobody stands alone."""
    text = SITE.replace('away = ["2026-12-08/2026-12-08"]\n', "")
    case = duties(text, quarantined=lambda *_: False)
    case = case.with_jobs(lambda job: replace(job, needs_two=job.key == "haul"))
    made = case.rota()
    assert complaints(case, made) == []
    at = next(n for n, r in enumerate(made.rounds) if any(t.helper for t in r.tasks))
    task = next(t for t in made.rounds[at].tasks if t.helper)

    def with_helper(helper):
        return with_round(
            made,
            at,
            tasks=tuple(replace(t, helper=helper) if t is task else t for t in made.rounds[at].tasks),
        )

    assert any("helps himself or herself" in c for c in complaints(case, with_helper(task.keeper)))
    unhelped = with_helper(None)
    rounds = tuple(replace(r, helps=()) for r in unhelped.rounds if r.tasks)
    alone = replace(unhelped, rounds=rounds, alone=(replace(task, helper=None),))
    assert any("is done alone though" in c for c in complaints(case, alone))
    unsaid = replace(made, rounds=tuple(replace(r, helps=()) for r in made.rounds if r.tasks))
    assert any("is not once in the round of" in c for c in complaints(case, unsaid))
    weak = with_helper(task.helper.model_copy(update={"can": ("sums",)}))
    assert any("does not lift" in c for c in complaints(case, weak))
    assert f"{task.helper.name} is no keeper of the site as it is described" in complaints(case, weak)
    stray = with_round(made, at, helps=(task,))
    assert any("helps on 2026-12-08 with a task that asks for nobody" in c for c in complaints(case, stray))
    other = next(n for n, r in enumerate(made.rounds) for t in r.tasks if not t.item.job.needs_two)
    helped = with_round(
        made, other, tasks=tuple(replace(t, helper=task.helper) for t in made.rounds[other].tasks)
    )
    assert any("needs nobody's help" in c for c in complaints(case, helped))


def test_work_that_is_left_although_somebody_could_take_it():
    case = sound_case()
    made = case.rota()
    spare = rearranged(case, [t for t in SOUND if t[0] != "rinse"], made)
    item = next(t.item for t in made.tasks() if t.item.job.key == "rinse")
    left = replace(spare, unfilled=(*spare.unfilled, Unfilled(item, "nobody", "somebody")))
    found = complaints(case, left)
    # Not on Wednesday: there the rinse would come a day before the pump of Thursday.
    assert [c for c in found if "is left though" in c] == [
        f"Sedge rinse of 2026-12-07 is left though {name} could take it on 2026-12-07"
        for name in ("Ivo", "Noor")
    ]


def test_more_rounds_than_agreed():
    case = sound_case()
    made = rearranged(case, SOUND, case.rota())
    two = duties(SITE.replace("rounds_a_week = 4", "rounds_a_week = 2"))
    assert "Noor has more than 2 rounds in the week of 2026-12-07" in complaints(
        case.but(site=two.site), made
    )


def test_to_and_fro_between_rooms():
    case = sound_case().but(quarantined=lambda *_: False)
    made = case.rota()
    there = [("pump", MON, MON, "noor"), ("look", MON, MON, "noor"), ("rinse", MON, MON, "noor")]
    found = complaints(case, rearranged(case, [*there, SOUND[2], SOUND[3]], made))
    assert "Noor goes to and fro between rooms on 2026-12-07: ['kitchen', 'shed', 'kitchen']" in found


def test_a_keeper_who_is_ill():
    case = sound_case()
    ill = {"noor": [(MON, MON)]}
    assert "Noor does not come on 2026-12-07" in complaints(
        case, rearranged(case, SOUND, case.rota()), absent=ill
    )


def test_a_job_that_was_changed_on_the_way():
    case = sound_case()
    made = case.rota()
    item = made.rounds[0].tasks[0].item
    other = replace(item, occurrence=replace(item.occurrence, job=replace(item.job, minutes=1)))
    tasks = (replace(made.rounds[0].tasks[0], item=other), *made.rounds[0].tasks[1:])
    assert any(
        "is another job than the plan's" in c for c in complaints(case, with_round(made, 0, tasks=tasks))
    )


def test_a_round_that_says_other_minutes_than_it_has(monkeypatch):
    """Minutes are a property of the round; it is made to lie."""
    case = sound_case()
    made = case.rota()
    monkeypatch.setattr(type(made.rounds[0]), "minutes", 7)
    assert any("says 7 min and has" in c for c in complaints(case, made))


def test_a_gap_of_another_kind(monkeypatch):
    case = sound_case()
    made = case.rota()
    monkeypatch.setattr(type(made.fairness), "gap", 0.5)
    assert any(c.startswith("the gap is") for c in complaints(case, made))


def test_every_rule_is_named_once():
    assert len({rule.__name__ for rule in RULES}) == len(RULES) == 21


def test_something_urgent_that_is_left_for_a_duty_is_seen():
    """Thirty minutes for a feeding and a duty of thirty: a rota that does the duty, and one that waits without need."""
    some = duties(
        '[[keeper]]\nname = "Noor"\nminutes = 30\n[[enclosure]]\nname = "Sedge"\n'
        '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\non = [2026-12-07]\nminutes = 30\n'
        '[[enclosure.extra_job]]\nkey = "b"\ntitle = "B"\non = [2026-12-07]\nminutes = 30\n'
    )
    some = some.with_jobs(lambda j: replace(j, key="feed" if j.key == "a" else j.key))
    made = some.rota()
    [task], [left] = made.tasks(), made.unfilled
    assert (task.item.job.key, complaints(some, made)) == ("feed", [])
    other = rearranged(some, [("b", MON, MON, "noor")], made)
    other = replace(other, unfilled=(replace(left, item=task.item),))
    assert [c for c in complaints(some, other) if "is left while Noor does" in c]
    late = [replace(o, state="overdue", since=o.day - DAY) for o in some.occurrences if o.job.key == "feed"]
    waits = some.but(occurrences=late)
    made = waits.rota()
    assert complaints(waits, made) == []
    assert [
        c
        for c in complaints(waits, rearranged(waits, [("feed", MON, TUE, "noor")], made))
        if "is overdue and waits" in c
    ]
