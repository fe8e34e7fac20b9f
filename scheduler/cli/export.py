"""`pondround export`: the calendars, as files."""

from __future__ import annotations

import datetime as dt
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, FromOption, TodayOption, talk, told
from scheduler.errors import UsageError

SLOW_ENCLOSURES = 100
"""From so many enclosures on an export takes long enough for a progress bar."""


class EntryForm(StrEnum):
    """What the entries of the calendars are."""

    EVENTS = "events"
    TO_DOS = "to-dos"


def export(
    file: FileArgument = FILE,
    to: Annotated[
        Path, typer.Option("--to", metavar="DIR", help="The folder that the .ics files go into.")
    ] = Path("calendars"),
    as_: Annotated[
        EntryForm, typer.Option("--as", help="Events, which every calendar shows, or to-dos, which few do.")
    ] = EntryForm.EVENTS,
    all_day: Annotated[
        bool | None,
        typer.Option(
            "--all-day/--at-hours",
            help=(
                "Entries for the day, without a time. Without either, those with several keepers' names "
                "alone."
            ),
        ),
    ] = None,
    alarms: Annotated[
        bool,
        typer.Option("--alarms", help="With an alarm 10 minutes before. Some programs ignore or remove it."),
    ] = False,
    today: TodayOption = None,
    from_: FromOption = None,
    weeks: Annotated[
        int,
        typer.Option(
            "--weeks",
            metavar="N",
            min=1,
            max=workflow.MOST_WEEKS,
            help="How far single dates reach; what is regular never ends.",
        ),
    ] = 104,
    rota: Annotated[
        bool,
        typer.Option(
            "--rota/--no-rota",
            help=(
                "With a calendar for each keeper: the rounds of the published rota, and of four weeks at "
                "least."
            ),
        ),
    ] = True,
    by_job: Annotated[
        bool,
        typer.Option(
            "--each-job",
            help="An entry for each job, not for each round and for the routine of a part of the day.",
        ),
    ] = False,
    cancel: Annotated[
        bool,
        typer.Option(
            "--cancel",
            help=(
                "Keep what is gone from the plan as cancelled: for programs that take the files in, instead "
                "of subscribing."
            ),
        ),
    ] = False,
    base_url: Annotated[
        str,
        typer.Option(
            "--base-url",
            metavar="URL",
            help="The folder on the web where the files will lie; calendars then name their source.",
        ),
    ] = "",
    link: Annotated[
        list[str] | None,
        typer.Option(
            "--link",
            metavar="[KEEPER=]URL",
            help=(
                "The address of a page: entries then lead to it. With KEEPER in that keeper's calendar "
                "alone. Whoever sees the calendar can record with it."
            ),
        ),
    ] = None,
) -> None:
    """Write a calendar for the site, one for each enclosure, and one with the rounds of each keeper."""
    from scheduler.calendar import UTC_NAMES, Options

    with told(file, writes=True):
        if (
            base_url
            and re.fullmatch(r"https?://[A-Za-z0-9._~:/?#@!$&'()*+,;=%\[\]-]{1,150}", base_url) is None
        ):
            raise UsageError("--base-url is no web address; write it as https://example.org/turtles/")
        space = workflow.open_workspace(file, today)
        site, day = space.site, space.today
        whole, keepers = workflow.page_links(file, site, link or ())
        first = workflow.parse_day(from_) if from_ else day
        history = workflow.history_of(space, done_since=day - dt.timedelta(days=workflow.DONE_DAYS))
        planned = workflow.make_plan(site, day, first, weeks * 7, history)
        options = Options(
            to_dos=as_ is EntryForm.TO_DOS,
            all_day=all_day,
            alarms=alarms,
            each_job=by_job,
            base_url=base_url,
            link=whole,
            keeper_links=keepers,
        )
        # Without keepers everything is the owner's; an old view has no rounds any more.
        with workflow.progress_bar("Making the rota, weeks") as tell:
            shared = (
                workflow.rota_to_export(space.telling(tell), max(day, first))
                if rota and site.keepers
                else None
            )
        with _bar(len(site.enclosures)) as progress:
            done = workflow.export(
                planned,
                to,
                options,
                progress,
                keep_starts=from_ is None,
                cancel=cancel,
                rota=shared.rota if shared is not None else None,
                memory=workflow.LoggedRevisions(site, file, options),
            )
        for path, entries, size in done.files:
            print(
                f"{path}  {entries} {'to-dos' if options.to_dos else 'events'}, "
                f"{max(1, round(size / 1000))} kB"
            )
        for warning in done.warnings:
            talk(warning)
        if shared is not None and shared.rota.unfilled:
            count = len(shared.rota.unfilled)
            talk(f"nobody takes {count} job{'s' if count > 1 else ''} of the rota; `pondround rota` says why")
        if site.settings.time_zone in UTC_NAMES:
            talk('times are UTC: write time_zone = "Europe/Dublin" or the like into [site]')


@contextmanager
def _bar(enclosures: int) -> Iterator[workflow.Progress | None]:
    """Show a progress bar where somebody is there to see it and the work is long."""
    if enclosures < SLOW_ENCLOSURES or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("enclosures"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("export", total=enclosures)
        yield lambda done, _: bar.update(task, completed=done)
