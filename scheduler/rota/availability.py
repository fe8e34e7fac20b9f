"""Who is there on which day, for how long, and may do what."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from functools import cache

from scheduler.description.fields import WEEKDAY_NAMES
from scheduler.description.site import Keeper, Site, can_do
from scheduler.rota.model import Past

Absences = Mapping[str, Sequence[tuple[dt.date, dt.date]]]
"""Spans, both days included, on which keepers cannot come besides what the description says, by id."""

WHOLE_DAY = 1440


class Availability:
    """The keepers of a site and their days."""

    def __init__(
        self,
        site: Site,
        absent: Absences | None = None,
        today: dt.date | None = None,
        past: Past | None = None,
        most: int | None = None,
    ) -> None:
        """Take the keepers of a site, or the `most` to whom most is due.

        What they have done today is used up already.
        """
        self.site = site
        done = past or Past()
        # By what they can and did, and by their names only where nothing else tells them apart: a rota does
        # not change with a name.
        self.keepers = tuple(sorted(site.keepers, key=lambda k: _order(k, absent or {}, done)))
        self.few = most is not None and len(self.keepers) > most
        if most is not None and self.few:
            self.keepers = _most_due(self.keepers, most, done)
        self._weekdays = {
            k.id: frozenset(WEEKDAY_NAMES.index(d) for d in k.weekdays) if k.weekdays else frozenset(range(7))
            for k in site.keepers
        }
        self._away = {
            k.id: (*((s.first, s.last) for s in k.away), *(absent or {}).get(k.id, ())) for k in site.keepers
        }
        self.today = today or dt.date.min
        self._done_today = done.today
        self.able = cache(self._able)
        self._comes: dict[tuple[str, dt.date], bool] = {}

    def away(self, keeper: Keeper, day: dt.date) -> bool:
        """Tell whether a keeper is away on a day."""
        return any(first <= day <= last for first, last in self._away[keeper.id])

    def comes(self, keeper: Keeper, day: dt.date) -> bool:
        """Tell whether a day is one of the keeper's, who is not away."""
        known = self._comes.get((keeper.id, day))
        if known is None:
            known = day.weekday() in self._weekdays[keeper.id] and not self.away(keeper, day)
            self._comes[keeper.id, day] = known
        return known

    def minutes(self, keeper: Keeper, day: dt.date) -> int:
        """Return the minutes that a keeper has on a day; a whole day where no limit is given."""
        if not self.comes(keeper, day):
            return 0
        limit = WHOLE_DAY if keeper.minutes is None else keeper.minutes
        return max(0, limit - (self._done_today.get(keeper.id, 0) if day == self.today else 0))

    def _able(self, skills: tuple[str, ...]) -> tuple[int, ...]:
        """Return the numbers of the keepers who have the skills."""
        return tuple(n for n, keeper in enumerate(self.keepers) if can_do(self.site, keeper, skills))


def _order(keeper: Keeper, absent: Absences, past: Past) -> tuple[object, ...]:
    away = sorted([*((s.first, s.last) for s in keeper.away), *absent.get(keeper.id, ())])
    return (
        sorted(WEEKDAY_NAMES.index(day) for day in keeper.weekdays or ()),
        keeper.minutes or 0,
        -keeper.share,
        sorted(keeper.can or ()),
        away,
        keeper.rounds_a_week or 0,
        sorted(keeper.prefers),
        sorted(keeper.avoids),
        past.ahead.get(keeper.id, 0.0),
        past.today.get(keeper.id, 0),
        past.out.get(keeper.id, 0),
        keeper.id,
    )


def _most_due(keepers: Sequence[Keeper], most: int, past: Past) -> tuple[Keeper, ...]:
    """Return so many keepers in their order: by turns one of each set of days and skills, those who did least
    first."""
    sets: dict[tuple[object, ...], list[Keeper]] = {}
    for keeper in keepers:
        alike = tuple(sorted(keeper.weekdays or ())), tuple(sorted(keeper.can or ())), keeper.minutes
        sets.setdefault(alike, []).append(keeper)
    for own in sets.values():
        own.sort(key=lambda k: (past.ahead.get(k.id, 0.0), k.id))
    turns = sorted(
        (place, number, keeper.id)
        for number, own in enumerate(sets.values())
        for place, keeper in enumerate(own)
    )
    chosen = {name for _, _, name in turns[:most]}
    return tuple(keeper for keeper in keepers if keeper.id in chosen)
