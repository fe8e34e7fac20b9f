"""Keepers who ask for mails, a mail server that `pondround remind` finds in the environment, and what it says."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from email.message import EmailMessage
from pathlib import Path

import pytest

from scheduler.log import Published, open_log
from scheduler.workflow import publish_rota, read_site, rota_to_export
from scheduler.workflow.workspace import Workspace
from support.mail_server import IN_URL, MailServer, serving_mail
from support.rota.fen import FEN, SITE, WEEK, assigned
from support.rota.shared_out import MONDAY, run, stand

TUESDAY = "2026-12-08"

TOLD = {
    "Noor": ("noor@example.org", '["morning", "changes"]'),
    "Ben Ash": ("ben@example.org", '["changes"]'),
    "Ines": ("ines@example.org", '["morning"]'),
}

ALARM = """
[site]
name = "Rill"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
email = "noor@example.org"
remind = ["changes"]
[[enclosure]]
name = "Tejo"
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
cycled = true
set_up = 2025-01-10
filter = {flow = "1200 L/h"}
resident = [{name = "Fern", species = "painted turtle", carapace = "14 cm"}]
"""


def mailed(text: str) -> str:
    """Return a description in which three of the keepers ask for mails."""
    for name, (email, what) in TOLD.items():
        text = text.replace(f'name = "{name}"\n', f'name = "{name}"\nemail = "{email}"\nremind = {what}\n')
    return text


@pytest.fixture(scope="module")
def weeks(tmp_path_factory: pytest.TempPathFactory) -> Published:
    """Make the rota of WEEK and what follows it, once: with enough of it published nothing is shared out anew."""
    folder = tmp_path_factory.mktemp("weeks")
    file, day = folder / "enclosures.toml", dt.date.fromisoformat(MONDAY)
    file.write_text(mailed(FEN), "utf-8")
    site = read_site(file)
    sunday = dt.datetime.combine(day - dt.timedelta(days=1), dt.time(18))
    with open_log(f"sqlite:///{folder}/enclosures.db") as log:
        log.publish(SITE, Published(day, day + dt.timedelta(days=6), sunday, assigned(WEEK)))
        publish_rota(Workspace(file, site, day), rota_to_export(Workspace(file, site, day), day))
        made = log.published(SITE)
    assert made is not None
    return replace(made, recorded=sunday)


@pytest.fixture
def fen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, weeks: Published) -> Path:
    """Stand beside a site whose rota is published since Sunday, where three keepers ask for mails."""
    stand(tmp_path, mailed(FEN), monkeypatch)
    monkeypatch.delenv("PONDROUND_KEY", raising=False)
    with open_log("sqlite:///enclosures.db") as log:
        log.publish(SITE, weeks)
    return tmp_path


def configure(
    monkeypatch: pytest.MonkeyPatch, server: MailServer, certificate: Path, scheme: str = "smtp"
) -> None:
    where = f"127.0.0.1:{server.port}" + ("?tls=yes" if scheme == "smtp" else "")
    monkeypatch.setenv("PONDROUND_SMTP", f"{scheme}://{IN_URL}@{where}")
    monkeypatch.setenv("PONDROUND_MAIL_FROM", "turtles@fen.example")
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate))


@pytest.fixture
def post(certificate: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[MailServer]:
    """Run a mail server that wants TLS and a login, and name it in the environment."""
    with serving_mail(certificate) as server:
        configure(monkeypatch, server, certificate)
        yield server


def parts(mail: EmailMessage) -> tuple[str, str]:
    plain, html = mail.get_body(("plain",)), mail.get_body(("html",))
    assert plain is not None and html is not None
    text, marked = (str(part.get_content()).replace("\r\n", "\n") for part in (plain, html))
    return text, marked


def remind(at: str = "06:00", today: str = MONDAY) -> tuple[int, str, str]:
    return run("remind enclosures.toml --at", at, today=today)
