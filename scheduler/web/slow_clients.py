"""The protocol of a connection, without patience for clients that are slow on purpose."""

from __future__ import annotations

import asyncio
from typing import Any, ClassVar

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol, RequestResponseCycle

HEAD_SECONDS = 10.0
"""So long a client has to send a request's head, or what it still owes of a form that is answered already.

House value.
"""


KEEP_SECONDS = 60.0
"""So long a connection stays open for a next request."""

READ_SECONDS = 30.0
"""A client that takes nothing of its answer for so long is let go."""

MOST_HEAD = 65_536
"""More bytes than these without an end of the head are no request."""

MOST_PIPELINED = 16
"""So many requests may be sent before the first of them is answered; each of them takes memory."""

MOST_WAITING = 700
"""So many connections may be waiting for a request; of more, the one that has waited longest is let go."""

_TOO_LARGE = b"HTTP/1.1 431 Request Header Fields Too Large\r\ncontent-length: 0\r\nconnection: close\r\n\r\n"


class DeadlineProtocol(HttpToolsProtocol):
    """The protocol, closing connections on which no request comes to its end in time, or no answer is
    taken."""

    waiting: ClassVar[dict[DeadlineProtocol, None]] = {}
    """Connections of this process that are waiting for their client, the longest first."""

    _deadline: asyncio.TimerHandle | None = None
    _reading: asyncio.TimerHandle | None = None
    _head_bytes = 0
    _in_head = True
    _in_body = False

    def __init__(self, *given: Any, **named: Any) -> None:
        """Begin without a request."""
        super().__init__(*given, **named)
        self._asked: list[RequestResponseCycle] = []

    def connection_made(self, transport: Any) -> None:
        """Begin to wait."""
        super().connection_made(transport)
        self._wait(HEAD_SECONDS)

    def data_received(self, data: bytes) -> None:
        """Take bytes, but not for ever without a head."""
        super().data_received(data)
        self._head_bytes = self._head_bytes + len(data) if self._in_head else 0
        if self._head_bytes > MOST_HEAD and not self.transport.is_closing():
            self.transport.write(_TOO_LARGE)
            self.transport.close()

    def on_message_begin(self) -> None:
        """Wait for the end of a head that has begun."""
        if len(self.pipeline) >= MOST_PIPELINED:
            # The parser stops, and the connection is ended as after any other request that cannot be read.
            raise ValueError("more requests at once than anybody sends")
        super().on_message_begin()
        self._in_head = True
        self._wait(HEAD_SECONDS)

    def on_headers_complete(self) -> None:
        """Wait no longer: the handler has its own deadline for what follows."""
        self._wait_no_longer()
        self._in_head, self._in_body = False, True
        super().on_headers_complete()
        self._asked = [one for one in self._asked if not one.response_complete] + [self.cycle]

    def on_message_complete(self) -> None:
        """Wait for the next request where this one was answered before it ended."""
        super().on_message_complete()
        self._in_body = False
        if self.cycle.response_complete:
            self._wait(KEEP_SECONDS)

    def on_response_complete(self) -> None:
        """Wait for the next request, or for what was not read of this one."""
        super().on_response_complete()
        if not self.transport.is_closing() and not self.pipeline and self.cycle.response_complete:
            self._wait(HEAD_SECONDS if self._in_body else KEEP_SECONDS)

    def pause_writing(self) -> None:
        """See that the client takes what was written."""
        super().pause_writing()
        self._see_it_read(self.transport.get_write_buffer_size() + 1)

    def resume_writing(self) -> None:
        """Go on."""
        super().resume_writing()
        self._see_no_longer()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the connection."""
        self._wait_no_longer()
        self._see_no_longer()
        # Requests that came one upon the other: none of them has anywhere to answer to any more.
        for one in self._asked:
            one.disconnected = True
        super().connection_lost(exc)

    def _wait(self, seconds: float) -> None:
        self._wait_no_longer()
        if len(self.waiting) >= MOST_WAITING:
            next(iter(self.waiting))._let_go()
        self.waiting[self] = None
        self._deadline = self.loop.call_later(seconds, self._let_go)

    def _wait_no_longer(self) -> None:
        self.waiting.pop(self, None)
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _see_it_read(self, before: int) -> None:
        left = self.transport.get_write_buffer_size()
        if left >= before:
            self._let_go()
        else:
            self._reading = self.loop.call_later(READ_SECONDS, self._see_it_read, left)

    def _see_no_longer(self) -> None:
        if self._reading is not None:
            self._reading.cancel()
            self._reading = None

    def _let_go(self) -> None:
        self._wait_no_longer()
        self.transport.abort()
