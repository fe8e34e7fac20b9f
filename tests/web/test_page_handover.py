"""Handing over from a page: any of the coming seven days, several jobs at once, told to who takes them, undone by who gave them."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from support.web.house import House, made
from support.web.http_client import TODAY, Answer, Form, ask, forms, page_path
from support.web.serving import pondround, serving

from scheduler.care import KEYS

HOUSES = 6
OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)


def reach(name: str) -> str:
    """Return a place where only Noor is there on Mondays and Thursdays but for Sam, who can come and has nothing of his own."""
    jobs = "".join(
        f'  {{key = "{key}", title = "{title}", rule = "FREQ=WEEKLY;BYDAY={days}", minutes = 10, can = ["adult"]}},\n'
        for key, title, days in (
            ("pane", "brush the pane", "MO,TH"),
            ("pump", "rinse the pump", "TH"),
            ("cover", "wipe the cover", "TH"),
        )
    )
    return (
        f'[site]\nname = "{name}"\ntime_zone = "Europe/Dublin"\n\n'
        '[[keeper]]\nname = "Noor"\nminutes = 90\ncan = ["adult"]\nshare = 100\n\n[[keeper]]\nname = "Sam"\nminutes = 90\ncan = ["adult"]\nshare = 1\n\n'
        f'[[enclosure]]\nname = "Sedge"\nset_up = 2026-01-05\ncycled = true\njob = {{{OFF}}}\nextra_job = [\n{jobs}]\n'
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


def on(house: House, day: str) -> Form:
    """Return the form with which Noor hands over jobs of a day."""
    page = ask(house.url, f"{page_path(house.noor)}/give")
    assert page.status == 200
    (form,) = [f for f in forms(page.text, "hand-over") if f.fields["on"] == day]
    return form


THURSDAY = "2026-12-17"


def give(house: House, form: Form, *keys: str, to: str = "sam") -> Answer:
    tasks = {
        name: "1" if name.split("/")[3] in keys else None for name in form.fields if name.startswith("task/")
    }
    return house.send(form, **tasks, to=to)


def test_two_jobs_of_thursday(house: House) -> None:
    """Who takes them sees it on top; who gave them can take them back; the rota of the command says the same."""
    form = on(house, THURSDAY)
    assert len([name for name in form.fields if name.startswith("task/")]) == 3
    assert form.choices["to"] == ["", "sam"], "nobody is chosen"
    assert give(house, form, "pump", "cover").status == 303
    sams = house.page(house.sam)
    said = "<bdi>Noor</bdi> gave you <bdi>Sedge, wipe the cover; Sedge, rinse the pump</bdi> on Thu 17 Dec."
    assert said in sams and sams.index(said) < sams.index('id="round"')
    assert "Nothing is due in your round today." in sams
    rota = pondround(
        house.file.parent, "rota", house.file.name, "--today", TODAY, "--weeks", "1", "--format", "json"
    )
    rounds = [(r["date"], r["keeper"], [j["job"] for j in r["jobs"]]) for r in json.loads(rota)["rounds"]]
    assert (THURSDAY, "Sam", ["cover", "pump"]) in rounds
    # Sent again it changes nothing, and says so.
    assert give(house, form, "pump", "cover")["Location"].endswith("?told=changed-hands#alert")
    (back,) = forms(house.page(house.noor), "hand-back")
    for _ in range(2):
        assert house.send(back).status == 303
    assert "gave you" not in house.page(house.sam)
    assert not forms(house.page(house.noor), "hand-back")
    assert len([name for name in on(house, THURSDAY).fields if name.startswith("task/")]) == 3
    assert house.entries() == [], "nothing was done by it"


def test_what_was_done_is_not_taken_back(house: House) -> None:
    """Nor what was handed on to somebody else meanwhile: it is said, and nothing is changed."""
    assert give(house, on(house, TODAY), "pane").status == 303
    (back,) = forms(house.page(house.noor), "hand-back")
    assert house.send(house.tick("pane", house.sam)).status == 303
    assert "gave you" not in house.page(house.sam)
    answer = house.send(back)
    assert answer.status == 422
    assert "This is done, or in somebody else&#39;s round by now. Nothing was changed" in answer.text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({}, "Choose what is handed over. Nothing was changed"),
        ({"keys": "pump", "to": ""}, "Choose who takes it, of those who are there on that day and can do it"),
        ({"keys": "pump", "to": "noor"}, "Choose who takes it"),
        ({"keys": "pump", "to": "nobody"}, "Choose who takes it"),
        ({"keys": "pump", "on": "2026-12-30"}, "only today and the next 7 days are handed over here"),
        ({"keys": "pump", "on": "2026-12-13"}, "only today and the next 7 days are handed over here"),
        ({"keys": "pump", "on": "soon"}, "Choose the day. Nothing was changed"),
    ],
)  # fmt: skip
def test_what_is_no_hand_over(unused: list[House], changed: dict[str, str], said: str) -> None:
    house = unused[0]
    form = on(house, THURSDAY)
    form.fields["on"] = changed.get("on", THURSDAY)
    answer = give(house, form, *changed.get("keys", "").split(), to=changed.get("to", "sam"))
    assert answer.status == 422
    assert said[1:] in answer.text
    assert "gave you" not in house.page(house.sam)
