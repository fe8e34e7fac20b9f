"""How a site stands before and after something is recorded, and what follows from the difference."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler import care, plan
from scheduler.care import Consequence
from scheduler.care.findings import Finding
from scheduler.description import Enclosure, Site
from scheduler.errors import LogError, UsageError
from scheduler.history import NO_HISTORY, Entry, History, JobRef
from scheduler.plan import Move, Next
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.plan import make_plan
from scheduler.workflow.site_log import history_in, open_to_read, open_to_record
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log

BEFORE_SET_UP = frozenset({"treat-driftwood", "fit-out"})
"""Jobs that may be done before the enclosure is set up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Who records, for which day and hour, with which note; `as_of` is the day that counts as today, None for
    the real one."""

    on: dt.date | None = None
    at: dt.time | None = None
    by: str | None = None
    note: str = ""
    as_of: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Difference:
    """What something changes beyond days: minutes of work a week before and after, and the findings that come
    and go, each with its enclosure.

    Of findings only those that say to act or to look.
    """

    before: int
    after: int
    new: tuple[tuple[Enclosure, Finding], ...]
    gone: tuple[tuple[Enclosure, Finding], ...]


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was recorded (each entry with whether it is new), and what follows: next days, moves,
    consequences, words.

    `difference` is that of the plan, where it was bent or its description changed; `edited` are the
    enclosures that a change of the description is about.

    `stored` are the entries as the log keeps them. They are those of `entries`, but for what was taken back:
    a keeper recognises that by its value, which the entry that takes it back does not repeat. `noted` are
    those that were there, and have the note now.
    """

    site: Site
    entries: tuple[tuple[Entry, bool], ...]
    stored: tuple[Entry, ...]
    next: dict[JobRef, Next]
    moves: tuple[Move, ...]
    consequences: tuple[tuple[Enclosure, Consequence], ...]
    words: tuple[str, ...] = ()
    noted: tuple[Entry, ...] = ()
    difference: Difference | None = None
    edited: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class RecordContext:
    """How a site stands, as far as what is recorded depends on it: the site as measured, the day, its
    history."""

    site: Site
    today: dt.date
    history: History


# --- how things stand ---


class Standing:
    """A site as its record leaves it at one moment: the plan's next days, and what follows from readings."""

    def __init__(self, site: Site, history: History, today: dt.date, seen: int = 0) -> None:
        """Plan a site by its record, in which the entry of the number `seen` was the last."""
        planned = make_plan(site, today, today, 366, history)
        self.planned, self.seen = planned, seen
        self.site, self.today = planned.site, today
        self.history = care.with_implied(site, history)
        self.jobs = list(care.jobs(site, self.history))
        self.next = plan.next_days(planned.series, today)

    @property
    def known(self) -> RecordContext:
        """Return what records depend on."""
        return RecordContext(self.site, self.today, self.history)

    def consequences(self, enclosures: set[str]) -> list[tuple[Enclosure, Consequence]]:
        """Return what follows from the readings of some enclosures."""
        return [
            (case.enclosure, found)
            for case in care.cases(self.planned.described, self.today, self.history)
            if case.enclosure.id in enclosures
            for found in care.consequences(case)
        ]


def standing_before(space: Workspace) -> Standing:
    """Return how a site stands before something is recorded. LogError says that nothing was."""
    with _nothing_recorded():
        log = open_to_read(space.file, space.site)
        if log is None:
            return Standing(space.site, NO_HISTORY, space.today)
        with log:
            # What comes meanwhile is newer than what was seen.
            seen = max((e.number for e in log.entries(space.site.settings.id, last=1)), default=0)
            return Standing(space.site, history_in(log, space.site, space.today), space.today, seen)


def opened(file: Path, site: Site) -> Log:
    """Open the log of a site to record. LogError says that nothing was recorded."""
    with _nothing_recorded():
        return open_to_record(file, site)


def standing_after(log: Log, site: Site, today: dt.date) -> Standing:
    """Return how a site stands after something was recorded. LogError says that it was."""
    try:
        return Standing(site, history_in(log, site, today), today)
    except LogError as error:
        raise LogError(f"it was recorded, but what follows from it cannot be said: {error}") from error


@contextmanager
def _nothing_recorded() -> Iterator[None]:
    """Say of a log that fails before anything is recorded that nothing was."""
    try:
        yield
    except LogError as error:
        raise LogError(f"nothing was recorded: {error}") from error


def what_follows(
    before: Standing,
    done: Sequence[tuple[Entry, bool]],
    after: Standing,
    enclosures: set[str],
    words: Sequence[str] = (),
    *,
    bent: bool = False,
) -> Recorded:
    """Return what follows from entries (each with whether it is new) in some enclosures, by how the site
    stood and stands.

    Where they have `bent` the plan, or changed the description, with what differs in it.
    """
    told = {(enclosure.id, found.text) for enclosure, found in before.consequences(enclosures)}
    news = tuple(
        (enclosure, found)
        for enclosure, found in after.consequences(enclosures)
        if (enclosure.id, found.text) not in told
    )
    moved = tuple(plan.moves(before.next, after.next))
    stored = tuple(entry for entry, _ in done)
    differs = difference(before, after, enclosures) if bent else None
    return Recorded(
        after.site, tuple(done), stored, after.next, moved, news, tuple(words), difference=differs
    )


# --- what differs ---

WEEKS = 4
"""The minutes of a week are those of so many weeks from today, over their number. House value."""


def difference(before: Standing, after: Standing, enclosures: set[str]) -> Difference:
    """Return what differs between two standings of a site: the minutes of all of it, the findings of some
    enclosures."""
    was, now = _findings(before, enclosures), _findings(after, enclosures)
    return Difference(
        _minutes(before),
        _minutes(after),
        tuple(found for key, found in now.items() if key not in was),
        tuple(found for key, found in was.items() if key not in now),
    )


def _minutes(standing: Standing) -> int:
    """Return the minutes of a week."""
    planned, last = standing.planned, standing.today + dt.timedelta(weeks=WEEKS, days=-1)
    found = plan.occurrences(planned.site, planned.series, standing.today, last)
    return round(sum(o.job.minutes for o in found) / WEEKS)


def _findings(
    standing: Standing, enclosures: set[str]
) -> dict[tuple[str, str, str], tuple[Enclosure, Finding]]:
    """Return what the review says to act on or to look at, by enclosure, key and text."""
    return {
        (case.enclosure.id, found.key, found.text): (case.enclosure, found)
        for case in care.cases(standing.planned.described, standing.today, standing.history)
        if case.enclosure.id in enclosures
        for found in care.review(case).findings
        if found.verdict != "fine"
    }


# --- what is recorded ---


def day_of(who: Who, today: dt.date) -> dt.date:
    """Return the day for which somebody records. UsageError for one that is still to come."""
    day = who.on or today
    if day > today:
        raise UsageError(
            f"{day} lies in the future: today is {today}. Record what was done when it is done; if the "
            "clock is wrong, mend it"
        )
    return day


def refuse_before_set_up(enclosure: Enclosure, day: dt.date, key: str) -> None:
    """Raise UsageError for a day before an enclosure was set up, but for the jobs that come before that."""
    if enclosure.set_up is not None and day < enclosure.set_up and key not in BEFORE_SET_UP:
        raise UsageError(
            f"{enclosure.name} was set up on {enclosure.set_up}, after {day}: mend --on, or set_up in "
            "the description"
        )


def keeper_id(site: Site, by: str | None) -> str:
    """Return the id of who did it: as named, else the only keeper."""
    if by is not None:
        return str(pick_named(by, site.keepers, "keeper").id)
    return site.keepers[0].id if len(site.keepers) == 1 else ""


def unnamed_lines(site: Site, who: Who, done: Sequence[tuple[Entry, bool]]) -> list[str]:
    """Return what is said where several share the work and nobody is named for what is new."""
    if who.by is not None or len(site.keepers) < 2 or not any(new for _, new in done):
        return []
    return [f"it is not recorded who did it: --by names one of {', '.join(k.name for k in site.keepers)}"]
