"""`pondround away`: who cannot come for some days, and who is back."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.amending import DryOption, SayerOption
from scheduler.cli.recording import NoteOption, who_of
from scheduler.cli.shared import NOT_POSSIBLE, Format, FormatOption, TodayOption, may_ask, talk, told, width
from scheduler.errors import UsageError


def away(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The description.")],
    keeper: Annotated[str, typer.Argument(metavar="KEEPER", help="Who cannot come.")],
    span: Annotated[
        str | None,
        typer.Argument(
            metavar="[DATE[/DATE]]",
            help="The days, both included; the default is today. Tomorrow, or Saturday, do.",
        ),
    ] = None,
    back: Annotated[
        str | None, typer.Option("--back", metavar="DATE", help="Back on this day, whatever was said before.")
    ] = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: Annotated[bool, typer.Option("--yes", help="Record and publish without asking.")] = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Say who is away: what that changes in the rota, and publish it. The description stays as it is."""
    with told(file, output, writes=True):
        space = workflow.open_workspace(file, today).in_plain_formats()
        if back is not None and span is not None:
            raise UsageError("write the days on which somebody is away, or --back, not both")
        who = who_of(space, by, note)
        if back is not None:
            thought = workflow.plan_return(space, keeper, workflow.day_named(back, space.today), who)
        else:
            days = workflow.span_named(span or "today", space.today)
            thought = workflow.plan_absence(space, keeper, days, who)
        asks = may_ask(output) and not (yes or dry_run)
        _show(space.site, thought, output)
        if asks and not typer.confirm("Record and publish this?", err=True):
            raise UsageError("nothing was recorded")
        if dry_run:
            talk("Nothing was recorded: this is what would change.")
        else:
            new = any(new for _, new in workflow.keep_absence(space, thought, who)) or back is not None
            published = ", and the rota is published with it" if thought.shown.published else ""
            talk(f"Recorded{published}." if new else "That was said already; nothing changes.")
        if thought.shown.rota.unfilled:
            count = len(thought.shown.rota.unfilled)
            left = f"{count} job{'s' if count != 1 else ''}"
            talk(f"Nobody takes {left}; `rota` says why, and what would mend it.")
            raise typer.Exit(NOT_POSSIBLE)


def _show(site: workflow.Site, said: workflow.AwayPlan, output: Format) -> None:
    from scheduler.sheets.entries import record_of
    from scheduler.sheets.recorded import as_amended
    from scheduler.sheets.rota import changed_lines
    from scheduler.sheets.rota_records import change_records

    shown = said.shown
    if output is Format.JSON:
        keepers = {k.id: k.name for k in site.keepers}
        entries = [record_of(site.settings.id, entry, keepers) for entry in said.entries]
        print(
            json.dumps(
                {"recorded": entries, "changes": change_records(site, shown.changes)}, ensure_ascii=False
            )
        )
        return
    for entry in said.entries:
        print(f"{as_amended(site, entry)}.")
    if shown.published is not None:
        published = workflow.day_there(shown.published.recorded, site)
        for line in changed_lines(site, shown.changes, published, width()):
            print(line)
