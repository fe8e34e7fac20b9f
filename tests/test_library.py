"""The face of the library: what `import scheduler` offers does what the commands do, and is shown on one line."""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

import scheduler
from scheduler import workflow
from scheduler.cli.main import app

SAMPLES = Path(__file__).parents[1] / "sample_configs"
MONDAY = dt.date(2026, 12, 14)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The household's description, without a record."""
    file = tmp_path / "household.toml"
    file.write_bytes((SAMPLES / "household.toml").read_bytes())
    return file


def run(*words: str) -> str:
    result = CliRunner().invoke(app, words)
    assert result.exit_code in (0, 1), result.stderr
    return result.stdout


def test_what_it_offers_is_there_and_in_the_guide() -> None:
    assert all(getattr(scheduler, name) is not None for name in scheduler.__all__)
    assert set(scheduler.__all__) <= set(dir(scheduler))
    guide = workflow.guide_page("library")
    assert set(re.findall(r"`(\w+)\(", guide)) - {"notes"} == {n for n in scheduler.__all__ if n.islower()}
    assert all(name in guide for name in scheduler.__all__)
    with pytest.raises(AttributeError, match="no attribute 'plan_everything'"):
        scheduler.plan_everything  # noqa: B018


def test_a_text_is_read_as_a_file_is_and_all_its_mistakes_are_told() -> None:
    file = SAMPLES / "one-tank.toml"
    (one,), (other,) = scheduler.load(file).enclosures, scheduler.loads(file.read_text("utf-8")).enclosures
    assert one == other and one == scheduler.load(str(file)).enclosures[0]
    wrong = '[site]\nname = "Home"\n\n[[enclosure]]\nname = "Tank"\nwidth = 5\n[enclosure.job.water-chnge]\noff = true\n'
    with pytest.raises(scheduler.DescriptionError) as raised:
        scheduler.loads(wrong)
    assert [problem.where for problem in raised.value.problems] == [
        "enclosure[0].width",
        "enclosure[0].job.water-chnge",
    ]


def test_the_rota_is_that_of_the_command(home: Path) -> None:
    made = scheduler.assign(scheduler.load(home), MONDAY, MONDAY + dt.timedelta(days=6))
    printed = json.loads(
        run("rota", str(home), "--today", MONDAY.isoformat(), "--weeks", "1", "--format", "json")
    )
    assert [(r.day.isoformat(), r.keeper.name, r.minutes) for r in made.rounds] == [
        (r["date"], r["keeper"], r["minutes"]) for r in printed["rounds"]
    ]
    with pytest.raises(scheduler.UsageError, match="no keepers"):
        scheduler.assign(scheduler.load(SAMPLES / "one-tank.toml"), MONDAY, MONDAY)


def test_the_calendars_are_those_of_the_command(home: Path, tmp_path: Path) -> None:
    written = scheduler.write_calendars(scheduler.load(home), tmp_path / "library", MONDAY)
    run("export", str(home), "--to", str(tmp_path / "command"), "--today", MONDAY.isoformat(), "--no-rota")
    files = {file.name: file.read_bytes() for file in (tmp_path / "command").glob("*.ics")}
    assert {file.name: file.read_bytes() for file in written} == files and len(files) == 4
    (tmp_path / "taken").write_text("a file", "utf-8")
    with pytest.raises(scheduler.WriteError):
        scheduler.write_calendars(scheduler.load(home), tmp_path / "taken", MONDAY)


def test_each_thing_is_shown_on_one_short_line() -> None:
    site = scheduler.load(SAMPLES / "one-tank.toml")
    jobs = list(scheduler.jobs(site))
    sunday = MONDAY + dt.timedelta(days=6)
    series = list(scheduler.schedule(site, jobs, MONDAY, sunday))
    found = list(scheduler.occurrences(site, series, MONDAY, sunday))
    assert repr(site) == "<Site harbour-row, enclosures: 1, keepers: 0>"
    assert repr(site.enclosures[0]) == "<Enclosure tejo>"
    shown = {job.word: repr(job) for job in jobs}
    assert shown["water-change"] == "<Job tejo/water-change>"
    (change,) = (repr(one) for one in series if one.job.key == "water-change")
    assert change == "<Series tejo/water-change: FREQ=WEEKLY;BYDAY=SA from 2026-12-19>"
    assert repr(found[0]) == "<Occurrence tejo/daily-look, 2026-12-14 07:30, due>"
    for thing in (site, *site.enclosures, *jobs, *series, *found):
        assert len(repr(thing)) <= 120 and "\n" not in repr(thing)
