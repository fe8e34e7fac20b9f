"""A served site that is watched: its links, what its log lines give away, and how its connections stand."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.workflow.feeds.links import IssuedLink
from support.web.http_client import (
    HANG_SECONDS,
    TODAY,
    Answer,
    ask,
    feed_path,
    link,
    write,
)
from support.web.serving import Served, serving

CSP = b"content-security-policy: default-src 'none'; "


@dataclass(frozen=True, slots=True)
class House:
    """A site with links to its feed and to the pages of its keepers."""

    file: Path
    served: Served
    feed: IssuedLink
    noor: IssuedLink
    sam: IssuedLink

    @property
    def url(self) -> str:
        return self.served.url

    def get_feed(self, **fields: str) -> Answer:
        return ask(self.url, feed_path(self.feed), fields={k.replace("_", "-"): v for k, v in fields.items()})

    def entries(self) -> list[Entry]:
        with open_log(f"sqlite:///{self.file.with_suffix('.db')}", create=False) as log:
            return list(log.entries("fen-lane"))


def links(file: Path, log: str | None = None) -> tuple[IssuedLink, IssuedLink, IssuedLink]:
    write(file)
    return (
        link(file, "site", log=log),
        link(file, "page", "Noor", log=log),
        link(file, "page", "Sam", log=log),
    )


@contextmanager
def housed(file: Path, before: str = "", **options: Any) -> Iterator[House]:
    opened = links(file)
    with serving(file.parent, file.name, today=TODAY, before=before, **options) as served:
        yield House(file, served, *opened)
    said_nothing_of_secrets(served, *opened)


def said_nothing_of_secrets(served: Served, *opened: IssuedLink) -> None:
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


def resident_kb(process: int) -> int:
    (found,) = re.findall(r"^VmRSS:\s+(\d+) kB", Path(f"/proc/{process}/status").read_text(), re.MULTILINE)
    return int(found)
