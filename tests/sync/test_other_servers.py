"""Servers that are none, that are slow, that refuse, that say too much: a sentence each, and no password to strangers."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from support.caldav_servers import Caldav, Phone, Way, way_to
from support.ponds import ALONE, NOBODY, TWO, Pond, flat, ticked

import scheduler.sync.session as session

OWN, PUMP = "alder-row-noor", "rinse the pump"

Answers = Callable[[BaseHTTPRequestHandler], None]


@contextmanager
def pretending(answers: Answers) -> Iterator[tuple[str, list[str]]]:
    """Run a server that answers like this; give its address, and each request with whether somebody logged in."""
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def __getattr__(self, name: str) -> Any:
            if name.startswith("do_"):
                return self.answer
            raise AttributeError(name)

        def answer(self) -> None:
            known = " with a login" if "Authorization" in self.headers else ""
            asked.append(f"{self.command} {self.path}{known}")
            self.rfile.read(int(self.headers.get("Content-Length") or 0))
            try:
                answers(self)
            except (BrokenPipeError, ConnectionResetError):
                self.close_connection = True

        def log_message(self, *_: Any) -> None:
            """Say nothing."""

    listening = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    listening.daemon_threads = True
    threading.Thread(target=listening.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()
    yield f"http://127.0.0.1:{listening.server_address[1]}/", asked
    listening.shutdown()
    listening.server_close()


def says(status: int, text: str = "", kind: str = "text/xml; charset=utf-8", **headers: str) -> Answers:
    def answer(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(status)
        raw = text.encode()
        for name, value in {"Content-Type": kind, "Content-Length": str(len(raw)), **headers}.items():
            handler.send_header(name.replace("_", "-"), value)
        handler.end_headers()
        handler.wfile.write(raw)

    return answer


def multistatus(properties: str) -> str:
    return (
        '<d:multistatus xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:response><d:href>/</d:href><d:propstat>'
        f"<d:prop>{properties}</d:prop><d:status>HTTP/1.1 200 OK</d:status></d:propstat></d:response></d:multistatus>"
    )


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE b [<!ENTITY a "turtle">'
    + "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    + "]><b>&i;</b>"
)


@pytest.mark.parametrize(
    ("answers", "sentence"),
    [
        (says(200, "<html><body>Welcome<script>", "text/html"), "is no CalDAV server, or nothing is there"),
        (says(404, "gone", "text/plain"), "is no CalDAV server, or nothing is there"),
        (says(405), "is no CalDAV server, or nothing is there"),
        (says(207, multistatus("")), "is no CalDAV server, or nothing is there"),
        (says(207, "<multistatus><oh"), "answers with broken XML; check the URL"),
        (says(207, BOMB), "answers with broken XML; check the URL"),
        (says(500, "Traceback (most recent call last)", "text/plain"), "is no CalDAV server"),
        (says(503, "", Retry_After="600"), "is busy; try again in a while"),
        (says(429), "is busy; try again in a while"),
        (says(401), "does not let \"noor\" in; check the user and the password"),
        (says(401, "", WWW_Authenticate='Basic realm="x"'), "does not let \"noor\" in; check the user"),
        (says(401, "", WWW_Authenticate="Negotiate"), "asks for a kind of login that is not known here"),
        (
            says(207, multistatus("<c:calendar-home-set><d:href>http://127.0.0.2/n/</d:href></c:calendar-home-set>")),
            "the collections are at \"http://127.0.0.2/n/\", which is another server; write that address if you trust it",
        ),
        (says(301, "", Location="/again"), "the server sends from one address to the next without end"),
    ],
)  # fmt: skip
def test_what_is_no_server_for_this(pond: Pond, answers: Answers, sentence: str) -> None:
    pond.describe(ALONE)
    (pond.folder / "enclosures.db").unlink()
    with pretending(answers) as (url, _):
        code, out, err = pond.run(f"sync enclosures.toml {url}")
    assert (code, out) == (1, ""), err
    assert sentence in flat(err)
    assert "slider" not in err and "Traceback" not in err and "<script>" not in err
    assert not (pond.folder / "enclosures.db").exists()


def test_no_password_goes_to_another_server(pond: Pond) -> None:
    pond.describe(ALONE)
    with (
        pretending(says(401, "", WWW_Authenticate='Basic realm="x"')) as (stranger, asked),
        pretending(says(302, "", Location=f"{stranger}catch")) as (url, _),
    ):
        code, _, err = pond.run(f"sync enclosures.toml {url}")
    assert code == 1 and asked == []
    assert f'the server refers to "{stranger}catch", which is another one; nothing was sent there.' in flat(
        err
    )


def test_who_does_not_say_who_it_is(pond: Pond, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PONDROUND_CALDAV_PASSWORD")
    pond.describe(ALONE)
    with pretending(says(401, "", WWW_Authenticate='Basic realm="x"')) as (url, asked):
        code, _, err = pond.run(f"sync enclosures.toml {url}")
    assert code == 1 and "with a login" not in " ".join(asked)
    assert "asks who you are; set PONDROUND_CALDAV_USER and PONDROUND_CALDAV_PASSWORD" in flat(err)


def test_a_slow_server_is_not_waited_for_without_end(pond: Pond) -> None:
    given_up = threading.Event()

    def sleeps(handler: BaseHTTPRequestHandler) -> None:
        given_up.wait(120)
        handler.close_connection = True

    pond.describe(ALONE)
    with pretending(sleeps) as (url, _):
        code, _, err = pond.run(f"sync enclosures.toml {url} --timeout 1")
        given_up.set()
    assert code == 1
    assert "did not answer within 1 s; try again, or give it more with --timeout" in flat(err)


def test_an_answer_that_trickles_in_ends_too(pond: Pond, monkeypatch: pytest.MonkeyPatch) -> None:
    given_up = threading.Event()

    def drips(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(207)
        handler.send_header("Content-Length", "100000")
        handler.end_headers()
        while not given_up.wait(0.1):
            handler.wfile.write(b" ")

    monkeypatch.setattr(session, "TIMES_LONGER", 1)
    pond.describe(ALONE)
    with pretending(drips) as (url, _):
        code, _, err = pond.run(f"sync enclosures.toml {url} --timeout 1")
        given_up.set()
    assert code == 1 and "answer took longer than 1 s" in flat(err)


def test_an_answer_without_end_is_cut_off(pond: Pond, monkeypatch: pytest.MonkeyPatch) -> None:
    def pours(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(207)
        handler.end_headers()
        for _ in range(2000):
            handler.wfile.write(b"x" * 10_000)

    monkeypatch.setattr(session, "MOST_BYTES", 1_000_000)
    pond.describe(ALONE)
    with pretending(pours) as (url, _):
        code, _, err = pond.run(f"sync enclosures.toml {url}")
    assert code == 1 and "the server's answer is larger than 1 MB" in flat(err)


def test_nobody_there(pond: Pond) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    pond.describe(ALONE)
    code, _, err = pond.run(f"sync enclosures.toml http://127.0.0.1:{port}/")
    assert code == 1
    assert f"127.0.0.1:{port} cannot be reached, or broke off; look whether it runs" in flat(err)


def test_neither_a_proxy_nor_a_password_that_nobody_named(
    pond: Pond, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("HTTP_PROXY", "http_proxy", "ALL_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:9/")
    (pond.folder / "netrc").write_text("default login ben password other\n")
    monkeypatch.setenv("NETRC", str(pond.folder / "netrc"))
    monkeypatch.delenv("PONDROUND_CALDAV_USER")
    pond.describe(ALONE)
    with pretending(says(404)) as (url, asked):
        code, _, err = pond.run(f"sync enclosures.toml {url}")
    assert code == 1 and "is no CalDAV server" in flat(err)
    assert asked and "with a login" not in " ".join(asked)


# --- the two servers, in a bad mood ---


@pytest.fixture
def way(caldav: Caldav) -> Iterator[Way]:
    with way_to(caldav) as made:
        yield made


@pytest.mark.server
def test_the_wrong_password(pond: Pond, radicale: Caldav, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PONDROUND_CALDAV_PASSWORD", "sldier")
    pond.describe(ALONE)
    code, _, err = pond.run(f"sync enclosures.toml {radicale.url}")
    assert code == 1
    assert flat(err) == f'127.0.0.1:{radicale.port} does not let "noor" in; check the user and the password'


@pytest.mark.server
@pytest.mark.parametrize(
    ("status", "sentence"),
    [
        (403, "takes nothing more (status 403): you may not change it"),
        (507, "takes nothing more (status 507): it is full; make room there"),
        (400, "takes nothing more (status 400): try again"),
    ],
)
def test_what_was_ticked_is_recorded_though_nothing_can_be_written(
    pond: Pond, caldav: Caldav, way: Way, status: int, sentence: str
) -> None:
    pond.describe(NOBODY)
    pond.sync(way.url)
    Phone(caldav).change("alder-row", PUMP, ticked("2026-12-07 08:00"))
    pond.describe(NOBODY.replace('name = "Sedge"', 'name = "Sedge"\nroom = "hall"'))
    way.refuse = {"PUT": status, "DELETE": status}
    code, out, err = pond.run(f"sync enclosures.toml {way.url} --weeks 2")
    assert code == 1
    assert "Sedge: rinse the pump, done on 7 December 2026, 08:00.\n" in out
    assert sentence in flat(err)
    assert pond.log() == ["2026-12-07 08:00 pump"]


@pytest.mark.server
def test_where_nobody_answers_the_rest_is_not_asked(pond: Pond, radicale: Caldav) -> None:
    radicale.empty()
    pond.describe(TWO)
    with way_to(radicale) as way:
        before = way.asked
        pond.sync(way.url)
        first = next(n for n, line in enumerate(before, 1) if line.endswith("alder-row-ben-ash/"))
        way.asked.clear()
        way.cut_at = first
        code, _, err = pond.run(f"sync enclosures.toml {way.url} --weeks 2")
    assert code == 1 and flat(err).count("cannot be reached") == 1


@pytest.mark.server
def test_a_server_that_makes_no_collections(pond: Pond, caldav: Caldav, way: Way) -> None:
    pond.describe(ALONE)
    way.refuse = {"MKCALENDAR": 403}
    code, _, err = pond.run(f"sync enclosures.toml {way.url}")
    assert code == 1
    assert (
        "does not make the collection alder-row-noor (status 403); make one there and name it with --collection"
        in flat(err)
    )


@pytest.mark.server
def test_without_entity_tags_nothing_is_written_over(pond: Pond, caldav: Caldav, way: Way) -> None:
    pond.describe(NOBODY)
    pond.sync(way.url)
    way.reword = lambda method, text: text.replace("getetag", "gettag") if method == "PROPFIND" else text
    way.nothing_written(lambda: pond.sync(way.url))
    pond.describe(NOBODY.replace('name = "Sedge"', 'name = "Sedge"\nroom = "hall"'))
    code, _, err = pond.run(f"sync enclosures.toml {way.url} --weeks 2")
    assert code == 1 and "gives no entity tags, without which nobody can tell what others changed" in flat(
        err
    )
