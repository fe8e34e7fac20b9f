"""The databases of the tests of this folder, and a log in each of them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.servers import empty_log, new_url, server, url

from scheduler.log import Log, open_log

__all__ = ["empty_log", "new_url", "server", "url"]


@pytest.fixture
def log(url: str) -> Iterator[Log]:
    with open_log(url) as opened:
        yield opened
