"""An animal that moves or has left, said on the page of whoever keeps a site alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from support.web.house import House
from support.web.http_client import TODAY, Form, ask, forms, link, page_path
from support.web.posted import house, houses, still, stills, unused
from support.web.serving import serving

from scheduler import workflow

__all__ = ["house", "houses", "still", "stills", "unused"]

POND = """\
[site]
name = "Pond End"
time_zone = "Europe/Dublin"

# Fern is the older one.
[[enclosure]]
name = "Sedge"
set_up = 2026-10-01
cycled = true

[[enclosure.resident]]
name = "Fern"
species = "painted turtle"
carapace = "12 cm"

[[enclosure]]
name = "Rush"
set_up = 2026-10-01
cycled = true
"""


@pytest.fixture
def pond(tmp_path: Path) -> Iterator[House]:
    """Serve a site of one person, whose page is everybody's."""
    file = tmp_path / "pond.toml"
    file.write_text(POND, "utf-8")
    page = link(file, "page")
    with serving(tmp_path, "pond.toml", today=TODAY) as served:
        yield House(file, served, page, page, page)


def form(pond: House) -> Form:
    (found,) = forms(pond.page(), "animal")
    return found


def homes(pond: House) -> dict[str, str]:
    site = workflow.open_workspace(pond.file, TODAY).site
    return {r.id: e.id for e in site.enclosures for r in e.resident}


def test_an_animal_moves_and_has_left(pond: House) -> None:
    asked = pond.send(form(pond), animal="fern", to="in/rush", on="yesterday", why="more room")
    assert asked.status == 200 and "Nothing is changed yet" in asked.text
    assert "Fern moves from Sedge to Rush on 13 December 2026." in asked.text
    assert "Rush, new: " in asked.text and "Sedge, no longer planned: " in asked.text
    assert pond.file.read_text("utf-8") == POND and pond.entries() == []
    (sure,) = forms(asked.text, "animal")
    assert pond.send(sure).status == 303
    (entry,) = pond.entries()
    assert (entry.kind, entry.name, entry.enclosure, str(entry.day), entry.note) == (
        "moved", "fern", "rush", "2026-12-13", "more room",
    )  # fmt: skip
    assert homes(pond) == {"fern": "rush"}
    assert "# Fern is the older one." in pond.file.read_text("utf-8")
    # The page says so at once; what was said twice is refused.
    assert "Fern, Rush" in pond.page()
    again = pond.send(sure)
    assert again.status == 422 and "lives in Rush already" in again.text
    asked = pond.send(form(pond), animal="fern", to="left/adopted")
    (sure,) = forms(asked.text, "animal")
    assert pond.send(sure).status == 303
    assert homes(pond) == {} and not forms(pond.page(), "animal")


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"animal": ""}, "choose the animal"),
        ({"animal": "wren"}, "choose the animal"),
        ({"to": ""}, "choose what happened to it"),
        ({"to": "in/"}, "choose what happened to it"),
        ({"to": "in/quay"}, "there is no enclosure"),
        ({"to": "left/eaten"}, "choose what happened to it"),
        ({"to": "in/sedge"}, "lives in sedge already"),
        ({"why": "x" * 2001}, "the note has 2001 characters"),
    ],
)
def test_what_is_refused_changes_nothing(pond: House, changed: dict[str, str], said: str) -> None:
    answer = pond.send(form(pond), **{"animal": "fern", "to": "in/rush", "sure": "yes", **changed})
    assert answer.status == 422 and said in answer.text.lower()
    assert pond.file.read_text("utf-8") == POND and pond.entries() == []


def test_a_description_with_a_mistake_in_it_is_not_changed(pond: House) -> None:
    sure = {"animal": "fern", "to": "in/rush", "sure": "yes"}
    broken = form(pond)
    pond.file.write_text(POND + "\n[enclosure\n", "utf-8")
    answer = pond.send(broken, **sure)
    assert answer.status == 422 and "it is no toml at this moment" in answer.text.lower()
    assert pond.file.read_text("utf-8") == POND + "\n[enclosure\n"
    pond.file.write_text(POND, "utf-8")
    assert pond.entries() == []


def test_where_several_share_the_work_nobody_changes_the_description_from_a_page(still: House) -> None:
    assert not forms(still.page(), "animal")
    tick = still.tick()
    path = f"{page_path(still.sam)}/animal"
    answer = still.send(Form(path, tick.fields), animal="fern", to="left/died", sure="yes")
    assert answer.status == 422 and "in the description, or on the command line" in answer.text
    assert ask(still.url, page_path(still.sam)).status == 200
