"""Small sites for the tests of sync, and the command as one types it."""

from __future__ import annotations

import datetime as dt
import io
import os
import shlex
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import typer
from icalendar import Component, vDatetime

from scheduler.care import KEYS
from scheduler.cli.main import app
from scheduler.log import open_log
from support.entries import time_of

COMMAND = typer.main.get_command(app)
MONDAY = "2026-12-07"
DUBLIN = ZoneInfo("Europe/Dublin")


def bare(text: str) -> str:
    """Turn off every job that the care rules bring: what is left can be counted by hand."""
    off = ", ".join(f"{key} = {{off = true}}" for key in KEYS)
    return text.replace("[[enclosure]]\n", f"[[enclosure]]\njob = {{{off}}}\n")


ALONE = bare("""
[site]
name = "Alder Row"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
weekdays = ["Mon", "Tue", "Wed", "Thu", "Sat"]
minutes = 45
[[enclosure]]
name = "Sedge"
set_up = 2026-11-23
extra_job = [
  {key = "pump", title = "rinse the pump", rule = "FREQ=WEEKLY;BYDAY=WE", window = "4 days", minutes = 25},
  {key = "pane", title = "brush the pane", every = "10 days", window = "2 days", minutes = 15, part = "evening"},
]
""")
"""A keeper, and over two weeks from a Monday on two or three to-dos of each job."""

NOBODY = ALONE.replace(
    """[[keeper]]
name = "Noor"
weekdays = ["Mon", "Tue", "Wed", "Thu", "Sat"]
minutes = 45
""",
    "",
)
"""The same without a keeper: everything is yours."""

TWO = ALONE.replace(
    "[[enclosure]]", '[[keeper]]\nname = "Ben Ash"\nweekdays = ["Wed", "Sun"]\nminutes = 30\n[[enclosure]]', 1
)


@dataclass(frozen=True, slots=True)
class Pond:
    """The folder of a description, and commands run in it."""

    folder: Path

    def describe(self, text: str) -> None:
        (self.folder / "enclosures.toml").write_text(text, "utf-8")

    def run(self, line: str, today: str = MONDAY) -> tuple[int, str, str]:
        """Return exit code, standard output and standard error; what would be a traceback fails the test."""
        words = [*shlex.split(line), *(["--today", today] if today else [])]
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            try:
                # As it was built once: to build the command anew takes as long as a sync.
                COMMAND.main(words, prog_name="pondround")
            except SystemExit as end:
                code = int(end.code or 0)
        return code, out.getvalue(), err.getvalue()

    def ok(self, line: str, today: str = MONDAY) -> str:
        code, out, err = self.run(line, today)
        assert code == 0, err
        return out

    def sync(self, url: str, *more: str, today: str = MONDAY, weeks: int = 2) -> str:
        """Sync two weeks; return what is said, the talk under the data."""
        code, out, err = self.run(f"sync enclosures.toml {url} --weeks {weeks} {' '.join(more)}", today=today)
        assert code == 0, (out, err)
        return out + err

    def log(self) -> list[str]:
        """Return the log in short: `2026-12-07 18:05 pump noor`, with a note, and `void` where it takes something back."""
        with open_log(self.log_url, create=False) as log:
            found = list(log.entries("alder-row"))
        return [
            " ".join(
                filter(
                    None,
                    (
                        str(entry.day),
                        f"{entry.time:%H:%M}" if entry.time else "",
                        "void" if entry.kind == "void" else "",
                        entry.name,
                        entry.keeper,
                        entry.note,
                    ),
                )
            )
            for entry in found
        ]

    @property
    def log_url(self) -> str:
        return os.environ.get("PONDROUND_LOG") or f"sqlite:///{self.folder}/enclosures.db"  # noqa: TID251 - as the command finds it


def flat(said: str) -> str:
    """Return what is said on one line, wherever the terminal broke it."""
    return " ".join(said.split())


def ticked(when: str = "", note: str = "") -> Any:
    """Return how a telephone ticks a to-do at a moment of Dublin."""

    def tick(entry: Component) -> None:
        for name in ("STATUS", "PERCENT-COMPLETE", "COMPLETED", "COMMENT"):
            entry.pop(name, None)
        entry.add("STATUS", "COMPLETED")
        entry.add("PERCENT-COMPLETE", 100)
        if when:
            moment = dt.datetime.fromisoformat(when).replace(tzinfo=DUBLIN).astimezone(dt.UTC)
            entry["COMPLETED"] = vDatetime(moment)
        if note:
            entry.add("COMMENT", note)

    return tick


def unticked(entry: Component) -> None:
    for name in ("STATUS", "PERCENT-COMPLETE", "COMPLETED"):
        entry.pop(name, None)
    entry.add("STATUS", "NEEDS-ACTION")


def moved(days: int) -> Any:
    """Return how a telephone moves the DUE of a to-do and leaves everything else alone."""

    def move(entry: Component) -> None:
        due = time_of(entry, "DUE")
        del entry["DUE"]
        entry.add("DUE", due + dt.timedelta(days=days))

    return move
