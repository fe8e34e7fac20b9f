"""The servers of the tests of this folder."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from support.caldav_servers import PASSWORD, USER, caldav, radicale, xandikos
from support.ponds import Pond
from support.servers import empty_log, server

__all__ = ["caldav", "empty_log", "radicale", "server", "xandikos"]


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
