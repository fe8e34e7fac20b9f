"""Where an export remembers what it published: in the log, where there is one that can be written."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.errors import LogError
from scheduler.workflow.site_log import open_to_read, open_to_record

if TYPE_CHECKING:
    from scheduler.calendar import Options
    from scheduler.log import Log

FILES = "files"
"""What files are called among the forms of feeds; those that are served have their own."""


class LoggedRevisions:
    """The revisions of exported files, in the log of a description. It never makes a log."""

    def __init__(self, site: Site, file: Path, options: Options) -> None:
        """Take the description whose log it is, and how the files are written: in another form they are other
        feeds."""
        self._site, self._file = site, file
        told = {
            "all-day": options.all_day is True,
            "at-hours": options.all_day is False,
            "alarms": options.alarms,
            "each-job": options.each_job,
            "to-dos": options.to_dos,
        }
        self._form = "+".join([FILES, *(name for name, is_so in told.items() if is_so)])
        self._before: dict[str, bytes] = {}

    def known(self) -> Mapping[str, bytes]:
        """Return the book of each feed by its file name; nothing where there is no log.

        LogError where it cannot be read.
        """
        from scheduler.log.revisions import revisions_of

        log = open_to_read(self._file, self._site)
        if log is None:
            return {}
        with log:
            self._before = revisions_of(log, self._site.settings.id, self._form)
        return self._before

    def keep(self, books: Mapping[str, bytes]) -> bool:
        """Keep the books of some feeds; return whether there is a log that could be written."""
        log = open_to_read(self._file, self._site)
        if log is None:
            return False
        with log:
            if log.is_empty():
                return False
        news = {name: book for name, book in books.items() if self._before.get(name) != book}
        if not news:
            return True
        try:
            with open_to_record(self._file, self._site) as log:
                self._keep(log, news)
        except LogError:
            # Read-only, or in other hands for long: the hidden file beside the calendars will do.
            return False
        return True

    def _keep(self, log: Log, books: Mapping[str, bytes]) -> None:
        from scheduler.log.revisions import keep_revisions

        with log.writing(self._site.settings.id) as connection:
            keep_revisions(connection, self._site.settings.id, self._form, books)
