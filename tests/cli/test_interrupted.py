"""Ctrl-C at any instant: no traceback, and nothing that hangs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from support.commands import HANG_SECONDS

SITE = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[enclosure]]
name = "Sedge"
kind = "tank"
set_up = 2026-10-01
"""

PROGRAM = """
import os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
module = sys.argv.pop()

class Interrupting:
    def find_spec(self, name, path=None, target=None):
        if name == module:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)

sys.meta_path.insert(0, Interrupting())
from scheduler.__main__ import main
main()
"""
"""The command, interrupted where it begins to load a module."""


@pytest.mark.parametrize(
    "module",
    ["scheduler.cli.main", "typer", "scheduler.plan", "pydantic", "scheduler.rota.builder", "highspy"],
)
def test_a_rota_that_is_interrupted(tmp_path: Path, module: str) -> None:
    """The shell's custom: 130, or ended by the signal, which shells show as 130 (POSIX.1-2017, XCU 2.8.2)."""
    file = tmp_path / "fen-lane.toml"
    file.write_text(SITE)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "rota", file.name, "--today", "2026-12-14", module],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=HANG_SECONDS,
        check=False,
    )
    assert done.returncode in (130, -2), done
    assert done.stdout == ""
    assert "Traceback" not in done.stderr and "Error" not in done.stderr
