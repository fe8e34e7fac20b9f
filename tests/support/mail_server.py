"""A mail server of another origin (aiosmtpd) on the loopback, with TLS and a login, which can be told to misbehave."""

from __future__ import annotations

import asyncio
import logging
import ssl
import subprocess
import threading
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any, cast

import pytest
from aiosmtpd.smtp import SMTP, AuthResult

from support.commands import HANG_SECONDS

USER, PASSWORD = "pond", "slider+mud/7"
IN_URL = f"{USER}:slider%2Bmud%2F7"
WAIT_SECONDS = 60
"""Longer than any test waits for a mail; not what is judged."""

# It warns of what its own next version does otherwise.
logging.getLogger("mail.log").setLevel(logging.ERROR)

Answer = str | None
Hook = Callable[[str], Answer]


@dataclass(slots=True)
class MailServer:
    """A running server: where it is, what it was sent, and what it does otherwise than it should.

    `answers` are replies to a step of the conversation ("MAIL", "RCPT", "DATA"), given instead of what is right; a hook is
    called with the address, and may do worse than answer. `hangs` and `drops` name steps at which nothing is said any more,
    or the connection is cut; at "DATA" the mail is in the mailbox then, and `taken` is called. `logins` are the attempts to
    log in.
    """

    port: int = 0
    mails: list[tuple[str, EmailMessage]] = field(default_factory=list)
    answers: dict[str, Hook] = field(default_factory=dict)
    hangs: str = ""
    drops: str = ""
    taken: Callable[[], None] = lambda: None
    logins: list[str] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)
    arrived: threading.Condition = field(default_factory=threading.Condition)

    def boxes(self) -> list[tuple[str, str]]:
        """Return what is in the mailboxes: (address, subject) in the order of arrival."""
        return [(to, str(mail["Subject"])) for to, mail in self.mails]

    def ids(self) -> list[str]:
        return [str(mail["Message-ID"]) for _, mail in self.mails]

    def wait_for(self, count: int) -> None:
        """Wait until so many mails are there."""
        with self.arrived:
            assert self.arrived.wait_for(lambda: len(self.mails) >= count, WAIT_SECONDS), self.boxes()

    # --- what aiosmtpd calls ---

    async def handle_MAIL(  # noqa: N802 - aiosmtpd's name
        self, server: SMTP, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        said = await self._step("MAIL", server, address)
        if said is None:
            envelope.mail_from = address
            envelope.mail_options.extend(options)
        return said or "250 OK"

    async def handle_RCPT(  # noqa: N802 - aiosmtpd's name
        self, server: SMTP, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        said = await self._step("RCPT", server, address)
        if said is None:
            envelope.rcpt_tos.append(address)
        return said or "250 OK"

    async def handle_DATA(self, server: SMTP, session: Any, envelope: Any) -> str:  # noqa: N802 - as above
        to = envelope.rcpt_tos[0]
        said = self.answers["DATA"](to) if "DATA" in self.answers else None
        if said is None:
            with self.arrived:
                mail = message_from_bytes(envelope.content, policy=default)
                self.mails.append((to, mail))
                self.arrived.notify_all()
            self.taken()
        return await self._step("DATA", server, to, asked=False) or said or "250 OK"

    async def _step(self, step: str, server: SMTP, address: str, *, asked: bool = True) -> Answer:
        self.steps.append(step)
        if self.hangs == step:
            await asyncio.sleep(WAIT_SECONDS)
        if self.drops == step:
            cast("asyncio.Transport", server.transport).abort()
        return self.answers[step](address) if asked and step in self.answers else None

    def authenticate(
        self, server: SMTP, session: Any, envelope: Any, mechanism: str, data: Any
    ) -> AuthResult:
        good = (data.login, data.password) == (USER.encode(), PASSWORD.encode())
        self.logins.append("good" if good else "bad")
        return AuthResult(success=good, handled=False)


def make_certificate(folder: Path) -> Path:
    """Make a certificate for the loopback that signs itself; the key lies beside it."""
    certificate = folder / "mail.pem"
    names = "subjectAltName=DNS:localhost,IP:127.0.0.1"
    subprocess.run(
        [
            *(
                "openssl",
                "req",
                "-x509",
                "-newkey",
                "ec",
                "-pkeyopt",
                "ec_paramgen_curve:prime256v1",
                "-nodes",
            ),
            *("-days", "2", "-subj", "/CN=localhost", "-addext", names),
            *("-keyout", str(folder / "mail.key"), "-out", str(certificate)),
        ],
        check=True,
        capture_output=True,
        timeout=HANG_SECONDS,
    )
    return certificate


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_certificate(tmp_path_factory.mktemp("mail"))


@contextmanager
def serving_mail(
    certificate: Path | None, *, wrapped: bool = False, login: bool = True, port: int = 0
) -> Iterator[MailServer]:
    """Run a mail server: with STARTTLS, with TLS from the first byte, or without a certificate in clear."""
    made = MailServer()
    context = None
    if certificate is not None:
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(certificate, certificate.with_suffix(".key"))
    wanted: dict[str, Any] = {"authenticator": made.authenticate, "auth_required": login}
    if wrapped or context is None:
        wanted["auth_require_tls"] = False
    else:
        wanted |= {"tls_context": context, "require_starttls": True}
    loop = asyncio.new_event_loop()
    begun = threading.Event()
    ended: list[BaseException] = []

    async def serve() -> None:
        server = await loop.create_server(
            lambda: _speaker(made, loop=loop, hostname="mail.example", **wanted),
            "127.0.0.1",
            port,
            ssl=context if wrapped else None,
        )
        made.port = server.sockets[0].getsockname()[1]
        begun.set()
        async with server:
            await server.serve_forever()

    # Whoever breaks off on purpose leaves a conversation without an end.
    loop.set_exception_handler(lambda _, told: ended.append(told.get("exception", Exception(str(told)))))
    task = loop.create_task(serve())
    thread = threading.Thread(target=_run, args=(loop, task), daemon=True)
    thread.start()
    assert begun.wait(WAIT_SECONDS)
    try:
        yield made
    finally:
        loop.call_soon_threadsafe(task.cancel)
        thread.join(WAIT_SECONDS)


def _speaker(handler: MailServer, **wanted: Any) -> SMTP:
    with warnings.catch_warnings():
        # Of a login in clear, which is what a test is about.
        warnings.simplefilter("ignore")
        return SMTP(handler, **wanted)


def _run(loop: asyncio.AbstractEventLoop, task: asyncio.Task[None]) -> None:
    with suppress(asyncio.CancelledError):
        loop.run_until_complete(task)
    for other in asyncio.all_tasks(loop):
        other.cancel()
    loop.run_until_complete(asyncio.sleep(0))
    loop.close()
