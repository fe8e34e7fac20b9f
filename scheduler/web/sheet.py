"""The round as a work sheet: one sheet a tank in walking order, what is open there and what was recorded
there today."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler.care import cautions, urgency
from scheduler.care.asked import UNFINISHED
from scheduler.description.fields import Part
from scheduler.description.site import Enclosure, Keeper
from scheduler.history import Entry
from scheduler.rota.rounds import walking_order
from scheduler.sheets.recorded import described
from scheduler.web.rows import RecordedLine, Row, anchor_of
from scheduler.web.tanks import TankSheet, animals_of
from scheduler.workflow.live.round_page import RoundPage, Turn
from scheduler.workflow.record.notes import PINNED
from scheduler.workflow.rota.site_rota import quarantined_in

ALARM = 1
"""The class of what an alarm asks for (care/urgency.py): it stands first, for everybody."""


REMARKS = (PINNED, UNFINISHED)
"""Entries that stand elsewhere: with the notes, and at the job that is not finished."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheet:
    """The whole of a keeper's day: alarms for everybody, their own tanks, what nobody takes yet, and what
    else was recorded.

    `others` were recorded today by others, at tanks that are not on this sheet; `earlier` yesterday.
    """

    alarms: tuple[Row, ...]
    tanks: tuple[TankSheet, ...]
    free: tuple[TankSheet, ...]
    others: tuple[RecordedLine, ...]
    earlier: tuple[RecordedLine, ...]

    @property
    def own_rows(self) -> list[Row]:
        """Return what the keeper has to do, in its order: alarms that are theirs are counted by the page."""
        return [row for tank in self.tanks for row in tank.open_rows]

    def rows(self) -> Iterator[Row]:
        """Yield all rows in the order of the page."""
        yield from self.alarms
        for tank in (*self.tanks, *self.free):
            yield from tank.rows

    @property
    def cautions(self) -> list[cautions.Caution]:
        """Return the cautions of all that is on the sheet, each once, the worst first."""
        return cautions.worst_first(c for row in self.rows() for c in row.notes.cautions)

    def next_after(self, anchor: str) -> Row | None:
        """Return the row to go on with after a line, where that does not stand right below it."""
        # A finished tank is one line, whatever was recorded there; rows where a hand is lent are work of
        # somebody else.
        found: list[tuple[str, Row | None]] = [(row.anchor, row) for row in self.alarms]
        for tank in (*self.tanks, *self.free):
            names = [line.anchor for line in tank.recorded]
            found += [(name, None) for name in (names[-1:] if tank.is_shut else names)]
            found += [(row.anchor, None if row.lends else row) for row in tank.rows]
        at = next((n for n, (name, _) in enumerate(found) if name == anchor), len(found))
        work = [n for n, (_, row) in enumerate(found) if row is not None]
        nearest = min(work, key=lambda n: (n < at, n), default=at + 1)
        return None if nearest == at + 1 else found[nearest][1]


def make_sheet(tended: RoundPage, keeper: Keeper | None) -> WorkSheet:
    """Return the sheet of a keeper (None: everybody's) of today.

    What the keeper recorded last stands at its tank, of whatever day it is: that is where they are.
    """
    today = tended.today
    alarms = [t for t in tended.turns.get(today, ()) if urgency(t.occurrence.job) == ALARM]
    tanks = _Tanks(tended)
    for turn in tended.mine(keeper, today):
        if turn not in alarms:
            tanks.add(turn, _row(tended, keeper, turn))
    for turn in tended.helps(keeper, today):
        tanks.add(turn, replace(_row(tended, keeper, turn, "lend"), lends=True, takers=()))
    free = _Tanks(tended, "free-")
    for turn in tended.free(keeper):
        if turn not in alarms:
            free.add(turn, replace(_row(tended, keeper, turn), takers=()))
    fresh = fresh_of(tended.recorded(keeper))
    others: list[RecordedLine] = []
    earlier: list[RecordedLine] = []
    for entry in tended.done[::-1]:
        if entry.name in REMARKS:
            continue
        line = replace(line_of(tended, keeper, entry), fresh=entry.number in fresh)
        here = line.fresh or (entry.day == today and (line.own or tanks.has(entry.enclosure)))
        if here and tanks.record(line):
            continue
        if line.own or entry.day == today:
            (earlier if line.own else others).append(line)
    own = tanks.in_order()
    return WorkSheet(
        alarms=tuple(_row(tended, keeper, t, "alarm") for t in alarms),
        tanks=tuple(own),
        free=tuple(free.in_order(tank.enclosure.id for tank in own if tank.leads)),
        others=tuple(others),
        earlier=tuple(earlier),
    )


def fresh_of(own: Sequence[Entry]) -> set[int]:
    """Return the numbers of what was recorded last: by one tap it may be several."""
    some = [entry for entry in own if entry.name not in REMARKS]
    last = max(some, key=lambda entry: entry.number, default=None)
    return set() if last is None else {e.number for e in some if e.recorded == last.recorded}


class _Tanks:
    """Sheets by enclosure and part of the day, as they fill."""

    def __init__(self, tended: RoundPage, prefix: str = "") -> None:
        self._tended, self._prefix = tended, prefix
        self._found: dict[tuple[str, str], TankSheet] = {}

    def has(self, enclosure: str) -> bool:
        return any(name == enclosure for name, _ in self._found)

    def add(self, turn: Turn, row: Row) -> None:
        self._sheet(row.job.enclosure, row.job.part, turn.quarantine).rows.append(row)

    def record(self, line: RecordedLine) -> bool:
        """Put a line where its job stands; tell whether there is such an enclosure any more."""
        entry, site = line.entry, self._tended.site
        enclosure = next((e for e in site.enclosures if e.id == entry.enclosure), None)
        if enclosure is None:
            return False
        part = next((s.job.part for s in self._tended.planned.series if s.job.ref == entry.job), None)
        if part is None:
            part = "evening" if (enclosure.id, "evening") in self._found else "morning"
        if (enclosure.id, part) not in self._found:
            quarantined = quarantined_in(site, self._tended.history)(enclosure.id, self._tended.today)
        else:
            quarantined = False
        self._sheet(enclosure, part, quarantined).lines.append(line)
        return True

    def _sheet(self, enclosure: Enclosure, part: Part, quarantine: bool) -> TankSheet:
        sheet = self._found.get((enclosure.id, part))
        if sheet is None:
            animals = animals_of(self._tended.site, enclosure)
            sheet = TankSheet(
                enclosure=enclosure, part=part, quarantine=quarantine, animals=animals, prefix=self._prefix
            )
            self._found[enclosure.id, part] = sheet
        sheet.quarantine |= quarantine
        return sheet

    def in_order(self, led: Iterable[str] = ()) -> list[TankSheet]:
        """Return the sheets in walking order; of those of one enclosure the first open one leads, unless it
        is `led` already."""
        for sheet in self._found.values():
            apart = sheet.quarantine
            sheet.rows.sort(key=lambda row: walking_order(row.job, quarantine=apart))
        found = sorted(self._found.values(), key=lambda sheet: sheet.place)
        seen = {*led}
        for sheet in found:
            sheet.leads = sheet.enclosure.id not in seen and not sheet.is_shut
            seen |= {sheet.enclosure.id} if sheet.leads else set()
        return found


def _row(tended: RoundPage, keeper: Keeper | None, turn: Turn, *more: str) -> Row:
    job = turn.occurrence.job
    takers = tuple(tended.takers(keeper, job)) if turn.keeper == keeper else ()
    late = f"{turn.ref.due:%m%d}" if turn.ref.due != tended.today else ""
    return Row(turn, anchor_of(job.ref, late, *more), takers=takers)


def line_of(tended: RoundPage, keeper: Keeper | None, entry: Entry) -> RecordedLine:
    """Return an entry as a page tells it."""
    site = tended.site
    return RecordedLine(
        entry=entry,
        where=next((e.name for e in site.enclosures if e.id == entry.enclosure), entry.enclosure),
        what=described(site, entry),
        who=next((k.name for k in site.keepers if k.id == entry.keeper), ""),
        own=keeper is None or entry.keeper == keeper.id,
    )


def minutes_of(rows: Iterable[Row]) -> int:
    """Return how long some jobs take."""
    return sum(row.job.minutes for row in rows)
