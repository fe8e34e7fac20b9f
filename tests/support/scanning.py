"""Codes as a scanner of another origin reads them (zbar)."""

from __future__ import annotations

import shutil
import subprocess
from os import environ  # noqa: TID251 - whether a scanner has to be there
from pathlib import Path

import pytest


def scanned(picture: Path) -> str:
    """Return what a scanner reads; without one skip the test, or fail where PONDROUND_NEED_SERVERS is set."""
    program = shutil.which("zbarimg")
    if program is None:
        assert not environ.get("PONDROUND_NEED_SERVERS"), "there is no zbarimg"
        pytest.skip("there is no zbarimg")
    done = subprocess.run([program, "--raw", "-q", picture], check=True, capture_output=True, text=True)
    return done.stdout.strip()
