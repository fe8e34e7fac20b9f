"""Jobs that are handed over from a page, and handed back."""

from __future__ import annotations

import pytest
from support.web.house import House
from support.web.http_client import (
    Form,
    ask,
    forms,
    page_path,
    write,
)
from support.web.posted import followed, house, houses, still, stills, unused

__all__ = ["house", "houses", "still", "stills", "unused"]


def hand_over(house: House, key: str = "pane") -> Form:
    (form,) = [
        f
        for f in forms(house.page(), "hand-over")
        if (f.fields["key"], f.fields["enclosure"]) == (key, "sedge")
    ]
    return form


def test_a_job_is_handed_over(house: House) -> None:
    form = hand_over(house)
    assert form.choices == {"to": ["noor"]}
    assert house.send(form).status == 303
    assert "brush the pane" in house.page(house.noor).partition('id="done"')[0]
    assert "brush the pane" not in house.page(house.sam).partition('id="week"')[0]
    # Sent again, it is not his to give any more.
    answer = house.send(form)
    assert answer.status in (303, 422)
    assert "brush the pane" in house.page(house.noor).partition('id="done"')[0]


def test_what_was_handed_back_does_not_change_hands_by_itself(house: House) -> None:
    form = hand_over(house)
    assert house.send(form).status == 303
    (back,) = [f for f in forms(house.page(house.noor), "hand-over") if f.fields["key"] == "pane"]
    assert house.send(back).status == 303
    for _ in range(2):
        assert "This has changed hands since the page was made" in followed(house, house.send(form))
        assert "brush the pane" in house.page(house.sam).partition('id="done"')[0]
        assert "brush the pane" not in house.page(house.noor).partition('id="done"')[0]
    # From the page as it is now it is another matter.
    assert house.send(hand_over(house)).status == 303
    assert "brush the pane" in house.page(house.noor).partition('id="done"')[0]


@pytest.mark.parametrize(
    "changed",
    [
        {"to": "sam"},
        {"to": "ghost"},
        {"to": ""},
        {"to": None},
        {"to": "Noor"},
        {"key": "no-such"},
        {"enclosure": "gone"},
    ],
)
def test_a_job_that_cannot_be_handed_over(still: House, changed: dict[str, str | None]) -> None:
    form = hand_over(still)
    answer = still.send(form, **changed)
    assert answer.status == 422
    assert "brush the pane" in still.page(still.sam).partition('id="done"')[0]


def test_nobody_takes_over_who_is_not_there(houses: dict[str, House]) -> None:
    house = houses["away"]
    assert forms(house.page(), "hand-over") == []
    tick = house.tick()
    form = Form(f"{page_path(house.sam)}/hand-over", {**tick.fields, "to": "noor"})
    answer = house.send(form)
    assert answer.status == 422 and "who are there today" in answer.text
    assert "brush the pane" in house.page().partition('id="done"')[0]


def test_a_keeper_who_left(house: House) -> None:
    """Whoever is no longer described has no page any more; the others go on."""
    form = house.tick()
    write(house.file, house.file.read_text().replace('[[keeper]]\nname = "Sam"\n', ""))
    assert ask(house.url, page_path(house.sam)).status == 404
    assert house.send(form).status == 404
    assert ask(house.url, page_path(house.noor)).status == 200
    assert house.entries() == []
