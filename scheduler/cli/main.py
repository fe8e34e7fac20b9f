"""The `pondround` command."""

from __future__ import annotations

import errno
import sys
from typing import Annotated, Optional

import typer

from scheduler import workflow
from scheduler.cli import (
    amending,
    away,
    check,
    editing,
    export,
    guide,
    history,
    jobs,
    links,
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
    help=(
        "Plan the care of freshwater turtles from a description of their enclosures, and put it on calendars."
    ),
    no_args_is_help=True,
    # Commands take it over from here.
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _print_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        typer.echo(f"pondround {version('pondround')}")
        raise typer.Exit


@app.callback()
def pondround(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version, and end."),
    ] = False,
) -> None:
    """Plan the care of freshwater turtles from a description of their enclosures, and put it on calendars."""


@app.command("help")
def show_help(
    context: typer.Context,
    command: Annotated[Optional[str], typer.Argument(help="The command; all of them without one.")] = None,  # noqa: UP045
) -> None:
    """Say what a command does, and what it can be told."""
    whole = context.parent
    assert whole is not None
    if command is None:
        typer.echo(whole.get_help())
        return
    found = whole.command.get_command(whole, command)  # type: ignore[attr-defined]
    if found is None:
        names = ", ".join(whole.command.list_commands(whole))  # type: ignore[attr-defined]
        raise typer.BadParameter(f'there is no command "{command}"; there are: {names}')
    typer.echo(found.get_help(found.context_class(found, info_name=command, parent=whole)))


app.command("new")(new.new)
app.command("check")(check.check)
app.command("jobs")(jobs.jobs)
app.command("export")(export.export)
app.command("outlook")(outlook.outlook)
app.command("rota")(rota.rota)
app.command("swap")(rota.swap)
app.command("away")(away.away)
app.command("did")(recording.did)
app.command("reading")(recording.reading)
app.command("postpone")(amending.postpone)
app.command("skip")(amending.skip)
app.command("once")(amending.once)
app.command("move")(editing.move)
app.command("arrived")(editing.arrived)
app.command("departed")(editing.departed)
app.command("residents")(editing.residents)
app.command("set-up")(editing.set_up)
app.command("retire")(editing.retire)
app.command("merge")(editing.merge)
app.command("rename")(editing.rename)
app.command("undo")(recording.undo)
app.command("history")(history.history)
app.command("links")(links.links)
# As it was called first; scripts have it.
app.command("feeds", hidden=True)(links.links)
app.command("serve")(serve.serve)
app.command("sync")(sync.sync)
app.command("remind")(remind.remind)
app.command("schema")(schema.schema)
app.command("guide")(guide.guide)


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
            # Here, where a failure can be told; on its own the interpreter flushes when it is too late for
            # that.
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
