"""Where `export` remembers what it published: in the log where there is one, else in a hidden file; it makes no log."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app
from scheduler.log import open_log
from scheduler.log.revisions import revisions_of

TOML = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
"""
ASIDE = ".pondround-published"


def ok(*words: object) -> str:
    result = CliRunner().invoke(app, [*map(str, words)])
    assert result.exit_code == 0, result.output[:2000]
    return result.output


def export(file: Path, today: str = "2026-12-07") -> str:
    ok("export", file, "--to", file.parent / "out", "--today", today)
    return (file.parent / "out" / "fen-lane.ics").read_bytes().replace(b"\r\n ", b"").decode()


def done(feed: str) -> list[tuple[str, str]]:
    """Return UID and SEQUENCE of what is shown as done."""
    found = re.findall(
        r"UID:(\S+)\r\nDTSTAMP:\S+\r\nLAST-MODIFIED:\S+\r\nSEQUENCE:(\d+)\r\n(.*?)END:VEVENT", feed, re.S
    )
    return [(uid, number) for uid, number, body in found if re.search(r"^SUMMARY:Done: ", body, re.M)]


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    made = tmp_path / "turtles.toml"
    made.write_text(TOML, "utf-8")
    return made


def test_an_export_makes_no_log_and_keeps_beside_the_files_what_left_them(file: Path) -> None:
    export(file)
    assert sorted(p.name for p in file.parent.iterdir()) == ["out", "turtles.toml"]
    assert not (file.parent / "out" / ASIDE).exists(), "nothing has left yet"
    export(file, "2027-04-01")
    file.write_text(TOML.replace("Sedge", "Reed"), "utf-8")
    export(file, "2027-04-02")
    export(file, "2027-07-20")
    assert sorted(p.name for p in file.parent.iterdir()) == ["out", "turtles.toml"]
    assert b"feed fen-lane.ics\n" in (file.parent / "out" / ASIDE).read_bytes()


def test_with_a_log_it_is_kept_there_and_the_folder_may_be_lost(file: Path) -> None:
    """A web host that is filled anew each time: what was published is known all the same."""
    ok("did", file, "water-change", "--today", "2026-12-07", "--note", "clear")
    ((uid, number),) = done(export(file))
    assert number == "0" and not (file.parent / "out" / ASIDE).exists()
    for path in (file.parent / "out").iterdir():
        path.unlink()
    file.write_text(TOML.replace('"Sedge"', '"Sedge Row"\nid = "sedge"'), "utf-8")
    assert done(export(file)) == [(uid, "1")]
    with open_log(f"sqlite:///{file.with_suffix('.db')}") as log:
        books = revisions_of(log, "fen-lane", "files")
    assert sorted(books) == ["fen-lane-sedge.ics", "fen-lane.ics"]
    assert f"{uid} 1 ".encode() in books["fen-lane.ics"]


def test_where_the_log_cannot_be_written_the_hidden_file_does(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What can only be read is read; the calendars are written, and what left them is known."""
    from scheduler.errors import LogError
    from scheduler.workflow.feeds import revisions

    ok("did", file, "water-change", "--today", "2026-12-07")
    ((uid, _),) = done(export(file))

    def refused(*_: object) -> None:
        raise LogError("the file or its folder is read-only")

    monkeypatch.setattr(revisions, "open_to_record", refused)
    ok("undo", file, "--today", "2026-12-07")
    assert done(export(file)) == []
    assert uid in (file.parent / "out" / ASIDE).read_text()


def test_a_folder_that_cannot_be_written_is_told_in_a_line(file: Path) -> None:
    (file.parent / "out").write_text("in the way")
    result = CliRunner().invoke(app, ["export", str(file), "--to", str(file.parent / "out")])
    assert result.exit_code == 1
    assert "nothing was written to" in result.output and "Traceback" not in result.output
