"""A command that is sent a signal before a step of its own: the same one each time, however fast the machine is."""

from __future__ import annotations

import itertools
import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from scheduler.__main__ import main

HANG_SECONDS = 180
"""What has not ended after so long hangs."""

MOST_STEPS = 500

# Of what is loaded already: beginning anew for each step takes too long.
fork = multiprocessing.get_context("fork")

Steps = Iterable[tuple[Any, str]]
"""What counts as steps: functions, by whose they are and their names."""


def cut_short(args: Sequence[str], how: signal.Signals, step: int, steps: Steps, said: Path) -> bool:
    """Run a command, which is sent a signal before the step of a number; tell whether it came so far.

    What it says on both its outputs is written to the file `said`.
    """
    process = fork.Process(target=_signalled, args=(args, how, step, steps, said), daemon=True)
    process.start()
    process.join(HANG_SECONDS)
    assert process.exitcode in (0, -how, 128 + how), said.read_text("utf-8")
    assert "Traceback" not in said.read_text("utf-8")
    return process.exitcode != 0


def _signalled(args: Sequence[str], how: signal.Signals, left: int, steps: Steps, said: Path) -> None:
    count = itertools.count()

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def step(*given: Any, **named: Any) -> Any:
            if next(count) == left:
                os.kill(os.getpid(), how)
            return real(*given, **named)

        return step

    with said.open("wb") as file:
        for number in (1, 2):
            os.dup2(file.fileno(), number)
    for owner, name in steps:
        setattr(owner, name, counted(getattr(owner, name)))
    signal.signal(signal.SIGINT, signal.default_int_handler)
    sys.argv = ["pondround", *args]
    sys.stdout, sys.stderr = (os.fdopen(number, "w", encoding="utf-8") for number in (1, 2))
    main()
