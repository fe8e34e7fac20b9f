"""Which skills jobs ask for: whatever can hurt asks for one, so that a child is left with what cannot.

Which hazard stands at which job follows from its steps; that lifting, electrics and being grown up are the skills is a house
value. Reagents of test kits are acids and lye in glass; a UV meter is read beside a burning UV lamp.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from support.care.watching import TANK, case_of
from support.samples import EVERY_SAMPLE

from scheduler import care
from scheduler.description import Site, load
from scheduler.description.site import can_do
from scheduler.species import load_sheets
from scheduler.workflow import read_site

SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.fixture(scope="module")
def household() -> Site:
    """The sample, with the filter of its tub still being started."""
    text = (SAMPLES / "household.toml").read_text("utf-8")
    assert "cycled = 2026-12-10" in text
    return load(text.replace("cycled = 2026-12-10", "cycled = false"), load_sheets(), (care.check,))


ASKS = [
    # job, hazard, skills
    ("water-test", "acids and lye, glass", ("testing",)),
    ("cycle-test", "acids and lye, glass", ("testing",)),
    ("ammonia-dose", "caustic ammonia", ("adult",)),
    ("pre-arrival-check", "kits, UV meter, lamps", ("adult",)),
    ("uvi-reading", "UV meter, burning lamp", ("adult",)),
    ("burn-in-baseline", "UV meter, burning lamp", ("adult",)),
    ("basking-review", "lamps are moved", ("adult",)),
    ("cold-season-check", "heater, power cut", ("adult",)),
    ("wipe-down", "plugs, cords, lamps", ("adult",)),
    ("uv-lamp-order", "lamp with mercury", ("adult",)),
    ("uv-lamp-replace", "lamp with mercury", ("adult", "electrics")),
    ("lamp-clean", "lamps", ("electrics",)),
    ("lamp-timer", "mains", ("electrics",)),
    ("heater-check", "mains and water", ("electrics",)),
    ("rcd-test", "mains", ("electrics",)),
    ("cord-check", "mains", ("electrics",)),
    ("water-change", "hot water, pails, plugs", ("adult", "lifting")),
    ("top-up", "hot water, pails, plugs", ("adult", "lifting")),
    ("filter-check", "a full canister, plugs", ("adult", "lifting")),
    ("media-rinse", "a full canister, plugs", ("adult", "lifting")),
]  # fmt: skip


@pytest.mark.parametrize(("key", "hazard", "skills"), ASKS, ids=[row[0] for row in ASKS])
def test_what_can_hurt_asks_for_a_skill(
    household: Site, key: str, hazard: str, skills: tuple[str, ...]
) -> None:
    found = {job.skills for job in care.jobs(household) if job.key == key}
    assert found == {skills}, hazard


def test_a_child_is_left_with_looking_feeding_and_writing_down(household: Site) -> None:
    """The nine-year-old of the sample, who lists nothing."""
    (opal,) = [keeper for keeper in household.keepers if keeper.name == "Opal"]
    assert opal.can == ()
    takes = {job.key for job in care.jobs(household) if can_do(household, opal, job.skills)}
    assert takes == {"daily-look", "feed", "cuttlebone", "basking-watch", "space-review", "supplies"}


def test_where_nobody_lists_testing_a_grown_up_tests() -> None:
    rescue = read_site(SAMPLES / "rescue.toml")
    assert {job.skills for job in care.jobs(rescue) if job.key == "water-test"} == {("adult",)}


@pytest.mark.parametrize("sample", EVERY_SAMPLE)
def test_who_pulls_plugs_is_grown_up_or_knows_electrics(sample: str) -> None:
    for job in care.jobs(read_site(SAMPLES / f"{sample}.toml")):
        if re.search(r"[Uu]nplug|plug(ged)? in\b", " ".join(job.notes().steps)):
            assert {"adult", "electrics"} & set(job.skills), job.word


def test_without_a_plug_new_water_asks_for_lifting_alone() -> None:
    tub = re.sub(r"(?m)^(filter|heater|lamp) = .*\n", "", TANK)
    assert {j.skills for j in care.jobs_of(case_of([], tub)) if j.key in ("water-change", "top-up")} == {
        ("lifting",)
    }


def test_the_fifteen_year_old_of_the_sample_changes_no_water_beside_plugs(household: Site) -> None:
    (ives,) = [keeper for keeper in household.keepers if keeper.name == "Ives"]
    takes = {job.key for job in care.jobs(household) if can_do(household, ives, job.skills)}
    assert "water-test" in takes
    assert not takes & {"water-change", "top-up", "filter-check", "media-rinse", "hot-season-check"}


def test_a_test_that_follows_an_alarm_asks_for_it_too() -> None:
    jobs = care.jobs_of(case_of(["2027-01-31 ammonia 1.0"], TANK))
    assert {job.skills for job in jobs if job.key == "water-test"} == {("adult",)}
