"""`move`, `arrived`, `departed`, `set-up`, `retire`, `merge`, `rename`: conversations, refusals, and file and log."""

from __future__ import annotations

import fcntl
import json
import os
import resource
import signal
import stat
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from sqlalchemy.engine.default import DefaultDialect
from support import conversations
from support.conversations import conversation
from support.cut_short import MOST_STEPS, cut_short, fork
from support.depth import examples

from scheduler.errors import LogError
from scheduler.log import edits
from scheduler.workflow.editing import journal

TODAY = "2026-12-07"
"""A Monday."""

WEIR = """\
# Two tanks in one room.
[site]
name = "Weir"                      # the place
time_zone = "Europe/Dublin"
start = 2026-11-01

[[keeper]]
name = "Noor"
prefers = ["Sedge"]

[[keeper]]
name = "Ines"

# --- by the window ---

[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true

# Fern was found on a road.
[[enclosure.resident]]
name = "Fern"                      # answers to it
species = "painted turtle"
carapace = "12 cm"
mass = "300 g"
arrived = 2026-10-10

[[enclosure.resident]]
name = "Moss"
species = "painted turtle"
carapace = "13 cm"

[enclosure.feed]
grams = 3

# --- by the door ---

[[enclosure]]
name = "Reed"
set_up = 2026-10-03
cycled = true
"""

run = partial(conversations.run, today=TODAY)
ok = partial(conversations.ok, today=TODAY)
FILE = "enclosures.toml"


@pytest.fixture
def weir(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description, at a terminal of 80 columns, without a log."""
    (tmp_path / FILE).write_text(WEIR, "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return tmp_path


def text() -> str:
    return Path(FILE).read_bytes().decode()


def entries() -> list[dict[str, object]]:
    return [json.loads(line) for line in ok("history --format json").splitlines()]


def homes(day: str = TODAY) -> dict[str, str]:
    """Return where the animals live on a day, by their ids."""
    listed = json.loads(ok(f"residents --on {day} --format json"))
    return {one["resident"]: one["enclosure"] for one in listed["residents"]}


def jobs(enclosure: str) -> set[str]:
    listed = (json.loads(line) for line in ok("jobs --days 60 --format json").splitlines())
    return {one["job"] for one in listed if one["enclosure"] == enclosure}


def test_a_year_in_short(weir: Path, golden: Callable[[str, str], None]) -> None:
    """What a keeper reads of it, and the description at the end."""
    said = conversation(
        "2026-12-07 reading sedge weight.Fern='305 g' --by Noor",
        "2026-12-07 move fern reed --by noor --note 'Moss bites.' --dry-run",
        "2026-12-07 move fern reed --by noor --note 'Moss bites.'",
        "2026-12-08 move fern reed --by noor",
        "2026-12-09 reading reed weight.Fern='307 g' --by Ines",
        "2026-12-10 arrived reed Wren --species 'musk turtle' --carapace '8 cm' --quarantine --on 2026-12-12",
        "2026-12-11 departed moss --reason adopted --on yesterday --by Ines",
        "2026-12-11 residents",
        "2026-12-11 residents --on 2026-12-06",
        "2026-12-12 rename reed 'Reed bed'",
        "2026-12-13 retire sedge",
        "2026-12-13 retire 'reed bed'",
        "2026-12-14 set-up Quay --kind tub --length '120 cm' --width '60 cm' --height '50 cm' --water-depth '40 cm'",
        "2026-12-15 merge reed quay",
        "2026-12-16 did sedge daily-look --by Noor",
        "2026-12-16 move moss quay",
        "2026-12-16 history --resident fern",
        "2026-12-16 history --resident moss",
        "2026-12-16 history",
        "2026-12-16 undo",
    )
    golden("animals-come-and-go.txt", f"{said}\n$ cat {FILE}\n{text()}")


def test_taken_back_one_after_the_other_everything_is_as_it_was(weir: Path) -> None:
    plan = ok("jobs --days 90 --format json")
    lines = [
        "move fern reed",
        "arrived reed Wren --on 2026-12-20",
        "rename moss Bryony",
        "departed bryony --reason died",
        "merge sedge reed",
        "set-up Quay",
    ]
    states = [text()]
    for line in lines:
        ok(line)
        states.append(text())
        # The plan, the calendars and the rota can be made of each.
        assert ok("jobs --days 30") and ok("export --to out") and run("rota --weeks 1")[0] in (0, 1)
    assert len(set(states)) == len(states)
    for before in reversed(states[:-1]):
        ok("undo")
        assert text() == before
    assert run("undo")[2] == "there is nothing to take back: nothing is recorded yet\n"
    assert ok("jobs --days 90 --format json") == plan
    assert sorted(p.name for p in weir.iterdir()) == ["enclosures.db", "enclosures.toml", "out"]


def test_what_is_of_an_animal_goes_with_it(weir: Path) -> None:
    ok("reading sedge weight.Fern='300 g' --on 2026-12-01")
    assert "weigh-measure" not in jobs("reed")
    ok("move fern reed")
    ok("reading reed weight.Fern='230 g'")
    # Its weights are one record: 23 % less than six days ago is an alarm wherever it was weighed.
    told = json.loads(run("check --enclosure reed --format json")[1])
    (reed,) = told["enclosures"]
    assert any(f["verdict"] == "act" and "Fern" in f["text"] for f in reed["findings"])
    assert "weigh-measure" in jobs("reed") and "feed" in jobs("reed")
    own = [json.loads(line) for line in ok("history --resident fern --format json").splitlines()]
    assert [(one["date"], one["kind"]) for one in own] == [
        ("2026-12-01", "reading"),
        ("2026-12-07", "moved"),
        ("2026-12-07", "reading"),
    ]
    assert homes("2026-12-06") == {"fern": "sedge", "moss": "sedge"}
    assert homes() == {"fern": "reed", "moss": "sedge"}
    # Who left is in no plan, and can be asked about.
    ok("departed fern --reason adopted")
    assert "fern" not in homes() and homes("2026-12-06")["fern"] == "sedge"
    assert "feed" not in jobs("reed") and len(ok("history --resident fern").splitlines()) == 4
    assert run("reading reed weight.Fern='230 g'")[0] == 2
    assert "Fern" not in run("check")[1]


REFUSED = [
    # what is typed, what is said
    ("move fern sedge", "Fern lives in Sedge already"),
    ("move wren reed", 'there is no animal "wren"; there are: Fern, Moss'),
    ("move fern quay", 'there is no enclosure "quay"'),
    ("move fern reed --on 2026-12-08", "8 December 2026 is still to come: say it when it has happened"),
    ("move fern reed --on 2026-10-09", "Fern arrived on 10 October 2026, after 9 October 2026: mend --on"),
    ("move fern reed --by wren", 'there is no keeper "wren"'),
    ("move fern", "write the animal, and the enclosure"),
    ("arrived reed Wren --species dragon", "no species sheet for \"dragon\""),
    ("arrived reed Wren --carapace long", "enclosure[1].resident[0].carapace"),
    ("arrived reed Wren --on 2028-12-08", "8 December 2028 is more than a year away"),
    ("arrived reed Wren --on 2026-10-01", "before the enclosure was set up on 2026-10-03"),
    ("departed wren --reason died", 'there is no animal "wren"'),
    ("departed fern --reason died --on 2026-10-01", "Fern arrived on 10 October 2026, after 1 October 2026"),
    ("departed fern --reason died --on tomorrow", "8 December 2026 is still to come"),
    ("retire sedge", "Fern, Moss live there still; first: pondround move Fern ENCLOSURE"),
    ("merge sedge sedge", "an enclosure is not merged into itself"),
    ("set-up sedge", 'there is an enclosure "Sedge" already'),
    ("set-up Quay --width '3 m' --length '1 m'", "is larger than the length"),
    ("rename sedge Sedge", "Sedge is its name already"),
    ("rename quay Rush", "there is no keeper, enclosure or animal"),
    ("rename sedge reed", 'there is another enclosure called "reed"'),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "said"), REFUSED)
def test_what_makes_no_sense_changes_nothing(weir: Path, typed: str, said: str) -> None:
    code, out, err = run(typed)
    assert (code, out) == (2, "")
    assert said in " ".join(err.split())
    assert text() == WEIR
    assert [path.name for path in weir.iterdir()] == [FILE]


def test_nobody_moves_into_a_tank_that_is_retired_or_after_having_left(weir: Path) -> None:
    ok("retire reed")
    assert run("move fern reed")[2] == "Reed is retired since 7 December 2026\n"
    assert run("set-up Reed")[2].startswith('there is an enclosure "Reed" already, which is retired;')
    ok("departed moss --reason transferred")
    assert run("move moss sedge")[2] == "Moss left on 7 December 2026\n"
    assert run("departed moss --reason died")[2] == "Moss left on 7 December 2026\n"


def test_of_two_of_a_name_each_is_named_by_its_id(weir: Path) -> None:
    ok("arrived reed Fern --species 'painted turtle' --carapace '9 cm'")
    said = '"Fern" may be any animal of fern (Sedge), fern-2 (Reed); write its id\n'
    assert run("move Fern reed")[2] == run("history --resident Fern")[2] == said
    assert run("rename Fern Bracken")[2] == said.replace("animal", "resident")
    ok("move fern reed")
    ok("move fern-2 sedge")
    assert "from Sedge to Reed" in ok("history --resident fern")
    assert "from Reed to Sedge" in ok("history --resident fern-2")
    assert run("reading sedge weight.Moss='310 g'")[0] == 0
    ok("arrived sedge Moss --species 'painted turtle' --carapace '9 cm'")
    twice = '"Moss" may be any resident in Sedge of moss, moss-2; write its id\n'
    assert run("reading sedge weight.Moss='310 g'")[2] == twice
    assert "weight of Moss" in ok("reading sedge weight.moss-2='90 g'")
    ok("rename fern-2 Bracken")
    assert "from Sedge to Reed" in ok("history --resident Fern")


def test_a_chain_is_taken_back_from_its_end(weir: Path) -> None:
    ok("move fern reed")
    ok("departed fern --reason adopted")
    code, _, err = run("undo --entry 1")
    assert code == 2
    assert err == "entry 2 has changed it further since; take that back first: undo --entry 2\n"
    ok("undo --entry 2")
    ok("undo --entry 1")
    assert text() == WEIR
    assert ok("undo --entry 1") == "Reed: Fern, is taken back; that was said already, and nothing changes.\n"
    assert text() == WEIR


def test_what_somebody_wrote_since_stays(weir: Path) -> None:
    ok("move fern reed")
    Path(FILE).write_text(text().replace('"13 cm"', '"14 cm"').replace("grams = 3", "grams = 2"))
    ok("undo")
    assert text() == WEIR.replace('"13 cm"', '"14 cm"').replace("grams = 3", "grams = 2")
    ok("move fern reed")
    Path(FILE).write_text(text().replace("here_since = 2026-12-07", "here_since = 2026-12-06"))
    kept = text()
    code, _, err = run("undo")
    assert code == 2 and "does not stand in the description as it was written any more" in err
    assert text() == kept


def test_an_import_is_a_record_and_changes_no_description(weir: Path) -> None:
    ok("move fern reed")
    Path("log.jsonl").write_text(ok("history --format json"))
    moved = text()
    Path(FILE).write_text(WEIR)
    Path("enclosures.db").unlink()
    ok("history --import log.jsonl")
    assert text() == WEIR
    assert "Fern moves from Sedge to Reed" in ok("history")
    code, out, err = run("undo")
    assert (code, out) == (0, "Reed: Fern, is taken back.\n")
    assert err == "the log does not know what it changed in the description, which stays as it is\n"
    assert moved != WEIR


# --- file and log ---


def test_a_description_changed_meanwhile_in_an_editor_is_left_as_it_is(
    weir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = journal._beside

    def slow(target: Path, new: str, suffix: str) -> object:
        Path(FILE).write_text(WEIR + "\n# from the editor\n")
        return real(target, new, suffix)

    monkeypatch.setattr(journal, "_beside", slow)
    code, _, err = run("move fern reed")
    assert code == 2 and "was changed meanwhile in another program" in err
    assert text() == WEIR + "\n# from the editor\n"
    assert entries() == []


def test_two_at_once_are_one_after_the_other(weir: Path) -> None:
    with Path(f".{FILE}.change").open("wb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        code, _, err = run("move fern reed")
        assert (code, err) == (2, f'"{FILE}" is being changed by somebody else; say it again\n')
        assert text() == WEIR
    # It is let go, and says nothing: whoever wrote it was killed before anything was done.
    ok("move fern reed")
    assert homes()["fern"] == "reed"


STEPS = (
    (DefaultDialect, "do_execute"), (DefaultDialect, "do_commit"), (sa.Engine, "dispose"), (Path, "replace"),
    (Path, "unlink"), (os, "fsync"), (fcntl, "flock"),
)  # fmt: skip
"""What a command asks of a database and of the files, before it says anything."""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("typed", "before"),
    [("move fern reed", ""), ("merge sedge reed", "did sedge daily-look"), ("undo", "move fern reed")],
)
def test_killed_anywhere_file_and_log_agree(weir: Path, typed: str, before: str) -> None:
    """Killed before its steps in turn: at the next command both say that it was done, or neither does."""
    said, step, outcomes = weir / "said", 0, set()
    if before:
        ok(before)
    for path in weir.iterdir():
        path.rename(path.with_name(f"kept-{path.name}"))
    while True:
        for path in weir.iterdir():
            if not path.name.startswith("kept-"):
                path.unlink()
        for path in list(weir.iterdir()):
            (weir / path.name.removeprefix("kept-")).write_bytes(path.read_bytes())
        old = text()
        stopped = cut_short([*typed.split(), "--today", TODAY], signal.SIGKILL, step, STEPS, said)
        recorded = {(e["kind"], e["name"]) for e in entries() if not e["voided"] and e["kind"] != "done"}
        where = {name: place for name, place in homes().items() if place == "reed"}
        assert where == {str(name): "reed" for kind, name in recorded if kind == "moved"}, step
        assert (old == text()) == (where == ({} if typed != "undo" else {"fern": "reed"})), step
        assert not list(weir.glob(".enclosures*")), step
        outcomes.add(old == text())
        assert stopped or old != text()
        if not stopped:
            break
        assert step < MOST_STEPS
        step += 1
    assert outcomes == {True, False}


def _with_little_room(line: str, size: int) -> None:
    # A module that is compiled meanwhile would be cut short too.
    sys.dont_write_bytecode = True
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    code, _, err = run(line)
    os._exit(0 if code == 1 and "was not changed: " in err else 9)


@pytest.mark.parametrize("times", [1, 2], ids=["its journal", "its text"])
def test_a_full_disk_leaves_both_as_they_were(weir: Path, times: int) -> None:
    """A description of 300 kB, which is once in its own file and twice in that of the change."""
    long = WEIR + "# written by hand\n" * 17_000
    Path(FILE).write_text(long)
    ok("did sedge daily-look")
    before = entries()
    process = fork.Process(target=_with_little_room, args=("move fern reed", len(long) * times - 1000))
    process.start()
    process.join(180)
    assert process.exitcode == 0
    assert text() == long and entries() == before
    assert not list(weir.glob(".enclosures*"))


@pytest.mark.parametrize("typed", ["move fern reed", "undo"])
def test_a_log_that_refuses_leaves_the_description_as_it_was(
    weir: Path, monkeypatch: pytest.MonkeyPatch, typed: str
) -> None:
    def refuses(*_: object, **__: object) -> None:
        raise LogError("the log cannot be written: the disk is full")

    if typed == "undo":
        ok("move fern reed")
    before = text()
    monkeypatch.setattr(edits, "take_back" if typed == "undo" else "record_edit", refuses)
    code, _, err = run(typed)
    assert (code, err) == (1, "the log cannot be written: the disk is full\n")
    assert text() == before and not list(weir.glob(".enclosures*"))


def test_the_file_keeps_its_rights_and_a_link_stays_a_link(weir: Path) -> None:
    real = weir / "real.toml"
    Path(FILE).rename(real)
    real.chmod(0o640)
    Path(FILE).symlink_to(real.name)
    ok("move fern reed")
    assert Path(FILE).is_symlink() and stat.S_IMODE(real.stat().st_mode) == 0o640
    assert homes()["fern"] == "reed"


def test_a_day_of_the_past_counts_from_there(weir: Path) -> None:
    ok("move fern reed --on friday")
    assert "here_since = 2026-12-04" in text()
    assert (homes("2026-12-03")["fern"], homes("2026-12-04")["fern"]) == ("sedge", "reed")
    ok("move fern sedge")
    ok("move fern reed")
    ok("move fern sedge")
    assert len([e for e in entries() if e["kind"] == "moved"]) == 4
    assert homes()["fern"] == "sedge" and homes("2026-12-06")["fern"] == "reed"


def test_what_is_told_as_json(weir: Path) -> None:
    told = json.loads(ok("move fern reed --dry-run --format json"))
    assert {one["kind"] for one in told["recorded"]} == {"moved"}
    assert {(m["enclosure"], m["job"]) for m in told["moved"] if m["from"] is None} >= {("reed", "feed")}
    assert told["minutes_a_week"]["after"] != told["minutes_a_week"]["before"]
    assert {f["enclosure"] for f in told["findings"]["new"]} <= {"sedge", "reed"}
    done = json.loads(ok("move fern reed --format json"))
    # The clock goes on between the two.
    assert [one.pop("recorded") for one in (*told["recorded"], *done["recorded"])]
    assert told == done


# --- anything at all ---

COMMANDS = ("move", "arrived", "departed", "residents", "set-up", "retire", "merge", "rename")
anything = st.lists(
    st.sampled_from([
        "fern", "moss", "Sedge", "reed", "Reed", "noor", "Wren", "--on", "2026-12-01", "yesterday", "--by", "ines", "--reason",
        "died", "--kind", "pond", "--length", "1 m", "--count", "3", "--quarantine", "--species", "musk turtle", "--note", "",
        "-", "--", ".", "a/b.toml", "enclosures.toml", "[[enclosure]]", '"""', "x = 1\n[site]", "\\", "x" * 300, "\u2066", "💧", "--dry-run",
    ])
    | st.text(st.characters(exclude_characters="\0"), max_size=10),
    max_size=7,
)  # fmt: skip


@settings(max_examples=examples(60), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(command=st.sampled_from(COMMANDS), words=anything)
@example(command="rename", words=["sedge", '"""\n[[enclosure]]'])
@example(command="arrived", words=["reed", "\ud800"])
@example(command="set-up", words=["'''"])
def test_whatever_is_typed_the_description_is_one(weir: Path, command: str, words: list[str]) -> None:
    """What was changed is taken back by `undo`, byte for byte; what was not is as it was."""
    Path(FILE).write_text(WEIR, "utf-8")
    for left in weir.glob("enclosures.db*"):
        left.unlink()
    code, out, _ = run(command, *words)
    assert code in (0, 1, 2) and (code == 0 or not out)
    assert run("check")[0] in (0, 1), "it is no description any more"
    if text() != WEIR:
        assert code == 0
        ok("undo")
    assert text() == WEIR
