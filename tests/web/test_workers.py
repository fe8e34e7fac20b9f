"""Several processes that share a socket: how long one may take to begin."""

from __future__ import annotations

from pathlib import Path

import pytest
import uvicorn
from support.web.http_client import write

from scheduler.web import server
from scheduler.web.server import Serving, Workers, serve


def test_a_process_may_take_its_time_to_begin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that is still loading does not answer yet. Ended after the library's five seconds it would never come to serve.

    A small computer takes ten seconds and more to load what is needed; common practice, no published source.
    """
    configs: list[uvicorn.Config] = []

    def run(workers: Workers) -> None:
        configs.append(workers.config)
        workers.sockets[0].close()

    monkeypatch.setattr(server.signal, "signal", lambda *_: None)
    monkeypatch.setattr(Workers, "run", run)
    file = write(tmp_path / "fen-lane.toml")
    serve(Serving(places=(file,), host="127.0.0.1", port=0, workers=2), lambda _: None)
    (config,) = configs
    assert config.workers == 2
    assert config.timeout_worker_healthcheck >= 60
