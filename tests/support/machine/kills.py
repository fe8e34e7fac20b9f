"""Processes that are killed between two of their writes: into the log, into a folder, to a server."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

import sqlalchemy as sa


class Killed(BaseException):
    """The process ends here. No `except Exception` of the program may stop it."""


class Kills:
    """Counts writes, and ends what runs at the one that was named; nothing that it does afterwards is done.

    It stands in for SIGKILL: what the program has in its `finally` clauses still runs, but finds that it can write nothing.
    """

    def __init__(self) -> None:
        """Let everything pass."""
        self._left: int | None = None

    def write(self) -> None:
        """Be told of a write that is about to be done."""
        if self._left is None:
            return
        self._left -= 1
        if self._left < 0:
            raise Killed

    @contextmanager
    def at(self, number: int) -> Iterator[None]:
        """Kill at the write of a number, from 0 on; leave the block quietly then."""
        replace = Path.replace

        def replaced(path: Path, target: Any) -> Path:
            self.write()
            return replace(path, target)

        def executed(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
            if not statement.lstrip().upper().startswith(("SELECT", "WITH", "PRAGMA", "BEGIN")):
                self.write()

        def committed(_connection: Any) -> None:
            self.write()

        def ended(args: threading.ExceptHookArgs) -> None:
            # What else the process was doing ends with it.
            if args.exc_type is not Killed:
                said(args)

        said = threading.excepthook
        sa.event.listen(sa.Engine, "before_cursor_execute", executed)
        sa.event.listen(sa.Engine, "commit", committed)
        self._left = number
        try:
            with (
                mock.patch.object(Path, "replace", replaced),
                mock.patch.object(threading, "excepthook", ended),
            ):
                yield
        except Killed:
            pass
        finally:
            self._left = None
            sa.event.remove(sa.Engine, "before_cursor_execute", executed)
            sa.event.remove(sa.Engine, "commit", committed)
