"""Clients that mean harm: floods, guesses and requests that are too large; honest clients go on, and nothing is told that should not be."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing

import pytest
from support.web.http_client import (
    ask,
    connect,
    feed_path,
    link,
    page_path,
    post,
    raw,
    received,
    status_of,
    tick_of,
    until,
)
from support.web.watched import CSP, House, house, housed, resident_kb

__all__ = ["house"]


# --- floods ---


NO_TIME_PASSES = """
from scheduler.web import rate_limit
made = rate_limit.TokenBucket.__init__
rate_limit.TokenBucket.__init__ = lambda limit, at_once, a_second, clock: made(limit, at_once, a_second, lambda: 0.0)
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
