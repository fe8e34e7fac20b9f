"""`pondround serve --remind`: what changes is in the mailbox while the site is served, whatever the mail server does."""

from __future__ import annotations

import datetime as dt
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.request import urlopen

import pytest
from support.mail_server import IN_URL, WAIT_SECONDS, MailServer, certificate, serving_mail
from support.web.serving import Served, make_link, pondround, serving

from scheduler.care import KEYS
from scheduler.workflow.clock import now_utc

__all__ = ["certificate"]

QUICK = """
from scheduler.workflow.mail import dispatcher
dispatcher.LOOK_SECONDS, dispatcher.FIRST_WAIT, dispatcher.LONGEST_WAIT = 0.1, 0.2, 0.5
"""


def eight_o_clock() -> str:
    """Return the zone in which it is past eight in the morning now: that clock cannot be set by a test."""
    ahead = (8 - now_utc().hour + 11) % 24 - 11
    return f"Etc/GMT{-ahead:+d}"  # POSIX counts the other way round


OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)


def weir(zone: str) -> str:
    return f"""
[site]
name = "Weir"
time_zone = "{zone}"
[site.times]
morning = "09:00"
[[keeper]]
name = "Noor"
email = "noor@example.org"
remind = ["morning", "changes"]
[[keeper]]
name = "Sam"
email = "sam@example.org"
remind = ["morning", "changes"]
[[enclosure]]
name = "Sedge"
job = {{{OFF}}}
extra_job = [{{key = "pane", title = "brush the pane", rule = "FREQ=DAILY"}}]
"""


@pytest.fixture(scope="module")
def post(certificate: Path) -> Iterator[MailServer]:
    with serving_mail(certificate) as server:
        yield server


def environment(port: int, certificate: Path) -> dict[str, str]:
    return {
        "PONDROUND_SMTP": f"smtp://{IN_URL}@127.0.0.1:{port}?tls=yes",
        "PONDROUND_MAIL_FROM": "turtles@weir.example",
        "SSL_CERT_FILE": str(certificate),
    }


def write(folder: Path) -> Path:
    file = folder / "weir.toml"
    file.write_text(weir(eight_o_clock()), "utf-8")
    pondround(folder, "rota", str(file), "--publish", "--weeks", "3")
    return file


def hand_over(file: Path) -> tuple[str, str]:
    """Hand today's round over to who has none; return who gave it, and who took it."""
    last = ""
    for giver, taker in (("noor", "sam"), ("sam", "noor")):
        day = str(dt.datetime.now(dt.UTC).astimezone(_zone(file)).date())  # noqa: TID251 - the swap is of today
        words = ["swap", str(file), day, giver, taker]
        done = subprocess.run(
            [sys.executable, "-m", "scheduler", *words],
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
        if done.returncode == 0:
            return giver, taker
        last = done.stderr
    raise AssertionError(last)


def _zone(file: Path) -> dt.tzinfo:
    from scheduler.workflow import read_site

    return read_site(file).settings.zone


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_a_swap_at_eight_for_a_round_at_nine_is_in_the_mailbox(
    tmp_path: Path, post: MailServer, certificate: Path, workers: int
) -> None:
    """Once for each keeper, also where two processes serve."""
    post.mails.clear()
    file = write(tmp_path)
    with serving(
        tmp_path, file, "--remind", env=environment(post.port, certificate), workers=workers
    ) as served:
        post.wait_for(1)
        giver, taker = hand_over(file)
        post.wait_for(3)
        assert served.stop() == 0
    assert [to for to, _ in post.mails][:1] == [f"{giver}@example.org"]
    # Who had nothing to do had no mail that day: this is the first one.
    assert {to: str(m["Subject"]) for to, m in post.mails[1:]} == {
        f"{giver}@example.org": "Changed: nothing for you today",
        f"{taker}@example.org": "Today: brush the pane",
    }
    assert len(post.mails) == 3
    assert served.log_lines[1:] == []


def test_a_mail_server_that_cannot_be_reached_is_told_once_and_tried_again(
    tmp_path: Path, certificate: Path
) -> None:
    file = write(tmp_path)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        # It takes connections and says nothing, which costs the pages nothing.
        quick = QUICK + "from scheduler.mail import submission; submission.WAIT_SECONDS = 0.2\n"
        env = environment(port, certificate)
        with serving(tmp_path, file, "--remind", env=env, before=quick) as served:
            said = f"127.0.0.1:{port} did not answer within 0 s"
            wait_for(served, said)
            for address in opened(file, served.url):
                # Nor has a page, or the feed that it shows, anybody's address.
                assert "example.org" not in answer(address)
            for _ in range(5):
                taken.accept()[0].close()
            assert served.log_lines.count(said) == 1
            taken.close()
            with serving_mail(certificate, port=port) as server:
                server.wait_for(1)
                wait_for(served, f"127.0.0.1:{port} takes mails again")
            assert len(server.mails) == 1


def test_what_a_server_puts_off_is_tried_again_and_the_others_get_theirs(
    tmp_path: Path, post: MailServer, certificate: Path
) -> None:
    post.mails.clear()
    file = write(tmp_path)
    tries = threading.Event()

    def refuse(_: str) -> str | None:
        if tries.is_set():
            return None
        tries.set()
        return "450 4.2.0 come back later"

    post.answers["RCPT"] = refuse
    try:
        with serving(
            tmp_path, file, "--remind", env=environment(post.port, certificate), before=QUICK
        ) as served:
            post.wait_for(1)
            assert [line for line in served.log_lines if "come back later" in line][1:] == []
    finally:
        post.answers.clear()
    assert len(post.mails) == 1


def test_without_a_mail_server_it_does_not_begin(tmp_path: Path) -> None:
    (tmp_path / "weir.toml").write_text(weir("UTC"), "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", "serve", "weir.toml", "--port", "0", "--remind"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("no mail is sent before PONDROUND_SMTP and PONDROUND_MAIL_FROM are set: ")


def wait_for(served: Served, line: str) -> None:
    end = time.monotonic() + WAIT_SECONDS
    while line not in served.log_lines:
        assert time.monotonic() < end, served.log_lines
        time.sleep(0.02)


def opened(file: Path, url: str) -> list[str]:
    link = make_link(file, "--page", "Noor", "--url", url)
    return [link["page"], link["calendar"], make_link(file, "--site", "--url", url)["calendar"]]


def answer(url: str) -> str:
    with urlopen(url, timeout=WAIT_SECONDS) as found:
        assert found.status == 200
        return str(found.read().decode())
