"""A client that shows an answer as it came, sends what no library would, and fills in the forms of a page."""

from __future__ import annotations

import http.client
import re
import socket
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest

from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink, LinkRequest, make_link

TODAY = "2026-12-14"
"""A Monday."""

FEN = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"

[[keeper]]
name = "Noor"

[[keeper]]
name = "Sam"

[[enclosure]]
name = "Sedge"
kind = "tank"
set_up = 2026-10-01
cycled = true

[[enclosure.extra_job]]
key = "pane"
title = "brush the pane"
rule = "FREQ=DAILY"
minutes = 3

[[enclosure]]
name = "Rush"
kind = "tub"
set_up = 2026-10-01
cycled = true
"""
"""Two people and two tanks."""

SEDGE, _, RUSH = FEN.partition('[[enclosure]]\nname = "Rush"')


HANG_SECONDS = 180.0
"""What has not happened after so long hangs; how fast a machine is fails no test."""


def until(is_so: Callable[[], object], told: Callable[[], object] = lambda: "") -> None:
    """Wait until something is so; where it never comes to be, fail with what is told."""
    end = time.monotonic() + HANG_SECONDS
    while not is_so():
        assert time.monotonic() < end, told()
        time.sleep(0.02)


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer: its fields in the order in which they came, and its bytes as they came."""

    status: int
    fields: list[tuple[str, str]]
    body: bytes

    def __getitem__(self, name: str) -> str:
        """Return a field that comes once; empty where it does not come."""
        found = [value for key, value in self.fields if key.lower() == name.lower()]
        assert len(found) <= 1, (name, found)
        return found[0] if found else ""

    @property
    def text(self) -> str:
        return self.body.decode()


def ask(
    url: str,
    path: str,
    method: str = "GET",
    body: bytes | None = None,
    fields: dict[str, str] | None = None,
    seconds: float = HANG_SECONDS,
) -> Answer:
    """Ask on a connection of its own."""
    place = urlsplit(url)
    connection = http.client.HTTPConnection(place.hostname or "", place.port, timeout=seconds)
    try:
        connection.request(method, path, body, fields or {})
        answer = connection.getresponse()
        return Answer(answer.status, answer.getheaders(), answer.read())
    finally:
        connection.close()


def post(url: str, path: str, form: dict[str, str], fields: dict[str, str] | None = None) -> Answer:
    """Send a form as a browser does that was told to send no referrer."""
    sent = {"Content-Type": "application/x-www-form-urlencoded", "Origin": "null", **(fields or {})}
    return ask(url, path, "POST", urlencode(form).encode(), sent)


def connect(url: str, seconds: float = HANG_SECONDS) -> socket.socket:
    place = urlsplit(url)
    return socket.create_connection((place.hostname or "", place.port or 0), seconds)


def raw(url: str, sent: bytes, seconds: float = HANG_SECONDS) -> bytes:
    """Send any bytes, and return all that comes back until the other side ends, or says nothing for so long."""
    with connect(url, seconds) as open_:
        # It may be refused before all of it was sent; the answer is there all the same.
        with suppress(OSError):
            open_.sendall(sent)
        return received(open_)


def received(open_: socket.socket) -> bytes:
    """Return what comes until the other side ends, or says nothing for as long as the connection waits."""
    found = b""
    with suppress(ConnectionResetError, TimeoutError):
        while block := open_.recv(65536):
            found += block
    return found


def status_of(answer: bytes) -> int:
    """Return the status of an answer as it came; 0 where there is none."""
    found = re.match(rb"HTTP/1\.1 (\d{3}) ", answer)
    return int(found[1]) if found else 0


# --- forms ---


@dataclass(slots=True)
class Form:
    """A form of a page: where it is sent, and its fields as they stand; of a choice the one that is
    chosen, else the first."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)
    choices: dict[str, list[str]] = field(default_factory=dict)


class _Forms(HTMLParser):
    """Finds the forms, and gives each control to its form: the one that its attribute `form` names, else the one around
    it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[Form] = []
        self._by_id: dict[str, Form] = {}
        self._choice: tuple[Form, str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "form":
            form = self._by_id.setdefault(has["id"], Form("")) if "id" in has else Form("")
            form.action = has["action"]
            self.found.append(form)
        elif tag == "option":
            assert self._choice is not None
            form, name = self._choice
            form.choices.setdefault(name, []).append(has["value"])
            form.fields.setdefault(name, has["value"])
            if "selected" in has:
                form.fields[name] = has["value"]
        elif tag in ("input", "select") and ("form" in has or self.found):
            form = self._by_id.setdefault(has["form"], Form("")) if "form" in has else self.found[-1]
            self._control(form, tag, has)

    def _control(self, form: Form, tag: str, has: dict[str, str]) -> None:
        if tag == "select":
            self._choice = form, has["name"]
        elif has.get("type") == "radio":
            # One of several: the one that is chosen, if any.
            form.fields.setdefault(has["name"], "")
            form.choices.setdefault(has["name"], [""]).append(has["value"])
            if "checked" in has:
                form.fields[has["name"]] = has["value"]
        else:
            form.fields[has["name"]] = has.get("value", "")


def forms(page: str, part: str = "") -> list[Form]:
    """Return the forms of a page; with a part (done, undo, reading, hand-over) those that are sent there."""
    reader = _Forms()
    reader.feed(page)
    return [form for form in reader.found if form.action.endswith(f"/{part}")] if part else reader.found


def tick_of(page: str, key: str, enclosure: str = "sedge") -> Form:
    """Return the form that ticks a job off."""
    found = [f for f in forms(page, "done") if (f.fields["key"], f.fields["enclosure"]) == (key, enclosure)]
    assert len(found) == 1, (key, [f.fields["key"] for f in forms(page, "done")])
    return found[0]


# --- what is served ---


def write(file: Path, text: str = FEN) -> Path:
    file.write_text(text, "utf-8")
    return file


def link(
    file: Path, kind: str, of: str = "", forms: Iterable[str] = (), *, log: str | None = None, name: str = ""
) -> IssuedLink:
    """Make a link without the time that a command takes."""
    with pytest.MonkeyPatch.context() as patch:
        # A log or a key of the machine on which the tests run is none of theirs.
        for variable in ("PONDROUND_LOG", "PONDROUND_KEY"):
            patch.delenv(variable, raising=False)
        if log is not None:
            patch.setenv("PONDROUND_LOG", log)
        wanted = LinkRequest(kind=kind, of=of, forms=tuple(forms), name=name)  # type: ignore[arg-type]
        return make_link(file, read_site(file), wanted)


def feed_path(opened: IssuedLink) -> str:
    return f"/feeds/{opened.calendar or opened.secret}.ics"


def page_path(opened: IssuedLink) -> str:
    return f"/round/{opened.secret}"


# --- feeds ---


def entries(feed: bytes) -> dict[str, dict[str, str]]:
    """Return the entries of a feed: by UID their properties, unfolded (RFC 5545, section 3.1)."""
    found: dict[str, dict[str, str]] = {}
    for block in feed.replace(b"\r\n ", b"").decode().split("\r\nBEGIN:VEVENT\r\n")[1:]:
        lines = block.split("\r\nEND:VEVENT")[0].split("\r\n")
        one: dict[str, str] = {}
        for line in lines:
            if line.startswith("BEGIN:"):
                break
            name, _, value = line.partition(":")
            one[name.partition(";")[0]] = value
        one["whole"] = "\n".join(
            line for line in lines if not line.startswith(("DTSTAMP", "LAST-MODIFIED", "SEQUENCE"))
        )
        assert one["UID"] not in found
        found[one["UID"]] = one
    return found
