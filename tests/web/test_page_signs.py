"""A sign of illness recorded from the page of a round: two lists and one tap, told at once, taken back like any reading."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.web.house import House, made
from support.web.http_client import FEN, TODAY, Answer, Form, ask, forms, page_path
from support.web.serving import serving

ANIMALS = FEN.replace(
    'name = "Sedge"\nkind = "tank"',
    'name = "Sedge"\nkind = "tank"\nresident = [{name = "Fern"}, {name = "Moss"}]',
).replace(
    "[[keeper]]", '[[site.contact]]\nname = "Dr. Osei"\nphone = "01632 960117"\nfor = "vet"\n\n[[keeper]]', 1
)


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[House]]:
    folder = tmp_path_factory.mktemp("signs")
    there = [made(folder / f"fen-{n}.toml", ANIMALS.replace("Fen Lane", f"Fen {n}")) for n in range(4)]
    with serving(folder, today=TODAY) as served:
        yield [House(file, served, noor, sam, calendar) for file, noor, sam, calendar in there]


@pytest.fixture
def house(houses: list[House]) -> House:
    return houses.pop()


def sign_form(house: House) -> Form:
    (form,) = [form for form in forms(house.page(), "reading") if "animal" in form.fields]
    return form


def followed(house: House, answer: Answer) -> str:
    assert answer.status == 303
    return ask(house.url, answer["location"]).text


def test_a_sign_is_recorded_told_and_taken_back(house: House) -> None:
    form = sign_form(house)
    assert form.choices["animal"] == ["", "sedge/fern", "sedge/moss"]
    answer = house.send(form, animal="sedge/moss", reading="sign.gasping")
    told = followed(house, answer)
    assert "Moss showed on" in told and "Call Dr. Osei (vet, 01632 960117) at once." in told
    (entry,) = house.entries()
    assert (entry.name, entry.of, entry.value, entry.given) == ("sign.gasping", "moss", 1.0, "yes")
    assert "Call the vet at once about Moss" in house.page()
    (undo,) = [form for form in forms(house.page(), "undo") if form.fields["entry"] == str(entry.number)]
    house.send(undo)
    assert "Call the vet at once about Moss" not in house.page()


def test_gone_is_recorded_too(house: House) -> None:
    house.send(sign_form(house), animal="sedge/fern", reading="sign.nose", value="no")
    assert [(e.name, e.value) for e in house.entries()] == [("sign.nose", 0.0)]
    assert "Call the vet" not in house.page()


def test_without_an_animal_nothing_is_recorded(house: House) -> None:
    answer = house.send(sign_form(house), reading="sign.nose")
    assert answer.status == 422 and "Choose the enclosure. Nothing was recorded." in answer.text
    assert house.entries() == []


def test_signs_stand_in_their_own_form_alone(house: House) -> None:
    page = house.page()
    (plain,) = [form for form in forms(page, "reading") if "animal" not in form.fields]
    assert not [name for name in plain.choices["reading"] if name.startswith("sign.")]
    assert ask(house.url, page_path(house.sam)).text.count('value="sign.') == 14
