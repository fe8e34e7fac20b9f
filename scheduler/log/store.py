"""The log of a place: opened, asked, added to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from types import TracebackType
from typing import Self

import sqlalchemy as sa

from scheduler.history import Entry, History, Kind, Looks
from scheduler.log import inserts, queries, recent, rotas
from scheduler.log.engine import WRITES, as_of_one_moment, begin_alone, make_engine
from scheduler.log.faults import damaged, telling
from scheduler.log.location import LogLocation, read_url
from scheduler.log.merging import Joining
from scheduler.log.rows import TEXT_LENGTH, UnreadableError, check, check_text
from scheduler.log.schema import bring_up_to_date, state_of


def open_log(url: str, *, create: bool = True) -> Log:
    """Open the log at a URL, `sqlite:///turtles.db` or `postgresql+psycopg://host/database`.

    Its tables are made or brought up to date by themselves. With `create` false the log is only read, and
    where there is none nothing is made and it has no entries. LogError when it cannot be opened or is of a
    newer version.
    """
    place = read_url(url)
    if create:
        bring_up_to_date(place)
        return Log(place, make_engine(place, "write"), writable=True)
    if place.file is not None and not place.file.exists():
        return Log(place, None, writable=False)
    engine = make_engine(place, "read")
    try:
        with telling(place, "read"), engine.begin() as connection:
            state = state_of(connection, place)
        if state == "older":
            bring_up_to_date(place)
    except BaseException:
        engine.dispose()
        raise
    if state == "none":
        engine.dispose()
    return Log(place, None if state == "none" else engine, writable=False)


class Log:
    """The log of all sites at one place.

    A context manager; every method raises LogError when the world refuses.
    """

    def __init__(self, place: LogLocation, engine: sa.Engine | None, *, writable: bool) -> None:
        """Take an engine; None is a log without entries. Use `open_log`."""
        self._place, self._engine, self._writable = place, engine, writable

    def __enter__(self) -> Self:
        """Return the log."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let all connections go."""
        if self._engine is not None:
            self._engine.dispose()

    def __str__(self) -> str:
        """Return where the log is, without a password."""
        return str(self._place)

    def is_empty(self) -> bool:
        """Tell whether there is no log at that place."""
        return self._engine is None

    def record(self, site: str, entries: Sequence[Entry], *, again: bool = False) -> list[tuple[Entry, bool]]:
        """Record done entries and readings, all or none; return each as it is stored, and whether it is new.

        A done entry that stands for the same job and day is not new, nor a reading of the same hour and
        value; with `again` each is. The log gives turn and number. UsageError for texts that are too long or
        no text.
        """
        for entry in entries:
            check(site, entry)
        with self.writing(site) as connection:
            return [inserts.record(connection, site, entry, again) for entry in entries]

    def amend(self, site: str, entry: Entry, *, seen: int) -> tuple[Entry, bool] | None:
        """Record what bends the plan of a job; return it as it is stored, and whether it is new.

        None where the job was done or bent, or something of it taken back, after the entry number `seen`:
        then it rests on a plan that is no more.
        """
        check(site, entry)
        with self.writing(site) as connection:
            return inserts.amend(connection, site, entry, seen)

    def void(
        self, site: str, uid: str, *, keeper: str, note: str, recorded: dt.datetime
    ) -> tuple[Entry, bool]:
        """Take the entry of an identity back; return the entry that does so, and False if it was taken back
        before.

        UsageError when there is no such entry, or when it takes another one back itself.
        """
        with self.writing(site) as connection:
            return inserts.void(connection, site, uid, keeper=keeper, note=note, recorded=recorded)

    def void_all(self, site: str, uids: Sequence[str], *, keeper: str, recorded: dt.datetime) -> None:
        """Take the entries of some identities back, all or none; those that were taken back before stay
        so."""
        with self.writing(site) as connection:
            for uid in uids:
                inserts.void(connection, site, uid, keeper=keeper, note="", recorded=recorded)

    def exchange(
        self, site: str, uids: Sequence[str], entries: Sequence[Entry], *, keeper: str, recorded: dt.datetime
    ) -> list[Entry]:
        """Take entries back and record others in their place, all or none; return these as stored."""
        for entry in entries:
            check(site, entry)
        with self.writing(site) as connection:
            for uid in uids:
                inserts.void(connection, site, uid, keeper=keeper, note="", recorded=recorded)
            return [inserts.record(connection, site, entry, again=True)[0] for entry in entries]

    def annotate(self, site: str, uid: str, note: str, *, keeper: str, recorded: dt.datetime) -> Entry | None:
        """Give an entry that stands another note, and return it as it is stored from now on; None where none
        stands.

        UsageError for a note that is too long.
        """
        with self.writing(site) as connection:
            return inserts.annotate(connection, site, uid, note, keeper=keeper, recorded=recorded)

    def join(self, site: str, entries: Iterable[Entry]) -> tuple[int, int]:
        """Take back an export, all or nothing; return how many entries were added and how many were known.

        Turn and time of recording are kept. UsageError when an entry takes back one that is nowhere.
        """
        with self.writing(site) as connection:
            joining = Joining(connection, site)
            joining.join(entries)
        return joining.added, joining.known

    def entries(
        self,
        site: str,
        *,
        since: dt.date | None = None,
        until: dt.date | None = None,
        enclosure: str | None = None,
        names: Collection[str] | None = None,
        of: str | None = None,
        keeper: str | None = None,
        kind: Kind | None = None,
        voided: bool = True,
        last: int | None = None,
        after: int | None = None,
    ) -> Iterator[Entry]:
        """Yield entries in the order in which they were recorded, with `number` and `voided`; a million take
        no memory.

        `since` and `until` are days of the entries, both included. With `voided` false neither what was taken
        back is given nor what takes back. `last` is how many of those that are wanted are given, the last
        ones; `after` is the number of an entry, of which only later ones are wanted.
        """
        for text in (site, enclosure, of, keeper, *(names or ())):
            check_text("word", text or "", TEXT_LENGTH)
        wanted = queries.EntryFilter(
            since=since,
            until=until,
            enclosure=enclosure,
            names=names,
            of=of,
            keeper=keeper,
            kind=kind,
            voided=voided,
            last=last,
            after=after,
        )
        with self.reading() as connection:
            if connection is not None:
                yield from queries.entries(connection, site, wanted)

    def first(self, site: str) -> Entry | None:
        """Return the entry that was recorded first, of those that stand."""
        with self.reading() as connection:
            return None if connection is None else queries.first(connection, site)

    def latest(self, site: str) -> Entry | None:
        """Return the entry that was recorded last, of those that stand: what an undo takes back."""
        with self.reading() as connection:
            return None if connection is None else queries.latest(connection, site)

    def history(
        self,
        site: str,
        until: dt.date,
        looks: Looks,
        enclosures: Collection[str] | None = None,
        *,
        begun: dt.date | None = None,
    ) -> History:
        """Return what a plan rests on: the entries that stand, of days up to `until`, of all enclosures or of
        some.

        `begun` is handed through: the caller knows the zone in which the first entry was recorded.
        """
        with self.reading() as connection:
            if connection is None:
                return History(begun)
            return recent.history(connection, site, until, looks, enclosures=enclosures, begun=begun)

    def away(self, site: str) -> list[tuple[str, dt.date, dt.date]]:
        """Return who is away by what was said and stands: the keeper's id, the first and the last day."""
        with self.reading() as connection:
            return [] if connection is None else queries.away(connection, site)

    def measured_of(self, site: str, names: Collection[str]) -> set[tuple[str, str]]:
        """Return under which enclosures and ids some quantities were ever measured, taken back or not."""
        with self.reading() as connection:
            return set() if connection is None else queries.measured_of(connection, site, names)

    def publish(self, site: str, rota: rotas.Published) -> None:
        """Add a rota, which holds from now on. Earlier ones stay in the log."""
        with self.writing(site) as connection:
            rotas.publish(connection, site, rota)

    def published(self, site: str) -> rotas.Published | None:
        """Return the rota that holds; None where none was published."""
        with self.reading() as connection:
            return None if connection is None else rotas.published(connection, site)

    def published_since(self, site: str, number: int) -> list[rotas.Published]:
        """Return the rotas that were published after the one of a number, in their order."""
        with self.reading() as connection:
            return [] if connection is None else rotas.published_since(connection, site, number)

    def published_before(self, site: str, when: dt.datetime) -> rotas.Published | None:
        """Return the rota that held at an instant, UTC without zone; where none did yet, the first that was
        published."""
        with self.reading() as connection:
            return None if connection is None else rotas.published_before(connection, site, when)

    def worked(
        self, site: str, since: dt.date, until: dt.date
    ) -> tuple[list[rotas.Worked], list[rotas.Worked]]:
        """Return the minutes of each keeper by day, over the whole log; and since a day by enclosure and
        job."""
        with self.reading() as connection:
            if connection is None:
                return [], []
            return (
                rotas.worked_by_day(connection, site, until),
                rotas.worked_of_late(connection, site, since, until),
            )

    @contextmanager
    def reading(self) -> Iterator[sa.Connection | None]:
        """Give a connection on which everything is seen as of one moment; None where there is no log."""
        if self._engine is None:
            yield None
            return
        with telling(self._place, "read"), as_of_one_moment(self._engine).connect() as connection:
            try:
                yield connection
            except UnreadableError as error:
                raise damaged(self._place) from error

    @contextmanager
    def writing(self, site: str) -> Iterator[sa.Connection]:
        """Give a connection of which everything is kept at the end, or nothing."""
        if self._engine is None or not self._writable:
            raise ValueError("this log was opened to be read")
        engine = self._engine.execution_options(**{WRITES: True})
        with telling(self._place, "record") as progress, engine.begin() as connection:
            begin_alone(connection, f"site/{site}")
            yield connection
            progress.keeping = True
