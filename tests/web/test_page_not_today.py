"""Not today: a job that is put off or left out from a page, with a reason; and taking that back."""

from __future__ import annotations

import pytest
from support.web.house import House
from support.web.http_client import TODAY, Form, forms, page_path
from support.web.posted import house, houses, still, stills, unused

__all__ = ["house", "houses", "still", "stills", "unused"]


def later(house: House, key: str = "pane") -> Form:
    """Return the form that puts a job off."""
    offered = forms(house.page(), "not-today")
    found = [f for f in offered if (f.fields["enclosure"], f.fields["key"]) == ("sedge", key)]
    assert len(found) == 1, f"{len(found)} forms put {key} off"
    return found[0]


def test_a_job_is_put_off_with_a_reason_and_that_is_taken_back(house: House) -> None:
    form = later(house, "daily-look")
    answer = house.send(form, to="out", why="the vet has it")
    assert answer.status == 303
    (entry,) = house.entries()
    assert (entry.kind, entry.name, entry.given, entry.keeper, entry.note) == (
        "skipped", "daily-look", TODAY, "sam", "the vet has it",
    )  # fmt: skip
    page = house.page()
    assert "left out on" in page and "the vet has it" in page
    offered = {(f.fields["enclosure"], f.fields["key"]) for f in forms(page, "not-today")}
    assert ("sedge", "daily-look") not in offered and ("rush", "daily-look") in offered
    # Sent twice it is said once.
    assert house.send(form, to="out", why="the vet has it").status == 303
    assert len(house.entries()) == 1
    (back,) = [f for f in forms(page, "undo") if f.fields["entry"] == str(entry.number)]
    assert house.send(back).status == 303
    assert later(house, "daily-look")
    assert [e.kind for e in house.entries()] == ["skipped", "void"]
    # The page from before is of a plan that is no more.
    again = house.send(form, to="out", why="the vet has it")
    assert again.status == 422 and "taken back since the page was made" in again.text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"to": ""}, "choose the day to which it is put off"),
        ({"to": "soon"}, "choose the day to which it is put off"),
        ({"to": None}, "choose the day to which it is put off"),
        ({"to": "2026-01-01"}, "is over; today is"),
        ({"to": "9999-12-31"}, "is more than a year away"),
        ({"to": TODAY}, "anyway; nothing changes"),
        ({"key": "no-such-job", "to": "out"}, "not planned; there is nothing to put off"),
        ({"why": "x" * 2001, "to": "out"}, "the note has 2001 characters; 2000 are kept at most"),
    ],
)
def test_what_is_refused(still: House, changed: dict[str, str | None], said: str) -> None:
    answer = still.send(later(still), **changed)
    assert answer.status == 422
    assert said.lower() in answer.text.lower().replace("&#39;", "'")
    assert still.entries() == []


def test_somebody_else_did_it_meanwhile(house: House) -> None:
    form = later(house)
    assert house.send(house.tick()).status == 303
    answer = house.send(form, to="out")
    assert answer.status == 422 and "somebody recorded" in answer.text.lower()
    assert [e.kind for e in house.entries()] == ["done"]


def test_who_did_it_has_done_it_though_somebody_put_it_off_meanwhile(house: House) -> None:
    """Also where that was taken back again: nothing was said of the job's being done."""
    tick = house.tick("daily-look")
    assert house.send(later(house, "daily-look"), to="out").status == 303
    assert house.send(tick).status == 303
    assert house.recorded("daily-look") == 1
    pane = house.tick()
    assert house.send(later(house), to="out").status == 303
    (back,) = [f for f in forms(house.page(), "undo") if f.fields["entry"] == str(house.entries()[-1].number)]
    assert house.send(back).status == 303
    assert house.send(pane).status == 303
    assert house.recorded() == 1


def test_enter_in_a_field_of_the_job_ticks_it_and_puts_nothing_off(still: House) -> None:
    """Whoever presses Enter in a field sends the form that the field is of: the note is of the tick, the reason is not."""
    page = still.page()
    tick, wait = still.tick(), later(still)
    assert tick.action == f"{page_path(still.sam)}/done" and "to" not in tick.fields
    assert wait.action == f"{page_path(still.sam)}/not-today"
    assert page.count('name="why" maxlength="2000" autocomplete="off" form="later-') >= 1


def test_what_waiting_costs_is_said_and_asked_about(house: House) -> None:
    """Nobody comes on the day: whoever puts it off sees that before anything is recorded."""
    keepers = ('[[keeper]]\nname = "Noor"\n', '[[keeper]]\nname = "Noor"\nweekdays = ["Mon"]\n')
    text = house.file.read_text("utf-8").replace(*keepers)
    house.file.write_text(text.replace('name = "Sam"\n', 'name = "Sam"\nweekdays = ["Mon"]\n'), "utf-8")
    offered = [f for who in (house.sam, house.noor) for f in forms(house.page(who), "not-today")]
    (form,) = [f for f in offered if (f.fields["enclosure"], f.fields["key"]) == ("sedge", "top-up")]
    asked = house.send(form, to="2026-12-15", why="visitors")
    assert asked.status == 422 and house.entries() == []
    assert "nobody who can do it comes on" in asked.text.lower() and "Nothing is recorded yet" in asked.text
    (sure,) = forms(asked.text, "not-today")
    assert house.send(sure).status == 303
    assert [(e.kind, e.note) for e in house.entries()] == [("postponed", "visitors")]
