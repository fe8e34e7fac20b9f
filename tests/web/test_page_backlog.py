"""The backlog after a gap: a week that nobody wrote down is caught up on in one sheet, by tank."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from support.web.house import House, made, site_of
from support.web.http_client import TODAY, Answer, Form, ask, forms, page_path
from support.web.serving import serving

from scheduler.care import KEYS
from scheduler.history import Entry
from scheduler.log import open_log

HOUSES = 7
OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)


def reach(name: str) -> str:
    tanks = "".join(
        f'[[enclosure]]\nname = "{tank}"\nroom = "{room}"\nset_up = 2026-01-05\ncycled = true\njob = {{{OFF}}}\nextra_job = [\n'
        '  {key = "pane", title = "brush the pane", rule = "FREQ=DAILY", minutes = 5},\n'
        '  {key = "pump", title = "rinse the pump", every = "7 days", minutes = 5},\n]\n'
        for tank, room in (("Sedge", "hall"), ("Rush", "attic"))
    )
    return f'[site]\nname = "{name}"\ntime_zone = "Europe/Dublin"\n\n[[keeper]]\nname = "Noor"\nminutes = 200\n\n[[keeper]]\nname = "Sam"\nminutes = 200\n\n{tanks}'


BEFORE = [
    Entry(
        kind="done", enclosure=tank, name=job, day=dt.date(2026, 12, 6), title=job, keeper="noor",
        recorded=dt.datetime(2026, 12, 6, 9),  # noqa: DTZ001 - the log keeps UTC without zone
    )
    for tank in ("sedge", "rush")
    for job in ("pane", "pump")
]  # fmt: skip
"""Everything was done on Sunday 6 December; then nobody wrote anything for a week."""


@pytest.fixture(scope="module")
def unused(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[House]]:
    folder = tmp_path_factory.mktemp("reach")
    there = [made(folder / f"reach-{n}.toml", reach(f"Reach {n}")) for n in range(HOUSES)]
    for file, *_ in there:
        with open_log(f"sqlite:///{file.with_suffix('.db')}") as log:
            log.record(site_of(file), BEFORE)
    with serving(folder, today=TODAY) as served:
        yield [House(file, served, noor, sam, calendar) for file, noor, sam, calendar in there]
    assert "Traceback" not in "\n".join(served.log_lines)


@pytest.fixture
def house(unused: list[House]) -> House:
    return unused.pop()


def sheet(house: House) -> tuple[str, Form]:
    answer = ask(house.url, f"{page_path(house.sam)}/backlog")
    assert answer.status == 200
    (form,) = forms(answer.text, "catch-up")
    return answer.text, form


PANE, PUMP = "2026-12-07/sedge/pane/", "2026-12-13/sedge/pump/"


def said(house: House, form: Form, by: str = "me", **choices: str) -> Answer:
    names = {
        "pane": f"past/{PANE}",
        "pane_day": f"when/{PANE}",
        "pump": f"past/{PUMP}",
        "pump_day": f"when/{PUMP}",
    }
    return house.send(form, **{names[key]: text for key, text in choices.items()}, by=by)


def new(house: House) -> list[tuple[str, str, str, str]]:
    return [
        (e.enclosure, e.name, str(e.day), e.keeper)
        for e in house.entries()[len(BEFORE) :]
        if e.kind == "done" and not e.voided
    ]


WEEK = [f"2026-12-{day:02}" for day in range(7, 14)]


def test_a_week_in_one_sheet(house: House) -> None:
    """Each open job by tank in walking order: on its days, on another day, or left open; all with one button."""
    assert "4 jobs of earlier days are open: done but not written down?" in house.page()
    text, form = sheet(house)
    assert text.index("Rush") < text.index("Sedge"), "attic, then hall"
    assert "<bdi>brush the pane</bdi>, due Mon 7 Dec to Sun 13 Dec" in text
    assert "<bdi>rinse the pump</bdi>, due Sun 13 Dec</label>" in text
    assert {form.fields[name] for name in form.fields if name.startswith("past/")} == {""}, (
        "nothing is chosen"
    )
    assert said(house, form, pane="due", pump="other", pump_day="2026-12-12").status == 303
    assert new(house) == [
        *(("sedge", "pane", day, "sam") for day in WEEK),
        ("sedge", "pump", "2026-12-12", "sam"),
    ]
    left, _ = sheet(house)
    assert "Sedge" not in left and "Rush" in left
    # Sent again it counts once; what was taken back meanwhile stays so.
    (undo, *_) = [
        f for f in forms(house.page(), "undo") if f.fields["entry"] == str(house.entries()[-1].number)
    ]
    assert house.send(undo).status == 303
    assert said(house, form, pane="due", pump="other", pump_day="2026-12-12").status == 303
    assert new(house) == [("sedge", "pane", day, "sam") for day in WEEK]


def test_what_somebody_else_did_names_nobody(house: House) -> None:
    _, form = sheet(house)
    assert said(house, form, by="else", pump="due").status == 303
    assert new(house) == [("sedge", "pump", "2026-12-13", "")]


@pytest.mark.parametrize(
    ("day", "why"),
    [
        ("", "choose the day on which it was done"),
        ("2026-12-15", "15 December 2026 has not come yet"),
        ("2026-02-30", "this is no day; write one such as 2026-12-19"),
        ("2025-12-01", "1 December 2025 is long before it fell due"),
        ("x" * 10_000, "this is no day"),
    ],
)  # fmt: skip
def test_a_day_that_cannot_be(unused: list[House], day: str, why: str) -> None:
    """It is said at its job, what else was said is kept, and nothing is recorded."""
    house = unused[0]
    _, form = sheet(house)
    answer = said(house, form, pane="due", pump="other", pump_day=day)
    assert answer.status == 422
    assert "Some days are not right yet. Nothing was recorded" in answer.text and why in answer.text
    assert f'value="{day}"' in answer.text
    assert '<option value="due" selected>' in answer.text
    assert new(house) == []


def test_nothing_said_is_nothing_recorded(unused: list[House]) -> None:
    house = unused[0]
    _, form = sheet(house)
    answer = said(house, form)
    assert answer.status == 422 and "Say of a job when it was done. Nothing was recorded" in answer.text
    assert new(house) == []


def test_what_others_did_meanwhile_counts_once(house: House) -> None:
    """Two people catch up on the same tank at once: each job counts once for its day."""
    _, form = sheet(house)
    assert house.send(form, **{f"past/{PANE}": "due"}, by="else").status == 303
    assert said(house, form, pane="due", pump="due").status == 303
    assert new(house) == [
        *(("sedge", "pane", day, "") for day in WEEK),
        ("sedge", "pump", "2026-12-13", "sam"),
    ]
