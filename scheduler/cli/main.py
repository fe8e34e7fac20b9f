"""The `pondround` command."""

from __future__ import annotations

import errno
import sys

import typer

from scheduler import workflow
from scheduler.cli import (
    check,
    export,
    history,
    jobs,
    new,
    outlook,
    recording,
    remind,
    rota,
    schema,
    serve,
    sync,
)
from scheduler.cli.shared import NOT_POSSIBLE, silence

app = typer.Typer(
    name="pondround",
    help="Plan the care of freshwater turtles from a description of their enclosures, and put it on calendars.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("new")(new.new)
app.command("check")(check.check)
app.command("jobs")(jobs.jobs)
app.command("export")(export.export)
app.command("outlook")(outlook.outlook)
app.command("rota")(rota.rota)
app.command("swap")(rota.swap)
app.command("did")(recording.did)
app.command("reading")(recording.reading)
app.command("undo")(recording.undo)
app.command("history")(history.history)
app.command("feeds")(serve.feeds)
app.command("serve")(serve.serve)
app.command("sync")(sync.sync)
app.command("remind")(remind.remind)
app.command("schema")(schema.schema)


def run() -> None:
    """Run the command line. A reader that goes away early (`| head`) is no failure of ours."""
    for stream in (sys.stdout, sys.stderr):
        # Names may hold any letter; a terminal that cannot show one gets a replacement, not a traceback.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    workflow.use_newest_zones()
    try:
        try:
            app()
        finally:
            # Here, where a failure can be told; on its own the interpreter flushes when it is too late for that.
            if sys.stdout is not None:
                sys.stdout.flush()
    except BrokenPipeError:
        silence()
        sys.exit(0)
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise
        silence()
        print(f"the output cannot be written: {error.strerror}; make room", file=sys.stderr)
        sys.exit(NOT_POSSIBLE)
