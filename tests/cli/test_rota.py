"""`pondround rota`: whole outputs, the documented JSON, CSV for spreadsheets, the sitter's sheet, and what is refused."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
import shlex
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from os import environ  # noqa: TID251 - children get a seed for their hashes
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from typer.testing import CliRunner

from scheduler.care import KEYS
from scheduler.cli.main import app
from scheduler.sheets.terminal import cells

MONDAY = "2026-12-07"
DAY = dt.timedelta(days=1)


def bare(text: str) -> str:
    """Turn off every job that the care rules bring: what is left can be counted by hand."""
    off = ", ".join(f"{key} = {{off = true}}" for key in KEYS)
    return text.replace("[[enclosure]]\n", f"[[enclosure]]\njob = {{{off}}}\n")


ALDER = bare("""
[site]
name = "Alder Row"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
minutes = 60
can = ["adult", "lifting"]
[[keeper]]
name = "Ben Ash"
weekdays = ["Mon", "Wed", "Fri", "Sat"]
minutes = 45
can = ["adult"]
[[keeper]]
name = "Ines"
minutes = 40
share = 0.5
can = []
away = ["2026-12-12/2026-12-14"]
[[keeper]]
name = "Olu"
weekdays = ["Sat", "Sun"]
minutes = 90
can = ["lifting"]

[[enclosure]]
name = "Sedge"
room = "hall"
extra_job = [
  {key = "brush", title = "brush the pane", every = "2 days", window = "1 day"},
  {key = "pump", title = "rinse the pump", rule = "FREQ=WEEKLY;BYDAY=WE", window = "2 days", minutes = 25, can = ["lifting"]},
]
[[enclosure]]
name = "Reed"
room = "porch"
extra_job = [{key = "brush", title = "brush the pane", every = "3 days", window = "1 day"}]
[[enclosure]]
name = "Landing"
room = "back room"
resident = [{name = "Fern", species = "painted turtle", arrived = 2026-11-20, quarantine = true}]
extra_job = [{key = "look", title = "look and listen", every = "2 days", minutes = 15, part = "evening", can = ["adult"]}]
""")


def stand(folder: Path, text: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description, at a terminal of 80 columns, without a log."""
    (folder / "enclosures.toml").write_text(text, "utf-8")
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return folder


@pytest.fixture
def alder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return stand(tmp_path, ALDER, monkeypatch)


def run(line: str, *more: str, today: str = MONDAY) -> tuple[int, str, str]:
    """Return exit code, standard output and standard error of a line as one types it; a traceback is no answer."""
    words = [*shlex.split(line), *more, "--today", today]
    result = CliRunner().invoke(app, words)
    assert result.exception is None or isinstance(result.exception, SystemExit), (words, result.exception)
    assert "Traceback" not in result.output
    return result.exit_code, result.stdout, result.stderr


def ok(line: str, *more: str, today: str = MONDAY) -> str:
    code, out, err = run(line, *more, today=today)
    assert code == 0, err
    return out


def found(line: str, *more: str, code: int = 0, today: str = MONDAY) -> dict[str, Any]:
    """Return the one JSON object that a line prints."""
    given, out, err = run(line, *more, "--format", "json", today=today)
    assert given == code, err
    assert out.count("\n") == 1
    parsed: dict[str, Any] = json.loads(out)
    return parsed


def conversation(*lines: str) -> str:
    """Return what stands on the screen after some commands: what is typed, what is said, and the code if it is not 0."""
    shown = []
    for line in lines:
        today, _, typed = line.partition(" ")
        code, out, err = run(typed, today=today)
        assert all(cells(one) <= 80 for one in out.splitlines()), out
        shown.append(f"{today} $ pondround {typed}\n{out}{err}" + (f"[exit {code}]\n" if code else ""))
    return "\n".join(shown)


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


TWO = '[site]\nname = "Two"\n[[keeper]]\nname = "Noor"\n{}\n[[keeper]]\nname = "Ben"\n{}\n'
COMB = bare(
    '[[enclosure]]\nname = "Sedge"\nextra_job = [{key = "comb", title = "comb the moss", on = [2026-12-09], minutes = 30, can = []}]\n'
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


def due(first: str, days: int) -> list[dict[str, Any]]:
    """Return what `jobs` lists of a span: its enclosures by their names' ids."""
    out = ok(f"jobs --from {first} --days {days} --format json")
    lines = [json.loads(line) for line in out.splitlines()]
    return [line for line in lines if line["state"] != "done"]


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


# --- the same again ---


def test_published_twice_it_is_the_same_to_the_byte(alder: Path) -> None:
    for form in ("table", "csv", "json"):
        first = ok(f"rota --weeks 2 --publish --format {form}")
        again = [
            ok(f"rota --weeks 2 {publish} --format {form}") for publish in ("--publish", "", "--publish")
        ]
        assert len(set(again)) == 1
        if form == "table":
            assert again[0].endswith("Nothing differs from the rota published on 7 December 2026.\n")
            assert again[0].startswith(first)
        else:
            assert again[0] == first


@pytest.mark.parametrize("zone", ["Etc/GMT+12", "Etc/GMT-14"])
def test_the_day_of_publishing_is_that_of_the_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    """At every hour it is another day than in UTC in one of these zones; the log keeps UTC."""
    stand(tmp_path, ALDER.replace("Europe/Dublin", zone), monkeypatch)
    ok("rota --weeks 1 --publish")
    assert ok("rota --weeks 1").endswith("Nothing differs from the rota published on 7 December 2026.\n")


def test_seeds_of_hashes_change_nothing_and_data_stand_alone(alder: Path) -> None:
    """In processes of their own: a solver that greets would be seen on their standard output, whoever writes there."""
    made = []
    for seed in ("0", "1", "4711"):
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "scheduler",
                "rota",
                "--weeks",
                "2",
                "--format",
                "json",
                "--today",
                MONDAY,
            ],
            capture_output=True,
            timeout=60,
            check=False,
            env={**environ, "PYTHONHASHSEED": seed},
        )
        assert (done.returncode, done.stderr) == (0, b"")
        assert json.loads(done.stdout)["unfilled"] == []
        assert done.stdout.count(b"\n") == 1
        made.append(done.stdout)
    assert made[0] == made[1] == made[2]
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", "rota", "--weeks", "2", "--format", "csv", "--today", MONDAY],
        capture_output=True,
        timeout=60,
        check=True,
    )
    assert done.stderr == b""
    lines = done.stdout.split(b"\r\n")
    assert lines[0].startswith(b"date,weekday,keeper,") and lines[-1] == b""
    assert b"\n" not in b"".join(lines) and b"\r" not in b"".join(lines)


# --- little changes ---


def taken(made: dict[str, Any]) -> dict[tuple[str, ...], tuple[str, str]]:
    """Return day and keeper by enclosure, job, variant and due day."""
    return {
        (j["enclosure"], j["job"], j["variant"], j["due"]): (r["date"], r["keeper"])
        for r in made["rounds"]
        for j in r["jobs"]
    }


@pytest.mark.parametrize("keeper", ["Ben Ash", "Ines", "Noor"])
def test_somebody_ill_today_moves_little_else(alder: Path, keeper: str) -> None:
    """At most what the ill keeper had that day, and 5 % of all."""
    before = found("rota --weeks 4 --publish")
    for day in (MONDAY, "2026-12-09", "2026-12-11"):
        held = found("rota --weeks 3", today=day)
        made = found("rota --weeks 3", "--ill", keeper, today=day)
        was, now = taken(held), taken(made)
        own = {name for name, slot in was.items() if slot == (day, keeper)}
        moved = {name for name in was if now.get(name) != was[name]}
        assert own <= moved
        assert len(moved) <= len(own) + 0.05 * len(was)
        assert (day, keeper) not in now.values()
        # And what is told of it is just that.
        assert {(c["enclosure"], c["job"], c["variant"], c["due"]) for c in made["changes"]} >= moved
        for c in made["changes"]:
            assert c["before"] != c["now"]
    assert before["changes"] == []


def test_afresh_forgets_what_was_published(alder: Path) -> None:
    fresh = taken(found("rota --weeks 2"))
    code, _, _ = run("rota --weeks 2 --publish --ill ben=2026-12-07/2026-12-18")
    assert code in (0, 1)
    held = taken(found("rota --weeks 2"))
    assert held != fresh
    again = found("rota --weeks 2 --afresh")
    assert taken(again) == fresh
    assert {tuple(c["now"].values()) for c in again["changes"] if c["now"]} <= set(fresh.values())
    assert len(again["changes"]) == sum(fresh[name] != held.get(name) for name in fresh)


def test_nothing_is_written_without_publish(alder: Path) -> None:
    for line in ("rota", "rota --keeper noor", "rota --ill noor", "rota --sitter Pia --span 2026-12-09"):
        run(line)
    assert [path.name for path in alder.iterdir()] == ["enclosures.toml"]


def test_what_was_published_shows_in_jobs(alder: Path) -> None:
    made = found("rota --weeks 1 --publish")
    keepers = {(*name[:2], name[3]): keeper for name, (_, keeper) in taken(made).items()}
    ids = {"Ben Ash": "ben-ash", "Ines": "ines", "Noor": "noor", "Olu": "olu"}
    lines = due(MONDAY, 7)
    assert lines
    for line in lines:
        keeper = keepers[line["enclosure"], line["job"], line["date"]]
        assert line["keeper"] in (keeper, ids[keeper])


# --- a sitter ---

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


# --- what is refused ---

REFUSED = [
    ("--ill zoe", 'there is no keeper "zoe"; there are: Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu'),
    ("--ill nor", 'there is no keeper "nor"; nearest: Noor'),
    ("--ill ''", '"" may mean any keeper of Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu; write more of it'),
    ("--ill noor=soon", '"soon" is not a date; write it as 2026-12-01'),
    ("--ill noor=2026-02-30", '"2026-02-30" is not a date; write it as 2026-12-01'),
    ("--ill noor=2026-12-09/2026-12-08", '"2026-12-09/2026-12-08" ends before it begins; write the earlier day first'),
    ("--ill noor=1066-12-09", '"1066-12-09" is not believable; expected 1950-01-01 to 2199-12-31'),
    ("--from 2026-12-06", "--from 2026-12-06 is over; a rota begins on 2026-12-07 or later"),
    ("--from now", '"now" is not a date; write it as 2026-12-01'),
    ("--keeper zoe", 'there is no keeper "zoe"; there are: Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu'),
    ("--sitter Pia", "in the 4 weeks from 2026-12-07 there is no day on which all keepers are away; "
     "write the days: --span 2026-12-20/2026-12-28"),
    ("--sitter Pia --span 2026-12-06/2026-12-09", "the span begins on 2026-12-06, before 2026-12-07"),
    ("--sitter Pia --span 2026-12-09/2027-04-08", "the span is longer than 120 days; write [[keeper]] for whoever cares that long"),
    ("--sitter Pia --span 2026-12-09/2026-12-08", '"2026-12-09/2026-12-08" ends before it begins; write the earlier day first'),
    ("--sitter Pia --span all", '"all" is not a date; write it as 2026-12-01'),
    ("--sitter Pia --span 2026-12-09 --format csv", "--sitter prints a table or JSON"),
]  # fmt: skip


@pytest.mark.parametrize(("options", "said"), REFUSED, ids=[row[0] for row in REFUSED])
def test_what_is_refused_says_why(alder: Path, options: str, said: str) -> None:
    publish = "" if "--sitter" in options else "--publish"
    assert run(f"rota {options} {publish}") == (2, "", said + "\n")
    assert [path.name for path in alder.iterdir()] == ["enclosures.toml"]


@pytest.mark.parametrize(
    "options", ["--weeks 0", "--weeks 27", "--weeks some", "--seconds 0", "--format odt"]
)
def test_options_that_are_none(alder: Path, options: str) -> None:
    code, out, err = run(f"rota {options}")
    assert (code, out) == (2, "")
    assert f"Invalid value for '{options.split(maxsplit=1)[0]}'" in err


@pytest.mark.parametrize("name", ["", " ", "a\nb", "a\x1b[2J", "x" * 5000])
def test_a_sitters_name_that_is_none(alder: Path, name: str) -> None:
    code, out, err = run("rota --span 2026-12-09 --to out --sitter", name)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and "\x1b" not in err and "\u202e" not in err
    assert not Path("out").exists()


def test_what_turns_a_line_around_is_left_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """U+202E is no control character, and a terminal would write the rest of the line backwards (Unicode TR 36, 2.5)."""
    turned = "No\u202eor"
    text = f'[site]\nname = "Odd"\n[[keeper]]\nname = "{turned}"\nid = "odd"\n' + COMB.replace(
        "Sedge", turned
    )
    stand(tmp_path, text.replace("comb the moss", turned), monkeypatch)
    for line in (
        "rota --weeks 1 --publish",
        "rota --weeks 1 --keeper odd",
        "rota --weeks 1 --ill odd=2026-12-09",
        f"rota --sitter {turned}x --span 2026-12-09",
        f"swap enclosures.toml 2026-12-09 odd {turned}",
    ):
        _, out, err = run(line)
        assert out + err
        assert "\u202e" not in out + err, line


@pytest.mark.parametrize(
    "options",
    [
        "--span 2026-12-09",
        "--to out",
        "--sitter Pia --span 2026-12-09 --publish",
        "--sitter Pia --span 2026-12-09 --keeper noor",
    ],
)
def test_options_that_do_not_go_together_are_told(alder: Path, options: str) -> None:
    """Nothing that was asked for is passed over in silence."""
    code, out, err = run(f"rota --weeks 1 {options}")
    assert (code, out) == (2, "")
    assert err.startswith("--")


@pytest.mark.parametrize("form", ["csv", "json"])
def test_one_keepers_rounds_as_data(alder: Path, form: str) -> None:
    code, out, err = run(f"rota --weeks 1 --keeper noor --format {form}")
    if code == 2:
        assert (out, err.startswith("--keeper")) == ("", True)
        return
    assert "Noor" in out and "Ben Ash,Sedge" not in out
    if form == "json":
        assert {one["keeper"] for one in json.loads(out)["rounds"]} == {"Noor"}
    else:
        assert {row["keeper"] for row in csv.DictReader(io.StringIO(out, newline=""))} == {"Noor"}
