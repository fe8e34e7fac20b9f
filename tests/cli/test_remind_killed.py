"""`pondround remind` killed at each step: nothing is lost, and a mail comes twice in one place alone, as the same mail."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from support.mail_server import MailServer, certificate
from support.reminding import fen, post, remind, weeks
from support.rota.shared_out import MONDAY, ok

__all__ = ["certificate", "fen", "post", "weeks"]

MAILS = {
    ("ines@example.org", "Today: brush the pane Sedge"),
    ("noor@example.org", "Today: brush the pane Reed, 1 more"),
}

_KILL = """
import os, signal
from scheduler.log import reminders
def end(*_, **__):
    os.kill(os.getpid(), signal.SIGKILL)
"""
_RUN = "from scheduler.__main__ import main; main()"


def child(code: str = "") -> subprocess.Popen[str]:
    """Begin `pondround remind` in a process of its own, after some code."""
    words = ["remind", "enclosures.toml", "--today", MONDAY, "--at", "06:00"]
    return subprocess.Popen(
        [sys.executable, "-c", f"{_KILL}{code}\n{_RUN}", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def end_of(process: subprocess.Popen[str]) -> int:
    out, err = process.communicate(timeout=120)
    assert process.returncode in {0, -signal.SIGKILL}, err
    assert process.returncode == 0 or not out
    return process.returncode


def later() -> None:
    """Let the time go by for which a mail is left to who began it: whoever did so has ended by then."""
    with closing(sqlite3.connect("enclosures.db")) as connection, connection:
        connection.execute(
            "UPDATE reminder SET claimed = '2020-01-01 00:00:00.000000' WHERE claimed IS NOT NULL"
        )


def in_code(code: str) -> Callable[[MailServer], str]:
    return lambda _: code


def at_server(step: str) -> Callable[[MailServer], str]:
    """Kill the process at a step of the conversation: the server calls the number that it is told first."""

    def cut(server: MailServer) -> str:
        def kill(_: str = "") -> str:
            os.kill(int(Path("pid").read_text("utf-8")), signal.SIGKILL)
            return "451 it is gone"

        if step == "taken":
            server.taken = lambda: kill() and None
        else:
            server.answers[step] = kill
        return "open('pid', 'w').write(str(os.getpid()))"

    return cut


BEGIN = "begun = reminders.begin"
CUTS = [
    # where it is killed, how, and how often the first mail is in the mailbox at last
    ("before it is noted", in_code("reminders.begin = end"), 1),
    ("noted, before the server is asked", in_code(f"{BEGIN}; reminders.begin = lambda *a, **k: (begun(*a, **k), end())"), 1),
    ("at the sender", at_server("MAIL"), 1),
    ("at the address", at_server("RCPT"), 1),
    ("at the mail, before the server takes it", at_server("DATA"), 1),
    ("the server took it, and has not said so", at_server("taken"), 2),
    ("the server said so, before that is noted", in_code("reminders.note_sent = end"), 2),
    ("noted as sent", in_code("sent = reminders.note_sent; reminders.note_sent = lambda *a: (sent(*a), end())"), 1),
]  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize(("cut", "times"), [row[1:] for row in CUTS], ids=[row[0] for row in CUTS])
def test_killed_at_a_step(fen: Path, post: MailServer, cut: Callable[[MailServer], str], times: int) -> None:
    """Two mails are due, and the first is cut."""
    assert end_of(child(cut(post))) == -signal.SIGKILL
    post.answers.clear()
    post.taken = lambda: None
    before = len(post.mails)
    # At once nobody else sends what somebody may be sending still; the other mail goes.
    assert remind("06:01")[0] == 0
    assert len(post.mails) - before == (2 if cut is CUTS[0][1] else 1)
    later()
    for at in ("06:05", "06:10"):
        assert remind(at)[0] == 0
    found = Counter(post.boxes())
    assert set(found) == MAILS
    assert (found["ines@example.org", "Today: brush the pane Sedge"], found.total()) == (times, times + 1)
    by_id: dict[str, set[bytes]] = {}
    for _, mail in post.mails:
        by_id.setdefault(str(mail["Message-ID"]), set()).add(mail.as_bytes())
    assert [len(some) for some in by_id.values()] == [1, 1]


def test_what_is_sent_again_is_the_same_though_the_round_is_not(fen: Path, post: MailServer) -> None:
    assert end_of(child("reminders.note_sent = end")) == -signal.SIGKILL
    ok("did enclosures.toml sedge brush --by ines")
    later()
    assert remind("06:05")[0] == 0
    of_ines = [mail.as_bytes() for to, mail in post.mails if to == "ines@example.org"]
    assert len(of_ines) == 2 and of_ines[0] == of_ines[1]


def test_two_runs_at_once_send_each_mail_once(fen: Path, post: MailServer) -> None:
    """As where cron begins a run before the last one has ended."""
    running = [child() for _ in range(3)]
    assert [end_of(process) for process in running] == [0, 0, 0]
    assert sorted(post.boxes()) == sorted(MAILS)
