"""Readings that are posted from a page: what follows from them, and what is asked and refused."""

from __future__ import annotations

import pytest
from support.web.house import House
from support.web.http_client import (
    ask,
    forms,
    page_path,
)
from support.web.posted import followed, house, houses, reading, still, stills, unused

__all__ = ["house", "houses", "still", "stills", "unused"]


def test_a_reading_is_answered_by_the_way_to_what_follows(house: House) -> None:
    """A reload asks for that page again and sends nothing (RFC 9110, section 15.4.4); it says the same each time."""
    answer = reading(house, reading="nitrite", value="2 mg/L")
    pages = [followed(house, answer) for _ in range(2)]
    assert pages[0] == pages[1]
    assert "<h1>What follows</h1>" in pages[0]
    assert "Nitrite was taken as mg/L of N" in pages[0]
    (entry,) = house.entries()
    (undo,) = [form for form in forms(house.page(), "undo") if form.fields["entry"] == str(entry.number)]
    house.send(undo)
    assert "no such reading of today or yesterday any more" in followed(house, answer)
    for wrong in ("", "x", "0", "9" * 16, "999999"):
        assert ask(house.url, f"{page_path(house.sam)}/recorded?entry={wrong}").status in (200, 404)


def test_a_reading_that_looks_mistyped_is_asked_about(house: House) -> None:
    assert reading(house, reading="temperature", value="24 degC").status == 303
    answer = reading(house, reading="temperature", value="42 degC")
    assert answer.status == 422
    assert [e.value for e in house.entries()] == [24]
    (sure,) = forms(answer.text, "reading")
    assert sure.fields["sure"] == "yes" and sure.fields["value"] == "42 degC"
    assert "42 °C" in followed(house, house.send(sure))
    # Sent again it is known.
    assert "42 °C" in followed(house, house.send(sure))
    assert [e.value for e in house.entries()] == [24, 42]


def test_a_reading_that_was_taken_back_does_not_come_back_by_itself(house: House) -> None:
    """Its form is sent again by a browser that is reloaded, or comes back to it."""
    (form,) = forms(house.page(), "reading")
    typed = {"enclosure": "sedge", "reading": "ph", "value": "7.4"}
    assert house.send(form, **typed).status == 303
    (undo,) = forms(house.page(), "undo")
    assert house.send(undo).status == 303
    for _ in range(2):
        page = followed(house, house.send(form, **typed))
        assert "recorded and taken back since the page was made" in page
    assert [e.voided for e in house.entries() if e.kind == "reading"] == [True]
    # Another value, or a form of the page as it is now, is another matter.
    assert house.send(form, **{**typed, "value": "7.5"}).status == 303
    (new,) = forms(house.page(), "reading")
    assert house.send(new, **typed).status == 303
    assert [(e.value, e.voided) for e in house.entries() if e.kind == "reading"] == [
        (7.4, True),
        (7.5, False),
        (7.4, False),
    ]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        (
            {"reading": "temperature", "value": "24"},
            "Temperature: found &#34;24&#34; without a unit; write &#34;24 °C&#34; or &#34;24 °F&#34;. Nothing was recorded.",
        ),
        (
            {"reading": "ph", "value": "seven"},
            "Ph: found &#34;seven&#34;, expected a number without a unit; write 7.4. Nothing was recorded.",
        ),
        (
            {"reading": "temperature", "value": "-30 degC"},
            "Temperature: found &#34;-30 °C&#34;, which cannot be; expected -2 to 60 °C; write &#34;25 °C&#34;. Nothing was recorded.",
        ),
    ],
)
def test_what_is_wrong_with_a_reading_is_said_for_a_page(
    still: House, fields: dict[str, str], said: str
) -> None:
    assert said in reading(still, **fields).text


@pytest.mark.parametrize(
    "fields",
    [
        {"reading": "temperature", "value": ""},
        {"reading": "temperature", "value": "warm"},
        {"reading": "temperature", "value": "nan degC"},
        {"reading": "temperature", "value": "1e999 degC"},
        {"reading": "temperature", "value": "24 mg/L"},
        {"reading": "temperature", "value": "-300 degC"},
        {"reading": "temperature", "value": "24 degC" + "0" * 5000},
        {"reading": "temperature", "value": "9**9**9**9 degC"},
        {"reading": "__class__", "value": "24 degC"},
        {"reading": "", "value": "24 degC"},
        {"reading": "temperature", "value": "24 degC", "enclosure": "no-such-tank"},
        {"reading": "temperature", "value": "24 degC", "whose": "Moss"},
        {"reading": "weight", "value": "300 g"},
        {"reading": "weight", "value": "300 g", "whose": "nobody"},
        # What somebody wrote is told back, and does not say what became of it.
        {"reading": "weight", "value": "300 g", "whose": "nothing was found"},
        {"reading": "temperature", "value": "24 degC\x00"},
    ],
)
def test_a_reading_that_is_refused(still: House, fields: dict[str, str]) -> None:
    answer = reading(still, **fields)
    assert answer.status == 422
    assert answer.text.count("Nothing was recorded.") + answer.text.count("Nothing is recorded yet.") == 1
    assert still.entries() == []
