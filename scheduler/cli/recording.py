"""`pondround did`, `pondround reading` and `pondround undo`: what was done, what was measured, what was
wrong."""

from __future__ import annotations

import datetime as dt
import re
import sys
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, Format, FormatOption, TodayOption, talk, told, width
from scheduler.errors import DoubtError, UsageError, clip

OnOption = Annotated[
    str | None,
    typer.Option("--on", metavar="DATE", help="The day on which it was, as a date, yesterday, or Saturday."),
]
AtOption = Annotated[str | None, typer.Option("--at", metavar="HH:MM", help="The hour, where it matters.")]
ByOption = Annotated[
    str | None, typer.Option("--by", metavar="KEEPER", help="Who; the default is the only keeper.")
]
NoteOption = Annotated[str, typer.Option("--note", metavar="TEXT", help="A note to it.")]


def did(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="[FILE] ENCLOSURE... JOB...",
            help="The description, the enclosure, and what was done there; more may follow.",
        ),
    ],
    on: OnOption = None,
    by: ByOption = None,
    note: NoteOption = "",
    at: AtOption = None,
    share: Annotated[
        str | None,
        typer.Option(
            "--share", metavar="SHARE", help="Of the water, where it was not the usual one: 0.3 or 30%."
        ),
    ] = None,
    half: Annotated[
        int | None,
        typer.Option(
            "--half",
            metavar="1|2",
            min=1,
            max=2,
            help="Of the media, where it was not the one whose turn it was.",
        ),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="A second time on that day.")] = False,
    correct: Annotated[
        bool, typer.Option("--correct", help="Somebody else did what is recorded already: that one, by --by.")
    ] = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Record what was done; what comes next counts from there."""
    file, rest = file_of(words)
    with told(file, output, writes=True):
        space = workflow.open_workspace(file, today).in_plain_formats()
        on_day = workflow.day_named(on, space.today, past=True) if on else None
        who = who_of(space, by, note, on_day, at)
        done = workflow.did(space, rest, who, again=again, share=_share(share), half=half, correct=correct)
        show_recorded(done, output)


def reading(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar='[FILE] [ENCLOSURE] NAME="VALUE"...',
            help=(
                'The description, the enclosure, and what was measured: nitrate="35 mg/L" ph=7.4 '
                'weight.Fern="480 g".'
            ),
        ),
    ],
    on: OnOption = None,
    by: ByOption = None,
    note: NoteOption = "",
    at: AtOption = None,
    of: Annotated[
        str | None, typer.Option("--of", metavar="NAME", help="Whose weight or length, or which UV lamp.")
    ] = None,
    sure: Annotated[bool, typer.Option("--sure", help="Take values that look mistyped.")] = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Record what was measured, and say what it means and what it changes."""
    file, rest = file_of(words)
    names = [word for word in rest if "=" not in word]
    values = [word for word in rest if "=" in word]
    with told(file, output, writes=True):
        space = workflow.open_workspace(file, today).in_plain_formats()
        on_day = workflow.day_named(on, space.today, past=True) if on else None
        who = who_of(space, by, note, on_day, at)
        try:
            done = workflow.read(space, names, values, who=who, of=of, ask=_ask(), sure=sure)
        except DoubtError as error:
            right = "it is" if len(error.doubts) == 1 else "they are"
            raise UsageError(f"{error}\nnothing was recorded; if {right} right add --sure") from None
        show_recorded(done, output, nothing="Nothing follows from it.")


def undo(
    file: FileArgument = FILE,
    entry: Annotated[
        int | None,
        typer.Option(
            "--entry",
            metavar="N",
            min=1,
            help="Not the last entry but this one; `history` shows the numbers.",
        ),
    ] = None,
    by: ByOption = None,
    note: NoteOption = "",
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Take the last entry back, with all that followed from it. It stays in the log, as taken back."""
    with told(file, output, writes=True):
        space = workflow.open_workspace(file, today).in_plain_formats()
        show_recorded(workflow.undo(space, who_of(space, by, note), entry), output)


def file_of(words: list[str]) -> tuple[Path, list[str]]:
    """Return the description and the other words: the first is the description where it looks like a file."""
    first = words[0]
    if first.lower().endswith(".toml") or ("=" not in first and _is_file(first)):
        return Path(first), words[1:]
    return FILE, words


def _is_file(word: str) -> bool:
    try:
        return Path(word).is_file()
    except OSError:
        # Too long for a name, or in a folder that may not be looked into.
        return False


def who_of(
    space: workflow.Workspace, by: str | None, note: str, on: dt.date | None = None, at: str | None = None
) -> workflow.Who:
    """Return who records, from the options of a command."""
    return workflow.Who(on=on, at=_time(at) if at else None, by=by, note=note, as_of=space.as_of)


def _time(text: str) -> dt.time:
    if re.fullmatch(r"([01]?\d|2[0-3]):[0-5]\d", text) is None:
        raise UsageError(f"{clip(text)} is no hour of the day; write it as 18:30")
    hour, _, minute = text.partition(":")
    return dt.time(int(hour), int(minute))


def _share(text: str | None) -> float | None:
    if text is None:
        return None
    match = re.fullmatch(r"(\d{1,3}(?:\.\d+)?)\s*%|(0?\.\d+|1(?:\.0+)?)", text.strip())
    share = 0.0 if match is None else float(match[1]) / 100.0 if match[1] else float(match[2])
    if not 0.0 < share <= 1.0:
        raise UsageError(f"{clip(text)} is no share of the water; write 0.3 or 30%")
    return share


def _ask() -> workflow.Ask | None:
    """Return how to ask the keeper, where there is one at a terminal."""
    if sys.stdin is None or not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    return _is_right


def _is_right(doubt: str) -> bool:
    """Ask on standard error, all of it: what the library asks with leaves a space on standard output."""
    print(f"{doubt}. Is it right? [y/N] ", end="", file=sys.stderr, flush=True)
    try:
        return input().strip().lower() in ("y", "yes")
    except EOFError:
        talk("")
        return False


def show_recorded(done: workflow.Recorded, output: Format, nothing: str = "") -> None:
    """Print what was recorded and what follows; `nothing` is said where nothing does."""
    from scheduler.sheets.recorded import (
        difference_lines,
        difference_object,
        edited_lines,
        recorded_lines,
        recorded_object,
    )

    differs = done.difference
    if output is Format.JSON:
        from scheduler.sheets.entries import record_of

        keepers = {k.id: k.name for k in done.site.keepers}
        records = [record_of(done.site.settings.id, entry, keepers) for entry in done.stored]
        more = (
            difference_object(differs.before, differs.after, differs.new, differs.gone)
            if differs is not None
            else None
        )
        print(recorded_object(records, done.moves, done.consequences, differs=more))
    else:
        lines = (
            edited_lines(done.site, done.entries, done.moves, done.edited, width=width())
            if done.edited
            else recorded_lines(
                done.site,
                done.entries,
                done.next,
                done.moves,
                done.consequences,
                noted=done.noted,
                width=width(),
            )
        )
        for line in lines:
            print(line)
        if differs is not None:
            told = difference_lines(differs.before, differs.after, differs.new, differs.gone, width=width())
            for line in told:
                print(line)
        if nothing and not done.consequences and not done.moves and any(new for _, new in done.entries):
            print(f"  {nothing}")
    for word in done.words:
        talk(word)
