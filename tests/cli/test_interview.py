"""`pondround new` on a terminal: the way back, help, what is kept when somebody stops; and the set-up writes the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from support.web.setting_up import TYPED, setting_up
from test_new import on_terminal

from scheduler.description.starter import starter_text
from scheduler.workflow import forget_answers, keep_answers, kept_answers, read_site

KEPT = ".tank.toml.answers"


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder, on a machine in Lisbon."""
    monkeypatch.chdir(tmp_path)
    for name, value in {"TZ": "Europe/Lisbon", "TERM": "dumb", "PYTHONUTF8": "1"}.items():
        monkeypatch.setenv(name, value)
    return tmp_path


def typed(*lines: str) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()


EVERYTHING = (
    *("Mill Lane", "Europe/Dublin", "Noor", "metric", "en-IE"),
    *("Sedge", "tank", "120 cm", "50 cm", "20 in", "40 cm", "yes", "2026-11-20"),
    *("canister", "2000 L/h", "200 W", "25 degC"),
    *("T5 HO tube", "39 W", "2026-11-20", "12", "heat", "60 W", "", ""),
    *("Fern", "pond slider", "14 cm", "2026-11-28", "yes", "Moss", "", "5 in", "", "no"),
    *("3", "40 %"),
)  # fmt: skip


def test_the_terminal_and_the_browser_write_the_same(place: Path) -> None:
    code, shown = on_terminal(["tank.toml"], typed(*EVERYTHING), place)
    assert code == 0, shown
    (place / "web").mkdir()
    with setting_up(place / "web", "tank.toml") as (_, visitor):
        visitor.walk("animals").send("more", **TYPED["animals"]).send(
            **{"animal-2": "Moss", "carapace-2": "5 in"}
        )
        visitor.send(**TYPED["food"])
        assert visitor.step == "phones", visitor.wrong
    assert (place / "web/tank.toml").read_bytes() == (place / "tank.toml").read_bytes()


def test_what_belongs_to_nothing_is_not_asked(place: Path) -> None:
    code, shown = on_terminal(["tank.toml"], b"\n" * 30, place)
    assert code == 0, shown
    for text in ("Flow of the filter", "Temperature it is set to", "Power of the lamp", "second lamp"):
        assert text not in shown
    assert (place / "tank.toml").read_text("utf-8") == starter_text({"time_zone": "Europe/Lisbon"})


def test_back_asks_the_last_question_again_with_what_was_answered(place: Path) -> None:
    lines = ["back", "Mill Lane", "", "Noor", "metric", "Back", "back", "", "us", *[""] * 30]
    code, shown = on_terminal(["tank.toml"], typed(*lines), place)
    assert code == 0, shown
    assert "  this is the first question\n" in shown
    assert "Units, metric or us [metric]: " in shown and "Your name [Noor]: " in shown
    site = read_site(place / "tank.toml")
    assert (site.settings.name, site.keepers[0].name, site.settings.units) == ("Mill Lane", "Noor", "us")


def test_a_question_says_what_it_is_for(place: Path) -> None:
    code, shown = on_terminal(["tank.toml"], typed("?", *[""] * 30), place)
    assert code == 0, shown
    assert "  It names the calendar: a house, a street, a classroom.\n" in shown


def test_litres_in_the_place_of_a_length_offer_the_sizes_of_a_common_tank(place: Path) -> None:
    lines = [*[""] * 7, "7 L", "240 L", "", "50 cm", "", "40 cm", *[""] * 30]
    code, shown = on_terminal(["tank.toml"], typed(*lines), place)
    assert code == 0, shown
    assert "  no common tank holds about so much; measure it, inside\n" in shown
    assert "  commonly 120 × 40 × 50 cm, 240 L to the rim: hold a tape against it" in shown
    (tank,) = read_site(place / "tank.toml").enclosures
    assert (tank.length, tank.width, tank.height, tank.water_depth) == (120, 50, 50, 40)


def test_one_more_animal_takes_a_yes_or_a_no(place: Path) -> None:
    lines = [*[""] * 16, "Fern", "", "", "", "perhaps", "YES", "Moss", "", "", "", "", "", ""]
    code, shown = on_terminal(["tank.toml"], typed(*lines), place)
    assert code == 0, shown
    assert '  write "yes" or "no"\n' in shown
    (tank,) = read_site(place / "tank.toml").enclosures
    assert [animal.name for animal in tank.resident] == ["Fern", "Moss"]


def test_what_was_answered_is_kept_after_a_stop_and_gone_on_from(place: Path) -> None:
    code, shown = on_terminal(["tank.toml"], typed("Mill Lane", "", "Noor", "us"), place, b"How dates")
    assert code == 1
    assert shown.endswith("What you answered is kept, and asked about when you begin again.\nAborted!\n")
    assert [file.name for file in place.iterdir()] == [KEPT]
    code, shown = on_terminal(["tank.toml"], typed("", "back", "metric", *[""] * 30), place)
    assert code == 0, shown
    assert "Go on from the answers of last time? [Y/n]: " in shown
    assert "Name of the place" not in shown and "Units, metric or us [us]: " in shown
    site = read_site(place / "tank.toml")
    assert (site.settings.name, site.settings.units) == ("Mill Lane", "metric")
    assert [file.name for file in place.iterdir()] == ["tank.toml"]


def test_who_begins_anew_is_asked_everything(place: Path) -> None:
    keep_answers(place / "tank.toml", {"name": "Mill Lane"})
    code, shown = on_terminal(["tank.toml"], typed("n", *[""] * 30), place)
    assert code == 0, shown
    assert read_site(place / "tank.toml").settings.name == "Home"
    assert not (place / KEPT).exists()


def test_a_kept_answer_that_does_not_fit_is_asked_again(place: Path) -> None:
    keep_answers(place / "tank.toml", {"name": "Mill Lane", "time_zone": "Mars/Base", "keeper": "Noor"})
    code, shown = on_terminal(["tank.toml"], typed("y", "Europe/Dublin", *[""] * 30), place)
    assert code == 0, shown
    assert "Time zone [Mars/Base]: " in shown and "Your name [Noor]: " in shown
    assert read_site(place / "tank.toml").settings.time_zone == "Europe/Dublin"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "3",
        '{"name": 3, "units": "' + "x" * 2000 + '"}',
        "[" * 100_000,
        '{"x": "' + "y" * 100_000 + '"}',
    ],
    ids=["nothing", "half", "a list", "a number", "other values", "deep", "large"],
)
def test_a_file_that_holds_no_answers_is_none(place: Path, text: str) -> None:
    (place / KEPT).write_text(text, "utf-8")
    assert kept_answers(place / "tank.toml") == {}


def test_answers_are_kept_whole_or_not_at_all(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = place / "tank.toml"
    assert keep_answers(file, {"name": "a\udce9"}) and kept_answers(file) == {"name": "a\udce9"}
    assert json.loads((place / KEPT).read_bytes()) == {"name": "a\udce9"}

    def fail(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", fail)
        assert not keep_answers(file, {"name": "b"})
    assert kept_answers(file) == {"name": "a\udce9"}
    assert [one.name for one in place.iterdir()] == [KEPT]
    forget_answers(file)
    forget_answers(file)
    assert kept_answers(file) == {} and list(place.iterdir()) == []
