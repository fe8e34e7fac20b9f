"""When the biofilter works: two clean tests in a row while nitrate rises, of water that had ammonia to work
on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from scheduler.care import limits
from scheduler.care.engine.case import Case
from scheduler.care.house import House
from scheduler.care.watch.registry import Consequence, watch
from scheduler.description.site import Enclosure
from scheduler.history import Entry, History
from scheduler.sources import Source

APART_HOURS = 24.0

CYCLE_PASS = Source(
    "two tests a day or more apart with ammonia and nitrite clean and nitrate rising, at full ration",
    "house value",
)


DOSE = "ammonia-dose"
"""The key of the job, and the name in the log, of a dose of ammonia."""

GONE_DAYS = 2
"""The last dose of ammonia is so many days before an animal comes. House value."""

FISHLESS_PASS = Source(
    "without animals: a dose is gone by the next day's test, twice running, and nitrate rises", "house value"
)


def has_animals(enclosure: Enclosure, day: dt.date | None = None) -> bool:
    """Tell whether animals are there on a day, or at any time."""
    return any(r.here_from is None or day is None or r.here_from <= day for r in enclosure.resident)


def worth_changing_from(case: Case) -> dt.date | None:
    """Return the day from which there is something in the water to change: since the first animal came, or
    the filter works.

    `date.max` while nobody knows; the day from which intervals count where no new filter is known of.
    """
    e = case.enclosure
    if e.cycled is None or e.cycled is True or has_animals(e, case.anchor or dt.date.min):
        return case.anchor
    days = [r.here_from for r in e.resident if r.here_from is not None]
    if isinstance(e.cycled, dt.date):
        days.append(e.cycled)
    return max(min(days, default=dt.date.max), case.anchor or dt.date.min)


def in_step(anchor: dt.date | None, first: dt.date, days: int) -> dt.date:
    """Return the first day from `first` on that is whole intervals after an anchor: what begins later keeps
    its weekday and its place."""
    if anchor is None or first <= anchor:
        return first
    return anchor + dt.timedelta(days=-(-(first - anchor).days // days) * days)


def passed_on(enclosure: Enclosure, history: History, house: House) -> dt.date | None:
    """Return the day of the second of two clean tests in a row, a day or more apart, with nitrate risen; None
    without.

    A test is a day on which ammonia and nitrite were both read; a high one alone is a test too, and not a
    clean one. A clean one counts only of water that had ammonia: see `_had_ammonia`. `house` has the limits
    of what is clean. That the full ration was fed meanwhile is the keeper's word: no reading tells.
    """
    readings = history.measured(enclosure.id)
    clean: Entry | None = None
    for test, ok in _tests(readings, house):
        if not ok or not _had_ammonia(enclosure, history, house, test.day):
            clean = None
        elif clean is None:
            clean = test
        elif _hours(clean, test) >= APART_HOURS and _nitrate_risen(readings, test.day):
            return test.day
    return None


def _had_ammonia(enclosure: Enclosure, history: History, house: House, day: dt.date) -> bool:
    """Tell whether the water of a test had ammonia for a filter to remove: an unfed tank is as clean, and no
    filter works in it.

    From animals it comes all the time. Where none are, a dose of the day before has to be gone; of a record
    without any dose a reading of ammonia or nitrite that was high has to say that there was some.
    """
    if has_animals(enclosure, day):
        return True
    doses = [e.day for e in history.done(enclosure.id, DOSE) if e.day < day]
    if doses:
        return (day - doses[-1]).days == 1
    return any(
        e.day < day and not limits.is_clean(house, e.name, e.value or 0.0)
        for e in history.measured(enclosure.id)
        if e.name in ("ammonia", "nitrite")
    )


def starts_on_doses(case: Case) -> bool:
    """Tell whether a new filter begins without animals, so that its ammonia has to be dosed."""
    e = case.enclosure
    return e.cycled is False and e.set_up is not None and not has_animals(e, e.set_up)


def may_dose(case: Case, day: dt.date) -> bool:
    """Tell whether ammonia may be dosed on a day: never in water with an animal, and the last dose is gone
    before one comes."""
    return starts_on_doses(case) and not has_animals(case.enclosure, day + dt.timedelta(days=GONE_DAYS))


def next_dose(case: Case) -> dt.date | None:
    """Return the day on which ammonia is dosed again: that of the last test, if the dose before it is gone;
    None otherwise."""
    tests = case.readings("ammonia")
    if not tests or not may_dose(case, tests[-1].day):
        return None
    last = tests[-1]
    gone = limits.is_clean(case.house, "ammonia", last.value or 0.0)
    return last.day if gone and not any(e.moment >= last.moment for e in case.done(DOSE)) else None


def _tests(readings: Sequence[Entry], house: House) -> Iterator[tuple[Entry, bool]]:
    """Yield the last reading of each day on which both were read, or one was high, and whether both were
    clean."""
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
    fed = _had_ammonia(case.described, case.history, case.house, last.day)
    inhabited = has_animals(case.described, last.day)
    day = passed_on(case.described, case.history, case.house)
    if day is not None:
        yield Consequence(
            key="cycle-test",
            verdict="fine",
            reading=(
                "Ammonia and nitrite were clean in two tests a day or more apart, the second on "
                f"{case.date(day)}, and nitrate rose."
            ),
            rule="The filter works, if the full ration was fed meanwhile."
            if inhabited
            else "The filter works. Before animals come change most of the water once.",
            source=CYCLE_PASS if inhabited else FISHLESS_PASS,
            plan=(
                f"The daily cycle test ends, the weekly water test begins. Write cycled = {day.isoformat()} "
                "into the description."
            ),
        )
    elif clean and not fed:
        yield Consequence(
            key="cycle-test",
            verdict="look",
            reading=f"Ammonia and nitrite were clean on {case.date(last.day)}, in water without animals.",
            rule="That says nothing of the filter: no dose of ammonia is recorded for the day before.",
            source=FISHLESS_PASS,
            plan="Dose ammonia, record the dose, and test on the next day.",
            gist="clean tests without ammonia; dose, and test again",
        )
    elif clean:
        lacks = [] if len(tests) > 1 and tests[-2][1] else ["a second clean test a day or more later"]
        if not _nitrate_risen(readings, last.day):
            lacks.append("nitrate that rises")
        yield Consequence(
            key="cycle-test",
            verdict="look",
            reading=f"Ammonia and nitrite were clean on {case.date(last.day)}.",
            rule=(
                "For a working filter this still lacks "
                f"{' and '.join(lacks) or 'a day between the two tests'}."
            ),
            source=CYCLE_PASS if inhabited else FISHLESS_PASS,
            plan="Go on with the daily cycle test.",
            gist="the start-up of a filter goes on",
        )
