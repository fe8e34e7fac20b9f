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
    rows,
    talk,
    tell_lost_names,
    told,
    width,
    wraps,
)

A_FORTNIGHT = 14
"""So many days are looked ahead where nobody says how many. House value."""


def jobs(
    file: FileArgument = FILE,
    today: TodayOption = None,
    from_: FromOption = None,
    days: Annotated[
        int | None,
        typer.Option(
            "--days",
            metavar="N",
            min=1,
            max=workflow.MOST_DAYS,
            help="How many days are shown: these, whole; else a fortnight, as far as a screen reaches.",
        ),
    ] = None,
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
    all_: Annotated[
        bool, typer.Option("--all", help="All days and all names, however many lines they take.")
    ] = False,
    output: FormatOption = Format.TABLE,
) -> None:
    """Show what falls due in the coming days."""
    with told(file, output):
        space = workflow.open_workspace(file, today).in_plain_formats()
        site, day = space.site, space.today
        first = workflow.parse_day(from_) if from_ else day
        history = workflow.history_of(space, done_since=first)
        many = days or A_FORTNIGHT
        planned = workflow.make_plan(site, day, first, many, history)
        absent = workflow.not_there(space) if keeper is not None else None
        found = workflow.days_of(planned, enclosure, keeper, job, absent=absent)
        tell_lost_names(file, site)
        if output is Format.JSON:
            from scheduler.sheets.records import job_lines

            # As an export of the same day has it.
            with workflow.progress_bar("Making the rota, weeks") as tell:
                shared = (
                    workflow.rota_to_export(space.telling(tell), max(day, first)) if site.keepers else None
                )
            rota = shared.rota if shared is not None else None
            takers = {} if rota is None else {one.ref: one.keeper for one in rota.assigned()}
            entries = workflow.entries_for(planned, rota)
            for line in job_lines(planned.site, found, entries, explain=explain, rota=takers):
                print(line)
            return
        from scheduler.sheets.day_groups import fitting_lines, grouped_items, whole_lines
        from scheduler.sheets.names import every_name, few_names, told_names
        from scheduler.sheets.summary import FEW
        from scheduler.sheets.terminal import day_items

        whole = all_ or explain or days is not None or enclosure is not None
        # Whoever looks for a name in lines finds all that is of it.
        names = every_name if all_ or not wraps() else told_names if whole else few_names
        alone = explain or enclosure is not None or len(site.enclosures) <= FEW
        tables = (
            day_items(planned.site, found, width(), explain=explain)
            if alone
            else grouped_items(planned.site, found, width(), names, wrap=wraps())
        )
        lines = whole_lines(tables) if whole else fitting_lines(tables, rows(), width(), planned.horizon)
        nothing = True
        for line in lines:
            print(line)
            nothing = False
        if nothing:
            talk(f"Nothing falls due from {first} on for {many} day{'s' if many > 1 else ''}.")
