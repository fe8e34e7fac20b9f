"""`pondround outlook`: what is coming in the months ahead, and what it costs."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, Format, FormatOption, TodayOption, told, width


def outlook(
    file: FileArgument = FILE,
    today: TodayOption = None,
    months: Annotated[
        int,
        typer.Option("--months", metavar="N", min=1, max=workflow.MOST_MONTHS, help="How many months ahead."),
    ] = 12,
    enclosure: Annotated[
        str | None, typer.Option("--enclosure", metavar="NAME", help="Only this enclosure.")
    ] = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Show what is coming: lamps, supplies to buy, the vet, space, the cold season, and what it costs."""
    with told(file, output):
        space = workflow.open_workspace(file, today).in_plain_formats()
        site, day = space.site, space.today
        found = workflow.outlook(site, day, months, workflow.history_of(space), enclosure)
        from scheduler.sheets.outlook import outlook_lines, outlook_object

        if output is Format.JSON:
            print(outlook_object(found))
        else:
            sys.stdout.writelines(f"{line}\n" for line in outlook_lines(found, width()))
