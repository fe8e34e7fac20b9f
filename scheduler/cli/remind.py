"""`pondround remind`: mails to the keepers who ask for them, sent once by each run."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import NOT_POSSIBLE, FileArgument, TodayOption, talk, told
from scheduler.description import Site
from scheduler.errors import UsageError, clip
from scheduler.workflow.workspace import Workspace


def remind(
    file: FileArgument,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print what would be sent, and to whom; send and note nothing.")
    ] = False,
    today: TodayOption = None,
    at: Annotated[
        str | None,
        typer.Option("--at", metavar="HH:MM", help="As at this time; the default is the site's time of now."),
    ] = None,
) -> None:
    """Send keepers their round of the day, and what changed of it, by mail: those who ask for it.

    Through which server: PONDROUND_SMTP and PONDROUND_MAIL_FROM.
    """
    with told(file):
        from scheduler.workflow.mail import reminders

        site = workflow.read_site(file)
        as_of = workflow.parse_day(today) if today else None
        now = workflow.now_in(site, as_of, _time(at))
        site = site.on(now.date())
        if not reminders.asks(site):
            talk('Nobody asks for mails; write email and remind = ["morning", "changes"] under [[keeper]].')
            return
        if dry_run:
            _show(file, site, now)
            return
        post = reminders.post_office()
        failed = False
        for one in reminders.remind(Workspace(file, site, now.date(), as_of), post, now):
            failed = failed or bool(one.failure)
            if one.failure:
                talk(f"{one.keeper.name}: {one.subject}: {one.failure}")
            else:
                print(f"{one.keeper.name}: {one.subject}")
        if failed:
            raise typer.Exit(NOT_POSSIBLE)


def _show(file: Path, site: Site, now: dt.datetime) -> None:
    from scheduler.sheets.terminal import safe
    from scheduler.workflow.mail import reminders

    found = reminders.due_mails(file, site, now)
    for keeper, letter in found:
        print(safe(f"To: {keeper.name} <{keeper.email}>"))
        print(safe(f"Subject: {letter.subject}"))
        print()
        for line in letter.text.splitlines():
            print(safe(line))
        print()
    talk(f"{len(found)} mail{'s' if len(found) != 1 else ''} would be sent.")


def _time(text: str | None) -> dt.time | None:
    if text is None:
        return None
    if re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text) is None:
        raise UsageError(f"{clip(text)} is not a time; write it as 06:30")
    return dt.time.fromisoformat(text)
