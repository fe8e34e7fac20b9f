"""The server: uvicorn, one process or several on one socket, with a deadline for slow clients."""

from __future__ import annotations

import asyncio
import ctypes
import datetime as dt
import gc
import multiprocessing
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import blake2b
from multiprocessing.process import BaseProcess
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import uvicorn
from uvicorn.supervisors import Multiprocess

from scheduler.errors import UsageError, WriteError
from scheduler.hosts import is_this_machine
from scheduler.web.app import Settings, make_app
from scheduler.web.reach import Reach
from scheduler.web.security import SecurityMiddleware
from scheduler.web.setup.routes import SetUp
from scheduler.web.slow_clients import KEEP_SECONDS, DeadlineProtocol
from scheduler.workflow import use_newest_zones
from scheduler.workflow.live.site import Talk
from scheduler.workflow.live.sites import Sites

if TYPE_CHECKING:
    from scheduler.workflow.mail.reminders import PostOffice

LOOPBACK = {"0.0.0.0": "127.0.0.1", "::": "::1"}
"""Where this machine finds itself when a server listens at every address."""

DRAIN_SECONDS = 20
"""So long a server that is told to stop finishes what it has begun."""

WORKER_SECONDS = 120
"""A process that has not said for so long that it is there hangs, and another one takes its place.

On a slow or busy machine it takes seconds until a process has loaded what it needs: ended meanwhile, none
would ever serve. House value.
"""


MOST_CONNECTIONS = 900
"""More connections at once are answered with 503: a process is commonly given 1024 open files."""


SEND_BYTES = 262_144
"""So much of an answer the system takes at once, for each connection."""


SAME_SECONDS = 60
"""What a process says counts as said for the others so long: each sees a change when somebody asks it."""

SAYING_SECONDS = 0.2
MOST_SAID = 64


class Saying:
    """What processes say to whoever runs them: what several of them notice is said by the first."""

    def __init__(self) -> None:
        """Make what they share. It can be given to a process when that begins, and only then."""
        context = multiprocessing.get_context("spawn")
        self._lock = context.Lock()
        # (what was said, by which process, when) in turn; the clock is that of the machine.
        self._said = context.Array(ctypes.c_uint64, 3 * MOST_SAID, lock=False)

    def __call__(self, text: str) -> None:
        """Say something, where no other process has just said it."""
        if not self._is_said(text):
            # Whoever began it may have closed the terminal; it serves on.
            with suppress(OSError):
                print(text, file=sys.stderr, flush=True)

    def _is_said(self, text: str) -> bool:
        digest = int.from_bytes(blake2b(text.encode(), digest_size=8).digest())
        own, now = os.getpid(), int(time.monotonic())
        # Said twice rather than never, where a process was killed in here.
        held = self._lock.acquire(timeout=SAYING_SECONDS)
        try:
            rows = [tuple(self._said[at : at + 3]) for at in range(0, 3 * MOST_SAID, 3)]
            if any(row[0] == digest and row[1] != own and now - row[2] < SAME_SECONDS for row in rows):
                return True
            at = 3 * min(range(MOST_SAID), key=lambda n: rows[n][2])
            self._said[at : at + 3] = [digest, own, now]
            return False
        finally:
            if held:
                self._lock.release()


@dataclass(frozen=True, slots=True)
class Begun:
    """What a process serves: its application, its sites, and the set-up of one that is not there yet."""

    app: SecurityMiddleware
    sites: Sites
    setup: SetUp | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """What is served where. It makes the application in each process; `as_of` counts as today.

    Where it is to `remind`, one process of them sends mails to keepers. A description that is not there yet
    is `to_write`, by a set-up that whoever begins the server opens.
    """

    places: tuple[Path, ...]
    host: str
    port: int
    workers: int
    url: str = ""
    as_of: dt.date | None = None
    proxies: str = "127.0.0.1"
    remind: bool = False
    to_write: Path | None = None
    talk: Talk = field(default_factory=Saying)

    def __call__(self) -> SecurityMiddleware:
        """Return the application of a process."""
        return self.begun(Reach(self.url)).app

    def begun(self, reach: Reach) -> Begun:
        """Return what a process serves."""
        use_newest_zones()
        parent = multiprocessing.parent_process()
        if parent is not None:
            threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
        sites = Sites(self.places, self.talk, self.as_of, self.to_write)
        setup = SetUp(self.to_write, sites, reach, self.as_of) if self.to_write is not None else None
        app = make_app(sites, Settings(reach=reach, setup=setup))
        # What is here now stays: looking through it for what nobody needs any more would stop the answers
        # each time.
        gc.collect()
        gc.freeze()
        return Begun(app, sites, setup)


class Workers(Multiprocess):
    """Processes that share a socket."""

    def terminate_all(self) -> None:
        """End them; who comes meanwhile is told so at once, instead of being kept waiting by a socket that
        stays open."""
        for listener in self.sockets:
            listener.close()
        super().terminate_all()


def serve(serving: Serving, began: Callable[[str], None]) -> None:
    """Serve until the process is told to stop.

    `began` is called with the address once the socket is open; with that of the set-up, where there is one.

    WriteError where the address cannot be used, DescriptionError and UsageError for what cannot be served.
    """
    if not serving.places:
        raise UsageError("name a description to serve")
    post = _post_office() if serving.remind else None
    _refuse_setup(serving)
    reach = Reach(serving.url, everywhere=serving.host in LOOPBACK)
    begun = serving.begun(reach)  # whatever is wrong is told here, once
    listener = _listen(serving.host, serving.port)
    address = listener.getsockname()
    # Also once it has drained, when uvicorn hands on what it was sent: to be told to stop is no failure.
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _stop)
    host = LOOPBACK.get(str(address[0]), str(address[0])) if begun.setup is not None else str(address[0])
    began(f"http://{_shown(host)}:{address[1]}{begun.setup.path if begun.setup is not None else ''}")
    if post is not None:
        from scheduler.workflow.mail.dispatcher import MailDispatcher

        # In this process alone, which begins the others and ends with them.
        MailDispatcher(begun.sites, post, serving.talk, serving.as_of).start()
    config = uvicorn.Config(
        begun.app if serving.workers == 1 else serving,
        factory=serving.workers > 1,
        http=DeadlineProtocol,
        ws="none",
        loop="auto",
        lifespan="off",
        # A path holds a secret, and a line for each request that is none would let anybody fill a disk.
        access_log=False,
        log_level="error",
        server_header=False,
        date_header=False,
        proxy_headers=True,
        forwarded_allow_ips=serving.proxies,
        workers=serving.workers,
        timeout_worker_healthcheck=WORKER_SECONDS,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=int(KEEP_SECONDS),
        timeout_graceful_shutdown=DRAIN_SECONDS,
    )
    server = uvicorn.Server(config)

    async def listen_also(host: str) -> int:
        port = int(address[1])
        if not reach.everywhere:
            await _listen_also(server, host, port)
            serving.talk(f"Listening on http://{_shown(host)}:{port} too, as the set-up was told.")
        return port

    reach.listen = listen_also
    if serving.workers == 1:
        # Several workers begin anew; one has nothing to do: descriptions are read again whenever somebody
        # asks.
        signal.signal(signal.SIGHUP, signal.SIG_IGN)
        server.run(sockets=[listener])
    else:
        Workers(config, sockets=[listener]).run()


def _post_office() -> PostOffice:
    from scheduler.workflow.mail.reminders import post_office

    return post_office()


def _stop(number: int, frame: FrameType | None) -> None:
    sys.exit(0)


def _end_with(parent: BaseProcess) -> None:
    """End a worker whose parent was killed: it would keep the port, and nobody would know of it."""
    parent.join()
    os.kill(os.getpid(), signal.SIGTERM)


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        # What waits to be sent waits in the program, where it shows whether it is taken, and not in the
        # system.
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BYTES)
        listener.bind((host, port))
        listener.listen(1024)
    except (OSError, OverflowError) as error:
        listener.close()
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise WriteError(
            f"{host} port {port} cannot be listened to: {reason}; choose another --port"
        ) from None
    listener.set_inheritable(True)
    return listener


async def _listen_also(server: uvicorn.Server, host: str, port: int) -> None:
    """Have a running server listen at one more address as well.

    It is let in as the first one is, and closed with it. WriteError where it cannot be listened to.
    """
    loop = asyncio.get_running_loop()
    listener = _listen(host, port)

    def protocol() -> DeadlineProtocol:
        return DeadlineProtocol(
            config=server.config,
            server_state=server.server_state,
            app_state=server.lifespan.state,
            _loop=loop,
        )

    server.servers.append(await loop.create_server(protocol, sock=listener))


def _refuse_setup(serving: Serving) -> None:
    """Raise UsageError where a set-up could not be reached, or one process would not know what another was
    told."""
    if serving.to_write is None:
        return
    if serving.workers > 1:
        raise UsageError(
            f"{serving.to_write.name} is to be set up first, in one process: leave out --workers"
        )
    if serving.host not in LOOPBACK and not is_this_machine(serving.host):
        raise UsageError(
            f"{serving.to_write.name} is to be set up first, on this machine alone: leave out --host; "
            "whether phones are let in is asked at its end"
        )


def _shown(host: str) -> str:
    return f"[{host}]" if ":" in host else host
