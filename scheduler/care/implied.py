"""Jobs that are done by recording what they measure: who writes the values down need not say so twice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator

from scheduler.care import asked
from scheduler.care.asked import UNFINISHED, AskedQuantity
from scheduler.care.house import House
from scheduler.care.watch.cycling import passed_on
from scheduler.description.site import Enclosure, Site
from scheduler.history import Entry, History


def with_implied(site: Site, history: History, enclosures: Collection[str] | None = None) -> History:
    """Return the history with the jobs that readings imply as done, in all enclosures or in some.

    Nitrate, or ammonia and nitrite, are a water test; ammonia and nitrite a cycle test; a UVI is a UVI
    reading; the weights of all residents that have arrived a weighing. On a day on which a sheet of such a
    job was left unfinished it takes all that the job needs.
    """
    if history.begun is None:
        return history
    house = House(site.settings.house_values)
    wanted = [e for e in site.enclosures if enclosures is None or e.id in enclosures]
    return history.adding(entry for enclosure in wanted for entry in _implied(enclosure, history, house))


def _implied(enclosure: Enclosure, history: History, house: House) -> Iterator[Entry]:
    by_day: dict[dt.date, dict[tuple[str, str], Entry]] = {}
    for reading in history.measured(enclosure.id):
        by_day.setdefault(reading.day, {})[reading.name, reading.of] = reading
    quarantined = any(r.quarantine for r in enclosure.resident)
    recorded = {(e.name, e.day) for e in history.done(enclosure.id)}
    cycling_until = _cycling_until(enclosure, history, house)
    for day, read in sorted(by_day.items()):
        there = {AskedQuantity(name, of) for name, of in read}
        last = max(read.values(), key=lambda e: e.moment)
        cycling = day <= cycling_until
        for key, asks, may_be in (
            ("cycle-test", asked.CYCLE_TEST, cycling),
            ("water-test", asked.WATER_TEST, not cycling),
            ("uvi-reading", asked.uvi(enclosure), True),
            ("weigh-measure", asked.weights(enclosure), True),
            ("quarantine-weigh", asked.weights(enclosure), quarantined),
        ):
            unfinished = AskedQuantity(UNFINISHED, key) in there
            if may_be and (key, day) not in recorded and asks.met_by(there, day, unfinished=unfinished):
                yield Entry(
                    kind="done",
                    enclosure=enclosure.id,
                    name=key,
                    day=day,
                    keeper=last.keeper,
                    note="recorded by its readings",
                    recorded=last.recorded,
                    number=last.number,
                )


def _cycling_until(enclosure: Enclosure, history: History, house: House) -> dt.date:
    """Return the last day on which the tests are those of a new filter."""
    if enclosure.cycled is False:
        return passed_on(enclosure, history, house) or dt.date.max
    return enclosure.cycled if isinstance(enclosure.cycled, dt.date) else dt.date.min
