"""Killed at any instant while people tick: what was answered is in the log, once.

8 rounds by default; more of them by PONDROUND_KILL_ROUNDS=500.
"""

from __future__ import annotations

import datetime as dt
import os
import signal
import sqlite3
import threading
import time
from collections import Counter
from http.client import HTTPException
from pathlib import Path

import pytest
from support.web.http_client import HANG_SECONDS, Form, ask, forms, link, page_path, post, write
from support.web.serving import serving

from scheduler.log import open_log
from scheduler.workflow.feeds.links import IssuedLink

ROUNDS = int(os.environ.get("PONDROUND_KILL_ROUNDS", "8"))  # noqa: TID251 - how long the tests run
CLIENTS, JOBS = 4, 16
LONGEST = 0.05
"""Seconds between the answer that is waited for and the kill, at most: a tick takes some 10 ms."""

FIRST = dt.date(2026, 12, 14)

QUAY = '[site]\nname = "Quay"\ntime_zone = "Europe/Dublin"\n[[enclosure]]\nname = "Sedge"\n' + "".join(
    f'[[enclosure.extra_job]]\nkey = "job-{n}"\ntitle = "job {n}"\nrule = "FREQ=DAILY"\n' for n in range(JOBS)
)


def kill(parent: int) -> None:
    """Kill a server and its workers, before any of them can say a word."""
    children = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    for process in (parent, *map(int, children)):
        os.kill(process, signal.SIGKILL)


def ticks(url: str, mine: list[Form], number: int, answered: list[tuple[str, str]]) -> None:
    """Tick one job after the other, all of them twice; keep those that were answered."""
    try:
        for form in mine:
            for _ in range(2):
                note = f"client {number}"
                answer = post(url, form.action, {**form.fields, "note": note})
                assert answer.status == 303, answer
                answered.append((form.fields["key"], note))
    except (OSError, HTTPException):
        # It was killed.
        return


@pytest.mark.slow
def test_no_answered_tick_is_lost(tmp_path: Path) -> None:
    """Four people tick, each of them jobs of their own and some that all tick; the server is killed while they do.

    Each round is another day, since a job is due once a day; every eighth one has two workers.
    """
    file = write(tmp_path / "quay.toml", QUAY)
    pages = [link(file, "page", name=f"page-{n}") for n in range(CLIENTS)]
    log = f"sqlite:///{file.with_suffix('.db')}"
    answered_in_all = 0
    for number in range(ROUNDS):
        day = FIRST + dt.timedelta(days=number)
        noted = one_round(file, pages, day, number)
        answered = {key for key, _ in noted}
        connection = sqlite3.connect(file.with_suffix(".db"))
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        connection.close()
        with open_log(log, create=False) as found:
            # A note to what somebody else has just ticked takes the entry back, and adds it with the note.
            entries = list(found.entries("quay", since=day, until=day, voided=False))
        recorded = Counter(e.name for e in entries)
        assert {e.kind for e in entries} <= {"done"}
        assert set(recorded.values()) <= {1}, "a job was recorded twice"
        assert answered <= set(recorded), f"round {number}: lost {answered - set(recorded)}"
        kept = {(e.name, note) for e in entries for note in e.note.split(" | ")}
        assert noted <= kept, f"round {number}: lost the notes {noted - kept}"
        # What each of them was sending when the server was killed may be there without an answer.
        assert len(set(recorded) - answered) <= CLIENTS
        answered_in_all += len(answered)
    print(f"{ROUNDS} rounds, {answered_in_all} ticks answered and found")


def daily(page: str) -> list[Form]:
    """Return the forms of the jobs that come every day; the care of the tank brings some of its own."""
    return [form for form in forms(page, "done") if form.fields["key"].startswith("job-")]


def one_round(file: Path, pages: list[IssuedLink], day: dt.date, number: int) -> set[tuple[str, str]]:
    """Serve, tick, kill; return the jobs that were answered, each with the note that was sent."""
    answered: list[list[tuple[str, str]]] = [[] for _ in range(CLIENTS)]
    with serving(file.parent, file.name, today=str(day), workers=1 + (number % 8 == 3)) as served:
        threads = []
        for client, opened in enumerate(pages):
            answer = ask(served.url, page_path(opened))
            assert answer.status == 200
            todo = daily(answer.text)
            assert len(todo) == JOBS
            mine = [f for n, f in enumerate(todo) if n % CLIENTS == client or n % 5 == 0]
            threads.append(threading.Thread(target=ticks, args=(served.url, mine, client, answered[client])))
        for thread in threads:
            thread.start()
        # Once some were answered, from none to half of them: how many in which time is the machine's affair. Then at
        # instants that fall evenly over the time of a tick, and never twice in one place.
        wanted = number * 5 % JOBS
        while sum(map(len, answered)) < wanted and any(thread.is_alive() for thread in threads):
            time.sleep(0.001)
        time.sleep(LONGEST * (number * 0.6180339887498949 % 1))
        kill(served.process.pid)
        served.process.wait(HANG_SECONDS)
        for thread in threads:
            thread.join(HANG_SECONDS)
            assert not thread.is_alive()
    assert served.log_lines[1:] == []
    assert sum(map(len, answered)) >= wanted
    return {one for some in answered for one in some}
