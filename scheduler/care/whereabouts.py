"""Where animals live and lived: what is measured of one follows it from enclosure to enclosure.

The log keeps a reading under the enclosure in which it was taken and the id of the animal. Ids are unique in
a site; before they had to be, two enclosures could each have a Fern. So a reading belongs, in this order, to
the resident of that id who lives there; to the one who lives there and would have had that id from its name;
and else to the one of that id wherever it lives now, where it is clear that it moved: it was measured at one
place first and at the other afterwards. What is not clear belongs to nobody until the description says
`moved_from`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.description.identity import slug
from scheduler.description.site import Enclosure, Resident, Site
from scheduler.history import Entry, History, Stay
from scheduler.readings import QUANTITIES

OF_RESIDENTS = tuple(q.name for q in QUANTITIES.values() if q.of == "resident")
"""What is measured of an animal, and not of its enclosure."""


@dataclass(frozen=True, slots=True)
class Unclear:
    """Readings of which nobody can tell whose they are: where and under which id, in which days, and whose
    they may be."""

    enclosure: str
    of: str
    first: dt.date
    last: dt.date
    candidates: tuple[tuple[Enclosure, Resident], ...]


class _Homes:
    """Who lives where, by id and by the id that a name makes."""

    def __init__(self, site: Site) -> None:
        self.enclosures = {e.id: e for e in site.enclosures}
        self.names = {e.name.lower(): e.id for e in site.enclosures}
        self.living = {(e.id, r.id): r for e in site.enclosures for r in e.resident}
        self.called: dict[tuple[str, str], list[Resident]] = {}
        self.anywhere: dict[str, list[tuple[Enclosure, Resident]]] = {}
        for e in site.enclosures:
            for r in e.resident:
                plain = slug(r.name)
                self.called.setdefault((e.id, plain), []).append(r)
                for known in {r.id, plain}:
                    self.anywhere.setdefault(known, []).append((e, r))

    def here(self, enclosure: str, of: str, days: Sequence[dt.date]) -> Resident | None:
        """Return who of an enclosure is meant by an id under which somebody was measured there on some
        days."""
        found = self.living.get((enclosure, of))
        if found is None and len(called := self.called.get((enclosure, of), [])) == 1:
            # One that came later bears the name of somebody else.
            arrived = called[0].arrived
            return called[0] if arrived is None or min(days) >= arrived else None
        return found

    def moved_from(self, resident: Resident) -> set[str] | None:
        """Return the ids of the enclosures from which a resident came, as the keeper says; None where nothing
        is said."""
        if resident.moved_from is None:
            return None
        return {self.names.get(word.lower(), slug(word)) for word in resident.moved_from}


def follow_residents(site: Site, history: History) -> History:
    """Return the history with what was measured of each resident in the enclosure where it lives now."""
    homes, groups = _Homes(site), _groups(history)
    if all((enclosure, of) in homes.living for enclosure, of in groups):
        return history
    moved: dict[tuple[str, str], tuple[Enclosure, Resident]] = {}
    stays: dict[str, dict[str, tuple[Stay, ...]]] = {}
    for (enclosure, of), days in groups.items():
        own = homes.here(enclosure, of, days)
        if own is not None:
            moved[enclosure, of] = homes.enclosures[enclosure], own
    for home in site.enclosures:
        for resident in home.resident:
            found = _former(homes, groups, home, resident)
            moved |= {(stay.enclosure, of): (home, resident) for of, stay in found}
            if found:
                stays.setdefault(home.id, {})[resident.id] = tuple(stay for _, stay in found)

    def placed(entry: Entry) -> Entry:
        at = moved.get((entry.enclosure, entry.of)) if entry.name in OF_RESIDENTS else None
        return entry if at is None else replace(entry, enclosure=at[0].id, of=at[1].id)

    return history.with_readings(map(placed, history.all_readings()), stays)


def unclear(site: Site, history: History) -> Iterator[Unclear]:
    """Yield the readings of animals that may be somebody's, and of which it is not clear whose.

    `history` is as `follow_residents` left it: what is clear is in the enclosure of its resident.
    """
    homes = _Homes(site)
    for (enclosure, of), days in sorted(_groups(history).items()):
        candidates = homes.anywhere.get(of, [])
        if homes.here(enclosure, of, days) is not None or not candidates:
            continue
        asked = [(e, r) for e, r in candidates if r.moved_from is None]
        if asked:
            yield Unclear(enclosure, of, min(days), max(days), tuple(asked))


def linked(site: Site, measured: Iterable[tuple[str, str]], enclosures: Collection[str]) -> set[str]:
    """Return enclosures with those from which their animals came and to which they went.

    `measured` are all (enclosure, id) under which animals were measured.
    """
    homes, found = _Homes(site), set(enclosures)
    together: dict[str, set[str]] = {}
    for enclosure, of in measured:
        if (enclosure, of) not in homes.living:
            places = {e.id for e, _ in homes.anywhere.get(of, [])}
            if places:
                together.setdefault(of, set(places)).add(enclosure)
    grown = True
    while grown:
        grown = False
        for places in together.values():
            if places & found and not places <= found:
                found |= places
                grown = True
    return found


def _groups(history: History) -> dict[tuple[str, str], list[dt.date]]:
    """Return the days on which animals were measured, by enclosure and id."""
    found: dict[tuple[str, str], list[dt.date]] = {}
    for entry in history.all_readings():
        if entry.of and entry.name in OF_RESIDENTS:
            found.setdefault((entry.enclosure, entry.of), []).append(entry.day)
    return found


def _former(
    homes: _Homes, groups: Mapping[tuple[str, str], list[dt.date]], home: Enclosure, resident: Resident
) -> list[tuple[str, Stay]]:
    """Return where a resident was measured before, each with the id under which it was; the earliest
    first."""
    said = homes.moved_from(resident)
    known = {resident.id, slug(resident.name)}
    spans: list[tuple[dt.date, dt.date, str, str]] = []
    here: list[dt.date] = []
    for (enclosure, of), days in groups.items():
        if of not in known:
            continue
        owner = homes.here(enclosure, of, days)
        if owner is resident and enclosure == home.id:
            here += days
        # Where two could have the id, only the description can say whose it was.
        sure = of == resident.id and len(homes.anywhere[of]) == 1 if said is None else enclosure in said
        if owner is None and sure:
            spans.append((min(days), max(days), enclosure, of))
    if said is None:
        spans = [span for span in spans if _is_move(span, spans, here, resident)]
    found: list[tuple[str, Stay]] = []
    following = resident.here_since or min(here, default=dt.date.max)
    for first, last, enclosure, of in sorted(spans, reverse=True):
        until = following if following > last else last + dt.timedelta(days=1)
        found.append((of, Stay(enclosure, first, until)))
        following = first
    found.reverse()
    if found and resident.arrived is not None:
        of, stay = found[0]
        found[0] = of, replace(stay, first=min(stay.first, resident.arrived))
    return found


def _is_move(
    span: tuple[dt.date, dt.date, str, str],
    others: Sequence[tuple[dt.date, dt.date, str, str]],
    here: Sequence[dt.date],
    resident: Resident,
) -> bool:
    """Tell whether an animal was measured at a place, and only afterwards at the next and where it lives now.

    Measured here and there in turn it went back and forth, or there are two of one name.
    """
    first, last = span[:2]
    if (here and last >= min(here)) or (resident.born is not None and first < resident.born):
        return False
    return not any(other is not span and first <= other[1] and other[0] <= last for other in others)
