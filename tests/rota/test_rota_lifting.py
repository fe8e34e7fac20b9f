"""Two for what one should not lift: a description in, the whole rota out."""

from __future__ import annotations

from dataclasses import replace

from support.rota.in_short import SEDGE, job, keeper, made, text
from support.rota.small_sites import Case, duties, shown


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
