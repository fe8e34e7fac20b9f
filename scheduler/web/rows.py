"""What stands on a sheet: a row for what is open, a line for what was recorded."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from scheduler.care import Job, Notes
from scheduler.description.site import Keeper
from scheduler.history import Entry, JobRef
from scheduler.workflow.live.round_page import Turn


def anchor_of(job: JobRef, *more: str) -> str:
    """Return the name of a job's row inside the page."""
    return "-".join(["job", *filter(None, (job.enclosure, job.key, job.variant, *more))])


def at_entries(numbers: Iterable[int]) -> str:
    """Return the end of the address of the page, at the last of some entries that were recorded just now.

    It is a place in the page and nothing else: the page behind has the same address then, so that no browser
    shows it as it was left.
    """
    return f"#entry-{max(some)}" if (some := list(numbers)) else "#round"


@dataclass(frozen=True)
class Row:
    """A job that is open: `anchor` names it in the page; `lends` is whether somebody else does it and only a
    hand is lent.

    `takers` are the keepers to whom it could be handed over.
    """

    turn: Turn
    anchor: str
    lends: bool = False
    takers: tuple[Keeper, ...] = ()

    @property
    def job(self) -> Job:
        """Return the job."""
        return self.turn.occurrence.job

    @cached_property
    def notes(self) -> Notes:
        """Return what its keeper reads."""
        return self.job.notes()

    @property
    def steps(self) -> tuple[str, ...]:
        """Return the steps; a duty without a note has its title for one, and that is said already."""
        return () if self.notes.steps == (self.job.title,) else self.notes.steps

    @property
    def needs_values(self) -> bool:
        """Tell whether it is done by recording values: then those have the place of Done."""
        asks = self.job.asks
        return asks is not None and any(value.needed for value in asks.on(self.turn.day))


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedLine:
    """Something that was recorded: the entry, where, what, by whom ("" where nobody is named), and whether
    that is who looks.

    It is `fresh` where nothing was recorded later by who looks.
    """

    entry: Entry
    where: str
    what: str
    who: str
    own: bool
    fresh: bool = False

    @property
    def anchor(self) -> str:
        """Return the name of the line inside the page."""
        return f"entry-{self.entry.number}"

    @property
    def day(self) -> dt.date:
        """Return the day for which it was recorded."""
        return self.entry.day
