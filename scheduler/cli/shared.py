"""What the commands share: options, exit codes, and how failures are told."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.description import Site
from scheduler.errors import DescriptionError, SchedulerError, UsageError

NOT_POSSIBLE = 1
WRONG = 2

LEAST_ROWS = 12


class Format(StrEnum):
    """How data are printed."""

    TABLE = "table"
    JSON = "json"


FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The description.")]
FILE = Path("enclosures.toml")
TodayOption = Annotated[
    str | None,
    typer.Option(
        "--today", metavar="DATE", help="Plan as on this day; the default is the site's date of now."
    ),
]
FromOption = Annotated[
    str | None, typer.Option("--from", metavar="DATE", help="First day shown; the default is --today.")
]
FormatOption = Annotated[Format, typer.Option("--format", help="A table, or JSON for other programs.")]


def width() -> int:
    """Return the columns of the terminal, at most 100; 80 when there is none."""
    return min(shutil.get_terminal_size((80, 24)).columns, 100)


def rows() -> int:
    """Return the lines of a screen, less that of the prompt after it; 23 where there is no terminal."""
    return max(shutil.get_terminal_size((80, 24)).lines, LEAST_ROWS) - 1


def wraps() -> bool:
    """Tell whether lines of names are wrapped: on a terminal, or where its width is given; a program that
    looks for words in lines gets each of them whole."""
    return shutil.get_terminal_size((0, 24)).columns > 0


def talk(text: str) -> None:
    """Print to standard error: what is not data."""
    print(text, file=sys.stderr)


def tell_lost_names(file: Path, site: Site, *, every: bool = False) -> None:
    """Say which names of the log the description has no more, and what to write where one was corrected."""
    for lost in workflow.lost_names(file, site, every=every):
        talk(lost.words)


def silence() -> None:
    """Send the rest of standard output nowhere: the interpreter would complain when it flushes on exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def may_ask(output: Format) -> bool:
    """Tell whether somebody sits there to be asked: at a terminal, where nothing is printed for programs."""
    return output is Format.TABLE and sys.stdin.isatty() and sys.stderr.isatty()


@contextmanager
def told(file: Path, output: Format = Format.TABLE, *, writes: bool = False) -> Iterator[None]:
    """Turn the program's own failures into exit codes: 2 for a wrong description or usage, 1 for what is not
    possible.

    Of a command that `writes` it is said that nothing was written.
    """
    try:
        # What cannot be finished now is by whoever comes next; the description is whole either way.
        with suppress(SchedulerError):
            workflow.finish_edit(file)
        yield
    except DescriptionError as error:
        if output is Format.JSON:
            from scheduler.sheets.records import check_object

            print(check_object(error.problems))
        else:
            from scheduler.sheets.terminal import problem_lines

            for line in problem_lines(error.problems, str(file), width()):
                talk(line)
            count = len(error.problems)
            nothing = " Nothing was written." if writes else ""
            talk(f"{count} problem{'s' if count != 1 else ''}.{nothing}")
        raise typer.Exit(WRONG) from None
    except UsageError as error:
        talk(str(error))
        raise typer.Exit(WRONG) from None
    except SchedulerError as error:
        talk(str(error))
        raise typer.Exit(NOT_POSSIBLE) from None
    except BrokenPipeError:
        # The reader has seen enough (`| head`).
        silence()
        raise typer.Exit(0) from None
