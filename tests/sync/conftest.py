"""The servers of the tests of this folder."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from caldav_servers import PASSWORD, USER, caldav, radicale, xandikos
from ponds import Pond
from servers import server

from scheduler.log import open_log

__all__ = ["caldav", "radicale", "server", "xandikos"]


@pytest.fixture(scope="session")
def empty_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a log without entries once: its tables take as long as a sync."""
    file = tmp_path_factory.mktemp("log") / "empty.db"
    with open_log(f"sqlite:///{file}"):
        return file


@pytest.fixture
def pond(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, empty_log: Path) -> Pond:
    """Stand beside a description, at a terminal of 80 columns, with an empty log, with a password in the environment."""
    shutil.copy(empty_log, tmp_path / "enclosures.db")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    monkeypatch.setenv("PONDROUND_CALDAV_USER", USER)
    monkeypatch.setenv("PONDROUND_CALDAV_PASSWORD", PASSWORD)
    return Pond(tmp_path)
