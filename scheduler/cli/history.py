"""`pondround history`: what was recorded; all of it for other programs, and back again."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, talk, tell_lost_names, told, width
from scheduler.description import Site
from scheduler.errors import UsageError
from scheduler.history import Entry


class LogFormat(StrEnum):
    """How the log is printed."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"


def history(
    file: FileArgument = FILE,
    enclosure: Annotated[
        str | None, typer.Option("--enclosure", metavar="NAME", help="Only this enclosure.")
    ] = None,
    resident: Annotated[
        str | None,
        typer.Option(
            "--resident",
            metavar="NAME",
            help="Only what is of this animal, wherever it lived: weights, moves, how it left.",
        ),
    ] = None,
    job: Annotated[
        str | None,
        typer.Option("--job", metavar="NAME", help="Only this job, or this reading, such as nitrate."),
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="KEEPER", help="Only what this keeper recorded.")
    ] = None,
    since: Annotated[str | None, typer.Option("--since", metavar="DATE", help="From this day on.")] = None,
    until: Annotated[
        str | None, typer.Option("--until", metavar="DATE", help="To this day, included.")
    ] = None,
    last: Annotated[
        int | None, typer.Option("--last", metavar="N", min=1, help="Only the last entries.")
    ] = None,
    all_: Annotated[bool, typer.Option("--all", help="In the table also what was taken back.")] = False,
    import_: Annotated[
        Path | None,
        typer.Option("--import", metavar="FILE", help="Take an export in, JSON or CSV; - is standard input."),
    ] = None,
    output: Annotated[
        LogFormat, typer.Option("--format", help="A table; or everything, as CSV or as JSON lines.")
    ] = LogFormat.TABLE,
) -> None:
    """Show what was recorded, in the order recorded."""
    with told(file, writes=import_ is not None):
        site = workflow.read_site(file).in_plain_formats()
        if import_ is not None:
            with workflow.progress_bar("Taking entries in") as tell:
                added, known, words = workflow.take_in(file, site, import_, tell)
            for word in words:
                talk(word)
            print(f"{added} entries added, {known} known already")
            return
        tell_lost_names(file, site)
        if resident is not None:
            if any(word is not None for word in (enclosure, job, by, since, until, last)):
                raise UsageError("--resident goes with --format alone")
            for text in _lines(output, site, iter(workflow.entries_of_resident(file, site, resident))):
                sys.stdout.write(text)
            return
        wanted = workflow.EntryQuery(
            enclosure=enclosure,
            job=job,
            by=by,
            since=since,
            until=until,
            last=last,
            voided=all_ or output is not LogFormat.TABLE,
        )
        entries = workflow.entries_of(file, site, wanted)
        if entries is None:
            talk("nothing is recorded yet; `pondround did` records what was done")
            entries = iter(())
        for text in _lines(output, site, entries):
            sys.stdout.write(text)


def _lines(output: LogFormat, site: Site, entries: Iterator[Entry]) -> Iterator[str]:
    if output is LogFormat.CSV:
        from scheduler.sheets.entries import csv_lines

        # The rows bring their own line breaks; a text stream would change them on some systems.
        if hasattr(sys.stdout, "reconfigure"):
            sys.stdout.reconfigure(newline="")
        yield from csv_lines(site.settings.id, entries)
    elif output is LogFormat.JSON:
        from scheduler.sheets.entries import json_lines

        keepers = {k.id: k.name for k in site.keepers}
        yield from (f"{line}\n" for line in json_lines(site.settings.id, entries, keepers))
    else:
        from scheduler.sheets.log import log_lines

        yield from (f"{line}\n" for line in log_lines(site, entries, width()))
