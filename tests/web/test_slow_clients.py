"""Clients that send or take their bytes one at a time, on purpose: time is up for them, and for nobody else."""

from __future__ import annotations

import signal
import socket
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from support.web.http_client import (
    HANG_SECONDS,
    ask,
    connect,
    page_path,
    raw,
    received,
    status_of,
    tick_of,
    until,
)
from support.web.watched import ESTABLISHED, House, at_server, house, housed, is_closed, resident_kb

__all__ = ["house"]


BY_HAND = """
import asyncio, signal, sys
from scheduler.web import forms, slow_clients, style
style.STYLE = b" " * 6_000_000
forms.MOST_SECONDS = 0.5
made, waits = slow_clients.DeadlineProtocol.__init__, []

class Handle:
    def __init__(self, what):
        self.come, self.cancel = what, lambda: waits.remove(self) if self in waits else None

class ByHand:
    def __init__(self, loop):
        self.loop = loop

    def __getattr__(self, name):
        return getattr(self.loop, name)

    def call_later(self, seconds, what, *given):
        handle = Handle(lambda: what(*given))
        if seconds != slow_clients.KEEP_SECONDS:
            waits.append(handle)
        return handle

def begin(protocol, *given, **named):
    made(protocol, *given, **named)
    loop = protocol.loop
    protocol.loop = ByHand(loop)
    signal.signal(signal.SIGUSR1, lambda *_: loop.call_soon_threadsafe(time_passes))

def time_passes():
    for handle in waits[:]:
        if handle in waits:
            waits.remove(handle)
            handle.come()
    print("time has passed", file=sys.stderr, flush=True)

slow_clients.DeadlineProtocol.__init__ = begin
"""
"""A server to whose connections time passes when it is sent SIGUSR1, and at no other time.

All of them have waited long enough for their client then; but where nothing is owed a connection is kept for ever.
"""


CROWDED = """
from scheduler.web import slow_clients
slow_clients.HEAD_SECONDS = slow_clients.KEEP_SECONDS = 100_000.0
slow_clients.MOST_WAITING = 50
"""
"""Nobody is let go for being slow, but for others."""


@pytest.fixture(scope="module")
def hasty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A server that waits for its clients until it is told that time has passed, and half a second for a form."""
    with housed(tmp_path_factory.mktemp("hasty") / "fen-lane.toml", before=BY_HAND) as house:
        assert house.get_feed().status == 200
        yield house


def time_passes(house: House) -> None:
    """Let as much time pass to the server as it waits for a client."""
    before = house.served.log_lines.count("time has passed")
    house.served.process.send_signal(signal.SIGUSR1)
    until(lambda: house.served.log_lines.count("time has passed") > before, lambda: house.served.log_lines)


def test_two_hundred_half_open_connections(hasty: House) -> None:
    """Silent, stopped within a head, and dribbling one: honest clients go on, and in a while all of them are let go."""
    begins = [b"", b"GET /healthz HTTP/1.1\r\nHost: a\r\n", b"GET /healthz HTTP/1.1\r\nX: ", b"PO"]
    slow = [connect(hasty.url) for _ in range(200)]
    for number, open_ in enumerate(slow):
        open_.sendall(begins[number % len(begins)])
    dribbling = slow[2::4]

    def are_let_go() -> bool:
        """Have each dribble once more, and an honest one ask."""
        dribbling[:] = [open_ for open_ in dribbling if dribbles(open_)]
        assert hasty.get_feed().status == 200
        return not dribbling

    assert not are_let_go()
    time_passes(hasty)
    until(are_let_go, lambda: f"{len(dribbling)} are still open")
    assert [is_closed(open_) for open_ in slow] == [True] * 200
    for open_ in slow:
        open_.close()


def dribbles(open_: socket.socket) -> bool:
    """Send one more byte, and tell whether the other side is there still."""
    try:
        open_.sendall(b"x")
    except OSError:
        return False
    return True


def test_more_connections_than_are_kept(tmp_path: Path) -> None:
    """Of those that wait for nothing the one that did so longest is let go for a new one."""
    with housed(tmp_path / "fen-lane.toml", before=CROWDED) as crowded:
        first = connect(crowded.url)
        rest = [connect(crowded.url) for _ in range(60)]
        assert crowded.get_feed().status == 200
        assert is_closed(first)
        # Whoever came last is there still.
        rest[-1].sendall(b"GET /healthz HTTP/1.1\r\nHost: a\r\n\r\n")
        assert status_of(rest[-1].recv(65536)) == 200
        for open_ in (first, *rest):
            open_.close()


def test_a_form_that_dribbles(hasty: House) -> None:
    form = tick_of(ask(hasty.url, page_path(hasty.sam)).text, "pane")
    body = urlencode(form.fields).encode()
    head = (
        f"POST {form.action} HTTP/1.1\r\nHost: a\r\nContent-Type: application/x-www-form-urlencoded\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    ).encode()
    with closing(connect(hasty.url)) as open_:
        open_.sendall(head)
        open_.settimeout(0.1)
        answer = b""
        for number in range(len(body) - 1):
            open_.sendall(body[number : number + 1])
            try:
                answer = open_.recv(65536)
                break
            except TimeoutError:
                continue
        assert status_of(answer) == 408
    assert hasty.entries() == []


def test_what_is_still_owed_of_an_answered_request(hasty: House) -> None:
    """A body that nobody asked for, and that never ends, keeps no connection."""
    with closing(connect(hasty.url)) as open_:
        open_.sendall(b"GET /healthz HTTP/1.1\r\nHost: a\r\nContent-Length: 1000000\r\n\r\n")
        assert status_of(open_.recv(65536)) == 200
        assert dribbles(open_)
        time_passes(hasty)
        until(lambda: not dribbles(open_), lambda: "it is still open")


LARGE = b"GET /style.css HTTP/1.1\r\nHost: a\r\n\r\n"


def test_an_answer_that_nobody_takes(hasty: House) -> None:
    """Much is asked for and nothing is read: the server does not wait for that."""
    with closing(connect(hasty.url)) as open_:
        open_.sendall(LARGE * 4)

        def is_let_go() -> bool:
            # The system takes some of it, for a while.
            time_passes(hasty)
            return at_server(open_).state != ESTABLISHED

        until(is_let_go, lambda: "it is still open")
        # What had left the program before is still on its way.
        assert len(received(open_)) < 6_000_000


def test_an_answer_that_is_taken_slowly(hasty: House) -> None:
    """A slow line is no offence: what is taken little by little comes whole."""
    with closing(socket.socket()) as open_:
        # So that little is on its way: what is taken in between is more.
        open_.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 65536)
        open_.settimeout(HANG_SECONDS)
        open_.connect((urlsplit(hasty.url).hostname, urlsplit(hasty.url).port))
        open_.sendall(LARGE[:-2] + b"Connection: close\r\n\r\n")
        found = b""
        for _ in range(4):
            end = len(found) + 1_200_000
            while len(found) < end:
                found += open_.recv(65536)
            # As long as a client that takes nothing is waited for.
            time_passes(hasty)
        assert len(found) < 6_000_000
        found += received(open_)
    assert len(found.partition(b"\r\n\r\n")[2]) == 6_000_000


def test_more_requests_at_once_than_anybody_sends(house: House) -> None:
    """Each takes memory until the one before it is answered."""
    ask_ = b"GET /healthz HTTP/1.1\r\nHost: a\r\n\r\n"
    some = raw(house.url, ask_ * 9 + ask_[:-2] + b"Connection: close\r\n\r\n")
    assert some.count(b"HTTP/1.1 200 OK") == 10
    many = raw(house.url, ask_ * 60)
    assert many.count(b"HTTP/1.1 200 OK") < 60 and many.endswith(b"Invalid HTTP request received.")
    before = resident_kb(house.served.process.pid)
    with closing(connect(house.url)) as open_, suppress(OSError):
        for _ in range(200):
            open_.sendall(ask_ * 5000)
    assert resident_kb(house.served.process.pid) - before < 16_000
    # Somebody goes before the answers come.
    for _ in range(5):
        with closing(connect(house.url)) as open_:
            open_.sendall(f"GET {page_path(house.sam)} HTTP/1.1\r\nHost: a\r\n\r\n".encode() * 8)
    assert house.get_feed().status == 200
