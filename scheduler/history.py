"""What was done and what was measured, as the plan reads it: plain data, in the order of days.

The log writes and reads it; the care rules and the plan take it as an argument and never ask where it is
from.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from operator import attrgetter
from typing import Literal, NamedTuple, TypeVar, get_args

Kind = Literal[
    "done", "reading", "void", "postponed", "skipped", "once", "away",
    "moved", "arrived", "departed", "set-up", "retired", "renamed",
]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)

AMENDING: tuple[Kind, ...] = ("postponed", "skipped", "once")
"""What bends the plan of an enclosure by hand."""

AHEAD: tuple[Kind, ...] = (*AMENDING, "away")
"""What says how it is to be, not how it was."""

OF_RESIDENTS: tuple[Kind, ...] = ("moved", "arrived", "departed")
"""What happened to an animal itself, and where it lives since."""

EDITING: tuple[Kind, ...] = (*OF_RESIDENTS, "set-up", "retired", "renamed")
"""What changed the description too."""

NOON = dt.time(12)
"""The hour that is taken where none is known."""

DONE_DAYS = 60
"""What was done stays in calendars for so many days. House value."""

NAMESPACE = uuid.UUID("9b1d6c1e-7a43-5f58-9d0b-2f4f0c6b7d35")
"""The name space of entries. It must never change: what was recorded twice is recognised by it."""


class JobRef(NamedTuple):
    """The identity of a job: the id of its enclosure, its key, and its variant (which lamp, which arrival),
    often none.

    A tuple, because plans look up tens of thousands of them.
    """

    enclosure: str
    key: str
    variant: str = ""


class OccurrenceRef(NamedTuple):
    """The identity of an occurrence: its job, and the day on which it falls due, on whatever day it is
    done."""

    enclosure: str
    key: str
    variant: str
    due: dt.date

    @property
    def job(self) -> JobRef:
        """Return the identity of the job."""
        return JobRef(self.enclosure, self.key, self.variant)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of the log. It is never changed; a wrong one is voided by another.

    `name` is the key of a job, or the quantity of a reading; `of` the variant of the job (several lamps,
    several arrivals), or whom or what a reading is of (a resident's id, a lamp's). `value` is in the unit of
    its quantity: for a water change it is the share that was changed, for a rinse of media the half (1 or 2).
    `given` is the value as the keeper wrote it. `turn` tells apart what was recorded several times for one
    day. What bends the plan has its days in `given`, and `day` is the one on which it was said: of what was
    postponed "DUE/TO", of what was skipped "DUE", of what comes once its day and the skills that it asks for,
    of who is away the span. What changed the description has in `given` from which enclosure an animal moved,
    how it left, or what a name was before. `recorded` is UTC, without zone. `number` is the place in the log
    and `voided` tells whether another entry takes this one back; only the log knows them.
    """

    kind: Kind
    enclosure: str
    name: str
    of: str = ""
    day: dt.date
    time: dt.time | None = None
    value: float | None = None
    given: str = ""
    keeper: str = ""
    title: str = ""
    minutes: int = 0
    note: str = ""
    turn: int = 0
    recorded: dt.datetime
    voids: str = ""
    number: int = 0
    voided: bool = False

    def uid(self, site: str) -> str:
        """Return the identity of the entry: a UUID, version 5, of what was recorded for which day, and not of
        when.

        Two machines that record the same thing make the same identity, so that logs can be joined.
        """
        if self.kind == "void":
            return str(uuid.uuid5(NAMESPACE, f"void/{self.voids}"))
        path = [site, self.kind, self.enclosure, self.name, self.of, self.day.isoformat(), str(self.turn)]
        return str(uuid.uuid5(NAMESPACE, "/".join(path)))

    @property
    def job(self) -> JobRef:
        """Return the job that was done, by the name that the log has for it."""
        return JobRef(self.enclosure, self.name, self.of)

    @property
    def moment(self) -> tuple[dt.date, dt.time, int]:
        """Return what entries are ordered by: day, hour where it is known, and place in the log."""
        return self.day, self.time or NOON, self.number


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """How far back a plan has to see: for each job and each quantity the first day whose entries it wants one
    by one.

    The day on which a job was last done is known whatever is written here. With `all_done` every done entry
    from that day on is wanted.
    """

    done: Mapping[str, dt.date] = field(default_factory=dict)
    readings: Mapping[str, dt.date] = field(default_factory=dict)
    all_done: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """A time that an animal spent in another enclosure than now: from its first day until, not included, the
    next place."""

    enclosure: str
    first: dt.date
    until: dt.date


Stays = Mapping[str, Mapping[str, tuple[Stay, ...]]]
"""By the enclosure where animals live now, and by their ids, where they were before."""


class History:
    """The entries of one site that a plan rests on; none of them voided, none after the day for which is
    planned.

    `begun` is the day on which the record began: what fell due before is taken as done. None: there is no
    record. `amendments` are what bends the plan by hand.
    """

    def __init__(
        self,
        begun: dt.date | None = None,
        last: Mapping[JobRef, dt.date] | None = None,
        done: Iterable[Entry] = (),
        readings: Iterable[Entry] = (),
        *,
        stays: Stays | None = None,
        amendments: Iterable[Entry] = (),
    ) -> None:
        """Take the record: when each job was last done, and the entries one by one as far back as they were
        asked for."""
        self.begun = begun
        self.stays: Stays = stays or {}
        self.last: dict[JobRef, dt.date] = dict(last or {})
        self._done = _by_enclosure(done)
        self._readings = _by_enclosure(readings)
        self._amendments = _by_enclosure(amendments)
        self._variants: dict[tuple[str, str], dict[str, dt.date]] = {}
        for entries in self._done.values():
            for entry in entries:
                job = entry.job
                self.last[job] = max(entry.day, self.last.get(job, entry.day))
        for (enclosure, key, of), day in self.last.items():
            self._variants.setdefault((enclosure, key), {})[of] = day

    def done(self, enclosure: str, name: str | None = None) -> Iterator[Entry]:
        """Yield the done entries of an enclosure, or of one of its jobs, in the order of days."""
        return (e for e in self._done.get(enclosure, ()) if name is None or e.name == name)

    def variants(self, enclosure: str, name: str) -> Mapping[str, dt.date]:
        """Return when each variant of a job was last done."""
        return self._variants.get((enclosure, name), {})

    def readings(self, enclosure: str, name: str, of: str | None = None) -> list[Entry]:
        """Return the readings of a quantity in an enclosure, of one resident or lamp or of all, in the order
        of days."""
        found = self._readings.get(enclosure, ())
        return [e for e in found if e.name == name and (of is None or e.of == of)]

    def measured(self, enclosure: str) -> tuple[Entry, ...]:
        """Return all readings of an enclosure, in the order of days."""
        return self._readings.get(enclosure, ())

    def all_readings(self) -> Iterator[Entry]:
        """Yield the readings of all enclosures."""
        for entries in self._readings.values():
            yield from entries

    def amendments(self, enclosure: str) -> list[Entry]:
        """Return what bends the plan of an enclosure, in the order in which it was said."""
        return sorted(self._amendments.get(enclosure, ()), key=lambda e: e.number)

    def done_before(
        self, enclosure: str, resident: str, name: str, of: Collection[str] | None = None
    ) -> list[dt.date]:
        """Return the days on which a job was done where a resident of an enclosure lived before, while it
        lived there.

        `of` are the variants of the job that count; None: all of them.
        """
        found: set[dt.date] = set()
        for stay in self.stays.get(enclosure, {}).get(resident, ()):
            days = {
                *(d for v, d in self.variants(stay.enclosure, name).items() if of is None or v in of),
                *(e.day for e in self.done(stay.enclosure, name) if of is None or e.of in of),
            }
            found |= {day for day in days if stay.first <= day < stay.until}
        return sorted(found)

    def with_readings(self, readings: Iterable[Entry], stays: Stays) -> History:
        """Return the history with other readings in the place of its own, and with where animals lived
        before."""
        found = self.adding(())
        found._readings, found.stays = _by_enclosure(readings), stays
        return found

    def with_those_of(self, enclosures: Collection[str], other: History) -> History:
        """Return the history with what another says of some enclosures in the place of what this one says of
        them."""
        kept = {name: day for name, day in self.last.items() if name[0] not in enclosures}
        last = kept | {name: day for name, day in other.last.items() if name[0] in enclosures}
        found = History(self.begun, last)
        found._done = _exchanged(self._done, other._done, enclosures)
        found._readings = _exchanged(self._readings, other._readings, enclosures)
        found._amendments = _exchanged(self._amendments, other._amendments, enclosures)
        found.stays = _exchanged(self.stays, other.stays, enclosures)
        return found

    def amending(self, entries: Iterable[Entry], today: dt.date) -> History:
        """Return the history as if these entries bent the plan too; without a record it begins today."""
        found = self.adding(())
        found.begun = self.begun or today
        own = [entry for some in self._amendments.values() for entry in some]
        found._amendments = _by_enclosure([*own, *(replace(e, number=_LAST_NUMBER) for e in entries)])
        return found

    def adding(self, done: Iterable[Entry]) -> History:
        """Return the history with further done entries."""
        own = [entry for entries in self._done.values() for entry in entries]
        readings = [entry for entries in self._readings.values() for entry in entries]
        amendments = [entry for entries in self._amendments.values() for entry in entries]
        return History(
            self.begun, self.last, [*own, *done], readings, stays=self.stays, amendments=amendments
        )


@dataclass(frozen=True, slots=True)
class Amendment:
    """What was said on a day of one occurrence of a job: that it comes on another day, or not at all (`to` is
    None)."""

    due: dt.date
    to: dt.date | None
    said: dt.date
    why: str = ""


class Once(NamedTuple):
    """When something comes that comes once, and which skills it asks for."""

    day: dt.date
    skills: tuple[str, ...]


def parse_amendment(entry: Entry) -> Amendment:
    """Return what an entry that postpones or skips says."""
    due, _, to = entry.given.partition("/")
    return Amendment(
        dt.date.fromisoformat(due), dt.date.fromisoformat(to) if to else None, entry.day, entry.note
    )


def parse_once(entry: Entry) -> Once:
    """Return what an entry says of something that comes once."""
    day, *skills = entry.given.split(" ", 1)
    return Once(dt.date.fromisoformat(day), tuple(skills[0].split(", ")) if skills else ())


def parse_away(entry: Entry) -> tuple[dt.date, dt.date]:
    """Return the first and the last day on which an entry says that somebody is away."""
    first, _, last = entry.given.partition("/")
    return dt.date.fromisoformat(first), dt.date.fromisoformat(last)


_LAST_NUMBER = 2**62
"""Later than any entry of a log: the number of one that is only thought of."""

_T = TypeVar("_T")

# A plan sorts 100,000 entries.
_moment = attrgetter("moment")


def _by_enclosure(entries: Iterable[Entry]) -> dict[str, tuple[Entry, ...]]:
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.enclosure, []).append(entry)
    return {enclosure: tuple(sorted(some, key=_moment)) for enclosure, some in found.items()}


def _exchanged(own: Mapping[str, _T], other: Mapping[str, _T], enclosures: Collection[str]) -> dict[str, _T]:
    found = {enclosure: some for enclosure, some in own.items() if enclosure not in enclosures}
    return found | {enclosure: some for enclosure, some in other.items() if enclosure in enclosures}


NO_HISTORY = History()
"""A site without a record."""
