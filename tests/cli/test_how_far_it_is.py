"""What takes long tells how far it is: the rota by weeks, an import by entries, a sync by to-dos."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from support.caldav_servers import PASSWORD, USER, Caldav, radicale
from support.rota.shared_out import bare, ok, stand
from typer.testing import CliRunner

from scheduler import workflow
from scheduler.cli.main import app
from scheduler.progress import Tell

__all__ = ["radicale"]

FEN = bare("""
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[keeper]]
name = "Ben Ash"
[[enclosure]]
name = "Sedge"
extra_job = [{key = "pump", title = "rinse the pump", rule = "FREQ=WEEKLY;BYDAY=WE", minutes = 25}]
""")

Told = list[tuple[str, int, int]]


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> Told:
    """Return what the bar is told, instead of showing it."""
    said: Told = []

    @contextmanager
    def remembered(what: str) -> Iterator[Tell]:
        yield lambda done, total: said.append((what, done, total))

    monkeypatch.setattr(workflow, "progress_bar", remembered)
    return said


@pytest.fixture
def fen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return stand(tmp_path, FEN, monkeypatch)


def test_a_rota_tells_its_weeks(fen: Path, told: Told) -> None:
    ok("rota", "--weeks", "2", "--today", "2026-12-07")
    assert told == [("Making the rota, weeks", n, 2) for n in (0, 1, 2)]


def test_an_export_and_the_jobs_for_programs_tell_the_weeks_of_their_rota(fen: Path, told: Told) -> None:
    ok("export", "--to", "out", "--today", "2026-12-07")
    ok("jobs", "--format", "json", "--today", "2026-12-07")
    assert [one[1:] for one in told] == [(n, 4) for n in range(5)] * 2


def test_an_import_tells_its_entries(fen: Path, told: Told) -> None:
    for day in ("2026-12-02", "2026-12-03", "2026-12-04"):
        ok("did", "enclosures.toml", "sedge", "pump", "--on", day, "--today", "2026-12-07")
    exported = CliRunner().invoke(app, ["history", "--format", "json"])
    Path("log.json").write_text(exported.stdout, "utf-8")
    taken = CliRunner().invoke(app, ["history", "--import", "log.json"])
    assert (taken.exit_code, taken.stdout) == (0, "0 entries added, 3 known already\n")
    assert told == [("Taking entries in", n, 3) for n in range(4)]


@pytest.mark.server
def test_a_sync_tells_its_weeks_and_then_the_to_dos_of_each_keeper(
    fen: Path, told: Told, radicale: Caldav, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PONDROUND_CALDAV_USER", USER)
    monkeypatch.setenv("PONDROUND_CALDAV_PASSWORD", PASSWORD)
    radicale.empty()
    ok("sync", "enclosures.toml", radicale.url, "--today", "2026-12-07")
    assert told[:5] == [("Syncing", n, 4) for n in range(5)]
    ends = [total for _, done, total in told[5:] if done == total]
    assert len(ends) == 2 and sum(ends) == 4
