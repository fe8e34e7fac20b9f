"""`pondround rota` as it reads, and its rounds as JSON and CSV."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from support.rota.shared_out import (
    ALDER,
    COMB,
    MONDAY,
    TWO,
    alder,
    bare,
    conversation,
    due,
    found,
    ok,
    run,
    stand,
)

__all__ = ["alder"]


DAY = dt.timedelta(days=1)


# --- whole conversations ---


def test_a_rota_as_it_reads(alder: Path, golden: Callable[[str, str], None]) -> None:
    golden(
        "rota-table.txt",
        conversation(
            "2026-12-07 rota --weeks 2",
            "2026-12-07 rota --weeks 2 --keeper ben",
            "2026-12-10 rota --from 2026-12-12 --weeks 1",
        ),
    )


def test_a_published_rota_as_it_reads(alder: Path, golden: Callable[[str, str], None]) -> None:
    golden(
        "rota-published.txt",
        conversation(
            "2026-12-07 rota --weeks 2 --publish",
            "2026-12-07 rota --weeks 2",
            "2026-12-07 rota --weeks 2 --ill ben",
            "2026-12-07 rota --weeks 2 --ill ben=2026-12-09/2026-12-11 --ill ines=2026-12-10",
            "2026-12-09 rota --weeks 2 --keeper noor",
        ),
    )


UNFILLED = [
    # what the keepers say, what the job asks for, why nobody takes it, and what would mend it
    (('can = ["adult"]', 'can = ["lifting"]'), '"adult", "lifting"',
     'no single keeper lists all of "adult", "lifting"', "add it to can of {}, if that is so, or ask somebody from outside who is fit for it"),
    (('away = ["2026-12-08/2026-12-10"]', 'away = ["2026-12-09/2026-12-09"]'), "",
     "all who can do it are away ({} and {}), 9 December 2026", "somebody to stand in on 9 December 2026: `pondround rota --sitter NAME`"),
    (('weekdays = ["Mon"]', 'away = ["2026-12-09/2026-12-09"]'), "",
     "nobody who can do it comes ({} and {}), 9 December 2026", "Noor on Wednesday, 9 December 2026"),
    (("minutes = 20", "minutes = 25"), "",
     "the minutes of all who can do it and are there are used up ({} and {})", "5 more minutes of Ben on 9 December 2026"),
    (('can = ["adult"]\nminutes = 20', 'can = ["lifting"]'), '"adult"',
     "the minutes of all who can do it and are there are used up (Noor)", "10 more minutes of Noor on 9 December 2026"),
]  # fmt: skip


@pytest.mark.parametrize(("keepers", "asks", "why", "mend"), UNFILLED)
def test_what_nobody_takes_says_why_and_what_would_mend_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, keepers: tuple[str, str], asks: str, why: str, mend: str
) -> None:
    stand(tmp_path, TWO.format(*keepers) + COMB.replace("can = []", f"can = [{asks}]"), monkeypatch)
    (told,) = found("rota --weeks 1", code=1)["unfilled"]
    assert told.keys() == {"date", "enclosure", "job", "variant", "why", "mend"}
    assert (told["date"], told["enclosure"], told["job"]) == ("2026-12-09", "sedge", "comb")
    # In which order two are named does not matter.
    assert told["why"] in (why.format("Ben", "Noor"), why.format("Noor", "Ben"))
    assert told["mend"] in (mend.format("Ben"), mend.format("Noor"))
    code, out, err = run("rota --weeks 1")
    assert (code, err) == (1, "Nobody takes 1 job; see why, and what would mend it.\n")
    listed = " ".join(out.split("Nobody takes (1):")[1].split())
    assert listed == f"Wed 9 Dec Sedge: comb the moss, 30 min: {told['why']}. It would do: {told['mend']}."


def test_a_skill_that_no_keeper_lists(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the jobs that a description brings of itself: an own duty that asks for one is a mistake of the description."""
    away = "2026-12-01"
    text = TWO.format('can = ["lifting"]', "can = []") + bare(
        f'[[enclosure]]\nname = "Landing"\nresident = [{{name = "Fern", species = "painted turtle", arrived = {away}, quarantine = true}}]\n'
    ).replace("quarantine-watch = {off = true}, ", "")
    stand(tmp_path, text, monkeypatch)
    made = found("rota --weeks 1", code=1)
    assert [(u["date"], u["job"]) for u in made["unfilled"]] == [
        (str(dt.date.fromisoformat(MONDAY) + n * DAY), "quarantine-watch") for n in range(7)
    ]
    assert {u["why"] for u in made["unfilled"]} == {'no keeper lists "adult"'}
    assert made["rounds"] == []


def test_a_mended_rota_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is said to mend it does."""
    stand(tmp_path, TWO.format("minutes = 20", "minutes = 30") + COMB, monkeypatch)
    assert found("rota --weeks 1")["unfilled"] == []
    assert found("rota --weeks 1 --ill ben=2026-12-09", code=1)["unfilled"] != []


def test_without_keepers_it_says_what_to_write(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand(tmp_path, '[site]\nname = "Two"\n' + COMB, monkeypatch)
    for form in ("table", "csv", "json"):
        code, out, err = run(f"rota --format {form}")
        assert (code, out) == (2, "")
        assert "[[keeper]]" in err and err.count("\n") == 1


# --- JSON ---


KEYS_OF = {
    "": {"rounds", "unfilled", "alone", "loads", "fairness", "changes"},
    "rounds": {"date", "keeper", "minutes", "jobs", "helps"},
    "jobs": {"enclosure", "job", "variant", "minutes", "due", "quarantine", "helper"},
    "helps": {"enclosure", "job", "variant", "minutes", "due", "quarantine", "helper"},
    "alone": {"date", "keeper", "enclosure", "job", "variant", "minutes", "due", "quarantine", "helper"},
    "unfilled": {"date", "enclosure", "job", "variant", "why", "mend"},
    "fairness": {"objective", "bound", "gap", "jain", "gini", "spread"},
    "changes": {"enclosure", "job", "variant", "due", "before", "now"},
}


HEAVY = bare("""
[site]
name = "Heavy"
[[keeper]]
name = "Noor"
can = ["lifting"]
minutes = 40
[[keeper]]
name = "Ben"
can = ["lifting"]
weekdays = ["Mon"]
[[keeper]]
name = "Ines"
can = ["adult"]
weekdays = ["Tue"]
[[enclosure]]
name = "Sedge"
extra_job = [
  {key = "pails", title = "carry pails", on = [2026-12-07, 2026-12-09], minutes = 20, lift = "30 kg"},
  {key = "vet", title = "to the vet", on = [2026-12-08], can = ["adult", "lifting"]},
]
""")


def test_the_json_has_the_documented_keys_and_no_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand(tmp_path, HEAVY, monkeypatch)
    run("rota --weeks 1 --publish")
    again = found("rota --weeks 1", code=1)
    monday = next(one["keeper"] for one in again["rounds"] if one["jobs"])
    made = found("rota --weeks 1 --ill", monday, code=1)
    assert made.keys() == KEYS_OF[""]
    assert made["fairness"].keys() == KEYS_OF["fairness"]
    both = [made, again]
    tables = {
        name: [row for m in both for row in m[name]] for name in ("rounds", "unfilled", "alone", "changes")
    }
    tables |= {name: [row for r in tables["rounds"] for row in r[name]] for name in ("jobs", "helps")}
    for name, rows in tables.items():
        assert rows, f"nothing stands in {name}: the site has to bring it"
        assert all(row.keys() == KEYS_OF[name] for row in rows)
    # On Monday one of two carries and the other lends a hand; on Wednesday nobody can, and that is told.
    lent = [(h["helper"], r["keeper"], r["date"]) for r in again["rounds"] for h in r["helps"]]
    assert lent in ([("Noor", "Noor", MONDAY)], [("Ben", "Ben", MONDAY)])
    assert [(row["date"], row["keeper"]) for row in again["alone"]] == [("2026-12-09", "Noor")]
    assert again["loads"] == {"Ben": 20, "Ines": 0, "Noor": 40}
    slots = [slot for c in tables["changes"] for slot in (c["before"], c["now"]) if slot is not None]
    assert slots and all(slot.keys() == {"date", "keeper"} for slot in slots)


def test_the_sums_are_right(alder: Path) -> None:
    made = found("rota --weeks 2")
    assert made["unfilled"] == []
    loads = dict.fromkeys(["Ben Ash", "Ines", "Noor", "Olu"], 0)
    for one in made["rounds"]:
        assert one["minutes"] == sum(job["minutes"] for job in (*one["jobs"], *one["helps"]))
        loads[one["keeper"]] += one["minutes"]
    assert made["loads"] == loads
    # Every other day from Monday on, 7 of 15 min in quarantine; counted by hand: brushes of 10 min, pumps of 25 min.
    done = Counter((j["enclosure"], j["job"], j["due"]) for r in made["rounds"] for j in r["jobs"])
    assert set(done.values()) == {1}
    assert Counter((e, j) for e, j, _ in done) == Counter(
        (line["enclosure"], line["job"]) for line in due(MONDAY, 14)
    )
    by_date = [one["date"] for one in made["rounds"]]
    assert by_date == sorted(by_date)
    fair = made["fairness"]
    assert fair["bound"] <= fair["objective"]
    assert fair["gap"] == pytest.approx((fair["objective"] - fair["bound"]) / fair["objective"], abs=1e-5)
    # Jain, Chiu, Hawe 1984, DEC-TR-301: (sum x)^2 / (n sum x^2) of minutes over share; nothing is in the log.
    shares = {"Ben Ash": 1.0, "Ines": 0.5, "Noor": 1.0, "Olu": 1.0}
    x = [minutes / shares[name] for name, minutes in loads.items()]
    assert fair["jain"] == pytest.approx(sum(x) ** 2 / (len(x) * sum(v * v for v in x)), abs=1e-6)


def test_rules_hold_in_the_json(alder: Path) -> None:
    """Days, minutes, skills and quarantine, worked out from the text above."""
    most = {"Noor": 60, "Ben Ash": 45, "Ines": 40, "Olu": 90}
    days = {"Ben Ash": {0, 2, 4, 5}, "Olu": {5, 6}}
    can = {
        "Noor": {"look", "pump", "brush"},
        "Ben Ash": {"look", "brush"},
        "Ines": {"brush"},
        "Olu": {"pump", "brush"},
    }
    window = {"look": 0, "brush": 1, "pump": 2}
    for one in found("rota --weeks 4")["rounds"]:
        day, keeper = dt.date.fromisoformat(one["date"]), one["keeper"]
        assert one["minutes"] <= most[keeper]
        assert day.weekday() in days.get(keeper, range(7))
        assert not (keeper == "Ines" and "2026-12-12" <= one["date"] <= "2026-12-14")
        assert {job["job"] for job in one["jobs"]} <= can[keeper]
        for job in one["jobs"]:
            assert abs((dt.date.fromisoformat(job["due"]) - day).days) <= window[job["job"]]
            assert job["quarantine"] == (job["enclosure"] == "landing")
        sick = [job["quarantine"] for job in one["jobs"]]
        assert sick == sorted(sick)


def test_one_keeper_tends_quarantine_last_wherever_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody else is there: last in the round, though its room, its name and its part of the day would come first."""
    text = re.sub(r"\[\[keeper\]\]\nname = \"(?!Noor).*?(?=\n\[\[)", "", ALDER, flags=re.S)
    text = text.replace("back room", "attic").replace(', part = "evening"', "").replace("Landing", "Alcove")
    text = text.replace('name = "Noor"\n', 'name = "Noor"\nweekdays = ["Wed"]\n')
    stand(tmp_path, text, monkeypatch)
    # What falls on other days is left: exit code 1.
    made = json.loads(run("rota --weeks 2 --format json")[1])["rounds"]
    assert {one["keeper"] for one in made} == {"Noor"}
    mixed = [sick for one in made if len(set(sick := [job["quarantine"] for job in one["jobs"]])) == 2]
    assert mixed
    assert all(sick == sorted(sick) for sick in mixed)


# --- CSV ---


def test_csv_reads_back_as_the_rounds(alder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(ok("rota --weeks 2 --format csv"), newline="")))
    names = {"Sedge": "sedge", "Reed": "reed", "Landing": "landing"}
    read = [
        (r["date"], r["keeper"], names[r["enclosure"]], r["job"], r["due"], int(r["minutes"])) for r in rows
    ]
    made = found("rota --weeks 2")["rounds"]
    assert read == [
        (r["date"], r["keeper"], j["enclosure"], j["job"], j["due"], j["minutes"])
        for r in made
        for j in r["jobs"]
    ]
    assert all(r["weekday"] == f"{dt.date.fromisoformat(r['date']):%a}" for r in rows)
    assert {(r["room"], r["title"]) for r in rows} == {
        ("hall", "brush the pane"),
        ("hall", "rinse the pump"),
        ("porch", "brush the pane"),
        ("back room", "look and listen"),
    }


ODD = [
    # a name in the description, and as CSV has it: what a spreadsheet would run is text (RFC 4180, section 2.6 and 2.7 for quotes)
    ("=SUM(A1:A9)", "'=SUM(A1:A9)"),
    ("+1 Noor", "'+1 Noor"),
    ("-2", "'-2"),
    ("@noor", "'@noor"),
    ('Ben, "the other"', 'Ben, "the other"'),
    ("O'Brien", "O'Brien"),
    ("🐢 Ümit 山", "🐢 Ümit 山"),
    ("{keeper} %s \\n", "{keeper} %s \\n"),
    ("[bold]Noor[/bold]", "[bold]Noor[/bold]"),
    ("x" * 80, "x" * 80),
]


@pytest.mark.parametrize(("name", "shown"), ODD)
def test_odd_names_are_text_everywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, shown: str
) -> None:
    quoted = json.dumps(name, ensure_ascii=False)
    text = f'[site]\nname = "Odd"\n[[keeper]]\nname = {quoted}\nid = "odd"\n' + COMB
    stand(
        tmp_path,
        text.replace('"comb the moss"', quoted).replace('"Sedge"', f'{quoted}\nid = "odd"'),
        monkeypatch,
    )
    (row,) = csv.DictReader(io.StringIO(ok("rota --weeks 1 --format csv"), newline=""))
    assert (row["keeper"], row["enclosure"], row["title"]) == (shown,) * 3
    assert list(found("rota --weeks 1")["loads"]) == [name]
    said = conversation(
        "2026-12-07 rota --weeks 1 --publish",
        "2026-12-07 rota --weeks 1 --keeper odd",
        "2026-12-07 rota --weeks 1 --sitter Pia --span 2026-12-09",
    )
    assert name[:10] in said


@pytest.mark.parametrize("name", ["a\nb", "a\tb\x1b[2J", "\x00", "a\x7f", "a\ud800"])
def test_names_with_controls_are_refused_before_anything_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    quoted = '"' + "".join(f"\\u{ord(c):04x}" for c in name) + '"'
    text = f"[site]\nname = 'Odd'\n[[keeper]]\nname = {quoted}\n" + COMB
    stand(tmp_path, text, monkeypatch)
    code, out, err = run("rota --publish")
    assert (code, out) == (2, "")
    assert "1 problem. Nothing was written." in err
    assert name not in err
    assert [path.name for path in tmp_path.iterdir()] == ["enclosures.toml"]
