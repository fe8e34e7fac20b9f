"""A server that is told to end, to read again, or cannot begin."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
from contextlib import closing, suppress
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from support.web.http_client import (
    HANG_SECONDS,
    ask,
    connect,
    page_path,
    post,
    received,
    status_of,
    tick_of,
    until,
    write,
)
from support.web.watched import ESTABLISHED, End, House, at_server, house, housed, is_closed

__all__ = ["house"]


def is_let_in(house: House) -> bool:
    """Tell whether somebody new is listened to."""
    try:
        connect(house.url).close()
    except OSError:
        return False
    return True


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
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


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
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
