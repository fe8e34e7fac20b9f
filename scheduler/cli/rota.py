"""`pondround rota` and `pondround swap`: who does what."""

from __future__ import annotations

import datetime as dt
import sys
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import (
    FILE,
    NOT_POSSIBLE,
    FileArgument,
    Format,
    FromOption,
    TodayOption,
    talk,
    told,
    width,
)
from scheduler.errors import UsageError

if TYPE_CHECKING:
    from scheduler.description.site import Keeper
    from scheduler.rota.sitter import Sitting
    from scheduler.workflow.rota.swap import HandedOver

USUAL_WEEKS = 4
"""So many weeks are shared out where nobody says how many. House value."""


class RotaForm(StrEnum):
    """How a rota is printed."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"


def rota(
    file: FileArgument = FILE,
    today: TodayOption = None,
    from_: FromOption = None,
    weeks: Annotated[
        int | None,
        typer.Option(
            "--weeks",
            metavar="N",
            min=1,
            max=workflow.MOST_ROTA_WEEKS,
            help="How many weeks are shared out: four, or what the calendars show of a published rota.",
        ),
    ] = None,
    keeper: Annotated[
        str | None,
        typer.Option("--keeper", metavar="NAME", help="The rounds of this keeper, job by job."),
    ] = None,
    ill: Annotated[
        list[str] | None,
        typer.Option(
            "--ill",
            metavar="NAME[=DATE[/DATE]]",
            help=(
                "Somebody who cannot come, today or on these days; only what must moves. Several times for "
                "several."
            ),
        ),
    ] = None,
    publish: Annotated[
        bool, typer.Option("--publish", help="Store the rota in the log, so that later ones change little.")
    ] = False,
    afresh: Annotated[
        bool, typer.Option("--afresh", help="Share everything out anew, whatever was published.")
    ] = False,
    seconds: Annotated[
        int, typer.Option("--seconds", metavar="N", min=1, max=3600, help="How long the search may take.")
    ] = 120,
    sitter: Annotated[
        str | None,
        typer.Option(
            "--sitter",
            metavar="NAME",
            help="What this pet sitter does while all keepers are away, and what waits.",
        ),
    ] = None,
    span: Annotated[
        str | None,
        typer.Option("--span", metavar="DATE/DATE", help="The days of the sitter, if they are not those."),
    ] = None,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="DIR", help="Write the sitter's calendar into this folder.")
    ] = None,
    output: Annotated[
        RotaForm, typer.Option("--format", help="A table, CSV, or JSON for other programs.")
    ] = RotaForm.TABLE,
) -> None:
    """Share the work out: fairly, in few rounds, and with as little change as possible."""
    with told(file, Format.JSON if output is RotaForm.JSON else Format.TABLE, writes=publish):
        space = workflow.open_workspace(file, today)
        # A sitter's sheet is printed and handed over: it is written as the pages are.
        on_paper = sitter is not None and output is not RotaForm.JSON
        space = space if on_paper else space.in_plain_formats()
        site, day = space.site, space.today
        first = workflow.parse_day(from_) if from_ else day
        if sitter is not None:
            _only(
                {"--keeper": keeper, "--ill": ill, "--from": from_, "--publish": publish, "--afresh": afresh}
            )
            days = workflow.parse_span(span) if span else None
            _sit(
                site,
                workflow.sit(space, sitter, weeks=weeks or USUAL_WEEKS, span=days),
                to,
                day,
                output,
            )
            return
        if span or to:
            raise UsageError("--span and --to go with --sitter")
        if first < day:
            raise UsageError(f"--from {first} is over; a rota begins on {day} or later")
        person = workflow.pick_named(keeper, site.keepers, "keeper") if keeper is not None else None
        absent = workflow.absences(site, day, ill or [])
        if weeks is None and (afresh or (publish and not ill)):
            # What is published anew reaches ahead; what is only looked at is what everybody sees.
            weeks = USUAL_WEEKS
        with workflow.progress_bar("Making the rota, weeks") as tell:
            made = workflow.make_rota(
                space.telling(tell), first, weeks, absent=absent, afresh=afresh, seconds=float(seconds)
            )
        if publish:
            workflow.publish_rota(space, made)
        _print(site, made, person, output)
        if publish:
            talk(f"Published: the rota of {made.rota.first} to {made.rota.last}.")
        if made.rota.unfilled:
            count = len(made.rota.unfilled)
            talk(f"Nobody takes {count} job{'s' if count != 1 else ''}; see why, and what would mend it.")
            raise typer.Exit(NOT_POSSIBLE)


def _only(others: dict[str, object]) -> None:
    """Refuse options that mean nothing for a sitter."""
    named = [name for name, value in others.items() if value]
    if named:
        raise UsageError(f"{', '.join(named)} mean{'s' * (len(named) == 1)} nothing with --sitter")


def _sit(site: workflow.Site, made: Sitting, to: Path | None, today: dt.date, output: RotaForm) -> None:
    from scheduler.sheets import sitter as sheet

    if output is RotaForm.JSON:
        print(sheet.sitter_object(site, made))
    elif output is RotaForm.CSV:
        raise UsageError("--sitter prints a table or JSON")
    else:
        for line in sheet.sitter_lines(site, made, width()):
            print(line)
    if to is not None:
        path, entries, size = workflow.write_sitter(site, made, to, today)
        talk(f"{path}  {entries} events, {max(1, round(size / 1000))} kB")
    if made.cannot:
        raise typer.Exit(NOT_POSSIBLE)


def _print(site: workflow.Site, made: workflow.SiteRota, person: Keeper | None, output: RotaForm) -> None:
    """Print a rota; of one person the rounds alone."""
    from scheduler.sheets import rota as sheet
    from scheduler.sheets.rota_records import rota_csv, rota_object

    shown = (
        made.rota if person is None else replace(made.rota, rounds=tuple(sheet.of_keeper(made.rota, person)))
    )
    if output is RotaForm.JSON:
        print(rota_object(site, shown, made.changes))
    elif output is RotaForm.CSV:
        if hasattr(sys.stdout, "reconfigure"):
            sys.stdout.reconfigure(newline="")
        sys.stdout.writelines(rota_csv(shown))
    elif person is not None:
        for line in sheet.round_lines(site, shown.rounds, width()):
            print(line)
    else:
        published = None if made.published is None else workflow.day_there(made.published.recorded, site)
        for line in sheet.rota_lines(site, made.rota, made.changes, published, width()):
            print(line)


def swap(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The description.")],
    date: Annotated[str, typer.Argument(metavar="DATE", help="The day of the round.")],
    giver: Annotated[str, typer.Argument(metavar="FROM", help="Whose round it is.")],
    taker: Annotated[str, typer.Argument(metavar="TO", help="Who takes it.")],
    jobs: Annotated[
        list[str] | None,
        typer.Argument(metavar="[JOB]...", help="Only these: JOB, ENCLOSURE or ENCLOSURE/JOB."),
    ] = None,
    back: Annotated[
        str | None,
        typer.Option("--for", metavar="DATE", help="In exchange for the other's round of this day."),
    ] = None,
    to: Annotated[
        str | None,
        typer.Option("--to", metavar="DATE", help="To this day of the same keeper, who is named twice."),
    ] = None,
    today: TodayOption = None,
) -> None:
    """Hand a round of the published rota over to somebody else, or some of its jobs; or exchange two
    rounds."""
    with told(file, writes=True):
        space = workflow.open_workspace(file, today).in_plain_formats()
        if to is not None:
            if giver.lower() != taker.lower() or back is not None:
                raise UsageError("--to is another day of one keeper: name that one twice, without --for")
            own = workflow.move_round(
                space,
                giver,
                workflow.day_named(date, space.today),
                workflow.day_named(to, space.today),
                jobs or (),
            )
            _print_swap(own)
            return
        wish = workflow.SwapRequest(
            workflow.day_named(date, space.today),
            giver,
            taker,
            tuple(jobs or ()),
            workflow.day_named(back, space.today) if back else None,
        )
        _print_swap(workflow.swap(space, wish))


def _print_swap(done: HandedOver) -> None:
    from scheduler.sheets.rota import handed_lines

    for line in handed_lines(done.moved, done.titles, width()):
        print(line)
    for remark in done.remarks:
        talk(remark)
