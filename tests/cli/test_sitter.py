"""`pondround rota --sitter`: a sheet for whoever comes while the keepers are away."""

from __future__ import annotations

import datetime as dt
import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from icalendar import Calendar
from support.rota.shared_out import ALDER, COMB, MONDAY, TWO, alder, conversation, due, found, ok, run, stand

__all__ = ["alder"]


GONE = ALDER.replace(
    'can = ["adult", "lifting"]', 'can = ["adult", "lifting"]\naway = ["2026-12-09/2026-12-14"]'
).replace('can = ["adult"]\n[[', 'can = ["adult"]\naway = ["2026-12-10/2026-12-13"]\n[[').replace(
    'away = ["2026-12-12/2026-12-14"]', 'away = ["2026-12-09/2026-12-13"]'
).replace('can = ["lifting"]\n\n', 'can = ["lifting"]\naway = ["2026-12-10/2026-12-20"]\n\n')  # fmt: skip


def test_a_sitters_sheet_as_it_reads(alder: Path, golden: Callable[[str, str], None]) -> None:
    golden(
        "rota-sitter.txt",
        conversation(
            "2026-12-07 rota --sitter Pia --span 2026-12-09/2026-12-13",
            "2026-12-07 rota --sitter 'Pia Holt' --span 2026-12-08",
        ),
    )


def test_the_sitters_span_is_when_all_are_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Noor 9 to 14, Ben 10 to 13, Ines 9 to 13, Olu 10 to 20: together 10 to 13 December."""
    stand(tmp_path, GONE, monkeypatch)
    made = found("rota --sitter Pia --weeks 2", code=1)
    assert (made["sitter"], made["first"], made["last"]) == ("Pia", "2026-12-10", "2026-12-13")
    assert {row["date"] for row in made["rounds"]} <= {"2026-12-10", "2026-12-11", "2026-12-12", "2026-12-13"}
    # Before and after keep to the days on which somebody is there who can.
    for row in (*made["before"], *made["after"]):
        assert not "2026-12-10" <= row["date"] <= "2026-12-13"
        assert (row["job"], row["date"]) != ("pump", "2026-12-09")


WAITING = [
    # who is there when, and where the comb of 9 December (within a day of it) goes while all are away on the 9th
    ("the day before", "", "", "before 2026-12-08"),
    ("the day after", 'away = ["2026-12-07/2026-12-08"]', "", "after 2026-12-10"),
    ("nobody comes on either day", 'weekdays = ["Mon", "Sat"]', "", "rounds 2026-12-09"),
    ("away on both", 'away = ["2026-12-08/2026-12-10"]', "", "rounds 2026-12-09"),
    ("the skilled one is there the day after", 'can = ["lifting"]\nweekdays = ["Thu"]', '"lifting"', "after 2026-12-10"),
    ("the skilled one is away", 'can = ["lifting"]\naway = ["2026-12-08/2026-12-10"]', '"lifting"', "cannot"),
]  # fmt: skip


@pytest.mark.parametrize(("_", "noor", "asks", "where"), WAITING, ids=[row[0] for row in WAITING])
def test_what_waits_goes_to_a_day_on_which_somebody_can(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, _: str, noor: str, asks: str, where: str
) -> None:
    ben = "can = []" if asks else noor
    comb = COMB.replace("can = []", f'can = [{asks}], window = "1 day"')
    stand(tmp_path, TWO.format(noor, ben) + comb, monkeypatch)
    _code, out, _err = run("rota --sitter Pia --span 2026-12-09 --format json")
    made = json.loads(out)
    told = [f"{name} {row['date']}" for name in ("rounds", "before", "after") for row in made[name]]
    assert told + ["cannot"] * len(made["cannot"]) == [where]


def test_who_has_no_keepers_listed_can_have_a_sitter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Then everything is the owner's, who is there on all days but those of the span."""
    comb = COMB.replace("can = []", 'window = "2 days"')
    stand(tmp_path, '[site]\nname = "Two"\n' + comb, monkeypatch)
    made = found("rota --sitter Pia --span 2026-12-08/2026-12-10")
    assert [row["date"] for row in made["before"]] == ["2026-12-07"]
    made = found("rota --sitter Pia --span 2026-12-07/2026-12-11")
    assert [row["date"] for row in made["rounds"]] == ["2026-12-09"]


CALLED = """
[[site.contact]]
name = "Dr. Osei"
phone = "01632 960117"
for = "vet"
[[site.contact]]
name = "Maud"
phone = "01632 960118"
for = ["authority", "coordinator"]
"""


def test_a_sitters_sheet_has_the_numbers_of_the_description(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand(tmp_path, '[site]\nname = "Two"\n' + CALLED + COMB, monkeypatch)
    _code, out, _err = run("rota --sitter Pia --span 2026-12-09")
    assert [line for line in out.splitlines() if line.startswith("  - ")][:3] == [
        "  - Dr. Osei, 01632 960117: vet.",
        "  - Maud, 01632 960118: coordinator and authority.",
        "  - Leave your number, and that of somebody who can come.",
    ]
    assert found("rota --sitter Pia --span 2026-12-09")["contacts"] == [
        {"name": "Dr. Osei", "phone": "01632 960117", "for": ["vet"]},
        {"name": "Maud", "phone": "01632 960118", "for": ["coordinator", "authority"]},
    ]


SPANS = [
    "2026-12-09/2026-12-13",
    "2026-12-07",
    "2026-12-08/2026-12-08",
    "2026-12-12/2026-12-27",
    "2026-12-31/2027-01-02",
]


@pytest.mark.parametrize("span", SPANS)
def test_each_occurrence_of_the_span_is_somewhere_once(alder: Path, span: str) -> None:
    first, _, last = span.partition("/")
    last = last or first
    _, out, _ = run("rota --format json --sitter Pia --span", span)
    made = json.loads(out)
    assert made.keys() == {"sitter", "first", "last", "rounds", "before", "after", "contacts", "cannot"}
    assert (made["first"], made["last"]) == (first, last)
    sat = [(r["date"], job) for r in made["rounds"] for job in r["jobs"]]
    everything = [*(job for _, job in sat), *made["before"], *made["after"], *made["cannot"]]
    days = (dt.date.fromisoformat(last) - dt.date.fromisoformat(first)).days + 1
    expected = Counter((line["enclosure"], line["job"], line["date"]) for line in due(first, days))
    assert Counter((j["enclosure"], j["job"], j["due"]) for j in everything) == expected
    for r in made["rounds"]:
        assert r["minutes"] == sum(job["minutes"] for job in r["jobs"])
    # The sitter does on its day what asks for nobody special and has no day outside; the others keep to their windows.
    assert all(date == job["due"] and job["job"] == "brush" for date, job in sat)
    window = {"look": 0, "brush": 1, "pump": 2}
    for row in made["before"]:
        assert MONDAY <= row["date"] < first
    for row in made["after"]:
        assert row["date"] > last
    for row in (*made["before"], *made["after"]):
        apart = dt.date.fromisoformat(row["date"]) - dt.date.fromisoformat(row["due"])
        assert abs(apart.days) <= window[row["job"]]
    assert all(row["job"] != "brush" and row["why"] for row in made["cannot"])


def test_the_sitters_calendar_is_the_sheet(alder: Path) -> None:
    code, out, err = run("rota --format json --sitter Pia --span 2026-12-09/2026-12-20 --to out")
    assert code == 1
    (file,) = Path("out").iterdir()
    assert f"out/{file.name}  " in err
    events = Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    assert [(str(e["DTSTART"].dt.date()), int(e["DURATION"].dt.total_seconds() // 60)) for e in events] == [
        (r["date"], r["minutes"]) for r in json.loads(out)["rounds"]
    ]
    before = file.read_bytes()
    run("rota --sitter Pia --span 2026-12-09/2026-12-20 --to out")
    assert file.read_bytes() == before


def test_a_sitter_named_like_a_keeper_leaves_the_keepers_calendar_alone(alder: Path) -> None:
    ok("export --to out")
    before = {file.name: file.read_bytes() for file in Path("out").iterdir()}
    run("rota --sitter Noor --span 2026-12-09 --to out")
    assert {name: Path("out", name).read_bytes() for name in before} == before
