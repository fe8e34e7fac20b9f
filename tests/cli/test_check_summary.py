"""`check` of many enclosures: one screen of what is alike, worst first, and nothing lost silently."""

from __future__ import annotations

import json
import os
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from support.commands import run_command
from support.samples import FOLDER
from typer.testing import CliRunner

from scheduler.cli.main import app

TODAY = ("--today", "2026-12-19")
RESCUE = FOLDER / "rescue.toml"


def check(file: Path, *args: str, columns: int = 80, rows: int = 24) -> tuple[int, str, str]:
    env = {"COLUMNS": str(columns), "LINES": str(rows)}
    done = CliRunner(env=env).invoke(app, ["check", str(file), *TODAY, *args])
    return done.exit_code, done.stdout, done.stderr


def verdicts(*args: str) -> Counter[str]:
    """Return how many findings of each verdict the rescue has, by its JSON."""
    found = json.loads(check(RESCUE, "--format", "json", *args)[1])
    return Counter(f["verdict"] for e in found["enclosures"] for f in e["findings"])


def counted(line: str) -> Counter[str]:
    """Return the counts of a line such as `1 to act on, 72 to look at, 653 fine`."""
    words = {"to act on": "act", "to look at": "look", "fine": "fine"}
    return Counter(
        {words[word]: int(n) for n, word in re.findall(r"(\d+) (to act on|to look at|fine)", line)}
    )


@pytest.mark.parametrize("columns", [80, 40])
def test_a_rescue_is_one_screen(columns: int, golden: Callable[[str, str], None]) -> None:
    code, out, err = check(RESCUE, columns=columns)
    assert (code, err) == (1, "")
    golden(f"check-rescue.{columns}.txt", out)
    lines = out.splitlines()
    assert len(lines) <= 23 and max(map(len, lines)) <= columns


def test_what_changes_in_a_rescue_is_one_screen(golden: Callable[[str, str], None]) -> None:
    code, out, err = check(RESCUE, "--what-if", "room_low=12 degC", "covered=true")
    assert (code, err) == (1, "")
    golden("check-rescue.what-if.txt", out)


def test_the_first_line_counts_what_the_json_has() -> None:
    everything = verdicts()
    assert set(everything) == {"act", "look", "fine"}
    for columns in (80, 40):
        out = check(RESCUE, columns=columns)[1]
        assert counted(" ".join(out.splitlines()[:2])) == everything
    assert counted(check(RESCUE, "--brief")[1].splitlines()[0]) == everything - Counter(
        fine=everything["fine"]
    )


def test_all_has_every_finding_with_every_name() -> None:
    code, out, err = check(RESCUE, "--all")
    assert (code, err) == (1, "")
    told = " ".join(out.split())
    found = json.loads(check(RESCUE, "--format", "json")[1])
    for enclosure in found["enclosures"]:
        for finding in enclosure["findings"]:
            assert " ".join(finding["text"].split()) in told
            assert finding["source"] in told
    assert counted(out.splitlines()[0]) == verdicts()
    # The figures follow, enclosure by enclosure.
    assert out.count("\n  gross volume ") == len(found["enclosures"]) == 24


def test_explain_is_whole_and_says_each_sum() -> None:
    out = check(RESCUE, "--explain")[1]
    assert "\n      200 cm x 100 cm x 50 cm of water = 1000 L" in out and "More: " not in out


def test_json_is_the_same_with_all() -> None:
    assert check(RESCUE, "--format", "json", "--all") == check(RESCUE, "--format", "json")


def test_one_enclosure_of_many_is_shown_as_one_alone() -> None:
    code, out, err = check(RESCUE, "--enclosure", "Jetty")
    assert (code, err) == (1, "Something to act on in 1 of 1: Jetty.\n")
    assert re.match(r"Jetty +1 to act on, 4 to look at\n  act   The area of water is 5000 cm²\.", out)
    assert "  filter turnover " in out


def test_in_a_pipe_each_finding_is_one_line_with_all_names() -> None:
    plain = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "LINES")}  # noqa: TID251
    found = run_command("check", RESCUE, *TODAY, env=plain).stdout.splitlines()
    assert [line.partition(":")[0] for line in found if "Jetty" in line] == [
        "  act   area of water under every code",
        "  look  a thermostat that sticks overheats the water",
        "  look  floor load on the spot, as of any tank",
        "  look  nitrate over the limit before a change",
        "  look  depth of water under some code",
    ]
    assert len(found) <= 23
    assert found[-1].endswith(" fine. --all shows them, --enclosure NAME one enclosure.")
    whole = run_command("check", RESCUE, *TODAY, "--all", "--brief", env=plain).stdout
    jetty = json.loads(check(RESCUE, "--enclosure", "Jetty", "--format", "json")[1])["enclosures"][0]
    for finding in jetty["findings"]:
        if finding["verdict"] != "fine":
            (line,) = [line for line in whole.splitlines() if finding["text"] in line]
            assert "Jetty" in line


def test_what_was_measured_comes_before_what_may_happen(tmp_path: Path) -> None:
    path = tmp_path / "rescue.toml"
    path.write_text(RESCUE.read_text("utf-8"), "utf-8")
    runner = CliRunner()
    for enclosure, reading in (("Quay", "ph=5.5"), ("Jetty", "ammonia=2 mg/L"), ("Wharf", "ammonia=2 mg/L")):
        told = runner.invoke(app, ["reading", str(path), enclosure, reading, "--on", "2026-12-18", *TODAY])
        assert told.exit_code == 0, told.stderr
    lines = [line for line in check(path)[1].splitlines() if line.startswith(("  act", "  look"))]
    assert lines[:2] == [
        "  act   the water is too acid: Quay",
        "  act   area of water under every code: Jetty",
    ]
    assert [line for line in lines if "look" in line][:2] == [
        "  look  an alarm of ammonia: Jetty and Wharf",
        "  look  no food until a test is clean: Jetty and Wharf",
    ]


def test_enclosures_of_one_name_are_told_apart_by_their_ids(tmp_path: Path) -> None:
    path = tmp_path / "ditch.toml"
    rush, reed = '[[enclosure]]\nname = "Rush"\n', '[[enclosure]]\nname = "Reed"\n'
    path.write_text(f'[site]\nname = "Ditch"\n{rush}{rush}id = "rush-2"\n{reed}', "utf-8")
    assert check(path)[1] == (
        "3 enclosures                                              27 to look at, 60 fine\n"
        "  look  figures that are not known; write length, width and water_depth: all 3\n"
        "  look  figures that are not known; write length and width: all 3\n"
        "\n"
        "More: 60 fine. --all shows them, --enclosure NAME one enclosure.\n"
    )
    path.write_text(path.read_text("utf-8") + 'length = "90 cm"\nwidth = "40 cm"\n', "utf-8")
    assert (
        "  look  figures that are not known; write length and width: Rush (rush) and Rush\n        (rush-2)\n"
    ) in check(path)[1]


def test_of_one_enclosure_with_more_than_a_screen_it_says_what_there_is(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    text = (FOLDER / "one-tank.toml").read_text("utf-8")
    path.write_text(text, "utf-8")
    whole = check(path)[1]
    assert "More: " not in whole and "  gross volume" in whole
    shown = check(path, rows=16)[1].splitlines()
    assert len(shown) <= 15
    assert re.fullmatch(r"Tejo +\d+ to look at, \d+ fine", shown[0])
    assert shown[-1].startswith("More: ") and "--enclosure" not in shown[-1]
    assert check(path, "--all", rows=16)[1] == whole
