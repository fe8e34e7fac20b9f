"""Two CalDAV servers of different origin on the loopback, a telephone that knows nothing of this project, and a way between
them that can be watched and cut. A conftest imports the fixtures that it wants.
"""

from __future__ import annotations

import base64
import datetime as dt
import http.client
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import pytest
from icalendar import Calendar, Component

from support.entries import time_of

USER, PASSWORD = "noor", "slider+mud/7"
HANG_SECONDS = 180
"""What has not happened after so long hangs."""


@dataclass(frozen=True, slots=True)
class Caldav:
    """A running server: its address, and the path below which collections are. `folder` is where it keeps them."""

    kind: str
    port: int
    home: str
    folder: Path

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def empty(self) -> None:
        """Delete all collections, but the one that a server makes by itself."""
        phone = Phone(self)
        for path in phone.paths(self.home):
            if path.rstrip("/") != self.home.rstrip("/"):
                phone.ask("DELETE", path)

    def damage(self, path: str, text: str) -> None:
        """Overwrite what lies at a path where the server keeps it, as a failing disk or a bad import would."""
        if self.kind == "radicale":
            file = self.folder / "collection-root" / path.lstrip("/")
            file.write_text(text, "utf-8")
            shutil.rmtree(file.parent / ".Radicale.cache", ignore_errors=True)
            return
        file = self.folder / path.lstrip("/")
        file.write_text(text, "utf-8")
        git = ["git", "-c", "user.name=x", "-c", "user.email=x@example.org", "-C", str(file.parent)]
        subprocess.run([*git, "commit", "-qam", "damage"], check=True, capture_output=True)


def command(kind: str, folder: Path, port: int) -> list[str]:
    if kind == "radicale":
        (folder / "users").write_text(f"{USER}:{PASSWORD}\n", "utf-8")
        return [
            *(sys.executable, "-m", "radicale", "--config", "", "--server-hosts", f"127.0.0.1:{port}"),
            *("--auth-type", "htpasswd", "--auth-htpasswd-filename", str(folder / "users")),
            *("--auth-htpasswd-encryption", "plain", "--auth-delay", "0"),
            *("--storage-filesystem-folder", str(folder), "--logging-level", "error"),
        ]
    return [
        *(sys.executable, "-m", "xandikos", "serve", "--defaults", "-d", str(folder)),
        *("-l", "127.0.0.1", "-p", str(port), "--no-detect-systemd"),
    ]


@contextmanager
def running(kind: str) -> Iterator[Caldav]:
    """Start a server in a folder of its own, and take both away."""
    with tempfile.TemporaryDirectory(prefix=f"{kind}-") as name:
        folder = Path(name)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        with (folder / "output").open("wb") as output:
            process = subprocess.Popen(
                command(kind, folder, port), stdout=output, stderr=subprocess.STDOUT, cwd=folder
            )
        try:
            end = time.monotonic() + HANG_SECONDS
            while not answers(port):
                alive = process.poll() is None and time.monotonic() < end
                assert alive, (folder / "output").read_text("utf-8", "replace")[-2000:]
                time.sleep(0.05)
            home = f"/{USER}/" if kind == "radicale" else "/user/calendars/"
            yield Caldav(kind, port, home, folder)
        finally:
            process.kill()
            process.wait()


def answers(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=1):
            return True
    except OSError:
        return False


def server_or_skip(kind: str) -> None:
    """Without the server skip the test, or fail where PONDROUND_NEED_SERVERS=1."""
    try:
        __import__(kind)
    except ImportError:
        lack = f"no {kind}: pip install {kind}"
        if os.environ.get("PONDROUND_NEED_SERVERS") == "1":  # noqa: TID251 - tests are told what has to be there
            pytest.fail(lack)
        pytest.skip(lack)


@pytest.fixture(scope="session")
def radicale() -> Iterator[Caldav]:
    server_or_skip("radicale")
    with running("radicale") as made:
        yield made


@pytest.fixture(scope="session")
def xandikos() -> Iterator[Caldav]:
    server_or_skip("xandikos")
    with running("xandikos") as made:
        yield made


@pytest.fixture(params=["radicale", "xandikos"])
def caldav(request: pytest.FixtureRequest) -> Caldav:
    """Give an empty server of either origin."""
    made: Caldav = request.getfixturevalue(request.param)
    made.empty()
    return made


# --- somebody's telephone ---


class Phone:
    """A calendar program: plain HTTP, and icalendar for what it changes."""

    def __init__(self, server: Caldav) -> None:
        self._server = server

    def ask(
        self, method: str, path: str, body: str = "", headers: Mapping[str, str] | None = None
    ) -> tuple[int, str, Mapping[str, str]]:
        connection = http.client.HTTPConnection("127.0.0.1", self._server.port, timeout=HANG_SECONDS)
        login = base64.b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        connection.request(
            method, path, body.encode(), {"Authorization": f"Basic {login}", **(headers or {})}
        )
        answer = connection.getresponse()
        found = answer.status, answer.read().decode("utf-8", "replace"), dict(answer.getheaders())
        connection.close()
        return found

    def paths(self, folder: str) -> list[str]:
        body = '<d:propfind xmlns:d="DAV:"><d:prop><d:getetag/></d:prop></d:propfind>'
        _, text, _ = self.ask("PROPFIND", folder, body, {"Depth": "1", "Content-Type": "text/xml"})
        return sorted(set(re.findall(r"href>([^<]+)<", text)) - {folder})

    def collections(self) -> list[str]:
        """Return the last parts of the paths of the collections, without the one that a server makes by itself."""
        found = [path.rstrip("/").rpartition("/")[2] for path in self.paths(self._server.home)]
        return [name for name in found if name != "calendar"]

    def texts(self, collection: str) -> dict[str, str]:
        """Return everything in a collection, by the last part of its path."""
        folder = f"{self._server.home}{collection}/"
        return {path.removeprefix(folder): self.ask("GET", path)[1] for path in self.paths(folder)}

    def entries(self, collection: str) -> dict[str, Component]:
        """Return the to-dos and events of a collection by their path; what is no calendar is passed over."""
        found = {}
        for name, text in self.texts(collection).items():
            if not text.rstrip().endswith("END:VCALENDAR"):
                continue
            found[name] = next(
                part for part in Calendar.from_ical(text).subcomponents if part.name in ("VTODO", "VEVENT")
            )
        return found

    def listed(self, collection: str) -> list[str]:
        """Return the entries as a person sees them: `2026-12-09 07:30 rinse the pump`, and `done` where one is."""
        return sorted(shown(entry) for entry in self.entries(collection).values())

    def change(self, collection: str, title: str, how: Callable[[Component], Any], nth: int = 0) -> str:
        """Change the nth entry of a title, by its day, as its owner does; return its path."""
        own = [
            (shown(entry), name)
            for name, entry in self.entries(collection).items()
            if str(entry["SUMMARY"]) == title
        ]
        name = sorted(own)[nth][1]
        path = f"{self._server.home}{collection}/{name}"
        _, text, headers = self.ask("GET", path)
        calendar = Calendar.from_ical(text)
        entry = next(part for part in calendar.subcomponents if part.name in ("VTODO", "VEVENT"))
        how(entry)
        status, said, _ = self.ask(
            "PUT",
            path,
            calendar.to_ical().decode(),
            {"Content-Type": "text/calendar", "If-Match": headers["ETag"]},
        )
        assert status in (200, 201, 204), said
        return path

    def put(self, collection: str, name: str, text: str) -> int:
        path = f"{self._server.home}{collection}/{name}"
        return self.ask("PUT", path, text, {"Content-Type": "text/calendar"})[0]

    def make(self, collection: str, title: str = "", kinds: str = "VTODO VEVENT") -> None:
        parts = "".join(f'<c:comp name="{kind}"/>' for kind in kinds.split())
        body = (
            '<c:mkcalendar xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:set><d:prop>'
            f"<d:displayname>{escape(title or collection)}</d:displayname>"
            f"<c:supported-calendar-component-set>{parts}</c:supported-calendar-component-set>"
            "</d:prop></d:set></c:mkcalendar>"
        )
        headers = {"Content-Type": "text/xml"}
        status, said, _ = self.ask("MKCALENDAR", f"{self._server.home}{collection}/", body, headers)
        assert status == 201, said


def shown(entry: Component) -> str:
    start, when = time_of(entry, "DTSTART"), time_of(entry, "DUE" if "DUE" in entry else "DTSTART")
    hour = f"{start:%H:%M} " if isinstance(start, dt.datetime) else ""
    done = " done" if str(entry.get("STATUS", "")) == "COMPLETED" else ""
    return f"{when:%Y-%m-%d} {hour}{entry['SUMMARY']}{done}"


# --- the way there ---


@dataclass
class Way:
    """A way to a server that writes down what goes over it, and can be cut.

    With `cut_at` = n the nth request does not come through; with `after` it does, but its answer is lost. From then on nobody
    answers. `reword` changes what a method brings, `refuse` answers it with a status, as a server of other manners does.
    """

    port: int
    asked: list[str] = field(default_factory=list)
    cut_at: int | None = None
    after: bool = False
    before_request: Callable[[str, str], None] | None = None
    reword: Callable[[str, str], str] | None = None
    refuse: dict[str, int] = field(default_factory=dict)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def nothing_written(self, what: Callable[[], object]) -> int:
        """Do something that may only read; return how often it asked."""
        self.asked.clear()
        what()
        assert [line for line in self.asked if line.split()[0] not in ("PROPFIND", "REPORT", "GET")] == []
        return len(self.asked)


@contextmanager
def way_to(server: Caldav) -> Iterator[Way]:
    """Open a way to a server, as a reverse proxy is one."""

    class Handler(BaseHTTPRequestHandler):
        def __getattr__(self, name: str) -> Any:
            if name.startswith("do_"):
                return self.forward
            raise AttributeError(name)

        def forward(self) -> None:
            way.asked.append(f"{self.command} {self.path}")
            if way.before_request is not None:
                way.before_request(self.command, self.path)
            cut = way.cut_at is not None and len(way.asked) >= way.cut_at
            length = int(self.headers.get("Content-Length") or 0)
            body = self.rfile.read(length)
            if cut and not (way.after and len(way.asked) == way.cut_at):
                self.close_connection = True
                return
            if self.command in way.refuse:
                self.send_response(way.refuse[self.command])
                self.send_header("Content-Length", "0")
                self.end_headers()
                return
            there = http.client.HTTPConnection("127.0.0.1", server.port, timeout=HANG_SECONDS)
            hop = ("host", "connection", "content-length", "accept-encoding")
            headers = {k: v for k, v in self.headers.items() if k.lower() not in hop}
            there.request(self.command, self.path, body, headers)
            answer = there.getresponse()
            content = answer.read()
            there.close()
            if way.reword is not None:
                content = way.reword(self.command, content.decode()).encode()
            if cut:
                self.close_connection = True
                return
            self.send_response(answer.status)
            for name, value in answer.getheaders():
                if name.lower() not in (
                    "transfer-encoding",
                    "content-length",
                    "connection",
                    "date",
                    "server",
                ):
                    self.send_header(name, value)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, *_: Any) -> None:
            """Say nothing."""

    listening = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    way = Way(listening.server_address[1])
    thread = threading.Thread(target=listening.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield way
    finally:
        listening.shutdown()
        listening.server_close()
        thread.join()
