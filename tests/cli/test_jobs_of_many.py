"""`pondround jobs` of many enclosures: a day's same job is one line, a screen is not passed, and nothing is lost unsaid."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from support.commands import run_command
from support.samples import EVERY_SAMPLE, FOLDER
from typer.testing import CliRunner

from scheduler import workflow
from scheduler.cli.main import app

TODAY = "2026-12-19"
JOB = re.compile(r"^  \d\d:\d\d  ")


def jobs(sample: str, *args: str, columns: int = 80, rows: int = 24) -> list[str]:
    terminal = {"COLUMNS": str(columns), "LINES": str(rows)}
    file = FOLDER / f"{sample}.toml"
    done = CliRunner(env=terminal).invoke(app, ["jobs", str(file), "--today", TODAY, *args])
    assert (done.exit_code, done.stderr) == (0, ""), done.output
    return done.stdout.splitlines()


@pytest.mark.slow
@pytest.mark.parametrize("columns", [80, 40])
def test_a_rescue_on_a_screen(columns: int, golden: Callable[[str, str], None]) -> None:
    golden(f"jobs-of-a-rescue.{columns}.txt", "\n".join(jobs("rescue", columns=columns)) + "\n")


@pytest.mark.slow
@pytest.mark.parametrize("columns", [80, 40])
def test_a_day_of_a_rescue_is_whole_where_it_is_asked_for(
    columns: int, golden: Callable[[str, str], None]
) -> None:
    lines = jobs("rescue", "--days", "1", columns=columns)
    golden(f"jobs-of-a-rescue.day.{columns}.txt", "\n".join(lines) + "\n")


@pytest.mark.parametrize("sample", EVERY_SAMPLE)
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 24), (80, 12), (100, 50)])
def test_no_sample_passes_a_screen_and_the_last_line_counts_the_rest(
    sample: str, columns: int, rows: int
) -> None:
    lines = jobs(sample, columns=columns, rows=rows)
    # The prompt takes a line of the screen.
    assert len(lines) < rows and max(map(len, lines)) <= columns
    last = " ".join(lines[len(lines) - lines[::-1].index("") :])
    left = re.fullmatch(
        r"(\d+) more jobs until 1 January 2027: --all shows them, --days N those of N days\.", last
    )
    assert left is not None, last
    assert int(left[1]) > 0


@pytest.mark.parametrize("sample", EVERY_SAMPLE)
@pytest.mark.parametrize("rows", [12, 24, 60])
def test_what_is_shown_and_what_is_left_are_all_jobs(sample: str, rows: int) -> None:
    whole = len(enclosure_names(sample))
    shown, _, rest = "\n".join(jobs(sample, columns=40, rows=rows)).rpartition("\n\n")
    told = [line for line in re.sub(r"\n {11}", " ", shown).splitlines() if JOB.match(line)]
    counted = [how_many(line.rpartition(": ")[2], whole) for line in told] if whole > 2 else [1] * len(told)
    left = int(rest.partition(" more jobs")[0])
    assert sum(counted) + left == len(jobs(sample, "--format", "json"))


def how_many(names: str, whole: int) -> int:
    """Return of how many enclosures a line tells, as it says it."""
    if said := re.fullmatch(r"all (\d+)", names):
        return int(said[1])
    if names.startswith("all but "):
        return whole - len(names.split(" and "))
    more = re.search(r" and (\d+) more$", names)
    return len(re.split(", ", names)) + int(more[1]) if more else len(re.split(", | and ", names))


@pytest.mark.parametrize("sample", EVERY_SAMPLE)
def test_all_names_every_job_of_every_enclosure(sample: str) -> None:
    everything = [json.loads(line) for line in jobs(sample, "--format", "json")]
    # Narrow lines have no columns beside the names; each goes on below, further in.
    days = re.sub(r"\n {11}", " ", "\n".join(jobs(sample, "--all", columns=40))).split("\n\n")
    names = enclosure_names(sample)
    assert len(days) == 14
    for number, text in enumerate(days):
        day = (dt.date.fromisoformat(TODAY) + dt.timedelta(days=number)).isoformat()
        wanted = sorted(names[o["enclosure"]] for o in everything if o["date"] == day)
        told = [line for line in text.splitlines() if JOB.match(line)]
        if len(names) > 2:
            found = [name for line in told for name in re.split(", | and ", line.rpartition(": ")[2])]
            assert sorted(found) == wanted
        else:
            assert len(told) == len(wanted)


def enclosure_names(sample: str) -> dict[str, str]:
    return {e.id: e.name for e in workflow.read_site(FOLDER / f"{sample}.toml").enclosures}


ALIKE = """
[site]
name = "Weir Yard"
[[keeper]]
name = "Volunteer of the early shift, Monday to Thursday"
[[keeper]]
name = "Volunteer of the early shift, Friday to Sunday"
"""


SHED = "Quarantine shed, left wall, tank"


def yard(folder: Path, count: int, looked_at: Iterable[int] | None = None) -> Path:
    """Write a site of enclosures whose names differ at their ends alone, some of them with a daily look."""
    file = folder / "yard.toml"
    looks = range(1, count + 1) if looked_at is None else looked_at
    tanks = "".join(
        f'[[enclosure]]\nname = "{SHED} {n}"\nset_up = 2026-06-01\ncycled = true\n'
        + ("" if n in looks else "job.daily-look = {off = true}\n")
        for n in range(1, count + 1)
    )
    file.write_text(ALIKE + tanks, "utf-8")
    return file


def run(*args: object, columns: int, rows: int = 24) -> list[str]:
    done = CliRunner(env={"COLUMNS": str(columns), "LINES": str(rows)}).invoke(
        app, [str(arg) for arg in args]
    )
    assert done.exit_code == 0, done.output
    return done.stdout.splitlines()


def test_two_names_that_begin_alike_stay_apart_at_40_columns(tmp_path: Path) -> None:
    file = yard(tmp_path, 2)
    lines = run("jobs", file, "--today", TODAY, "--days", "1", "--job", "daily-look", columns=40)
    assert lines == [
        "Saturday 19 December 2026 2 jobs, 10 min",
        "  07:30  Quarantine  daily look    5 min",
        "         shed, left",
        "         wall, tank",
        "         1",
        "  07:30  Quarantine  daily look    5 min",
        "         shed, left",
        "         wall, tank",
        "         2",
        "",
    ]


def test_many_names_are_cut_to_a_few_and_it_says_what_names_all(
    tmp_path: Path, golden: Callable[[str, str], None]
) -> None:
    asked = ["jobs", yard(tmp_path, 30, looked_at=range(3, 9)), "--today", TODAY, "--job", "daily-look"]
    golden("jobs-of-a-yard.txt", "\n".join(run(*asked, columns=80, rows=100)) + "\n")
    # Somebody who asks for a day wants to do what stands there.
    golden("jobs-of-a-yard.day.txt", "\n".join(run(*asked, "--days", "1", columns=80)) + "\n")


def test_most_names_are_said_by_those_that_are_missing(tmp_path: Path) -> None:
    file = yard(tmp_path, 30, looked_at=[n for n in range(1, 31) if n != 7])
    lines = run("jobs", file, "--today", TODAY, "--job", "daily-look", columns=80)
    assert lines[1] == "  07:30  daily look: all but Quarantine shed, left wall, tank 7       2 h 25 min"


def test_in_a_pipe_a_job_is_one_line_with_all_that_belongs_to_it(tmp_path: Path) -> None:
    plain = {key: value for key, value in os.environ.items() if key != "COLUMNS"}  # noqa: TID251
    asked = ("--today", TODAY, "--days", "1", "--job", "wipe-down")
    done = run_command("jobs", yard(tmp_path, 9), *asked, env=plain)
    assert done.stdout == (
        "Saturday 19 December 2026                                         3 jobs, 30 min\n"
        f"  07:30  wipe down: {SHED} 3, {SHED} 5 and {SHED} 9      30 min\n\n"
    )


def test_a_date_of_one_is_not_told_of_all(tmp_path: Path, golden: Callable[[str, str], None]) -> None:
    file = yard(tmp_path, 6)
    for number, day in ((1, "2026-11-01"), (2, "2026-11-20"), (3, TODAY), (4, "2026-11-20")):
        words = ("did", file, f"{SHED} {number}", "wipe-down", "--on", day, "--today", TODAY)
        run(*words, columns=80)
    lines = run("jobs", file, "--today", TODAY, "--days", "1", "--job", "wipe-down", columns=80)
    golden("jobs-of-a-yard.late.txt", "\n".join(lines) + "\n")


def test_a_rota_folds_where_its_table_is_wider_than_the_line(
    tmp_path: Path, golden: Callable[[str, str], None]
) -> None:
    lines = run("rota", yard(tmp_path, 2), "--today", "2026-12-21", "--weeks", "2", columns=40)
    assert max(map(len, lines)) <= 40
    golden("rota-at-40-columns.txt", "\n".join(lines) + "\n")
