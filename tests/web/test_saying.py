"""What a server of several processes says to whoever runs them: each thing once."""

from __future__ import annotations

import json
import shutil
import socket
from contextlib import ExitStack, closing
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from support.web.http_client import HANG_SECONDS, until
from support.web.serving import Served, serving

ONE_TANK = Path(__file__).parents[2] / "sample_configs" / "one-tank.toml"
TODAY = "2026-12-14"
WORKERS = 3


def children_of(process: int) -> set[int]:
    return {int(one) for one in Path(f"/proc/{process}/task/{process}/children").read_text().split()}


def holder_of(open_: socket.socket, among: set[int]) -> int:
    """Return the process that has the server's end of a connection (proc(5): net/tcp, fd)."""
    ends = [f":{end[1]:04X}" for end in (open_.getpeername(), open_.getsockname())]
    lines = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    # A list that changes while it is read may have a line twice.
    sockets = {
        f"socket:[{line[9]}]"
        for line in lines
        if line[1].endswith(ends[0]) and line[2].endswith(ends[1]) and line[9] != "0"
    }
    for process in among:
        for file in Path(f"/proc/{process}/fd").iterdir():
            # One that is closed meanwhile is another one.
            if file.is_symlink() and str(file.readlink()) in sockets:
                return process
    return 0


def mistakes_seen(served: Served, processes: set[int]) -> dict[int, int]:
    """Ask on many connections at once; return how many descriptions have a mistake, for each process that answers."""
    found = {}
    with ExitStack() as stack:
        place = urlsplit(served.url).netloc
        asked = [
            stack.enter_context(closing(HTTPConnection(place, timeout=HANG_SECONDS)))
            for _ in range(3 * WORKERS)
        ]
        for one in asked:
            one.request("GET", "/healthz")
        for one in asked:
            told = json.load(one.getresponse())
            # The connection stays open: whose it is can be seen.
            found[holder_of(one.sock, processes)] = told["descriptions_with_mistakes"]
    return found


@pytest.mark.slow
def test_each_thing_is_said_once(tmp_path: Path) -> None:
    good = Path(shutil.copy(ONE_TANK, tmp_path / "good.toml"))
    (tmp_path / "bad.toml").write_text("[site]\nname = 5\n", "utf-8")
    text = good.read_text("utf-8")
    with serving(tmp_path, ".", today=TODAY, workers=WORKERS) as served:

        def everybody_sees(written: str, mistakes: int) -> None:
            """Write the description anew, and wait until each of the workers has read it."""
            new = tmp_path / "new"
            new.write_text(written, "utf-8")
            new.replace(good)
            seen: set[int] = set()

            def all_have() -> bool:
                workers = workers_of(served)
                seen.update(one for one, count in mistakes_seen(served, workers).items() if count == mistakes)
                return len(workers & seen) == WORKERS

            until(all_have, lambda: (seen, served.log_lines))

        everybody_sees(text, 0)
        for number in (1, 2):
            everybody_sees(text.replace("[site]", "[sight]", 1), 1)
            everybody_sees(text + "\n" * number, 0)
    bad = [line for line in served.log_lines if line.startswith("bad.toml:")]
    assert len(bad) == 1 and "it is not served until that is mended" in bad[0]
    said = [line for line in served.log_lines if line.startswith("good.toml:")]
    assert len(said) == 4
    assert all(line.endswith("what was read before goes on") for line in said[::2])
    assert said[1::2] == ["good.toml: read again, all is well"] * 2


def workers_of(served: Served) -> set[int]:
    """Return the processes that serve; the resource tracker of Python is another child."""
    return {
        child
        for child in children_of(served.process.pid)
        if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes()
    }
