"""Radicale in this process, without sockets, and a telephone that changes what lies there."""

from __future__ import annotations

import base64
import datetime as dt
import io
import logging
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest import mock
from urllib.parse import unquote, urlsplit

import requests
from icalendar import Calendar, Component
from radicale import config
from radicale.app import Application

from scheduler.sync import session as sync_session
from support.caldav_servers import USER, Phone
from support.entries import time_of

HOME = f"/{USER}/"
URL = f"http://localhost{HOME}"

logging.getLogger("radicale").setLevel(logging.CRITICAL + 1)


@dataclass
class CalendarServer:
    """A server whose collections lie in a folder. `asked` is told of each request, before and after it is done."""

    folder: Path
    home: str = HOME
    asked: Callable[[], None] = lambda: None
    _application: Application = field(init=False)

    def __post_init__(self) -> None:
        """Let whoever asks in as the one user, without a password."""
        settings = config.load()
        settings.update(
            {
                "storage": {"filesystem_folder": str(self.folder), "_filesystem_fsync": "False"},
                "auth": {"type": "none"},
                "logging": {"level": "critical"},
            },
            "test",
            privileged=True,
        )
        self._application = Application(settings)

    def request(self, method: str, url: str, **options: Any) -> Answer:
        """Answer as the session of an HTTP library does."""
        self.asked()
        body = options.get("data") or b""
        body = body.encode() if isinstance(body, str) else body
        answer = self.ask(method, urlsplit(url).path, body, options.get("headers") or {})
        self.asked()
        return answer

    def ask(self, method: str, path: str, body: bytes, headers: Mapping[str, str]) -> Answer:
        """Answer one request."""
        found: list[Any] = []
        login = base64.b64encode(f"{USER}:".encode()).decode()
        environ = {
            "REQUEST_METHOD": method,
            "PATH_INFO": unquote(path),
            "SCRIPT_NAME": "",
            "SERVER_NAME": "localhost",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "SERVER_PORT": "80",
            "CONTENT_LENGTH": str(len(body)),
            "HTTP_AUTHORIZATION": f"Basic {login}",
            "wsgi.input": io.BytesIO(body),
            "wsgi.errors": sys.stderr,
            "wsgi.url_scheme": "http",
        }
        for name, value in headers.items():
            key = name.upper().replace("-", "_")
            environ[key if key == "CONTENT_TYPE" else f"HTTP_{key}"] = value
        content = b"".join(self._application(environ, lambda status, given: found.extend((status, given))))
        return Answer(int(found[0].split()[0]), dict(found[1]), content)

    @contextmanager
    def reached(self) -> Iterator[None]:
        """Let syncs of this process come here."""
        session = SimpleNamespace(request=self.request, close=lambda: None, trust_env=False)
        library = SimpleNamespace(Session=lambda: session, exceptions=requests.exceptions)
        with mock.patch.object(sync_session, "requests", library):
            yield


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer in the form in which an HTTP library gives one."""

    status_code: int
    headers: Mapping[str, str]
    content: bytes

    @property
    def reason(self) -> str:
        return HTTPStatus(self.status_code).phrase

    def iter_content(self, _size: int) -> Iterator[bytes]:
        yield self.content

    def close(self) -> None:
        """Nothing is open."""


class HousePhone(Phone):
    """A calendar program beside the server."""

    def __init__(self, server: CalendarServer) -> None:
        """Take the server."""
        super().__init__(server)  # type: ignore[arg-type]
        self._here = server

    def ask(
        self, method: str, path: str, body: str = "", headers: Mapping[str, str] | None = None
    ) -> tuple[int, str, Mapping[str, str]]:
        """Ask without a socket."""
        answer = self._here.ask(method, path, body.encode(), headers or {})
        return answer.status_code, answer.content.decode("utf-8", "replace"), answer.headers

    def open(self, collection: str) -> dict[str, Component]:
        """Return the to-dos of a collection that are not done, by their path."""
        found = self.entries(collection)
        return {name: entry for name, entry in found.items() if str(entry["STATUS"]) != "COMPLETED"}

    def tick(self, collection: str, nth: int, day: dt.date) -> None:
        """Tick one of the to-dos that are not done, by their day and title, early on a day."""
        found = self.open(collection)
        ordered = sorted(
            found, key=lambda name: (str(time_of(found[name], "DUE")), str(found[name]["SUMMARY"]), name)
        )
        if not ordered:
            return
        name = ordered[nth % len(ordered)]
        path = f"{self._here.home}{collection}/{name}"
        _, text, headers = self.ask("GET", path)
        calendar = Calendar.from_ical(text)
        entry = next(part for part in calendar.subcomponents if part.name == "VTODO")
        for key in ("STATUS", "PERCENT-COMPLETE", "COMPLETED"):
            entry.pop(key, None)
        entry.add("STATUS", "COMPLETED")
        entry.add("COMPLETED", dt.datetime.combine(day, dt.time(12), dt.UTC))
        condition = {"Content-Type": "text/calendar", "If-Match": headers["ETag"]}
        status, said, _ = self.ask("PUT", path, calendar.to_ical().decode(), condition)
        assert status in (200, 201, 204), said
