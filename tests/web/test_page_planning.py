"""What is planned from a page: something that comes once, and the days on which its keeper cannot come."""

from __future__ import annotations

import datetime as dt

import pytest
from support.web.house import House
from support.web.http_client import TODAY, Form, forms, page_path
from support.web.posted import house, houses, still, stills, unused

from scheduler import workflow

__all__ = ["house", "houses", "still", "stills", "unused"]

DAY = dt.date.fromisoformat(TODAY)


def form(house: House, part: str) -> Form:
    """Return the form of a part on Sam's page."""
    (found,) = forms(house.page(), part)
    return found


def after(days: int) -> str:
    return str(DAY + dt.timedelta(days=days))


def mend(house: House) -> dict[str, str]:
    """Return the fields of something that comes once."""
    return {"enclosure": "sedge", "title": "Mend the lid", "on": TODAY, "minutes": "15", "why": "The hinge."}


def test_something_that_comes_once_is_planned_and_taken_back(house: House) -> None:
    planned = form(house, "once")
    assert house.send(planned, **mend(house)).status == 303
    (entry,) = house.entries()
    assert (entry.kind, entry.title, entry.given, entry.minutes, entry.keeper, entry.note) == (
        "once", "Mend the lid", TODAY, 15, "sam", "The hinge.",
    )  # fmt: skip
    page = house.page()
    assert "Mend the lid" in page and "Mend the lid" in house.page(house.noor)
    # Sent twice it is planned once.
    assert house.send(planned, **mend(house)).status == 303
    assert len(house.entries()) == 1
    (back,) = [f for f in forms(page, "undo") if f.fields["entry"] == str(entry.number)]
    assert house.send(back).status == 303
    again = house.send(planned, **mend(house))
    assert again.status == 422 and "taken back since the page was made" in again.text
    assert [e.kind for e in house.entries()] == ["once", "void"]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"enclosure": ""}, "choose the enclosure"),
        ({"enclosure": "no-such"}, "choose the enclosure"),
        ({"on": "soon"}, "choose the day"),
        ({"on": after(-1)}, "is over; what was done then"),
        ({"on": after(400)}, "is more than a year away"),
        ({"minutes": "ten"}, "write the minutes that it takes as a number"),
        ({"minutes": "0"}, "minutes: "),
        ({"minutes": "1e2"}, "write the minutes that it takes as a number"),
        ({"title": ""}, "title: "),
        ({"title": "x" * 500}, "title: "),
        ({"why": "x" * 2001}, "the note has 2001 characters"),
    ],
)
def test_what_cannot_be_planned(still: House, changed: dict[str, str], said: str) -> None:
    answer = still.send(form(still, "once"), **{**mend(still), **changed})
    assert answer.status == 422
    assert said.lower() in answer.text.lower()
    assert still.entries() == []
    # What was typed is there still.
    if "title" not in changed:
        assert 'value="Mend the lid"' in answer.text


def test_who_cannot_come_is_told_what_that_changes_and_asked(house: House) -> None:
    """The page, the rota and what others have are the same at once, and coming back undoes it."""
    before = _taken(house)
    assert any(keeper == "sam" for keeper, *_ in before)
    asked = house.send(form(house, "away"), on=TODAY, to=after(2), why="a cold")
    assert asked.status == 200 and "Nothing is recorded yet" in asked.text
    assert house.entries() == [] and _taken(house) == before
    (sure,) = forms(asked.text, "away")
    assert house.send(sure).status == 303
    (entry,) = house.entries()
    assert (entry.kind, entry.name, entry.given, entry.keeper, entry.note) == (
        "away", "sam", f"{TODAY}/{after(2)}", "sam", "a cold",
    )  # fmt: skip
    now = _taken(house)
    assert not [one for one in now if one[0] == "sam" and one[1] <= DAY + dt.timedelta(days=2)]
    assert not forms(house.page(), "all-done") and not forms(house.page(), "done")
    # Sent twice it is said once.
    assert house.send(sure).status == 303 and len(house.entries()) == 1
    (back,) = forms(house.page(), "back")
    again = house.send(back)
    assert again.status == 200 and "is here again from today" in again.text
    (sure,) = forms(again.text, "back")
    assert house.send(sure).status == 303
    assert [e.kind for e in house.entries() if not e.voided and e.kind != "void"] == []
    assert not forms(house.page(), "back")
    assert any(keeper == "sam" for keeper, *_ in _taken(house))


def _taken(house: House) -> set[tuple[str, dt.date, str]]:
    """Return who takes what on which day, by the rota as the command makes it."""
    space = workflow.open_workspace(house.file, TODAY)
    rota = workflow.rota_to_export(space, DAY).rota
    return {(task.keeper.id, task.day, task.item.job.key) for one in rota.rounds for task in one.tasks}


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"on": "soon"}, "choose the day"),
        ({"on": after(3), "to": TODAY}, "the last day is before the first one"),
        ({"on": after(-3), "to": after(-2)}, "is over; today is"),
        ({"to": after(800)}, "take sam out of the description instead"),
    ],
)
def test_days_that_are_none(still: House, changed: dict[str, str], said: str) -> None:
    answer = still.send(form(still, "away"), **{"on": TODAY, "to": TODAY, **changed})
    assert answer.status == 422 and said in answer.text.lower()
    assert still.entries() == []


def test_each_form_names_its_fields_for_itself(still: House) -> None:
    page = still.page()
    assert form(still, "once").action == f"{page_path(still.sam)}/once"
    assert form(still, "away").action == f"{page_path(still.sam)}/away"
    for name in ("once-where", "once-what", "once-on", "once-minutes", "once-note", "away-from", "away-to"):
        assert page.count(f'id="{name}"') == page.count(f'for="{name}"') == 1
