"""A server whose log can be told to fail: `pondround serve` as it is, but for a log that heeds a file beside it."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from support.web.serving import BEGIN_SECONDS, Served

PROGRAM = """
import asyncio, sys, threading, time
from contextlib import contextmanager
from pathlib import Path
from scheduler.errors import LogError, UncertainError
from scheduler.log.store import Log
from scheduler.web import deadline

order, write, read = Path(sys.argv.pop(1)), Log.writing, Log.reading
held = threading.Event()

def told():
    return order.read_text() if order.exists() else ""

async def wait_until_held(task, _seconds):
    while not task.done():
        if held.is_set():
            raise TimeoutError
        await asyncio.wait({task}, timeout=0.02)
    return task.result()

deadline.asyncio = type(sys)("asyncio")
deadline.asyncio.__dict__.update(asyncio.__dict__, wait_for=wait_until_held)

@contextmanager
def writing(self, site):
    if told() in ("read-only", "away"):
        raise LogError("nothing was recorded in the log: the disk is full")
    while told() == "slow":
        held.set()
        time.sleep(0.02)
    held.clear()
    with write(self, site) as connection:
        yield connection
    if told() == "unsure":
        raise UncertainError("the log was asked to keep it and did not answer")

@contextmanager
def reading(self):
    if told() == "away":
        raise LogError("the log cannot be read")
    with read(self) as connection:
        yield connection

Log.writing, Log.reading = writing, reading

from scheduler.web import rate_limit
made, stood = rate_limit.TokenBucket.__init__, []

def clock():
    if told() == "stopped":
        stood[:] = stood or [time.monotonic()]
        return stood[0]
    stood.clear()
    return time.monotonic()

rate_limit.TokenBucket.__init__ = lambda limit, at_once, a_second, _: made(limit, at_once, a_second, clock)
from scheduler.cli.main import run
run()
"""


@contextmanager
def failing(place: Path, today: str) -> Iterator[tuple[Served, Path]]:
    """Serve a description, or all of a folder; what stands in the file that is given is what the logs do.

    `read-only`: nothing can be recorded. `away`: nothing can be read either. `unsure`: it is recorded, and not answered.
    `stopped`: the clock by which clients are let through stands still.
    `slow`: it is recorded once that is there no longer, and time is up for whoever waits meanwhile; for nobody else it is.
    """
    order = place / "order" if place.is_dir() else place.with_suffix(".order")
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(order), "serve", place.name, "--port", "0", "--today", today],
        cwd=place.parent,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    served = Served(process)
    served.listener = threading.Thread(target=served.listen, daemon=True)
    served.listener.start()
    try:
        assert served.begun.wait(BEGIN_SECONDS) and served.url, served.log_lines
        yield served, order
    finally:
        served.stop()
