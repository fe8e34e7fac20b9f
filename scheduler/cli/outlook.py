"""`pondround outlook`: what is coming in the months ahead, and what it costs."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, Format, FormatOption, TodayOption, told, width
from scheduler.workflow.workspace import Workspace


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
        site = workflow.read_site(file).in_plain_formats()
        day = workflow.parse_day(today) if today else workflow.today_in(site)
        found = workflow.outlook(
            site, day, months, workflow.history_of(Workspace(file, site, day)), enclosure
        )
        from scheduler.sheets.outlook import outlook_lines, outlook_object

        if output is Format.JSON:
            print(outlook_object(found))
        else:
            sys.stdout.writelines(f"{line}\n" for line in outlook_lines(found, width()))
