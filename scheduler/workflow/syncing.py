"""What a sync with a CalDAV server needs to know: who may log in, who does what, and what was put where."""

from __future__ import annotations

import datetime as dt
import importlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.history import DONE_DAYS, Entry, JobRef, OccurrenceRef
from scheduler.workflow.planning import days_of, make_plan
from scheduler.workflow.publication import renew
from scheduler.workflow.remembering import open_to_record
from scheduler.workflow.rostering import (
    EXPORTED_WEEKS,
    MARGIN_DAYS,
    further,
    known_of,
    quarantined_in,
    shown_rota,
    still_to_come,
)

if TYPE_CHECKING:
    from scheduler.log.synced import Put
    from scheduler.rota import Item, Round, Task

USER, PASSWORD = "PONDROUND_CALDAV_USER", "PONDROUND_CALDAV_PASSWORD"
KEYRING = "pondround"
"""The service under which a keyring knows the password."""

FURTHER = dt.timedelta(days=14)
"""A rota of many weeks is published so much at a time, and not a day with each day. House value."""

Kept = Mapping[OccurrenceRef, dt.date]
"""Days to which somebody moved what falls due."""


def credentials(user: str | None) -> tuple[str | None, str | None]:
    """Return who logs in and the password, each None where nobody says: the environment, else the keyring of the machine.

    `user` is who the URL names; the environment goes before.
    """
    user = os.environ.get(USER) or user
    password = os.environ.get(PASSWORD)
    if user and not password:
        password = _from_keyring(user)
    return user, password or None


def _from_keyring(user: str) -> str | None:
    try:
        keyring = importlib.import_module("keyring")
    except ImportError:
        return None
    try:
        found = keyring.get_password(KEYRING, user)
    except keyring.errors.KeyringError:
        # A machine without a desktop has none that is open.
        return None
    return str(found) if found else None


@dataclass(frozen=True, slots=True)
class Share:
    """What one keeper does, round by round; of a site without keepers it is everybody's."""

    keeper: Keeper | None
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class Shares:
    """Who does what from today on, for a number of weeks.

    `site` is as its record leaves it. `items` are what falls due with the days on which it may be done, `tasks` whose they
    are where there are keepers, and `jobs` the jobs of the plan. `untaken` counts what nobody takes.
    """

    site: Site
    shares: tuple[Share, ...]
    items: tuple[Item, ...]
    tasks: tuple[Task, ...]
    jobs: Mapping[JobRef, Job]
    untaken: int


def shares_of(
    file: Path, site: Site, today: dt.date, weeks: int, *, kept: Kept, as_of: dt.date | None
) -> Shares:
    """Return who does what. Without keepers there is no rota: each occurrence is on its day, or where it was `kept`.

    The rota is the published one: what people have on their telephones has to hold still. Where none is, or two weeks of
    those that are asked for are missing, it is published.
    """
    last = today + dt.timedelta(days=weeks * 7 - 1)
    if site.keepers:
        return _shared_out(file, site, today, last, as_of)
    return _everybodys(file, site, today, last, kept)


def _shared_out(file: Path, site: Site, today: dt.date, last: dt.date, as_of: dt.date | None) -> Shares:
    # The same rota as in the calendars, unless more of it is asked for.
    known = known_of(file, site, today)
    made = shown_rota(site, known, today, today)
    if made.rota.last < last - FURTHER and (last - today).days >= EXPORTED_WEEKS * 7:
        made = further(site, known, made, last)
    renew(file, site, made, as_of)
    rounds = [one for one in made.rota.rounds if one.day <= last]
    shares = tuple(Share(k, tuple(one for one in rounds if one.keeper.id == k.id)) for k in site.keepers)
    tasks = tuple(made.rota.tasks())
    untaken = sum(u.item.occurrence.day <= last for u in made.rota.unfilled)
    jobs = {series.job.ref: series.job for series in made.planned.series}
    items = tuple(task.item for task in tasks)
    return Shares(made.planned.site, shares, items, tasks, jobs, untaken)


def _everybodys(file: Path, site: Site, today: dt.date, last: dt.date, kept: Kept) -> Shares:
    from scheduler.rota import Round, Task
    from scheduler.rota.items import items
    from scheduler.rota.roster import Roster

    known = known_of(file, site, today)
    planned = make_plan(site, today, today, (last - today).days + 1 + MARGIN_DAYS, known.history)
    late = sorted((o for o in planned.done if o.day < today), key=lambda o: o.day)
    to_come = [*late, *days_of(planned)]
    found = items(
        [*still_to_come(planned, to_come, kept), *to_come],
        Roster(planned.site),
        today,
        last,
        quarantined_in(site, known.history),
    )
    nobody = Keeper(name=site.place.name, id=site.place.id)
    rounds = []
    for item in found:
        day = kept.get(item.ref, item.occurrence.day)
        # A day that is over, or no longer in the window, is none.
        day = day if day in item.outer else item.occurrence.day
        rounds.append(Round(day, nobody, (Task(item, day, nobody),)))
    rounds.sort(key=lambda one: one.day)
    jobs = {series.job.ref: series.job for series in planned.series}
    return Shares(planned.site, (Share(None, tuple(rounds)),), tuple(found), (), jobs, 0)


class Ledger:
    """The log as a sync keeps it open: what was put into collections, and what was done. A context manager."""

    def __init__(self, file: Path, site: Site) -> None:
        """Open the log; it is made where there is none."""
        self._site, self._log = site.place.id, open_to_record(site, file)

    def __enter__(self) -> Self:
        """Return the ledger."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the log."""
        self._log.__exit__(kind, error, trace)

    def collections(self) -> list[str]:
        """Return the collections into which something was put that is there still, by their addresses."""
        from scheduler.log.synced import collections_of

        return collections_of(self._log, self._site)

    def put_there(self, collection: str) -> dict[str, Put]:
        """Return what was put into a collection, by UID."""
        from scheduler.log.synced import put_there

        return put_there(self._log, self._site, collection)

    def remember(self, collection: str, put: Put) -> None:
        """Keep what was put into a collection, or what was agreed with it."""
        from scheduler.log.synced import remember_put

        remember_put(self._log, self._site, collection, put)

    def forget(self, collection: str, uid: str) -> None:
        """Forget what is no longer there."""
        from scheduler.log.synced import forget_put

        forget_put(self._log, self._site, collection, uid)

    def done(self, today: dt.date) -> list[Entry]:
        """Return what was done and stands, as far back as collections show it, in the order of recording."""
        since = today - dt.timedelta(days=2 * DONE_DAYS)
        return list(self._log.entries(self._site, since=since, until=today, kind="done", voided=False))
