"""Work that many wait for at once, done once for all of them who came before it began."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Hashable

from starlette.concurrency import run_in_threadpool

from scheduler.web.deadline import in_time


class RequestCoalescer:
    """One piece of work at a time for each key. Whoever comes while it is done waits for the next one.

    So what was found was so after everybody who waits for it had come, and a thousand requests a second cost
    some hundred looks. One event loop uses it.
    """

    def __init__(self, most_seconds: float) -> None:
        """Take how long a piece of work keeps the next one from beginning; it may hang."""
        self._most = most_seconds
        self._running: dict[Hashable, asyncio.Task[None]] = {}
        self._next: dict[Hashable, asyncio.Task[None]] = {}

    async def wait(self, key: Hashable, work: Callable[[], None]) -> None:
        """Wait until work of this key that begins from now on is done.

        It raises what the work does, and 503 in the end.
        """
        task = self._next.get(key)
        if task is None:
            task = self._next[key] = asyncio.ensure_future(self._turn(key, work))
        await in_time(task)

    async def _turn(self, key: Hashable, work: Callable[[], None]) -> None:
        before = self._running.get(key)
        if before is not None:
            await asyncio.wait({before}, timeout=self._most)
        # Who comes from here on may have come after it was seen.
        task = self._next.pop(key)
        self._running[key] = task
        try:
            await run_in_threadpool(work)
        finally:
            if self._running.get(key) is task:
                del self._running[key]
