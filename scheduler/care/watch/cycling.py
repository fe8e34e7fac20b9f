"""When the biofilter works: two clean tests in a row while nitrate rises."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from scheduler.care import limits
from scheduler.care.case import Case
from scheduler.care.house import House
from scheduler.care.watch.registry import Consequence, watch
from scheduler.history import Entry
from scheduler.sources import Source

APART_HOURS = 24.0

CYCLE_PASS = Source(
    "two tests a day or more apart with ammonia and nitrite clean and nitrate rising, at full ration",
    "house value",
)


def passed_on(readings: Sequence[Entry], house: House) -> dt.date | None:
    """Return the day of the second of two clean tests in a row, a day or more apart, with nitrate risen; None without.

    A test is a day on which ammonia and nitrite were both read; a high one alone is a test too, and not a clean one.
    `readings` are in the order of days; `house` has the limits of what is clean. That the full ration was fed meanwhile is the keeper's word: no reading tells.
    """
    clean: Entry | None = None
    for test, ok in _tests(readings, house):
        if not ok:
            clean = None
        elif clean is None:
            clean = test
        elif _hours(clean, test) >= APART_HOURS and _nitrate_risen(readings, test.day):
            return test.day
    return None


def _tests(readings: Sequence[Entry], house: House) -> Iterator[tuple[Entry, bool]]:
    """Yield the last reading of each day on which both were read, or one was high, and whether both were clean."""
    by_day: dict[dt.date, dict[str, Entry]] = {}
    for reading in readings:
        if reading.name in ("ammonia", "nitrite"):
            by_day.setdefault(reading.day, {})[reading.name] = reading
    for _, read in sorted(by_day.items()):
        clean = all(limits.is_clean(house, e.name, e.value or 0.0) for e in read.values())
        if len(read) == 2 or not clean:
            yield max(read.values(), key=lambda e: e.moment), clean


def _hours(first: Entry, second: Entry) -> float:
    days = (second.day - first.day).days
    if first.time is None or second.time is None:
        # Without an hour the next day counts as a day later.
        return days * 24.0
    return (
        days * 24.0 + (second.time.hour - first.time.hour) + (second.time.minute - first.time.minute) / 60.0
    )


def _nitrate_risen(readings: Sequence[Entry], until: dt.date) -> bool:
    found = [e.value for e in readings if e.name == "nitrate" and e.day <= until and e.value is not None]
    return len(found) >= 2 and found[-1] > found[0]


@watch
def cycled(case: Case) -> Iterator[Consequence]:
    """Say that the biofilter works, or what is still missing."""
    if case.described.cycled is not False:
        return
    readings = case.history.measured(case.enclosure.id)
    tests = list(_tests(readings, case.house))
    if not tests:
        return
    last, clean = tests[-1]
    day = passed_on(readings, case.house)
    if day is not None:
        yield Consequence(
            key="cycle-test",
            verdict="fine",
            reading=f"Ammonia and nitrite were clean in two tests a day or more apart, the second on {case.date(day)}, and nitrate rose.",
            rule="The filter works, if the full ration was fed meanwhile.",
            source=CYCLE_PASS,
            plan=f"The daily cycle test ends, the weekly water test begins. Write cycled = {day.isoformat()} into the description.",
        )
    elif clean:
        lacks = [] if len(tests) > 1 and tests[-2][1] else ["a second clean test a day or more later"]
        if not _nitrate_risen(readings, last.day):
            lacks.append("nitrate that rises")
        yield Consequence(
            key="cycle-test",
            verdict="look",
            reading=f"Ammonia and nitrite were clean on {case.date(last.day)}.",
            rule=f"For a working filter this still lacks {' and '.join(lacks) or 'a day between the two tests'}.",
            source=CYCLE_PASS,
            plan="Go on with the daily cycle test.",
        )
