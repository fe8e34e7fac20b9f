"""Clients that mean harm, and a world that fails: honest clients go on, nothing is told that should not be, nothing breaks."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from http_client import (
    HANG_SECONDS,
    TODAY,
    Answer,
    ask,
    connect,
    feed_path,
    forms,
    link,
    page_path,
    post,
    raw,
    received,
    status_of,
    tick_of,
    until,
    write,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from servers import Server, programs_or_skip, running, server
from serving import Served, serving

from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.workflow.feeds.links import Opened

__all__ = ["server"]

CSP = b"content-security-policy: default-src 'none'; "


@dataclass(frozen=True, slots=True)
class House:
    """A site with links to its feed and to the pages of its keepers."""

    file: Path
    served: Served
    feed: Opened
    noor: Opened
    sam: Opened

    @property
    def url(self) -> str:
        return self.served.url

    def get_feed(self, **fields: str) -> Answer:
        return ask(self.url, feed_path(self.feed), fields={k.replace("_", "-"): v for k, v in fields.items()})

    def entries(self) -> list[Entry]:
        with open_log(f"sqlite:///{self.file.with_suffix('.db')}", create=False) as log:
            return list(log.entries("fen-lane"))


def links(file: Path, log: str | None = None) -> tuple[Opened, Opened, Opened]:
    write(file)
    return (
        link(file, "site", log=log),
        link(file, "page", "Noor", log=log),
        link(file, "page", "Sam", log=log),
    )


@contextmanager
def housed(file: Path, before: str = "", **options: object) -> Iterator[House]:
    opened = links(file)
    with serving(file.parent, file.name, today=TODAY, before=before, **options) as served:
        yield House(file, served, *opened)
    said_nothing_of_secrets(served, *opened)


def said_nothing_of_secrets(served: Served, *opened: Opened) -> None:
    said = "\n".join(served.log_lines)
    assert "Traceback" not in said and "Error" not in said, said
    for one in opened:
        for secret in (one.secret, one.calendar):
            assert not secret or secret not in said


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    with housed(tmp_path_factory.mktemp("fen") / "fen-lane.toml") as made:
        assert made.get_feed().status == 200
        yield made
        assert made.served.log_lines[1:] == [], "nothing that a client sends is worth a line"


# --- floods ---

NO_TIME_PASSES = """
from scheduler.web import rate_limit
made = rate_limit.Limit.__init__
rate_limit.Limit.__init__ = lambda limit, at_once, a_second, clock: made(limit, at_once, a_second, lambda: 0.0)
"""
"""Nobody is given more goes while a flood is on, however long that takes."""


@pytest.fixture(scope="module")
def flooded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    with housed(tmp_path_factory.mktemp("flooded") / "fen-lane.toml", before=NO_TIME_PASSES) as made:
        yield made
        assert made.served.log_lines[1:] == []


def test_guesses_are_limited_and_honest_clients_go_on(flooded: House) -> None:
    guesser = {"X-Forwarded-For": "203.0.113.7"}
    kept = flooded.get_feed()["ETag"]
    statuses = []
    for number in range(100):
        answer = ask(flooded.url, f"/feeds/{number:027}.ics", fields=guesser)
        statuses.append(answer.status)
        if answer.status == 429:
            assert int(answer["Retry-After"]) > 0
        if number % 20 == 0:
            # Whoever has a link goes on: from behind the same address, and from elsewhere.
            for address in ("203.0.113.7", "198.51.100.1"):
                assert flooded.get_feed(X_Forwarded_For=address, If_None_Match=kept).status == 304
    assert statuses == [404] * 20 + [429] * 80
    # Others may be wrong too.
    assert ask(flooded.url, f"/feeds/{1:027}.ics", fields={"X-Forwarded-For": "203.0.113.8"}).status == 404


def test_a_guesser_has_more_addresses_than_one(flooded: House) -> None:
    """Of IPv6 one customer is given 64 bits (RFC 6177, section 2): they count as one; and who is nobody is one too."""
    for addresses in (
        [f"2001:db8:1:2:{n:x}::1" for n in range(60)],
        [f"::ffff:192.0.2.99, nonsense-{'x' * 10}" for _ in range(60)],
    ):
        statuses = [
            ask(flooded.url, f"/round/{'B' * 27}", fields={"X-Forwarded-For": address}).status
            for address in addresses
        ]
        assert statuses == [404] * 20 + [429] * 40, addresses[0]
    other = {"X-Forwarded-For": "2001:db8:1:3::1"}
    assert ask(flooded.url, f"/round/{'B' * 27}", fields=other).status == 404


def test_a_link_made_during_a_flood(house: House) -> None:
    """Whoever is given a link while somebody guesses from the same address gets in."""
    fields = {"X-Forwarded-For": "203.0.113.9"}
    for number in range(40):
        ask(house.url, f"/feeds/{number:027}.ics", fields=fields)
    new = link(house.file, "site")

    def gets_in() -> bool:
        ask(house.url, f"/feeds/{7:027}.ics", fields=fields)
        return ask(house.url, feed_path(new), fields=fields).status == 200

    until(gets_in)


def test_a_flood_of_posts_to_one_page(flooded: House) -> None:
    """Somebody's own program went wild: their page is limited, and that of others is not."""
    typed = {"Content-Type": "application/x-www-form-urlencoded"}
    answers = [ask(flooded.url, f"{page_path(flooded.noor)}/done", "POST", b"a=1", typed) for _ in range(100)]
    assert [answer.status for answer in answers] == [400] * 60 + [429] * 40
    assert int(answers[-1]["Retry-After"]) >= 1
    assert ask(flooded.url, f"{page_path(flooded.sam)}/done", "POST", b"a=1", typed).status == 400
    views = [ask(flooded.url, page_path(flooded.noor)).status for _ in range(100)]
    assert views == [200] * 60 + [429] * 40
    assert ask(flooded.url, page_path(flooded.sam)).status == 200


# --- slow clients ---

BY_HAND = """
import asyncio, signal, sys
from scheduler.web import forms, slow_clients, style
style.STYLE = b" " * 6_000_000
forms.MOST_SECONDS = 0.5
made, waits = slow_clients.Impatient.__init__, []

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

slow_clients.Impatient.__init__ = begin
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


def is_closed(open_: socket.socket) -> bool:
    """Tell whether the other side ends, once all that it sent is read."""
    open_.settimeout(HANG_SECONDS)
    try:
        while open_.recv(65536):
            pass
    except ConnectionResetError:
        return True
    except TimeoutError:
        return False
    return True


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


ESTABLISHED = "01"


@dataclass(frozen=True, slots=True)
class End:
    """The server's end of a connection, as the system tells it (proc(5): /proc/net/tcp)."""

    state: str
    unread: int
    taken: bool


def at_server(open_: socket.socket) -> End:
    """Return how the server's end of a connection is: what has come to it and was not read, and whether it was taken."""
    (_, ours), (_, theirs) = open_.getsockname(), open_.getpeername()
    for line in Path("/proc/net/tcp").read_text().splitlines()[1:]:
        _, local, remote, state, queues, _, _, _, _, inode, *_ = line.split()
        if local.endswith(f":{theirs:04X}") and remote.endswith(f":{ours:04X}"):
            return End(state, int(queues.partition(":")[2], 16), inode != "0")
    return End("gone", 0, False)


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


# --- too large ---


def test_too_large(house: House) -> None:
    typed = {"Content-Type": "application/x-www-form-urlencoded"}
    page, feed = page_path(house.sam), feed_path(house.feed)

    def status(path: str, **fields: str) -> int:
        return ask(house.url, path, fields={k.replace("_", "-"): v for k, v in fields.items()}).status

    assert status(feed + "?" + "a" * 5000) == 414
    assert status("/feeds/" + "a" * 60_000 + ".ics") in (414, 431)
    assert status("/" + "%41" * 300) == 414
    assert status(feed, Cookie="a" * 16_384) == 431
    assert status(feed, If_None_Match='"x"' * 6000) == 431
    assert status(feed, Cookie="a=b; " * 1000, If_None_Match="*") == 304
    count = "".join(f"X-{n}: 1\r\n" for n in range(2000))
    assert (
        status_of(
            raw(house.url, f"GET {feed} HTTP/1.1\r\nHost: a\r\nConnection: close\r\n{count}\r\n".encode())
        )
        == 431
    )
    for length in ("300000", "99999999999", "9" * 30):
        sent = (
            f"POST {page}/done HTTP/1.1\r\nHost: a\r\nContent-Type: application/x-www-form-urlencoded\r\n"
            f"Content-Length: {length}\r\nConnection: close\r\n\r\na=1"
        )
        # By what is announced, before any of it comes; a length that no number holds is no request.
        assert status_of(raw(house.url, sent.encode())) in ((413,) if len(length) < 20 else (400, 413))
    assert ask(house.url, f"{page}/done", "POST", b"a=" + b"b" * 19_000, typed).status == 400


def test_a_form_in_chunks_that_does_not_end(house: House) -> None:
    """Without a length it is counted while it comes (RFC 9112, section 7.1)."""
    head = (
        f"POST {page_path(house.sam)}/done HTTP/1.1\r\nHost: a\r\nContent-Type: application/x-www-form-urlencoded\r\n"
        "Transfer-Encoding: chunked\r\n\r\n"
    ).encode()
    with closing(connect(house.url)) as open_:
        open_.sendall(head)
        for _ in range(200):
            open_.sendall(b"400\r\n" + b"a" * 1024 + b"\r\n")
        assert status_of(open_.recv(65536)) == 413


def resident_kb(process: int) -> int:
    (found,) = re.findall(r"^VmRSS:\s+(\d+) kB", Path(f"/proc/{process}/status").read_text(), re.MULTILINE)
    return int(found)


@pytest.mark.parametrize("begin", [b"GET /healthz HTTP/1.1\r\nX-A: ", b"GET /", b"GET /healthz HTTP/1.1\r\n"])
def test_a_head_that_does_not_end(house: House, begin: bytes) -> None:
    """It is not kept: after 64 kB there is an answer, and the memory of the server stays as it was."""
    line = b"a" * 65536 if not begin.endswith(b"\n") else b"X-Some: thing\r\n" * 4500
    before, sent = resident_kb(house.served.process.pid), 0
    with closing(connect(house.url)) as open_:
        open_.sendall(begin)
        try:
            for _ in range(1000):
                open_.sendall(line)
                sent += len(line)
        except OSError:
            pass
        assert sent < 20_000_000
        assert status_of(received(open_)) in (0, 400, 431)
    assert resident_kb(house.served.process.pid) - before < 8_000
    assert house.get_feed().status == 200


# --- not HTTP, and paths that lead elsewhere ---


@pytest.mark.parametrize(
    "sent",
    [
        b"\r\n\r\n\r\n",
        b"\x00" * 100,
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(range(256)),  # a TLS ClientHello
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",  # the preface of HTTP/2 (RFC 9113, section 3.4)
        b"GET\r\n\r\n",
        b"GET /x\r\n\r\n",
        b"GET /x HTTP/9.9\r\n\r\n",
        b"get /x http/1.1\r\n\r\n",
        b"GET /x  HTTP/1.1\r\nHost: a\r\n\r\n",
        b"GET /x HTTP/1.1\r\nHost\r\n\r\n",
        b"GET /x HTTP/1.1\r\n: a\r\n\r\n",
        b"GET /x HTTP/1.1\r\nHost : a\r\n\r\n",
        b"GET /x HTTP/1.1\r\nX: a\x00b\r\n\r\n",
        b"GET /x HTTP/1.1\r\nX: a\r\n b\r\n\r\n",  # obs-fold (RFC 9112, section 5.2)
        b"GET /\x80 HTTP/1.1\r\nHost: a\r\n\r\n",
        b"GET http://[::1 HTTP/1.1\r\nHost: a\r\n\r\n",
        b"GET a:99999999 HTTP/1.1\r\nHost: a\r\n\r\n",
        b"CONNECT evil.example:443 HTTP/1.1\r\nHost: a\r\n\r\n",
        b"GET /x HTTP/1.1\r\nHost: a\r\nUpgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Key: x\r\n\r\n",
        b"GET /x HTTP/1.1\r\nHost: a\r\nUpgrade: h2c\r\nConnection: Upgrade, HTTP2-Settings\r\n\r\n",
        b"POST /x HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n",
        b"POST /x HTTP/1.1\r\nHost: a\r\nContent-Length: 1e3\r\n\r\n",
        b"POST /x HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
        b"POST /x HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nffffffffffffffff1\r\n",
        # Two lengths, and a length beside chunks, part one request into two (RFC 9112, sections 6.3 and 11.2).
        b"POST /x HTTP/1.1\r\nHost: a\r\nContent-Length: 3\r\nContent-Length: 4\r\n\r\nabcd",
        b"POST /x HTTP/1.1\r\nHost: a\r\nContent-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        b"GET /x HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: xchunked\r\n\r\n",
    ],
)  # fmt: skip
def test_what_is_no_http(house: House, sent: bytes) -> None:
    """It is refused, or what can be read of it is answered as any other; it never is an error of ours."""
    answer = raw(house.url, sent, 0.5)
    assert status_of(answer) in (0, 400, 404, 405, 431, 501, 505), answer
    assert (
        answer.count(b"HTTP/1.1 ") <= 1 or b"Content-Length" in sent or b"chunked" in sent or b"HTTP2" in sent
    )
    assert house.get_feed(If_None_Match="*").status == 304


def test_one_request_is_not_taken_for_two(house: House) -> None:
    """RFC 9112, section 11.2: a request that is hidden in the body of another one is not answered."""
    inner = f"GET {feed_path(house.feed)} HTTP/1.1\r\nHost: a\r\n\r\n".encode()
    for fields in (
        b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n",
        b"Transfer-Encoding: chunked\r\nContent-Length: 5\r\n",
        b"Content-Length: 0\r\nContent-Length: 5\r\n",
        b"Transfer-Encoding: identity, chunked, identity\r\n",
        b"Transfer-Encoding:\x0bchunked\r\n",
    ):
        answer = raw(
            house.url, b"POST /healthz HTTP/1.1\r\nHost: a\r\n" + fields + b"\r\n0\r\n\r\n" + inner, 0.5
        )
        assert b"BEGIN:VCALENDAR" not in answer, fields


ELSEWHERE = [
    "/../../../../etc/passwd",
    "/feeds/../../../../etc/passwd",
    "/feeds/..%2f..%2f..%2fetc%2fpasswd.ics",
    "/feeds/%2e%2e/%2e%2e/fen-lane.toml",
    "/feeds/%252e%252e%252ffen-lane.toml.ics",
    "/feeds/..\\..\\fen-lane.toml.ics",
    "/feeds/..%5c..%5cfen-lane.toml",
    "/feeds/fen-lane.ics",
    "/feeds/fen-lane.toml",
    "/fen-lane.toml",
    "/fen-lane.db",
    "/pondround.key",
    "/style.css/../../pages.py",
    "/style.css%00.html",
    "/templates/round.html",
    "/round/../fen-lane.db",
    "/round/%00",
    "//etc/passwd",
    "/./healthz",
    "/healthz/",
    "/feeds/\u00e9.ics",
    "/feeds/.ics",
    "/feeds//.ics",
    "/round/",
    "/round//done",
    "/static/style.css",
    "/.env",
    "/openapi.json",
]


@pytest.mark.parametrize("path", ELSEWHERE)
def test_paths_that_lead_elsewhere(house: House, path: str) -> None:
    answer = raw(house.url, b"GET " + path.encode() + b" HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n")
    assert status_of(answer) in (400, 404)
    for sign in (b"root:", b"time_zone", b"SQLite", b"import", b"\r\nlocation:"):
        assert sign not in answer


# --- what is told back ---


def test_nothing_of_a_request_comes_into_the_fields_of_an_answer(house: House) -> None:
    """Response splitting, and links that lead to wherever the request says it came."""
    evil = {"Host": "evil.example", "X-Forwarded-Host": "evil.example", "Referer": "http://evil.example/"}
    form = tick_of(ask(house.url, page_path(house.sam)).text, "daily-look")
    answers = [
        ask(house.url, path, fields=evil | {"X-Forwarded-For": "192.0.2.50"})
        for path in (
            page_path(house.sam),
            feed_path(house.feed),
            f"{page_path(house.sam)}/done",
            "/healthz/",
            "/round/a%0d%0aX-Evil:%20evil.example",
            "/feeds/%0d%0aSet-Cookie:%20evil.example.ics",
            "//evil.example/..",
        )
    ]
    answers.append(post(house.url, form.action, form.fields, evil))
    assert answers[-1].status == 303
    for answer in answers:
        assert answer["X-Evil"] == answer["Set-Cookie"] == ""
        assert not any("evil" in name + value for name, value in answer.fields)
        assert answer["Location"].startswith(("/round/",)) or not answer["Location"]


@pytest.mark.parametrize(
    "host", ["[", "a b", "\xe9\xff", '"><script>alert(1)</script>', "a:99999", "x@y", "", "a," * 500]
)
def test_any_host(house: House, host: str) -> None:
    """The page of the calendar shows an address of the name by which it was asked, as text."""
    sent = f"GET {page_path(house.sam)}/calendar HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"
    answer = raw(house.url, sent.encode("latin-1"))
    assert status_of(answer) == 200
    assert b"<script" not in answer and CSP in answer


@pytest.mark.parametrize(
    ("hosts", "status", "source"),
    [
        ([], 400, "RFC 9112, section 3.2: lacks a Host"),
        (["a", "a"], 400, "the same: more than one"),
        (["a", "b"], 400, "the same"),
        (["a" * 9_000], 400, "RFC 1035, section 2.3.4: 255 bytes at most"),
        (["a" * 1_001], 400, "the same"),
        (["a" * 1_000], 200, "what fits into a code to scan is shown"),
    ],
)
def test_a_request_names_one_host(house: House, hosts: list[str], status: int, source: str) -> None:
    for path in (f"{page_path(house.noor)}/calendar", "/healthz"):
        lines = "".join(f"Host: {host}\r\n" for host in hosts)
        answer = raw(house.url, f"GET {path} HTTP/1.1\r\n{lines}Connection: close\r\n\r\n".encode())
        assert status_of(answer) == status, source
        assert CSP in answer
    # Before HTTP/1.1 there was no Host (RFC 1945).
    old = raw(house.url, b"GET /healthz HTTP/1.0\r\n\r\n")
    assert b" 200 " in old.partition(b"\r\n")[0]


# --- whatever comes ---


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[House, list[Opened]]]:
    """A server whose records may become whatever they become, with many pages, since each is limited by itself."""
    file = tmp_path_factory.mktemp("fuzzed") / "fen-lane.toml"
    with housed(file) as made:
        yield made, [link(file, "page", ("Noor", "Sam")[n % 2], name=f"page-{n}") for n in range(12)]
        assert made.get_feed().status == 200
        assert made.served.log_lines[1:] == []


LETTERS = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0xFF, exclude_characters="\x7f"), max_size=30
)
ODD = """
* done undo reading hand-over calendar sedge pane 2026-12-14 0 1 -1 9999999999999999999999999 yes null
../.. %2e%2e/ \x00 gzip;q= bytes=0- http://[ cross-site \r\nX:y \u2028 =?utf-8?q?a?= {{7*7}} ${x} %s '--
"""
WORDS = st.one_of(LETTERS, st.text(max_size=20), st.sampled_from(ODD.split(" ")))
METHODS = st.one_of(
    st.sampled_from(["GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"]),
    st.text("ABGETPOS-", min_size=1, max_size=8),
)
HEAD = """
Accept-Encoding If-None-Match If-Match If-Modified-Since If-Unmodified-Since Range Origin Sec-Fetch-Site Content-Type
Host Cookie Expect X-Forwarded-Proto Accept Upgrade TE Referer X-HTTP-Method-Override
"""
FIELDS = st.dictionaries(st.sampled_from(HEAD.split()), WORDS, max_size=5)
NAMES = [
    "enclosure",
    "key",
    "variant",
    "note",
    "on",
    "entry",
    "reading",
    "value",
    "whose",
    "sure",
    "to",
    "day",
    "seen",
]


@settings(max_examples=250)
@given(
    method=METHODS,
    route=st.sampled_from(["feed", "page", "part", "own", "style", "health", "guess", "any"]),
    word=WORDS,
    fields=FIELDS,
    form=st.dictionaries(st.one_of(st.sampled_from(NAMES), WORDS), WORDS, max_size=6),
    whole=st.booleans(),
    number=st.integers(0, 11),
)
def test_whatever_comes_to_any_route(
    fuzzed: tuple[House, list[Opened]],
    method: str,
    route: str,
    word: str,
    fields: dict[str, str],
    form: dict[str, str],
    whole: bool,
    number: int,
) -> None:
    """No request brings about an error of ours; every answer has its guards.

    Half of the forms have the page's own seal, so that what is behind it is reached.
    """
    from urllib.parse import quote

    house, pages = fuzzed
    page = page_path(pages[number])
    part = ("done", "undo", "reading", "hand-over", "calendar")[number % 5]
    path = {
        "feed": feed_path(house.feed),
        "page": page,
        "part": f"{page}/{quote(word)}",
        "own": f"{page}/{part}",
        "style": "/style.css",
        "health": "/healthz",
        "guess": f"/round/{quote(word)}/{part}",
        "any": "/" + quote(word, safe="/%?.;"),
    }[route]
    if whole and route == "own":
        found = forms(ask(house.url, page).text)
        if found:
            form = {**found[number % len(found)].fields, **form}
            sealed = {name: found[0].fields[name] for name in ("day", "seen", "seal")}
            form, method = {**form, **sealed}, "POST"
            fields = {"Content-Type": "application/x-www-form-urlencoded", "X-A": fields.get("Cookie", "")}
    body = urlencode(form, errors="surrogatepass").encode() if method != "GET" else b""
    address = f"198.51.100.{len(word) % 250}"
    lines = {
        "Host": "a",
        **fields,
        "X-Forwarded-For": address,
        "Content-Length": str(len(body)),
        "Connection": "close",
    }
    # What no head can hold is left out of it: line breaks end a field.
    head = "".join(f"{name}: {clean(value)}\r\n" for name, value in lines.items() if name != "Expect" or body)
    sent = f"{method} {path} HTTP/1.1\r\n{head}\r\n".encode("latin-1", "replace") + body
    answer = raw(house.url, sent)
    status = status_of(answer)
    assert 0 < status < 500, (sent, answer)
    if status != 400 or CSP in answer:
        assert CSP in answer and b"\r\nx-evil" not in answer.lower()
    if status >= 400:
        assert b"Traceback" not in answer and b"scheduler" not in answer


def clean(text: str) -> str:
    return re.sub(r"[\x00-\x08\x0a-\x1f\x7f]", "", text)


# --- the log is away ---


def all_statuses(house: House, form_fields: dict[str, str], action: str) -> dict[str, tuple[int, str]]:
    answers = {
        "feed": house.get_feed(),
        "page": ask(house.url, page_path(house.sam)),
        "tick": post(house.url, action, form_fields),
        "health": ask(house.url, "/healthz"),
    }
    return {name: (answer.status, answer["Retry-After"]) for name, answer in answers.items()}


AWAY = dict.fromkeys(["feed", "page", "tick", "health"], (503, "5"))
BACK = {"feed": (200, ""), "page": (200, ""), "tick": (303, ""), "health": (200, "")}


def comes_and_goes(house: House, leave: list[object], come: list[object]) -> None:
    """See that a log that is away is told with 503, and that all is well when it is back."""
    before = house.get_feed()
    form = tick_of(ask(house.url, page_path(house.sam)).text, "pane")
    for number, (go, back) in enumerate(zip(leave, come, strict=True), start=1):
        go()  # type: ignore[operator]
        until(lambda: house.get_feed().status == 503)
        for _ in range(2):
            assert all_statuses(house, form.fields, form.action) == AWAY
            # What is unknown was so two seconds ago, or cannot be told from what is known elsewhere.
            assert ask(house.url, f"/feeds/{'C' * 27}.ics").status in (404, 503)
        back()  # type: ignore[operator]
        until(lambda: house.get_feed().status == 200, lambda: house.served.log_lines)
        if number == 1:
            assert house.get_feed(If_None_Match=before["ETag"]).status == 304
        until(lambda: all_statuses(house, form.fields, form.action) == BACK)
    said = house.served.log_lines[1:]
    told = [line for line in said if "cannot be" in line]
    assert len(told) == len(leave), said
    assert sum("within reach again" in line for line in said) == len(leave), said
    assert len(said) == 2 * len(leave), said


def test_a_sqlite_log_that_goes_away_and_comes_back(tmp_path: Path) -> None:
    """Rubbish in its place, a folder in its place, nothing in its place; then the file as it was."""
    file = tmp_path / "fen-lane.toml"
    with housed(file) as house:
        log, aside = file.with_suffix(".db"), tmp_path / "aside.db"

        def take_away() -> None:
            for end in ("", "-wal", "-shm"):
                if Path(f"{log}{end}").exists():
                    Path(f"{log}{end}").rename(f"{aside}{end}")

        def rubbish() -> None:
            take_away()
            log.write_bytes(b"no log at all, but long enough to be one. " * 1000)

        def folder() -> None:
            take_away()
            log.mkdir()

        def put_back() -> None:
            for end in ("", "-wal", "-shm"):
                there = Path(f"{log}{end}")
                if there.is_dir():
                    there.rmdir()
                there.unlink(missing_ok=True)
                if Path(f"{aside}{end}").exists():
                    Path(f"{aside}{end}").rename(there)

        comes_and_goes(house, [rubbish, folder, take_away], [put_back] * 3)
        assert [e.name for e in house.entries()] == ["pane"]


@pytest.mark.server
def test_a_postgresql_log_that_goes_away_and_comes_back(server: Server, tmp_path: Path) -> None:
    """`server` only stands for the mark: this one is stopped."""
    file = tmp_path / "fen-lane.toml"
    with running(programs_or_skip()) as mortal:
        url = mortal.new_schema()
        opened = links(file, url)
        with serving(tmp_path, file.name, today=TODAY, env={"PONDROUND_LOG": url}) as served:
            house = House(file, served, *opened)
            comes_and_goes(house, [mortal.stop] * 2, [mortal.start] * 2)
        with open_log(url, create=False) as log:
            assert [e.name for e in log.entries("fen-lane")] == ["pane"]
    said_nothing_of_secrets(served, *opened)


SHORT_WAIT = """
from scheduler.web import deadline
deadline.LONGEST_SECONDS = 3.0
"""


@pytest.mark.server
def test_a_postgresql_log_that_is_there_and_does_not_answer(server: Server, tmp_path: Path) -> None:
    """Its processes are halted: 503 and Retry-After for whoever comes, while they are; then it is well again.

    `server` only stands for the mark: this one is halted.
    """
    file = tmp_path / "fen-lane.toml"
    with running(programs_or_skip()) as slow:
        url = slow.new_schema()
        opened = links(file, url)
        env = {"PONDROUND_LOG": url}
        with serving(tmp_path, file.name, today=TODAY, before=SHORT_WAIT, env=env) as served:
            house = House(file, served, *opened)
            # What takes long is made meanwhile, and there the next time.
            until(lambda: house.get_feed().status == 200)
            pages: list[Answer] = []

            def is_shown() -> bool:
                pages.append(ask(house.url, page_path(house.sam)))
                return pages[-1].status == 200

            until(is_shown)
            form = tick_of(pages[-1].text, "pane")
            slow.halt()
            try:
                with ThreadPoolExecutor(8) as pool:
                    asked = [pool.submit(house.get_feed) for _ in range(7)]
                    asked.append(pool.submit(post, house.url, form.action, form.fields))
                    answers = [one.result() for one in asked]
            finally:
                slow.go_on()
            assert {(a.status, a["Retry-After"]) for a in answers} == {(503, "5")}
            until(lambda: house.get_feed().status == 200)
            # Whether the first one was recorded after all or not: sent again it is, and once.
            until(lambda: post(house.url, form.action, form.fields).status == 303)
        with open_log(url, create=False) as log:
            assert [e.name for e in log.entries("fen-lane")] == ["pane"]
    said_nothing_of_secrets(served, *opened)


# --- it ends ---


def is_let_in(house: House) -> bool:
    """Tell whether somebody new is listened to."""
    try:
        connect(house.url).close()
    except OSError:
        return False
    return True


@pytest.mark.parametrize("workers", [1, 2])
def test_told_to_end_it_finishes_what_it_has_begun(tmp_path: Path, workers: int) -> None:
    """A form whose second half comes after SIGTERM is taken and answered; nobody new is let in; the exit code is 0."""
    with housed(tmp_path / "fen-lane.toml", workers=workers) as house:
        form = tick_of(ask(house.url, page_path(house.sam)).text, "pane")
        body = urlencode(form.fields).encode()
        head = (
            f"POST {form.action} HTTP/1.1\r\nHost: a\r\nContent-Type: application/x-www-form-urlencoded\r\n"
            f"Content-Length: {len(body)}\r\n\r\n"
        ).encode()
        with (
            closing(connect(house.url)) as slow,
            closing(connect(house.url)) as half,
            closing(connect(house.url)),
        ):
            slow.sendall(head + body[:40])
            half.sendall(b"GET /healthz HTTP/1.1\r\nHost: a\r\n")
            for open_ in (slow, half):
                until(lambda one=open_: at_server(one) == End(ESTABLISHED, 0, True))  # type: ignore[misc]
            house.served.process.send_signal(signal.SIGTERM)
            # Whoever has not even asked is not waited for.
            assert is_closed(half)
            until(lambda: not is_let_in(house))
            slow.sendall(body[40:])
            answer = received(slow)
        assert status_of(answer) == 303
        assert house.served.process.wait(HANG_SECONDS) == 0
        assert [e.name for e in house.entries()] == ["pane"]
    assert house.served.log_lines[1:] == []


def test_ended_by_hand(tmp_path: Path) -> None:
    """Ctrl-C is no failure."""
    with housed(tmp_path / "fen-lane.toml") as house:
        assert house.get_feed().status == 200
        house.served.process.send_signal(signal.SIGINT)
        assert house.served.process.wait(HANG_SECONDS) == 0
    assert house.served.log_lines[1:] == []


@pytest.mark.parametrize("workers", [1, 2])
def test_told_to_read_again_it_goes_on(tmp_path: Path, workers: int) -> None:
    """SIGHUP is what service managers send for a reload (daemon(7), systemd): what is open is served, and nothing ends."""
    with housed(tmp_path / "fen-lane.toml", workers=workers) as house:
        form = tick_of(ask(house.url, page_path(house.sam)).text, "pane")
        write(house.file, house.file.read_text().replace("brush the pane", "polish the pane"))
        for _ in range(3):
            house.served.process.send_signal(signal.SIGHUP)
            # Signals that come upon each other are one (signal(7)).
            until(lambda: not is_on_its_way(house.served.process.pid, signal.SIGHUP))

        def is_read_again() -> bool:
            assert house.served.process.poll() is None
            # New workers begin within some seconds; nobody is refused before.
            with suppress(OSError):
                answer = ask(house.url, page_path(house.sam))
                return answer.status == 200 and "polish the pane" in answer.text
            return False

        until(is_read_again)
        assert post(house.url, form.action, form.fields).status == 303
        house.served.process.send_signal(signal.SIGTERM)
        assert house.served.process.wait(HANG_SECONDS) == 0
        assert [e.name for e in house.entries()] == ["pane"]


def is_on_its_way(process: int, number: signal.Signals) -> bool:
    """Tell whether a signal was sent to a process, and has not come there (proc(5): ShdPnd)."""
    (mask,) = re.findall(r"^ShdPnd:\s+(\w+)", Path(f"/proc/{process}/status").read_text(), re.MULTILINE)
    return bool(int(mask, 16) >> (number - 1) & 1)


def runs(process: int) -> bool:
    """Tell whether a process is there, and more than a name that nobody has asked after (state Z of proc(5))."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_workers_end_with_whoever_began_them(tmp_path: Path) -> None:
    """They would hold the port, and nobody would know of them."""
    with housed(tmp_path / "fen-lane.toml", workers=2) as house:
        assert house.get_feed().status == 200
        parent = house.served.process.pid
        children = [
            int(child) for child in Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
        ]
        assert len(children) >= 2
        house.served.process.kill()
        house.served.process.wait(HANG_SECONDS)
        try:
            until(lambda: not any(map(runs, children)))
        finally:
            for child in filter(runs, children):
                os.kill(child, signal.SIGKILL)
        with pytest.raises(OSError):
            house.get_feed()


def refused(file: Path, *words: str) -> tuple[int, list[str]]:
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", "serve", file.name, *words],
        cwd=file.parent,
        capture_output=True,
        text=True,
        timeout=HANG_SECONDS,
        check=False,
    )
    assert done.stdout == ""
    return done.returncode, done.stderr.splitlines()


def test_an_address_that_cannot_be_used(tmp_path: Path) -> None:
    file = write(tmp_path / "fen-lane.toml")
    with closing(socket.create_server(("127.0.0.1", 0))) as other:
        port = str(other.getsockname()[1])
        assert refused(file, "--port", port) == (
            1,
            [f"127.0.0.1 port {port} cannot be listened to: Address already in use; choose another --port"],
        )
    code, said = refused(file, "--host", "203.0.113.1", "--port", "0")
    assert (code, len(said)) == (1, 1)
    assert said[0].startswith("203.0.113.1 port 0 cannot be listened to: ")


def test_it_listens_on_this_machine_alone(house: House) -> None:
    """Unless told otherwise: what others on the net see is for a proxy with TLS to say."""
    assert urlsplit(house.url).hostname == "127.0.0.1"
    port = f"{urlsplit(house.url).port:04X}"
    local = [line.split()[1] for line in Path("/proc/net/tcp").read_text().splitlines()[1:] if " 0A " in line]
    assert [address for address in local if address.endswith(f":{port}")] == [f"0100007F:{port}"]
