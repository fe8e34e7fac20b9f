"""A sync that is broken off at any point: nothing that was ticked is lost, nothing is doubled, and one more sync sets it right.

10 rounds of killing by default, half of them with each server; more of them by PONDROUND_KILL_ROUNDS=500.
"""

from __future__ import annotations

import datetime as dt
import itertools
import multiprocessing
import os
import re
import shutil
import time
from collections.abc import Iterator
from dataclasses import replace
from multiprocessing.context import ForkProcess
from pathlib import Path

# Loaded before the processes fork, so that each begins at once.
import alembic.command  # noqa: F401
import pytest
from support.caldav_servers import Caldav, Phone, Way, way_to
from support.ponds import NOBODY, Pond, moved, ticked
from support.recorded import entry

import scheduler.sync.session  # noqa: F401
from scheduler.log import open_log

pytestmark = pytest.mark.server

ROUNDS = int(os.environ.get("PONDROUND_KILL_ROUNDS", "10"))  # noqa: TID251 - how long the tests run
LONGEST = 0.02
"""Seconds between the request that is waited for and the kill, at most: what a request takes."""

PLACE = "alder-row"
PUMP, LID = "rinse the pump", "wipe the lid"
LID_TOO = """
  {key = "lid", title = "wipe the lid", rule = "FREQ=WEEKLY;BYDAY=TU", minutes = 5},"""
PUMP_ONLY = re.sub(r"\n  {key = \"pane\".*", "", NOBODY)
LATER = "2026-12-10"

fork = multiprocessing.get_context("fork")
State = tuple[list[str], list[str]]


@pytest.fixture
def way(caldav: Caldav) -> Iterator[Way]:
    with way_to(caldav) as made:
        yield made


def stand(pond: Pond, caldav: Caldav, way: Way, empty_log: Path) -> None:
    """Prepare a collection, and a sync that records, moves, puts, changes and takes away."""
    caldav.empty()
    for left in pond.folder.iterdir():
        left.unlink()
    shutil.copy(empty_log, pond.folder / "enclosures.db")
    pond.describe(PUMP_ONLY.replace("extra_job = [", f"extra_job = [{LID_TOO}"))
    # The record begins, so that the pump of the 9th is overdue on the 10th.
    did(pond, "2026-12-04 did lid")
    pond.sync(way.url)
    phone = Phone(caldav)
    phone.change(PLACE, LID, ticked("2026-12-08 08:00", "loose"), 0)
    phone.change(PLACE, PUMP, moved(-2), 1)
    pond.describe(PUMP_ONLY)


def did(pond: Pond, line: str) -> None:
    with open_log(pond.log_url) as log:
        log.record(PLACE, [replace(entry(line), recorded=dt.datetime(2026, 12, 7, 12))])  # noqa: DTZ001 - UTC


def state(pond: Pond, caldav: Caldav) -> State:
    """Return the log, and what is in the collection."""
    entries = [
        f"{e['UID']} {e.get('LOCATION')} {e['DUE'].dt} {e.get('STATUS')} {e.get('COMMENT')}"
        for e in Phone(caldav).entries(PLACE).values()
    ]
    return sorted(pond.log()), sorted(entries)


def undisturbed(pond: Pond, caldav: Caldav, way: Way, empty_log: Path) -> tuple[State, int]:
    """Return what a sync gives that nobody disturbs, and how many requests it takes."""
    stand(pond, caldav, way, empty_log)
    way.asked.clear()
    said = pond.sync(way.url, today=LATER)
    asked = len(way.asked)
    found = state(pond, caldav)
    assert said.count("->") == 1 and "1 put, 2 changed, 1 taken away" in said and len(found[0]) == 2
    way.nothing_written(lambda: pond.sync(way.url, today=LATER))
    return found, asked


def set_right(pond: Pond, caldav: Caldav, way: Way, expected: State, why: str) -> None:
    """Sync once more, undisturbed: then all is as it should be."""
    said = pond.sync(way.url, today=LATER)
    assert state(pond, caldav) == expected, why
    # What this program moved itself is nobody else's doing.
    assert all(PUMP not in line or "16 December" in line for line in said.splitlines() if "->" in line), why
    assert "stays" not in said and "put back" not in said, why


def test_the_server_goes_away_at_any_request(pond: Pond, caldav: Caldav, way: Way, empty_log: Path) -> None:
    """Every request in turn is the one whose answer is lost with one server, or does not come through with the other.

    PONDROUND_KILL_ROUNDS=50 has each be both with both.
    """
    expected, asked = undisturbed(pond, caldav, way, empty_log)
    both = (False, True) if ROUNDS >= 50 else (caldav.kind == "radicale",)
    # The first of them find the collection.
    for n, after in itertools.product(range(5, asked + 1), both):
        stand(pond, caldav, way, empty_log)
        way.asked.clear()
        way.cut_at, way.after = n, after
        code, _, err = pond.run(f"sync enclosures.toml {way.url} --weeks 2", today=LATER)
        assert code == 1 and "cannot be reached, or broke off" in " ".join(err.split()), err
        way.cut_at = None
        set_right(
            pond, caldav, way, expected, f"request {n} of {asked}, {'after' if way.after else 'before'}"
        )


def start(pond: Pond, url: str) -> ForkProcess:
    """Begin a sync in a process of its own."""
    process = fork.Process(
        target=pond.run, args=(f"sync enclosures.toml {url} --weeks 2", LATER), daemon=True
    )
    process.start()
    return process


# Later versions of Python warn of a fork beside a thread; the child does not touch the way there.
@pytest.mark.filterwarnings("ignore:.*multi-threaded:DeprecationWarning")
def test_killed_at_any_instant(pond: Pond, caldav: Caldav, way: Way, empty_log: Path) -> None:
    expected, asked = undisturbed(pond, caldav, way, empty_log)
    for n in range(ROUNDS)[caldav.kind == "radicale" :: 2]:
        stand(pond, caldav, way, empty_log)
        way.asked.clear()
        process = start(pond, way.url)
        # Once so many requests have come, spread evenly over all of them; then at instants of a request, never twice in
        # one place. When a sync that hangs has given up, it has ended.
        place = n * 0.6180339887498949 % 1
        while len(way.asked) < place * asked and process.is_alive():
            time.sleep(0.001)
        time.sleep(LONGEST * (7 * place % 1))
        process.kill()
        process.join()
        set_right(pond, caldav, way, expected, f"round {n}")
    way.nothing_written(lambda: pond.sync(way.url, today=LATER))
