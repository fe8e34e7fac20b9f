"""What every use case is about: a description, the site that it describes, and the day."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path

from scheduler.description import Site
from scheduler.progress import Tell, nobody
from scheduler.workflow.clock import today_in
from scheduler.workflow.name_lookup import parse_day
from scheduler.workflow.site_files import read_site


@dataclass(frozen=True, slots=True)
class Workspace:
    """A description's file, its site as it is today, and today there.

    `as_of` is the day that counts as today where the keeper named one: then what is recorded bears its date,
    else now. What takes long tells `tell` how far it is.
    """

    file: Path
    site: Site
    today: dt.date
    as_of: dt.date | None = None
    tell: Tell = nobody

    def in_plain_formats(self) -> Workspace:
        """Return it as the command line has it, which has no locale."""
        return replace(self, site=self.site.in_plain_formats())

    def telling(self, tell: Tell) -> Workspace:
        """Return it so that what takes long tells how far it is."""
        return replace(self, tell=tell)


def open_workspace(file: Path, today: str | None) -> Workspace:
    """Return the workspace of a file; `today` is the day that counts as today, where somebody wrote one.

    DescriptionError lists all mistakes; UsageError where that is no day.
    """
    site = read_site(file)
    as_of = parse_day(today) if today else None
    day = as_of or today_in(site)
    return Workspace(file, site.on(day), day, as_of)
