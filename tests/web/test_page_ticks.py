"""Ticks that are refused, and notes, of which none is thrown away."""

from __future__ import annotations

import zoneinfo
from email.utils import parsedate_to_datetime

import pytest
from support.web.house import House
from support.web.http_client import (
    TODAY,
    Form,
    ask,
    forms,
    page_path,
)
from support.web.posted import at_once, followed, house, houses, seal, still, stills, unused
from support.web.serving import pondround

__all__ = ["house", "houses", "still", "stills", "unused"]


# --- refused ---


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"note": "x" * 2001}, "the note has 2001 characters; 2000 are kept at most"),
        ({"note": "a\x00b"}, "which is no text"),
        ({"key": "no-such-job"}, "no longer in the plan"),
        ({"key": ""}, "no longer in the plan"),
        ({"key": None}, "no longer in the plan"),
        ({"key": "a" * 4000}, "no longer in the plan"),
        ({"key": "🐢"}, "no longer in the plan"),
        ({"enclosure": "no-such-tank"}, "no longer in the plan"),
        ({"enclosure": "rush"}, "no longer in the plan"),
        ({"variant": "uv-9"}, "no longer in the plan"),
    ],
)
def test_a_tick_that_is_refused(still: House, changed: dict[str, str | None], said: str) -> None:
    answer = still.send(still.tick(), **changed)
    assert answer.status == 422
    assert said.lower() in answer.text.lower().replace("&#39;", "'")
    assert answer.text.count("Nothing was recorded.") == 1
    assert still.entries() == []


def test_a_note(house: House) -> None:
    """As long as it may be, in any letters; several lines are one."""
    note = "grün 🐢 " + "x" * 1989 + "\r\n\tend"
    assert house.send(house.tick(), note=note).status == 303
    (entry,) = house.entries()
    assert entry.note == "grün 🐢 " + "x" * 1989 + " end"
    assert len(entry.note) == 2000


def test_a_tick_has_its_hour(house: House) -> None:
    """The clock of the site, whatever day counts as today; of yesterday nobody knows it."""
    answers = [ask(house.url, "/healthz"), house.send(house.tick())]
    assert house.send(house.tick("daily-look"), on="yesterday").status == 303
    pane, look = house.entries()
    dates = [parsedate_to_datetime(answer["Date"]) for answer in answers]
    hours = [date.astimezone(zoneinfo.ZoneInfo("Europe/Dublin")).time() for date in dates]
    assert pane.time is not None and hours[0].replace(second=0) <= pane.time <= hours[1]
    assert look.time is None


# --- no note is thrown away ---


def standing(house: House, key: str = "pane") -> list[tuple[str, str, str]]:
    return [
        (str(e.day), e.keeper, e.note)
        for e in house.entries()
        if e.name == key and e.kind == "done" and not e.voided
    ]


def test_a_note_to_what_somebody_else_recorded_meanwhile(house: House) -> None:
    """It is kept with the entry, which stays that of whoever did it; sent twice it is there once."""
    his, hers = house.tick(), forms(house.page(house.noor), "reading")[0]
    sealed = {name: hers.fields[name] for name in ("day", "seen", "seal")}
    her_tick = Form(f"{page_path(house.noor)}/done", {**his.fields, **sealed})
    assert house.send(his, note="all ate").status == 303
    assert house.send(her_tick, note="swollen eye").status == 303
    assert standing(house) == [(TODAY, "sam", "all ate | Noor: swollen eye")]
    for form, note in ((her_tick, "swollen eye"), (his, "all ate"), (his, "")):
        assert house.send(form, note=note).status == 303
    assert standing(house) == [(TODAY, "sam", "all ate | Noor: swollen eye")]
    # It is done once: whoever did it has the minutes once, and one taking back takes it back.
    assert house.recorded() == 1
    (undo,) = forms(house.page(house.sam).partition('id="others"')[0], "undo")
    house.send(undo)
    assert house.recorded() == 0
    assert "brush the pane" in house.page().partition('id="done"')[0]


def test_notes_of_many_at_once(house: House) -> None:
    form = house.tick()
    notes = [f"note number {n}" for n in range(5)]
    assert set(at_once([lambda n=n: house.send(form, note=n) for n in notes])) == {303}  # type: ignore[misc]
    ((_, _, note),) = standing(house)
    assert sorted(note.split(" | ")) == notes


def test_a_note_to_what_was_recorded_for_yesterday(house: House) -> None:
    form = house.tick()
    pondround(
        house.file.parent, "did", house.file.name, "sedge", "pane",
        "--on", "2026-12-13", "--by", "Noor", "--today", TODAY,
    )  # fmt: skip
    for each in (form, house.tick()):
        assert house.send(each, on="yesterday", note="swollen eye").status == 303
        assert standing(house) == [("2026-12-13", "noor", "Sam: swollen eye")]


def test_yesterday_is_recorded_also_where_somebody_recorded_today(house: House) -> None:
    form = house.tick()
    assert house.send(form).status == 303
    assert house.send(form, on="yesterday", note="late").status == 303
    assert standing(house) == [(TODAY, "sam", ""), ("2026-12-13", "sam", "late")]


def test_a_note_to_what_was_taken_back(house: House) -> None:
    """There is nothing with which it could be kept: that is said, with the note, and nothing is recorded."""
    form = house.tick()
    house.send(form)
    (undo,) = forms(house.page(), "undo")
    house.send(undo)
    answer = house.send(form, note="<b>swollen</b> eye")
    assert answer.status == 409
    assert "Nothing was recorded, and your note neither" in answer.text
    assert "Your note was not recorded: “<bdi>&lt;b&gt;swollen&lt;/b&gt; eye</bdi>”" in answer.text
    assert house.recorded() == 0
    # Without a note there is nothing to lose.
    assert "taken back since the page was made" in followed(house, house.send(form))


def test_a_note_of_another_day_and_one_that_is_refused(still: House) -> None:
    form = still.tick()
    old = {"day": "2026-12-13", "seal": seal(still, still.sam, "2026-12-13", form.fields["seen"])}
    for changed, status in ((old, 409), ({"key": "no-such-job"}, 422)):
        answer = still.send(form, **changed, note="swollen eye")
        assert answer.status == status
        assert "Your note was not recorded: “<bdi>swollen eye</bdi>”" in answer.text
    assert still.entries() == []


def test_yesterday(house: House) -> None:
    assert house.send(house.tick(), on="yesterday").status == 303
    (entry,) = house.entries()
    assert str(entry.day) == "2026-12-13"
    # Nothing else is a day of the page's: it counts as today.
    assert house.send(house.tick("daily-look"), on="2020-01-01").status == 303
    assert [str(e.day) for e in house.entries() if e.name == "daily-look"] == [TODAY]


@pytest.mark.parametrize(
    "body", [b"", b"&&&", b"a", b"%", b"a=%ff", b"\xff\xfe=1", b"a=1&" * 30 + b"b=2", b"a=1;b=2"]
)
def test_what_is_no_form(still: House, body: bytes) -> None:
    fields = {"Content-Type": "application/x-www-form-urlencoded"}
    for part in ("done", "readings", "note", "catch-up", "hand-over"):
        answer = ask(still.url, f"{page_path(still.sam)}/{part}", "POST", body, fields)
        assert answer.status == 400
    assert still.entries() == []


def undo_form(house: House, number: str) -> Form:
    """Return a form with the page's own seal that takes back an entry of any number."""
    fields = next(form.fields for form in forms(house.page(), "reading") if "seal" in form.fields)
    sealed = {name: fields[name] for name in ("day", "seen", "seal")}
    return Form(f"{page_path(house.sam)}/undo", {**sealed, "entry": number})


def test_what_may_be_taken_back(house: House, houses: dict[str, House]) -> None:
    """What stands on the page: recorded for today or yesterday, also by somebody else."""
    house.send(house.tick("daily-look"))
    old, by_noor = (
        ("rush", "daily-look", "--on", "2026-12-11", "--by", "Sam"),
        ("rush", "daily-look", "--on", "2026-12-13", "--by", "Noor"),
    )
    for words, day in ((old, "2026-12-11"), (by_noor, TODAY)):
        pondround(house.file.parent, "did", house.file.name, *words, "--today", day)
    look, older, hers = house.entries()
    for number, status in (
        (str(older.number), 422),
        ("999999", 422),
        ("0", 422),
        ("-1", 400),
        ("", 400),
        ("1" * 16, 400),
        ("9" * 15, 422),
        ("²", 400),
        ("٩٩٩٩", 422),
        ("1 OR 1=1", 400),
    ):
        assert house.send(undo_form(house, number)).status == status, number
    assert not any(e.voided for e in house.entries())
    # An entry of another site is none of this one's, whatever its number.
    other = houses["hostile"]
    assert other.send(undo_form(other, str(look.number))).status == 422
    # What somebody else recorded is asked about first: who, what and when.
    asked = house.send(undo_form(house, str(hers.number)))
    assert asked.status == 409
    assert "<bdi>Rush</bdi>: <bdi>daily look</bdi>" in asked.text
    assert "by <bdi>Noor</bdi> for Sunday 13 December 2026" in asked.text
    assert not any(e.voided for e in house.entries())
    (anyway,) = forms(asked.text, "undo")
    assert house.send(anyway).status == 303
    for entry in (hers, look):
        assert house.send(undo_form(house, str(entry.number))).status == 303
        # Once more changes nothing; and what takes back is not taken back itself.
        assert house.send(undo_form(house, str(entry.number))).status == 303
    everything = house.entries()
    assert [e.number for e in everything if e.voided] == [look.number, hers.number]
    taking = [e for e in everything if e.kind == "void"]
    assert len(taking) == 2 and {e.keeper for e in taking} == {"sam"}
    assert house.send(undo_form(house, str(taking[0].number))).status == 422
