"""The sheet of one tank: what is open there and what was recorded there, and the parts into which a round
falls."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from scheduler.description.fields import Part
from scheduler.description.site import Enclosure, Site
from scheduler.web.rows import RecordedLine, Row


@dataclass(slots=True, kw_only=True)
class TankSheet:
    """The sheet of one enclosure in one part of the day; `anchor` names it in the page.

    It `leads` where it is the first one of its enclosure: what is of the enclosure as a whole stands there
    alone.
    """

    enclosure: Enclosure
    part: Part
    quarantine: bool
    rows: list[Row] = field(default_factory=list)
    lines: list[RecordedLine] = field(default_factory=list)
    animals: str = ""
    prefix: str = ""
    leads: bool = True

    @property
    def anchor(self) -> str:
        """Return the name of the sheet inside the page."""
        evening = "-evening" if self.part == "evening" else ""
        return f"{self.prefix}tank-{self.enclosure.id}{evening}"

    @property
    def is_shut(self) -> bool:
        """Tell whether all is done there."""
        return not self.rows

    @property
    def open_rows(self) -> list[Row]:
        """Return what its keeper ticks off."""
        return [row for row in self.rows if not row.lends]

    @property
    def minutes(self) -> int:
        """Return how long what is open takes."""
        return sum(row.job.minutes for row in self.open_rows)

    @property
    def recorded(self) -> list[RecordedLine]:
        """Return what was recorded, in its order; what is fresh last, so that the next work stands right
        below it."""
        return sorted(self.lines, key=lambda one: (one.fresh, one.entry.number))

    @property
    def together(self) -> list[Row]:
        """Return what can be ticked off in one tap, where that is more than one."""
        plain = [row for row in self.open_rows if row.job.is_plain]
        return plain if len(plain) > 1 else []

    @property
    def place(self) -> tuple[object, ...]:
        """Return what sheets are ordered by, as rounds are."""
        return walking_place(self.enclosure, quarantine=self.quarantine, evening=self.part == "evening")


def walking_place(enclosure: Enclosure, *, quarantine: bool, evening: bool = False) -> tuple[object, ...]:
    """Return what enclosures are ordered by on the way through the rooms: quarantine comes last."""
    return quarantine, evening, enclosure.room or "", enclosure.name, enclosure.id


def animals_of(site: Site, enclosure: Enclosure) -> str:
    """Return who lives in an enclosure, as one phrase, with the common names of the species."""
    some = enclosure.resident
    names = ", ".join(f"{r.name} ({r.count})" if r.count > 1 else r.name for r in some)
    sheets = {r.species: site.sheet(r) for r in some if r.species}
    species = [sheet.names[0] if sheet is not None else name for name, sheet in sheets.items()]
    return " · ".join(filter(None, (names, ", ".join(dict.fromkeys(species)))))


def in_parts(tanks: Sequence[TankSheet], evening: str) -> Iterator[tuple[str, list[TankSheet]]]:
    """Yield the parts of a round with what stands above each ("" for the morning), its tanks in their order;
    `evening` is the hour of that."""
    by_day = any(tank.quarantine and tank.part == "morning" for tank in tanks)

    def above(tank: TankSheet) -> str:
        later = f"from {evening}" if tank.part == "evening" else ""
        if tank.quarantine and (by_day or not later):
            return f"Quarantine, {later or 'after all others'}"
        return later and f"Evening, {later}"

    for title, some in groupby(tanks, above):
        yield title, list(some)
