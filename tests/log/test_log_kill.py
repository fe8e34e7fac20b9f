"""Killed at any instant, and many at once: what was acknowledged is what is found.

40 rounds of killing by default; more of them by PONDROUND_KILL_ROUNDS=500.
"""

from __future__ import annotations

import multiprocessing
import os
import sqlite3
import time
from collections import Counter
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from multiprocessing.context import ForkProcess
from multiprocessing.synchronize import Barrier
from typing import Any

# Loaded before the processes fork, so that each begins at once.
import alembic.command  # noqa: F401
import pytest
from support.logged import NOW, SITE, done
from support.servers import POSTGRESQL, SQLITE, new_log

from scheduler.log import engine, open_log
from scheduler.log.location import read_url

ROUNDS = int(os.environ.get("PONDROUND_KILL_ROUNDS", "40"))  # noqa: TID251 - how long the tests run
LONGEST = 0.25
"""Seconds after which a writer is killed at the latest: it makes the tables meanwhile, or records for a while."""

HANG_SECONDS = 600
"""Who has not answered after so long hangs."""

fork = multiprocessing.get_context("fork")


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Have everybody wait for whoever comes before: how long fifty take one after the other is the machine's affair."""
    monkeypatch.setattr(engine, "WAIT_SECONDS", HANG_SECONDS)
    monkeypatch.setitem(engine._CONNECTING, "connect_timeout", HANG_SECONDS)
    yield
    for left in multiprocessing.active_children():
        left.kill()


def answer_of(process: ForkProcess, ours: Connection, theirs: Connection) -> Any:
    """Return what a process sends back; it ends well after that."""
    # Once no other end is left open one that died is seen, and not waited for.
    theirs.close()
    assert ours.poll(HANG_SECONDS), "it did not answer"
    answer = ours.recv()
    process.join()
    assert process.exitcode == 0
    return answer


def start(target: Callable[..., None], *arguments: object) -> ForkProcess:
    process = fork.Process(target=target, args=arguments, daemon=True)
    process.start()
    return process


def records_for_ever(url: str, tank: str, acknowledge: Connection) -> None:
    """Record batch after batch of three entries; say each number once the log has answered."""
    with open_log(url) as log:
        batch = 0
        while True:
            log.record(SITE, [done(f"job-{batch}", tank, of=of) for of in "abc"])
            acknowledge.send_bytes(b"%d" % batch)
            batch += 1


def heard(acknowledged: Connection) -> list[int]:
    numbers = []
    try:
        while acknowledged.poll():
            numbers.append(int(acknowledged.recv_bytes()))
    except EOFError:
        pass
    return numbers


def found(url: str) -> dict[str, int]:
    """Return how many batches of each writer are in the log; they are whole, and none is left out between them."""
    with open_log(url, create=False) as log:
        entries = Counter((e.enclosure, e.name) for e in log.entries(SITE))
    assert set(entries.values()) <= {3}, "a batch was recorded in part"
    batches = Counter(tank for tank, _ in entries)
    assert set(entries) == {(tank, f"job-{n}") for tank, count in batches.items() for n in range(count)}
    return batches


def check_file(url: str) -> None:
    file = read_url(url).file
    if file is not None and file.exists():
        connection = sqlite3.connect(file)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        connection.close()


@pytest.mark.slow
@pytest.mark.parametrize("kind", [SQLITE, POSTGRESQL])
def test_killed_at_any_instant(kind: str, request: pytest.FixtureRequest) -> None:
    """Every fifth round begins a new log, so that some are killed while its tables are made.

    The others are killed once they were heard of: how much they record by then is the machine's affair.
    """
    answered: dict[str, int] = {}
    total = in_log = 0
    url = ""
    for n in range(ROUNDS):
        if n % 5 == 0:
            total, in_log = total + sum(answered.values()), in_log + (sum(found(url).values()) if url else 0)
            url, answered = new_log(kind, request), {}
        ours, theirs = fork.Pipe(duplex=False)
        process = start(records_for_ever, url, f"tank-{n}", theirs)
        theirs.close()
        if n % 5:
            assert ours.poll(HANG_SECONDS), "a writer did not answer"
        # Instants that fall evenly over the time, and never twice in one place.
        time.sleep(LONGEST * (n * 0.6180339887498949 % 1))
        process.kill()
        process.join()
        answered[f"tank-{n}"] = len(heard(ours))
        ours.close()
        check_file(url)
        there = found(url)
        for tank, count in answered.items():
            # The batch that was being recorded may be there without an answer.
            assert there[tank] - count in (0, 1), f"{tank}: {count} batches acknowledged, {there[tank]} found"
        assert set(there) <= set(answered)
    total, in_log = total + sum(answered.values()), in_log + sum(found(url).values())
    assert total >= ROUNDS - len(range(0, ROUNDS, 5))
    print(
        f"{kind}: {ROUNDS} rounds, {total} batches acknowledged and found, {in_log - total} more found that were "
        "recorded when the writer was killed"
    )


WRITERS, OWN = 50, 5


def records_a_little(url: str, tank: str, gate: Barrier, answer: Connection) -> None:
    """Record entries of its own, one that all record, and one that counts each time; send back what was answered."""
    gate.wait(HANG_SECONDS)
    answers = []
    with open_log(url) as log:
        for n in range(OWN):
            answers += log.record(SITE, [done(f"own-{n}", tank)])
        answers += log.record(SITE, [done("shared")])
        answers += log.record(SITE, [done("each")], again=True)
    answer.send([(entry.uid(SITE), entry.name, new) for entry, new in answers])


@pytest.mark.slow
@pytest.mark.parametrize("kind", [SQLITE, POSTGRESQL])
def test_fifty_writers_at_once(kind: str, request: pytest.FixtureRequest) -> None:
    """They all find no log, and begin once all of them are there."""
    url = new_log(kind, request)
    gate = fork.Barrier(WRITERS)
    pipes = [fork.Pipe(duplex=False) for _ in range(WRITERS)]
    processes = [
        start(records_a_little, url, f"tank-{n}", gate, theirs) for n, (_, theirs) in enumerate(pipes)
    ]
    answers = []
    for pipe, process in zip(pipes, processes, strict=True):
        answers += answer_of(process, *pipe)
    with open_log(url, create=False) as log:
        entries = list(log.entries(SITE))
    new = {uid for uid, _, is_new in answers if is_new}
    assert {uid for uid, _, _ in answers} == new == {e.uid(SITE) for e in entries}
    assert Counter(name for _, name, is_new in answers if is_new) == {
        **{f"own-{n}": WRITERS for n in range(OWN)},
        "shared": 1,
        "each": WRITERS,
    }
    assert sorted(e.turn for e in entries if e.name == "each") == list(range(WRITERS))
    assert len(entries) == len(new) == WRITERS * (OWN + 1) + 1
    check_file(url)
    print(f"{kind}: {WRITERS} writers, {len(new)} entries acknowledged, {len(entries)} found")


@pytest.mark.parametrize("kind", [SQLITE, POSTGRESQL])
def test_two_that_take_back_the_last_entry_take_back_one(kind: str, request: pytest.FixtureRequest) -> None:
    url = new_log(kind, request)
    with open_log(url) as log:
        [(entry, _)] = log.record(SITE, [done()])

    def take_back(answer: Connection) -> None:
        with open_log(url) as log:
            answer.send(log.void(SITE, entry.uid(SITE), keeper="", note="", recorded=NOW))

    pipes = [fork.Pipe(duplex=False) for _ in range(8)]
    processes = [start(take_back, theirs) for _, theirs in pipes]
    answers = [answer_of(process, *pipe) for process, pipe in zip(processes, pipes, strict=True)]
    assert sum(new for _, new in answers) == 1
    assert len({entry.number for entry, _ in answers}) == 1
