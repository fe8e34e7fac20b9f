"""Keepers are named alike wherever they are named, who did it is asked for where several share, and zones of no place are told."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

TODAY = "--today 2026-12-19"
SITE = '[site]\nname = "Weir"\n{zone}\n{keepers}[[enclosure]]\nname = "Sedge"\nset_up = 2026-10-03\ncycled = true\n'
TWO = '[[keeper]]\nname = "Noor"\n[[keeper]]\nname = "Ines Roe"\n'
DUBLIN = 'time_zone = "Europe/Dublin"'


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TZ", "Europe/Lisbon")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    path = tmp_path / "enclosures.toml"
    path.write_text(SITE.format(zone=DUBLIN, keepers=TWO), "utf-8")
    return path


def ran(line: str) -> tuple[str, str]:
    """Return standard output and standard error."""
    done = CliRunner().invoke(app, shlex.split(line))
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    return done.stdout, done.stderr


UNNAMED = "it is not recorded who did it: --by names one of Ines Roe, Noor\n"


def test_where_several_share_the_work_it_is_said_that_nobody_is_named(file: Path) -> None:
    assert ran(f"did sedge wipe-down {TODAY}")[1] == UNNAMED
    assert ran(f"reading sedge ph=7.4 {TODAY}")[1] == UNNAMED
    assert ran(f"did sedge top-up --by noor {TODAY}")[1] == ""
    file.write_text(SITE.format(zone=DUBLIN, keepers='[[keeper]]\nname = "Noor"\n'), "utf-8")
    assert ran(f"did sedge daily-look {TODAY}")[1] == ""


def test_keepers_are_named_alike(file: Path) -> None:
    did = json.loads(ran(f"did sedge wipe-down --by ines {TODAY} --format json")[0])["recorded"]
    history = [json.loads(line) for line in ran("history --format json")[0].splitlines()]
    jobs = [
        json.loads(line)
        for line in ran(f"jobs --days 1 --job wipe-down {TODAY} --format json")[0].splitlines()
    ]
    assert {(one["keeper_id"], one["keeper_name"]) for one in (*did, *history, *jobs)} == {
        ("ines-roe", "Ines Roe")
    }
    # As they were before: the log's own word is the id, that of the plan the name.
    assert [one["keeper"] for one in (*did, *history)] == ["ines-roe"] * 2
    assert jobs[0]["keeper"] == "Ines Roe"
    assert "wipe down, done by Ines Roe" in ran(f"jobs --days 1 --job wipe-down {TODAY}")[0]
    assert ran("history")[0].endswith("wipe down, Ines Roe\n")


def test_an_export_with_names_is_taken_in_and_so_is_one_of_before(file: Path) -> None:
    ran(f"did sedge wipe-down --by ines {TODAY}")
    export = ran("history --format json")[0]
    before = [
        {k: v for k, v in json.loads(line).items() if not k.startswith("keeper_")}
        for line in export.splitlines()
    ]
    for text in (export, "".join(json.dumps(one) + "\n" for one in before)):
        file.with_name("export.json").write_text(text, "utf-8")
        assert ran("history --import export.json")[0] == "0 entries added, 1 known already\n"
        file.with_suffix(".db").unlink()
        assert ran("history --import export.json")[0] == "1 entries added, 0 known already\n"
        assert ran("history --format json")[0] == export


LISBON = 'write time_zone = "Europe/Lisbon" under [site], this machine\'s.'


@pytest.mark.parametrize(
    ("zone", "said"),
    [
        ("", f"time_zone is not in the description: the hours are those of UTC; {LISBON}"),
        ('time_zone = "EST"', f'time_zone = "EST" is a fixed offset, which knows no summer time; {LISBON}'),
        (
            'time_zone = "Etc/GMT+5"',
            f'time_zone = "Etc/GMT+5" is a fixed offset, which knows no summer time; {LISBON}',
        ),
        (DUBLIN, ""),
        # Both change their clocks or are of a place; and UTC is a choice.
        ('time_zone = "EST5EDT"', ""),
        ('time_zone = "America/Panama"', ""),
        ('time_zone = "UTC"', ""),
    ],
)
def test_a_zone_of_no_place_is_told(file: Path, zone: str, said: str) -> None:
    file.write_text(SITE.format(zone=zone, keepers=""), "utf-8")
    assert ran(f"check {TODAY}")[1].splitlines() == ([said] if said else [])


@pytest.mark.parametrize(
    ("line", "writes"),
    [
        ("check", False),
        ("jobs", False),
        ("history", False),
        ("outlook", False),
        ("rota", False),
        ("rota --publish", True),
        ("export --to calendars", True),
        ("did sedge wipe-down", True),
        ("undo", True),
    ],
)
def test_nothing_was_written_is_said_only_where_something_would_have_been(
    file: Path, line: str, writes: bool
) -> None:
    file.write_text('[site]\nname = "Weir"\n', "utf-8")
    assert ran(line)[1].splitlines()[-1] == "1 problem." + (" Nothing was written." if writes else "")


def test_lists_of_names_are_whole(file: Path) -> None:
    many = "".join(f'[[enclosure]]\nname = "Tub {n}"\n' for n in range(30))
    file.write_text(SITE.format(zone=DUBLIN, keepers=TWO) + many, "utf-8")
    said = ran(f"did wipe-down {TODAY}")[1]
    assert all(f"Tub {n}" in said for n in range(30))
