"""The log of a site: where it is, and what a plan reads of it."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote

from scheduler import care
from scheduler.description import Site
from scheduler.errors import UsageError
from scheduler.history import NO_HISTORY, History
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log

VARIABLE = "PONDROUND_LOG"

SQLITE = "sqlite:///"


def log_url(file: Path, site: Site) -> str:
    """Return where the log of a description is: PONDROUND_LOG, else `log` of the description, else a file
    beside it.

    A SQLite file that is named without its folder lies beside the description.
    """
    return _place_of(site.settings.log, file)


def _place_of(named: str | None, file: Path) -> str:
    given = os.environ.get(VARIABLE) or named
    if given is None:
        return SQLITE + _quoted(file.absolute().with_suffix(".db"))
    if given.startswith(SQLITE):
        name = given.removeprefix(SQLITE)
        if not name.strip():
            raise UsageError(f"{VARIABLE} names no file; write sqlite:///turtles.db")
        return SQLITE + str(Path(_quoted(file.absolute().parent)) / name)
    return given


def is_own_log(site: Site) -> bool:
    """Tell whether a site keeps its log beside its description, where no other site is meant to keep one."""
    return not (os.environ.get(VARIABLE) or site.settings.log)


def _quoted(path: Path) -> str:
    """Return a path as it stands in a URL: what would begin a query or an escape there is escaped."""
    return str(path).replace("%", "%25").replace("?", "%3F")


def _is_there(file: Path) -> bool:
    """Tell whether something is there; what the system refuses to say is for the log to tell."""
    try:
        return file.exists()
    except (OSError, ValueError):
        return True


def open_to_record(file: Path, site: Site) -> Log:
    """Open the log of a site to write into it; it is made where there is none."""
    from scheduler.log import open_log

    return open_log(log_url(file, site))


def open_to_read(file: Path, site: Site) -> Log | None:
    """Open the log of a site to read it; None where there is none yet: most sites begin without."""
    return log_there(site.settings.log, file)


def log_there(named: str | None, file: Path) -> Log | None:
    """Open the log of a description to read it, by the name that is given to it there; None where there is
    none yet."""
    url = _place_of(named, file)
    if url.startswith(SQLITE) and "?" not in url and not _is_there(Path(unquote(url.removeprefix(SQLITE)))):
        # Without loading a database library for nothing.
        return None
    from scheduler.log import open_log

    return open_log(url, create=False)


def history_of(
    space: Workspace, done_since: dt.date | None = None, enclosures: Collection[str] | None = None
) -> History:
    """Return the history of a site as a plan for a day needs it; none where there is no log, or nothing in
    it.

    Every done entry is in it from `done_since` on. Entries of later days are left out: they are of no use for
    that day.
    """
    log = open_to_read(space.file, space.site)
    if log is None:
        return NO_HISTORY
    with log:
        return history_in(log, space.site, space.today, done_since, enclosures)


def history_in(
    log: Log,
    site: Site,
    today: dt.date,
    done_since: dt.date | None = None,
    enclosures: Collection[str] | None = None,
) -> History:
    """Return the history of a site from an open log, with what was measured of each animal where it lives
    now.

    With `enclosures` it is whole for these, and says something of others from or to which their animals
    moved.
    """
    begun = _begun(log, site, today)
    if begun is None:
        return NO_HISTORY
    if enclosures is not None:
        measured = log.measured_of(site.settings.id, care.OF_RESIDENTS)
        enclosures = care.linked(site, measured, enclosures)
    looks = care.looks(today, done_since)
    return care.follow_residents(site, log.history(site.settings.id, today, looks, enclosures, begun=begun))


def _begun(log: Log, site: Site, today: dt.date) -> dt.date | None:
    """Return the day on which the record began; None where it did not by that day."""
    first = log.first(site.settings.id)
    if first is None:
        return None
    begun = day_there(first.recorded, site)
    if begun <= today:
        return begun
    # The clock was ahead when the record began, or it is behind now: what was recorded up to today counts all
    # the same.
    days = (
        day_there(entry.recorded, site) for entry in log.entries(site.settings.id, until=today, voided=False)
    )
    return next((day for day in days if day <= today), None)


def day_there(recorded: dt.datetime, site: Site) -> dt.date:
    """Return the day of an instant in UTC at a site."""
    return recorded.replace(tzinfo=dt.UTC).astimezone(site.settings.zone).date()


def now_as_of(site: Site, today: dt.date | None) -> dt.datetime:
    """Return the instant of now in UTC without zone, as the log keeps it; with `today`, as if it were on that
    day there."""
    now = dt.datetime.now(site.settings.zone)
    if today is not None:
        now = dt.datetime.combine(today, now.time(), site.settings.zone)
    return now.astimezone(dt.UTC).replace(tzinfo=None, microsecond=0)


def hour_there(site: Site) -> dt.time:
    """Return the time of now at a site, to the minute."""
    return dt.datetime.now(site.settings.zone).time().replace(second=0, microsecond=0)
