"""The last reading of each quantity of an enclosure, and what is to be said of it in a word."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from scheduler.care.consequences import consequences
from scheduler.care.engine.case import Case
from scheduler.care.verdicts import VERDICTS, Verdict
from scheduler.care.watch.alarms import verdict_on_last
from scheduler.history import Entry
from scheduler.readings import QUANTITIES


@dataclass(frozen=True, slots=True)
class NewestReading:
    """The last reading of a quantity of an enclosure; `verdict` is None where no limit is known for it."""

    entry: Entry
    verdict: Verdict | None


_LIMITS_KNOWN: Mapping[str, Callable[[Case], bool]] = {
    "temperature": lambda case: case.water_band is not None and not case.enclosure.outdoors,
    "basking": lambda case: case.basking_band is not None,
    "ammonia": lambda case: bool(case.enclosure.resident),
    "nitrite": lambda case: bool(case.enclosure.resident),
    "nitrate": lambda case: bool(case.enclosure.resident),
    "ph": lambda case: bool(case.enclosure.resident),
    "alkalinity": lambda case: bool(case.enclosure.resident),
}
"""The quantities whose last reading a rule judges by itself, in the order in which they are read off, and
whether the enclosure has what it is held against."""


def newest_readings(case: Case) -> list[NewestReading]:
    """Return the last reading of each quantity that is of the whole enclosure: those that a rule judges
    first."""
    of_enclosure = [name for name, kind in QUANTITIES.items() if not kind.of and name not in _LIMITS_KNOWN]
    return [*_newest(case, (*_LIMITS_KNOWN, *of_enclosure))]


def _newest(case: Case, names: tuple[str, ...]) -> Iterator[NewestReading]:
    found = consequences(case)
    for name in names:
        readings = case.readings(name)
        if not readings or readings[-1].value is None:
            continue
        verdict: Verdict | None = None
        if name in _LIMITS_KNOWN:
            judged = [one.verdict for one in found if one.judges == name]
            own = verdict_on_last(case, name) if name in {"ammonia", "nitrite", "nitrate"} else None
            judged += [own] if own is not None else []
            judged += ["fine"] if _LIMITS_KNOWN[name](case) else []
            verdict = min(judged, key=VERDICTS.index, default=None)
        yield NewestReading(readings[-1], verdict)
