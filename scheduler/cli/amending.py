"""`pondround postpone`, `pondround skip` and `pondround once`: the plan, bent by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.recording import file_of, show_recorded, who_of
from scheduler.cli.shared import Format, FormatOption, TodayOption, talk, told
from scheduler.errors import DoubtError, UsageError

JobArgument = Annotated[
    list[str],
    typer.Argument(metavar="[FILE] ENCLOSURE JOB", help="The description, the enclosure, and the job."),
]
OccurrenceOption = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="DATE",
        help="The day on which it falls due; the default is what is open, or the next time.",
    ),
]
SayerOption = Annotated[
    str | None, typer.Option("--by", metavar="KEEPER", help="Who says so; the default is the only keeper.")
]
ReasonOption = Annotated[str, typer.Option("--note", metavar="TEXT", help="Why.")]
SureOption = Annotated[bool, typer.Option("--sure", help="Also where it must not wait.")]
DryOption = Annotated[bool, typer.Option("--dry-run", help="Say what would change, and record nothing.")]
DAY_WORDS = "2026-12-05, tomorrow, or Saturday"


def postpone(
    words: JobArgument,
    to: Annotated[str, typer.Option("--to", metavar="DATE", help=f"The day on which it comes: {DAY_WORDS}.")],
    on: OccurrenceOption = None,
    by: SayerOption = None,
    note: ReasonOption = "",
    sure: SureOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Put a job off to another day, once; what comes after it goes on from there."""
    _amend(words, to, on, _Said(by, note, sure, dry_run, today, output))


def skip(
    words: JobArgument,
    on: OccurrenceOption = None,
    by: SayerOption = None,
    note: ReasonOption = "",
    sure: SureOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Leave a job out once. It is not recorded as done."""
    _amend(words, None, on, _Said(by, note, sure, dry_run, today, output))


def once(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="[FILE] [ENCLOSURE] TITLE", help="The description, the enclosure, and what is to be done."
        ),
    ],
    on: Annotated[str, typer.Option("--on", metavar="DATE", help=f"The day: {DAY_WORDS}.")],
    minutes: Annotated[
        int, typer.Option("--minutes", metavar="N", help="How long it takes.")
    ] = workflow.ONCE_MINUTES,
    can: Annotated[
        list[str] | None,
        typer.Option("--can", metavar="SKILL", help="A skill that it asks for; may be repeated."),
    ] = None,
    by: SayerOption = None,
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="How it is done.")] = "",
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Plan something that comes once, without a change of the description."""
    file, rest = file_of(words)
    with told(file, output, writes=True):
        space = workflow.open_workspace(file, today).in_plain_formats()
        if not 1 <= len(rest) <= 2:
            raise UsageError('write the enclosure and what is to be done, in quotes: "Sedge" "Mend the lid"')
        *place, title = rest
        wish = workflow.OnceWish(
            title=title, on=workflow.day_named(on, space.today), minutes=minutes, can=tuple(can or ())
        )
        who = who_of(space, by, note)
        made = workflow.once(space, place[0] if place else None, wish, who, dry=dry_run)
        _show(made, output, dry_run=dry_run)


@dataclass(frozen=True, slots=True)
class _Said:
    """What the options of a command say beside the job and its days."""

    by: str | None
    note: str
    sure: bool
    dry_run: bool
    today: str | None
    output: Format


def _amend(words: list[str], to: str | None, on: str | None, said: _Said) -> None:
    file, rest = file_of(words)
    with told(file, said.output, writes=True):
        space = workflow.open_workspace(file, said.today).in_plain_formats()
        wish = workflow.AmendmentWish(
            to=workflow.day_named(to, space.today) if to is not None else None,
            on=workflow.day_named(on, space.today) if on is not None else None,
        )
        who = who_of(space, said.by, said.note)
        try:
            made = workflow.amend(space, rest, wish, who, sure=said.sure, dry=said.dry_run)
        except DoubtError as error:
            raise UsageError(
                f"{error}\nnothing was recorded; if you want it all the same add --sure"
            ) from None
        _show(made, said.output, dry_run=said.dry_run)


def _show(made: workflow.Recorded, output: Format, *, dry_run: bool) -> None:
    show_recorded(made, output)
    if dry_run:
        talk("Nothing was recorded: this is what would change.")
