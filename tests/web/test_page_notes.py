"""Notes at a tank: seen by everybody who comes in the next seven days, pinned for the vet, and taken back like anything else."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator

import pytest
from support.web.house import House, made, site_of
from support.web.http_client import FEN, TODAY, Form, forms
from support.web.serving import pondround, serving

from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.web.submissions import HANDLES

HOUSES = 10

EYE = "left eye swollen"


@pytest.fixture(scope="module")
def unused(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[House]]:
    folder = tmp_path_factory.mktemp("notes")
    there = [made(folder / f"fen-{n}.toml", FEN.replace("Fen Lane", f"Fen {n}")) for n in range(HOUSES)]
    with serving(folder, today=TODAY) as served:
        yield [House(file, served, noor, sam, calendar) for file, noor, sam, calendar in there]
    assert "Traceback" not in "\n".join(served.log_lines)


@pytest.fixture
def house(unused: list[House]) -> House:
    return unused.pop()


def note_form(house: House, place: str = "sedge") -> Form:
    return next(f for f in forms(house.page(), "note") if f.fields["enclosure"] == place)


def keep(house: House, text: str, place: str = "sedge", **more: str | None) -> int:
    form = note_form(house, place)
    return house.send(form, note=text, **{"vet": None, **more}).status


def shown(house: House, place: str = "Sedge") -> str:
    """Return the notes of a tank on Noor's page, who recorded none of them."""
    page = house.page(house.noor)
    return page.partition(f'aria-label="Notes of the last 7 days, {place}"')[2].partition("</ul>")[0]


def test_what_one_volunteer_writes_the_next_one_reads(house: House) -> None:
    assert keep(house, f"  {EYE}\n since noon ") == 303
    (entry,) = house.entries()
    assert (entry.kind, entry.name, entry.enclosure, entry.keeper, entry.note, entry.value) == (
        "reading", "note", "sedge", "sam", f"{EYE} since noon", None,
    )  # fmt: skip
    assert "Mon 14 Dec" in shown(house) and f"<bdi>Sam</bdi>:</span> <bdi>{EYE} since noon</bdi>" in shown(
        house
    )
    assert shown(house, "Rush") == ""
    # A note with a job is one too, and the newest is first.
    assert house.send(house.tick(), note="all ate").status == 303
    assert shown(house).index("all ate") != -1
    said = pondround(house.file.parent, "history", house.file.name)
    assert "note, Sam" in said and EYE in said


def test_the_last_seven_days_newest_first(house: House) -> None:
    """Of whoever it is, with whatever it was recorded; older ones are in the log."""
    days = ("2026-12-06", "2026-12-07", "2026-12-10", "2026-12-13")
    with open_log(f"sqlite:///{house.file.with_suffix('.db')}") as log:
        log.record(
            site_of(house.file),
            [
                Entry(kind="done", enclosure="sedge", name="pane", day=dt.date.fromisoformat(day), keeper="sam", title="brush the pane", note=f"said on {day}", recorded=dt.datetime.fromisoformat(f"{day}T10:00:00"))
                for day in days
            ],
        )  # fmt: skip
    notes = shown(house)
    assert [day for day in days if f"said on {day}" in notes] == list(days[1:])
    assert notes.index("2026-12-13") < notes.index("2026-12-10") < notes.index("2026-12-07")


def test_a_note_counts_once(house: House) -> None:
    """A double tap, the back button; and what was taken back stays so until it is written anew."""
    form = note_form(house)
    for _ in range(2):
        assert house.send(form, note=EYE, vet=None).status == 303
    assert [e.note for e in house.entries()] == [EYE]
    (undo,) = forms(house.page(), "undo")
    assert house.send(undo).status == 303
    sent = house.send(form, note=EYE, vet=None)
    assert sent["Location"].endswith("?told=note-taken-back#alert")
    assert [e.kind for e in house.entries()] == ["reading", "void"]
    assert keep(house, EYE) == 303
    assert EYE in shown(house)
    # Two notes of one minute are two.
    assert keep(house, "and the right one") == 303
    assert "and the right one" in shown(house) and EYE in shown(house)


def test_pinned_for_the_vet_until_it_is_unpinned(house: House) -> None:
    assert keep(house, EYE, vet="yes") == 303
    assert [e.name for e in house.entries()] == ["note", "note-for-vet"]
    assert "<strong>For the vet.</strong>" in shown(house)
    review = json.loads(
        pondround(house.file.parent, "check", house.file.name, "--today", "2027-01-20", "--format", "json")
    )
    (sedge,) = [e for e in review["enclosures"] if e["id"] == "sedge"]
    assert f"For the vet, 14 December 2026 (Sam): {EYE}" in [f["text"] for f in sedge["findings"]]
    # Noor did not pin it: she is asked.
    (unpin,) = forms(house.page(house.noor), "unpin")
    asked = house.send(unpin)
    assert asked.status == 409 and f"“<bdi>{EYE}</bdi>”" in asked.text and "by <bdi>Sam</bdi>" in asked.text
    (sure,) = forms(asked.text, "unpin")
    assert house.send(sure).status == 303
    assert EYE in shown(house) and "For the vet" not in shown(house)
    # Pinned by her, it says whose words they are; twice is once.
    (pin,) = forms(house.page(house.noor), "pin")
    for _ in range(2):
        assert house.send(pin).status == 303
    standing = [
        e for e in house.entries() if e.name == "note-for-vet" and e.kind == "reading" and not e.voided
    ]
    assert [(e.keeper, e.note, str(e.day)) for e in standing] == [("noor", f"Sam: {EYE}", TODAY)]
    assert shown(house).count(EYE) == shown(house).count("For the vet") * 2, (
        "words, and the name of the button"
    )


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"note": ""}, "Write the note. Nothing was recorded"),
        ({"note": " \t\n"}, "Write the note. Nothing was recorded"),
        ({"note": "x" * 10_000}, "The note has 10000 characters; 2000 are kept at most"),
        ({"note": "ש" * 10_000}, "The note has 10000 characters; 2000 are kept at most"),
        ({"note": EYE, "enclosure": ""}, "Choose the tank that the note is of"),
        ({"note": EYE, "enclosure": "nowhere"}, "Choose the tank that the note is of"),
        ({"note": "a\x00b"}, "The note holds U+0000"),
    ],
)  # fmt: skip
def test_what_is_no_note(unused: list[House], fields: dict[str, str], said: str) -> None:
    house = unused[0]
    answer = house.send(note_form(house), **{"vet": None, **fields})
    assert answer.status == 422
    assert said in answer.text
    if fields["note"].strip():
        assert fields["note"].replace("\x00", "\x00")[:50] in answer.text, "what was typed is not lost"
    assert house.entries() == []


def test_pins_of_what_is_not_there(unused: list[House]) -> None:
    house = unused[0]
    sealed = {name: text for name, text in note_form(house).fields.items() if name in ("day", "seen", "seal")}
    for part in ("pin", "unpin"):
        for number, status in (("999999", 422), ("", 400), ("x", 400), ("9" * 16, 400)):
            form = Form(note_form(house).action.replace("/note", f"/{part}"), {**sealed, "entry": number})
            assert house.send(form).status == status, (part, number)
    assert {"note", "pin", "unpin"} <= set(HANDLES)
