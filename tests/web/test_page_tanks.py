"""The whole tank in one tap: its routine jobs of this round together, and nothing that has to be looked at by itself."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.web.house import House, made
from support.web.http_client import TODAY, Form, ask, forms, page_path
from support.web.serving import serving

from scheduler.care import KEYS

HOUSES = 6
OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS if key != "daily-look")


def reach(name: str) -> str:
    """Return a tank with three routine jobs, a rare one, and one that takes two people."""
    return (
        f'[site]\nname = "{name}"\ntime_zone = "Europe/Dublin"\n\n'
        '[[keeper]]\nname = "Noor"\nminutes = 300\naway = ["2026-12-01/2026-12-31"]\n\n[[keeper]]\nname = "Sam"\nminutes = 300\n\n'
        f'[[enclosure]]\nname = "Sedge"\nset_up = 2026-01-05\ncycled = true\njob = {{{OFF}}}\nextra_job = [\n'
        '  {key = "pane", title = "brush the pane", rule = "FREQ=DAILY", minutes = 5},\n'
        '  {key = "net", title = "rinse the net", every = "2 days", minutes = 5},\n'
        '  {key = "pump", title = "rinse the pump", every = "7 days", minutes = 5},\n'
        '  {key = "stone", title = "turn the stone", rule = "FREQ=DAILY", minutes = 5, lift = "40 kg"},\n]\n'
    )


@pytest.fixture(scope="module")
def unused(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[House]]:
    folder = tmp_path_factory.mktemp("reach")
    there = [made(folder / f"reach-{n}.toml", reach(f"Reach {n}")) for n in range(HOUSES)]
    with serving(folder, today=TODAY) as served:
        yield [House(file, served, noor, sam, calendar) for file, noor, sam, calendar in there]
    assert "Traceback" not in "\n".join(served.log_lines)


@pytest.fixture
def house(unused: list[House]) -> House:
    return unused.pop()


def whole(house: House) -> Form:
    (form,) = forms(house.page(), "all-done")
    return form


def jobs(form: Form) -> set[str]:
    return {name.split("/")[2] for name in form.fields if name.startswith("job/")}


def test_routine_jobs_together_once(house: House) -> None:
    """One transaction, of one person and one instant; sent twice it counts once; the page says what was recorded."""
    form = whole(house)
    assert {"pane", "daily-look"} <= jobs(form) <= {"pane", "daily-look", "net"}
    answer = house.send(form)
    assert answer.status == 303
    entries = house.entries()
    assert {e.name for e in entries} == jobs(form)
    assert {(e.keeper, str(e.day), e.recorded) for e in entries} == {("sam", TODAY, entries[0].recorded)}
    told = ask(house.url, answer["Location"].partition("#")[0]).text
    status = " ".join(part.partition("</p>")[0] for part in told.split('class="said-of" role="status"')[1:])
    assert "brush the pane" in status and "daily look" in status
    assert house.send(form).status == 303
    assert len(house.entries()) == len(entries)


def test_what_was_taken_back_is_not_recorded_again_by_the_same_form(house: House) -> None:
    form = whole(house)
    assert house.send(form).status == 303
    undo = next(
        f
        for f in forms(house.page(), "undo")
        if "pane" in str(house.entries()[int(f.fields["entry"]) - 1].name)
    )
    assert house.send(undo).status == 303
    assert house.send(form).status == 303
    assert house.recorded("pane") == 0
    assert house.send(house.tick("pane")).status == 303
    assert house.recorded("pane") == 1


def test_two_people_at_one_tank(house: House) -> None:
    """What the other one has done meanwhile stays hers; the rest is recorded."""
    form = whole(house)
    assert house.send(house.tick("pane"), **{}).status == 303
    assert house.send(form).status == 303
    assert house.recorded("pane") == 1 and house.recorded("daily-look") == 1


@pytest.mark.parametrize("key", ["pump", "stone"])
def test_what_has_a_tick_of_its_own(unused: list[House], key: str) -> None:
    """A rare job and one for two people; refused with nothing recorded, should a form name them."""
    house = unused[0]
    form = whole(house)
    assert key not in jobs(form)
    tick = house.tick(key)
    answer = house.send(form, **{f"job/sedge/{key}/": "1"})
    assert answer.status == 422 and "is ticked by itself. Nothing was recorded" in answer.text
    assert tick.action.endswith("/done") and form.action == f"{page_path(house.sam)}/all-done"
    assert house.entries() == []


def test_a_form_without_a_job(unused: list[House]) -> None:
    house = unused[0]
    form = whole(house)
    none = {name: None for name in form.fields if name.startswith("job/")}
    answer = house.send(form, **none)
    assert answer.status == 422 and "Choose what was done. Nothing was recorded" in answer.text
    assert house.send(form, **none, **{"job/sedge/nothing/": "1"}).status == 303
    assert house.entries() == []
