"""A cable between browser and server that can be pulled: what comes while it is out is refused, as in flight mode."""

from __future__ import annotations

import socket
import threading
from contextlib import suppress
from types import TracebackType


class Cable:
    """Carries connections of a port of its own to the port of a server, as long as it is in."""

    def __init__(self) -> None:
        """Take a free port of the loopback; `to` is the port of the server."""
        self.to = 0
        self.is_in = True
        self.drops_answers = False
        self._open: set[socket.socket] = set()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.url = f"http://127.0.0.1:{self._listener.getsockname()[1]}"
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self) -> Cable:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.pull()
        # A listener that somebody waits at is woken by its end.
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._thread.join(10)

    def pull(self) -> None:
        """Cut what is open, and refuse what comes."""
        self.is_in = False
        for one in list(self._open):
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)

    def put_in(self) -> None:
        """Carry again."""
        self.is_in = True

    def _serve(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            if not self.is_in:
                near.close()
                continue
            try:
                far = socket.create_connection(("127.0.0.1", self.to), 10)
            except OSError:
                near.close()
                continue
            for one in (near, far):
                one.settimeout(None)
                self._open.add(one)
            threading.Thread(target=self._carry, args=(near, far, False), daemon=True).start()
            threading.Thread(target=self._carry, args=(far, near, True), daemon=True).start()

    def _carry(self, source: socket.socket, sink: socket.socket, is_answer: bool) -> None:
        with suppress(OSError):
            while block := source.recv(65536):
                if is_answer and self.drops_answers:
                    break
                sink.sendall(block)
        for one in (source, sink):
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
        source.close()
        self._open.discard(source)
