"""`did` killed before its steps in turn: what it had said is recorded."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.engine.default import DefaultDialect
from support.cut_short import MOST_STEPS, cut_short
from support.weir import TODAY, entries, ok, weir

__all__ = ["weir"]

STEPS = ((DefaultDialect, "do_execute"), (DefaultDialect, "do_commit"), (sa.Engine, "dispose"))
"""What a command asks of a database, and that it lets it go: the last thing before it says anything."""

LONG = "PONDROUND_KILL_ROUNDS" in os.environ  # noqa: TID251 - how long the tests run


@pytest.mark.parametrize("there", [False, True], ids=["without a log", "with a log"])
def test_what_a_killed_command_had_said_is_recorded(weir: Path, there: bool) -> None:
    """Killed before its steps in turn: it has recorded all of what it was told, or nothing; what it said is there.

    One step in so many, and more seldom while a log is made; PONDROUND_KILL_ROUNDS=500 looks at each.
    """
    stride = 1 if LONG else 5 if there else 8
    said, silent, step = weir / "said", 0, 0
    if there:
        ok("did sedge feed --again --by Noor --note before")
    while True:
        if not there:
            for path in weir.glob("enclosures.db*"):
                path.unlink()
        words = f"did sedge feed --again --by Noor --today {TODAY} --note".split()
        stopped = cut_short([*words, f"step {step}"], signal.SIGKILL, step, STEPS, said)
        found = [entry["note"] for entry in entries()] if list(weir.glob("*.db")) else []
        assert len(found) == len(set(found)) and set(found) <= {
            "before",
            *(f"step {n}" for n in range(step + 1)),
        }
        assert found[:1] == ["before"] or not there
        is_recorded, is_said = (
            f"step {step}" in found,
            "done by Noor on 19 December 2026" in said.read_text("utf-8"),
        )
        assert is_recorded or not is_said
        # One that was killed between recording and saying so is there as well.
        silent += is_recorded and not is_said
        if not stopped:
            break
        assert step < MOST_STEPS
        step += stride
    assert is_recorded and is_said, said.read_text("utf-8")
    assert silent > 0 or not there
    print(f"killed before {step} steps; recorded and not said: {silent}")
