"""No request waits for ever for a log that is there and does not answer."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable
from typing import TypeVar

from starlette.exceptions import HTTPException

LONGEST_SECONDS = 20.0
"""So long a request waits for the log; what it had begun may still come to its end, and nothing is done twice
by coming again."""


RETRY = {"Retry-After": "5"}
"""Somebody who comes while the log is away is asked to come again after so many seconds."""

T = TypeVar("T")


async def in_time(what: Awaitable[T]) -> T:
    """Wait for something that others may wait for too.

    HTTPException (503) when it takes too long; it goes on by itself.
    """
    task = asyncio.ensure_future(what)
    # Where nobody waits any more, nobody wants to know how it failed either.
    task.add_done_callback(lambda done: done.cancelled() or done.exception())
    try:
        return await asyncio.wait_for(asyncio.shield(task), LONGEST_SECONDS)
    except TimeoutError:
        raise HTTPException(503, headers=RETRY) from None
