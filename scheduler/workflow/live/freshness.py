"""When a site was looked at last and how that went: who looks, who waits, and who is refused at once."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from scheduler.errors import LogError, SchedulerError, clip

GLANCE_SECONDS = 0.2
"""So long what was seen is taken as still so where nobody's link rests on it: while a feed is made, and for
how a server is."""


ANSWER_SECONDS = 5.0
"""So long one waits for somebody else who waits for the log; a database may be there and not answer."""

READ_SECONDS = 20.0
"""So long one waits for a description that somebody else is reading; its disk may be there and not answer."""

FAILED_SECONDS = 1.0
"""A log that did not answer is not asked again for so long."""


class Freshness:
    """Lets one thread look at a time, and remembers for a while that a log did not answer."""

    def __init__(self, tell: Callable[[str], None], is_reading: Callable[[], bool]) -> None:
        """Take whom to tell that a log is away or back, and what says whether a description is being read."""
        self._tell, self._is_reading = tell, is_reading
        self._lock = threading.Lock()
        self._fresh_until, self._failed_until = 0.0, 0.0
        self._failure = ""

    def is_fresh(self) -> bool:
        """Tell whether somebody looked a moment ago."""
        return time.monotonic() < self._fresh_until

    @contextmanager
    def turn(self, *, now: bool) -> Iterator[bool]:
        """Wait for one's turn, and yield whether a look is needed: always with `now`, else where nobody
        looked just now.

        Whatever goes wrong in it is a LogError, for those too who come within the next second.
        """
        self._refuse_if_failed()
        self._wait()
        try:
            if not now and self.is_fresh():
                yield False
                return
            self._refuse_if_failed()
            try:
                yield True
            except LogError as error:
                raise self._failed(error) from None
            except Exception as error:
                raise self._failed(LogError(f"it cannot be looked at: {said_of(error)}")) from error
            self._fresh_until = time.monotonic() + GLANCE_SECONDS
            if self._failure:
                self._tell("the log is within reach again")
            self._failure = ""
        finally:
            self._lock.release()

    def _wait(self) -> None:
        began = time.monotonic()
        while not self._lock.acquire(timeout=ANSWER_SECONDS):
            # A long description takes its time; but where somebody waits for log or disk so long, not
            # everybody has to.
            if not self._is_reading() or time.monotonic() - began > READ_SECONDS:
                raise self._failed(LogError("the log, or the disk of the description, does not answer"))

    def _refuse_if_failed(self) -> None:
        """Raise LogError where the log has failed a moment ago: whoever waited for it does not wait once
        more."""
        if self._failure and time.monotonic() < self._failed_until:
            raise LogError(self._failure)

    def _failed(self, error: LogError) -> LogError:
        if not self._failure:
            self._tell(str(error))
        self._failure, self._failed_until = str(error), time.monotonic() + FAILED_SECONDS
        return error


def said_of(error: Exception) -> str:
    """Return an error in a few words: its own where it is one of ours."""
    return str(error) if isinstance(error, SchedulerError) else f"{type(error).__name__}: {clip(str(error))}"
