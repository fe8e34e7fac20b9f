"""The server: uvicorn, one process or several on one socket, with a deadline for slow clients."""

from __future__ import annotations

import asyncio
import datetime as dt
import logging
import socket
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import uvicorn
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol
from uvicorn.supervisors import Multiprocess

from scheduler.errors import UsageError, WriteError
from scheduler.web.app import Settings, make_app
from scheduler.web.guard import Guard
from scheduler.workflow import use_newest_zones
from scheduler.workflow.sites import Sites

HEAD_SECONDS = 10.0
"""So long a client has to send a request's head, from when it connects or was last answered. House value."""

DRAIN_SECONDS = 20
"""So long a server that is told to stop finishes what it has begun."""

MOST_CONNECTIONS = 1000
"""More connections at once are answered with 503."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """What is served where. It makes the application in each process; `as_of` counts as today."""

    places: tuple[Path, ...]
    host: str
    port: int
    workers: int
    url: str = ""
    as_of: dt.date | None = None
    proxies: str = "127.0.0.1"

    def __call__(self) -> Guard:
        """Return the application of a process."""
        use_newest_zones()
        sites = Sites(self.places, talk, self.as_of)
        return make_app(sites, Settings(url=self.url))


def talk(text: str) -> None:
    """Say something to whoever runs the server."""
    print(text, file=sys.stderr, flush=True)


class Impatient(HttpToolsProtocol):
    """The protocol, closing connections on which no request comes to its end in time."""

    _deadline: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait."""
        super().connection_made(transport)
        self._deadline = self.loop.call_later(HEAD_SECONDS, self._out_of_time)

    def on_message_begin(self) -> None:
        """Wait for the end of a head that has begun."""
        super().on_message_begin()
        if self._deadline is None:
            self._deadline = self.loop.call_later(HEAD_SECONDS, self._out_of_time)

    def on_headers_complete(self) -> None:
        """Wait no longer: the handler has its own deadline for what follows."""
        self._wait_no_longer()
        super().on_headers_complete()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the connection."""
        self._wait_no_longer()
        super().connection_lost(exc)

    def _wait_no_longer(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _out_of_time(self) -> None:
        self._deadline = None
        self.transport.abort()


def serve(serving: Serving, began: Callable[[str], None]) -> None:
    """Serve until the process is told to stop; `began` is called with the address once the socket is open.

    WriteError where the address cannot be used, DescriptionError and UsageError for what cannot be served.
    """
    if not serving.places:
        raise UsageError("name a description to serve")
    app = serving()  # whatever is wrong is told here, once
    listener = _listen(serving.host, serving.port)
    address = listener.getsockname()
    began(f"http://{_shown(str(address[0]))}:{address[1]}")
    # The program's own lines go to standard error without addresses: a path holds a secret.
    logging.getLogger("uvicorn.error").setLevel(logging.WARNING)
    config = uvicorn.Config(
        app if serving.workers == 1 else serving,
        factory=serving.workers > 1,
        http=Impatient,
        ws="none",
        loop="auto",
        lifespan="off",
        access_log=False,
        log_level="warning",
        server_header=False,
        date_header=False,
        proxy_headers=True,
        forwarded_allow_ips=serving.proxies,
        workers=serving.workers,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=int(HEAD_SECONDS) * 6,
        timeout_graceful_shutdown=DRAIN_SECONDS,
        h11_max_incomplete_event_size=16_384,
    )
    server = uvicorn.Server(config)
    if serving.workers == 1:
        server.run(sockets=[listener])
    else:
        Multiprocess(config, sockets=[listener]).run()


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
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


def _shown(host: str) -> str:
    return f"[{host}]" if ":" in host else host
