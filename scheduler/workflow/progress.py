"""A bar on the terminal for what takes longer than a moment. It goes as soon as that is done."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from scheduler.progress import Tell, nobody

SECONDS = 2.0
"""What is done sooner shows no bar. House value."""


@contextmanager
def progress_bar(what: str, seconds: float = SECONDS) -> Iterator[Tell]:
    """Show on standard error how far something is, from so many seconds on, and take the bar away at the end.

    Yields what to tell it to. Where standard error is no terminal, or one that cannot go back in its line,
    nothing is ever shown.
    """
    if sys.stderr is None or not sys.stderr.isatty():
        yield nobody
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    # No colours: bold and dim tell the parts of the bar apart on any ground.
    console = Console(stderr=True, no_color=True, highlight=False)
    if console.is_dumb_terminal:
        yield nobody
        return
    bar = Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(bar_width=16, style="dim", complete_style="bold", finished_style="bold"),
        MofNCompleteColumn(),
        console=console,
        transient=True,
        redirect_stdout=False,
        redirect_stderr=False,
    )
    task = bar.add_task(what, total=None)
    begin = threading.Timer(seconds, bar.start)
    begin.daemon = True
    begin.start()
    try:
        yield lambda done, total: bar.update(task, completed=done, total=total)
    finally:
        begin.cancel()
        # It may be about to show the bar.
        begin.join()
        bar.stop()
