"""The servers of the tests of this folder."""

from __future__ import annotations

from pathlib import Path

import pytest
from caldav_servers import PASSWORD, USER, caldav, radicale, xandikos
from ponds import Pond
from servers import server

__all__ = ["caldav", "radicale", "server", "xandikos"]


@pytest.fixture
def pond(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Pond:
    """Stand beside a description, at a terminal of 80 columns, without a log, with a password in the environment."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    monkeypatch.setenv("PONDROUND_CALDAV_USER", USER)
    monkeypatch.setenv("PONDROUND_CALDAV_PASSWORD", PASSWORD)
    return Pond(tmp_path)
