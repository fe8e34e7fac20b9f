"""`pondround sync`: to-dos to and from a CalDAV server."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.export import EntryForm
from scheduler.cli.shared import NOT_POSSIBLE, Format, FormatOption, TodayOption, talk, told, width


def sync(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The description.")],
    url: Annotated[
        str, typer.Argument(metavar="URL", help="The CalDAV server, as your calendar program has it.")
    ],
    collection: Annotated[
        str | None,
        typer.Option(
            "--collection",
            metavar="NAME",
            help="Not a collection for each keeper, made where it is not there, but this one.",
        ),
    ] = None,
    keeper: Annotated[
        str | None, typer.Option("--keeper", metavar="NAME", help="Only what this keeper does.")
    ] = None,
    as_: Annotated[
        EntryForm,
        typer.Option("--as", help="To-dos, which can be ticked, or events, which can only be moved."),
    ] = EntryForm.TO_DOS,
    weeks: Annotated[
        int,
        typer.Option(
            "--weeks", metavar="N", min=1, max=workflow.MOST_ROTA_WEEKS, help="How far ahead, from today on."
        ),
    ] = 4,
    timeout: Annotated[
        int,
        typer.Option("--timeout", metavar="SECONDS", min=1, max=600, help="How long to wait for the server."),
    ] = 30,
    insecure: Annotated[
        bool,
        typer.Option("--insecure", help="Plain http also to another machine: only where the way is safe."),
    ] = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Put to-dos into a calendar server; what was ticked there is recorded, what was moved is moved.

    Who logs in: PONDROUND_CALDAV_USER and PONDROUND_CALDAV_PASSWORD, else the keyring of this machine.
    """
    from scheduler.sync import SyncWish, read_address, report
    from scheduler.sync import sync as run

    with told(file, output, writes=True):
        address = read_address(url, insecure=insecure)
        space = workflow.open_workspace(file, today)
        site = space.site
        wish = SyncWish(
            collection=collection,
            keeper=keeper,
            to_dos=as_ is EntryForm.TO_DOS,
            weeks=weeks,
            seconds=timeout,
        )
        with workflow.progress_bar("Syncing") as tell:
            done = run(space.telling(tell), address, wish)
        if output is Format.JSON:
            print(report.outcome_object(site, done))
        else:
            for line in report.outcome_lines(site, done, width()):
                print(line)
        if done.untaken:
            talk(
                f"nobody takes {done.untaken} job{'s' if done.untaken > 1 else ''} of the rota; "
                "`pondround rota` says why"
            )
        for failure in done.failures:
            talk(failure)
        if done.failures:
            raise typer.Exit(NOT_POSSIBLE)
