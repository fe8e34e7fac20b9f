"""The command in processes of its own that begin at once: each is forked off one that has loaded everything.

What only a process shows needs one: exit codes of signals, what stands on its outputs, kills, its time. Where the start of
an interpreter is itself what is tested (imports, `-m`, PYTHONHASHSEED), a test starts one.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from multiprocessing.context import ForkServerProcess
from multiprocessing.reduction import DupFd
from pathlib import Path
from typing import IO, Any

HANG_SECONDS = 180
"""What takes longer hangs; how fast a machine is fails no test."""

_forked = multiprocessing.get_context("forkserver")
# What a command loads only where it uses it is here too: a child would load it anew each time.
_forked.set_forkserver_preload(
    [
        "scheduler.cli.main",
        "scheduler.web.server",
        "scheduler.rota",
        "highspy",
        "alembic.command",
        "sqlalchemy.dialects.sqlite",
    ]
)


def run_command(
    *words: object, cwd: str | Path = ".", env: Mapping[str, str] | None = None, timeout: float = HANG_SECONDS
) -> subprocess.CompletedProcess[str]:
    """Run `pondround WORDS` in a folder, by default with the environment of the tests, and return what it said."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        process = begin_command(*words, cwd=cwd, env=env, stdout=out, stderr=err)
        process.join(timeout)
        if process.exitcode is None:
            process.kill()
            raise subprocess.TimeoutExpired([str(word) for word in words], timeout)
        return subprocess.CompletedProcess(
            [str(word) for word in words], process.exitcode, read_again(out), read_again(err)
        )


def begin_command(
    *words: object,
    cwd: str | Path = ".",
    env: Mapping[str, str] | None = None,
    before: str = "",
    stdin: IO[Any] | None = None,
    stdout: IO[Any] | None = None,
    stderr: IO[Any] | None = None,
) -> ForkServerProcess:
    """Begin `pondround WORDS`, after the code `before`, which may change what it does; outputs that are None go nowhere."""
    with Path(os.devnull).open("r+b") as nothing:
        streams = [DupFd((one or nothing).fileno()) for one in (stdin, stdout, stderr)]
        # Not a daemon: some of what begins here has workers of its own.
        process = _forked.Process(
            target=_command,
            args=(
                streams,
                str(Path(cwd).absolute()),
                dict(os.environ if env is None else env),  # noqa: TID251 - the tests' own, by default
                before,
                [str(word) for word in words],
            ),
        )
        process.start()
    return process


class Begun:
    """A command that was begun, as `subprocess.Popen` shows one: what it says on standard error is read from `stderr`."""

    def __init__(self, *words: object, cwd: Path, env: Mapping[str, str], before: str = "") -> None:
        """Begin `pondround WORDS` in a folder, after the code `before`."""
        ours, theirs = os.pipe()
        with os.fdopen(theirs, "wb") as stderr:
            self._process = begin_command(*words, cwd=cwd, env=env, before=before, stderr=stderr)
        self.stderr: IO[str] = os.fdopen(ours, encoding="utf-8")
        assert self._process.pid is not None
        self.pid: int = self._process.pid

    @property
    def returncode(self) -> int | None:
        return self._process.exitcode

    def poll(self) -> int | None:
        return self._process.exitcode

    def wait(self, timeout: float | None = None) -> int:
        self._process.join(timeout)
        if self._process.exitcode is None:
            raise subprocess.TimeoutExpired(self._process.name, timeout or 0)
        return self._process.exitcode

    def send_signal(self, number: int) -> None:
        if self._process.exitcode is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


def read_again(file: IO[bytes]) -> str:
    """Return what a process wrote into a file."""
    file.seek(0)
    return file.read().decode()


def _command(streams: list[Any], folder: str, env: dict[str, str], before: str, words: list[str]) -> None:
    for number, stream in enumerate(streams):
        os.dup2(stream.detach(), number)
    sys.stdin = os.fdopen(0, encoding="utf-8")
    sys.stdout, sys.stderr = (
        os.fdopen(number, "w", encoding="utf-8", errors=errors)
        for number, errors in ((1, "strict"), (2, "backslashreplace"))
    )
    os.chdir(folder)
    os.environ.clear()  # noqa: TID251
    os.environ.update(env)  # noqa: TID251
    time.tzset()
    signal.signal(signal.SIGINT, signal.default_int_handler)
    sys.argv = ["pondround", *words]
    if before:
        exec(compile(before, "before", "exec"), {"__name__": "before"})
    from scheduler.__main__ import main

    main()
