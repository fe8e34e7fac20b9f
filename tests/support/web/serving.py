"""A server of the tests' own: `pondround serve` as a process on a free port of the loopback, and links to what it serves."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from support.commands import Begun, run_command

BEGIN_SECONDS = 180.0
"""So long a server may take until it tells its address; it reads all descriptions first."""

END_SECONDS = 30.0

_ADDRESS = re.compile(r"Serving on (http://\S+?);|^  (http://\S+/set-up/\S+)$")
"""Where it is served; where nothing is described yet, the address of the set-up."""


@dataclass(slots=True)
class Served:
    """A running server: its address (no slash at its end), its process, and what it said on standard error so far."""

    process: Begun | subprocess.Popen[str]
    url: str = ""
    log_lines: list[str] = field(default_factory=list)
    begun: threading.Event = field(default_factory=threading.Event)
    listener: threading.Thread | None = None

    def listen(self) -> None:
        """Collect what the server says, until it ends: a full pipe would halt it."""
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.log_lines.append(line.rstrip("\n"))
            if found := _ADDRESS.search(line):
                self.url = found[1] or found[2]
                self.begun.set()
        self.begun.set()

    def stop(self) -> int:
        """Ask the server to end, wait for it, and return its exit code."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(END_SECONDS)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait(END_SECONDS)
        if self.listener is not None:
            self.listener.join(END_SECONDS)
        if self.process.stderr is not None:
            self.process.stderr.close()
        ended = self.process.returncode
        assert ended is not None
        return ended


@contextmanager
def serving(
    folder: Path, *places: str | Path, env: dict[str, str] | None = None, before: str = "", **options: object
) -> Iterator[Served]:
    """Serve descriptions (by default all of the folder) from within a folder, and stop at the end.

    `options` are those of the command: serving(folder, "pond.toml", today="2026-12-14", workers=2). What stands in
    `before` is run first, in a server of one process.
    """
    words = [str(place) for place in places or (folder,)]
    for name, value in {"port": 0, **options}.items():
        words += [f"--{name.replace('_', '-')}", str(value)]
    served = Served(Begun("serve", *words, cwd=folder, env=_environment(env), before=before))
    served.listener = threading.Thread(target=served.listen, daemon=True)
    served.listener.start()
    try:
        told = served.begun.wait(BEGIN_SECONDS)
        assert told and served.url, f"no address of the server, but: {served.log_lines}"
        yield served
    finally:
        served.stop()


def make_link(file: Path, *words: str, env: dict[str, str] | None = None) -> dict[str, str]:
    """Make a link with `pondround links FILE WORDS`; return its name, kind, `of`, and the addresses of what it opens.

    make_link(file, "--page", "Ives", "--url", served.url)["page"] is an address that the server answers.
    """
    return json.loads(pondround(file.parent, "links", str(file), *words, "--format", "json", env=env))  # type: ignore[no-any-return]


def pondround(folder: Path, *words: str, env: dict[str, str] | None = None) -> str:
    """Run the command in a folder, see that it succeeds, and return what it prints."""
    done = run_command(*words, cwd=folder, env=_environment(env))
    assert done.returncode == 0, f"pondround {' '.join(words)}: {done.stderr}"
    return done.stdout


def _environment(more: dict[str, str] | None) -> dict[str, str]:
    # A log or a key of the machine on which the tests run is none of theirs.
    own = {name: value for name, value in os.environ.items() if not name.startswith("PONDROUND_")}  # noqa: TID251
    return {**own, "PYTHONUTF8": "1", **(more or {})}
