"""`pondround jobs`: what falls due, by day."""

from __future__ import annotations

from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import (
    FILE,
    FileArgument,
    Format,
    FormatOption,
    FromOption,
    TodayOption,
    talk,
    tell_lost_names,
    told,
    width,
)


def jobs(
    file: FileArgument = FILE,
    today: TodayOption = None,
    from_: FromOption = None,
    days: Annotated[
        int,
        typer.Option("--days", metavar="N", min=1, max=workflow.MOST_DAYS, help="How many days are shown."),
    ] = 14,
    enclosure: Annotated[
        str | None, typer.Option("--enclosure", metavar="NAME", help="Only this enclosure.")
    ] = None,
    keeper: Annotated[
        str | None,
        typer.Option(
            "--keeper",
            metavar="NAME",
            help="Only what this keeper can take: days, absences and skills allow it.",
        ),
    ] = None,
    job: Annotated[
        str | None, typer.Option("--job", metavar="KEY", help="Only this job, such as water-change.")
    ] = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Say how the amounts of each job came about.")
    ] = False,
    output: FormatOption = Format.TABLE,
) -> None:
    """Show what falls due in the coming days."""
    with told(file, output):
        space = workflow.open_workspace(file, today).in_plain_formats()
        site, day = space.site, space.today
        first = workflow.parse_day(from_) if from_ else day
        history = workflow.history_of(space, done_since=first)
        planned = workflow.make_plan(site, day, first, days, history)
        absent = workflow.not_there(space) if keeper is not None else None
        found = workflow.days_of(planned, enclosure, keeper, job, absent=absent)
        tell_lost_names(file, site)
        if output is Format.JSON:
            from scheduler.sheets.records import job_lines

            # As an export of the same day has it.
            shared = workflow.rota_to_export(space, max(day, first)) if site.keepers else None
            rota = shared.rota if shared is not None else None
            takers = {} if rota is None else {one.ref: one.keeper for one in rota.assigned()}
            entries = workflow.entries_for(planned, rota)
            for line in job_lines(planned.site, found, entries, explain=explain, rota=takers):
                print(line)
            return
        from scheduler.sheets.terminal import day_table

        nothing = True
        for line in day_table(planned.site, found, width(), explain=explain):
            print(line)
            nothing = False
        if nothing:
            talk(f"Nothing falls due from {first} on for {days} day{'s' if days > 1 else ''}.")
