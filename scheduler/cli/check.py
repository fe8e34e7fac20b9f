"""`pondround check`: is the description right, what follows from it, and what would follow from another."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import (
    FILE,
    NOT_POSSIBLE,
    Format,
    FormatOption,
    TodayOption,
    talk,
    tell_lost_names,
    told,
    width,
)
from scheduler.errors import UsageError, clip


def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The description.")] = FILE,
    more: Annotated[
        list[str] | None,
        typer.Argument(metavar="[KEY=VALUE]...", help="Further changes for --what-if.", show_default=False),
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            "--what-if",
            metavar="KEY=VALUE",
            help=(
                'Review it with changed values too: --what-if width="60 cm" filter.flow="900 L/h" '
                '"resident[+].carapace=8 cm".'
            ),
        ),
    ] = None,
    enclosure: Annotated[
        str | None, typer.Option("--enclosure", metavar="NAME", help="Only this enclosure.")
    ] = None,
    explain: Annotated[bool, typer.Option("--explain", help="Say how each figure came about.")] = False,
    brief: Annotated[
        bool, typer.Option("--brief", help="Only what wants a look or acting on, without the figures.")
    ] = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Check the description, and review the fitting-out against the handbook.

    Exit code 1: something to act on.
    """
    changes = [*(what_if or ()), *(more or ())]
    if what_if and "=" in str(file) and not file.exists():
        # `check --what-if a=1 b=2`: the words after the first change are changes, and the file is the usual
        # one.
        changes.insert(1, str(file))
        file = FILE
    with told(file, output):
        if more and not what_if:
            raise UsageError(f"{clip(more[0])}: changed values follow --what-if")
        space = workflow.open_workspace(file, today).in_plain_formats()
        site, day = space.site, space.today
        history = workflow.history_of(space)
        pinned = workflow.pinned_notes(space)
        reviews = workflow.review(site, day, enclosure, history, pinned=pinned)
        tell_lost_names(file, site, every=True)
        if unsure := workflow.unsure_zone(site):
            talk(unsure)
        shown = reviews
        from scheduler.sheets.review import WhatIf, review_lines

        other = None
        if changes:
            other_site = workflow.changed_site(file, site, changes, enclosure)
            wanted = {review.enclosure.id for review in reviews}
            shown = [
                r
                for r in workflow.review(other_site, day, history=history, pinned=pinned)
                if r.enclosure.id in wanted
            ]
            other = WhatIf(changes, shown)
        if output is Format.JSON:
            from scheduler.sheets.records import check_object

            print(check_object((), reviews, other))
        else:
            lines = review_lines(reviews, width(), explain=explain, brief=brief, what_if=other)
            sys.stdout.writelines(f"{line}\n" for line in lines)
    urgent = [review.enclosure.name for review in shown if review.to_act_on]
    if urgent:
        if output is not Format.JSON:
            from scheduler.sheets.terminal import safe

            talk(f"Something to act on in {len(urgent)} of {len(shown)}: {', '.join(map(safe, urgent))}.")
        raise typer.Exit(NOT_POSSIBLE)
