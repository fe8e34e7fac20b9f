"""Requests that are no HTTP, lead elsewhere, or are drawn at random: an answer that says so, and no fault."""

from __future__ import annotations

import re
from collections.abc import Iterator
from urllib.parse import urlencode

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.web.http_client import (
    ask,
    feed_path,
    forms,
    link,
    page_path,
    raw,
    status_of,
)
from support.web.watched import CSP, House, house, housed

from scheduler.workflow.feeds.links import IssuedLink

__all__ = ["house"]


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


# --- whatever comes ---


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[House, list[IssuedLink]]]:
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


@settings(max_examples=examples(250))
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
    fuzzed: tuple[House, list[IssuedLink]],
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
