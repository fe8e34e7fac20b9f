"""Ammonia and nitrite: how poisonous a reading is, which change of water helps, and when it is over."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from scheduler.care.case import Case
from scheduler.care.limits import (
    ACID_PH,
    ACID_SHARE,
    LEAST_SHARE,
    MOST_SHARE,
    ammonia_step,
    nitrite_step,
)
from scheduler.care.verdicts import Verdict
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.handbook import ammonia, disinfectant
from scheduler.history import Entry
from scheduler.sources import Source

SAFE_PH, SAFE_C = 8.0, 26.0
"""pH and degC to reckon with where nobody measured either: on the safe side. House values."""

PH_DAYS, WATER_DAYS = 30, 7
"""A pH, and a water temperature, that old still stand for the day of an ammonia test. House values."""

LET_GO = 0.1
"""Of an extra change that was made too small, less than this share of the water is not asked for again. House value."""

HELPS = 0.5
"""A change is asked for while new water brings at most this share of the ammonia that stands in the tank: half the water then
takes a quarter of it out. Where it brings more the ammonia is bound. House value."""

TESTS_AFTER = {"act": (1, 2, 4), "look": (1, 2)}
"""Days after an alarm on which the water is tested again. House values."""

TESTS_ACID = (1, 2, 3, 4)
"""The same for ammonia in acid water, where each day's change waits for its test. House value."""

CLEAN_DAYS = 2
"""An alarm is over when tests of so many days were clean. House value."""

EXTRA = Source(
    "an extra change of 25 to 50 % and tests on the days after, until two are clean", "house value"
)


@dataclass(frozen=True, slots=True)
class Alarm:
    """A reading over its limit: what was read, how bad it is, how that came about, and the share of water to change.

    `share` is 0 where no change helps; `first` is what is to be done before any change, `pace` how the changes go on; "" for
    nothing. `changed_on` are the
    days of the changes since the reading, by the hour where it is known, and `left` is the share that they leave to change.
    """

    what: str
    entry: Entry
    verdict: Verdict
    reading: str
    rule: str
    source: Source
    share: float
    first: str
    pace: str
    changed_on: tuple[dt.date, ...]
    left: float
    tests: tuple[int, ...]

    @property
    def day(self) -> dt.date:
        """Return the day of the reading."""
        return self.entry.day

    @property
    def tested_on(self) -> tuple[dt.date, ...]:
        """Return the days on which the water is tested again."""
        return tuple(self.day + dt.timedelta(days=d) for d in self.tests)


@dataclass(frozen=True, slots=True)
class Watched:
    """The alarms of an enclosure that are not over, one for each substance at most; and the day on which others ended.

    `unfed_since` is the first day of the alarms since which no test was clean, or another substance was high; None where a
    test was clean since.
    """

    open: tuple[Alarm, ...]
    ended: tuple[tuple[str, dt.date], ...]
    unfed_since: dt.date | None


@once
def alarms(case: Case) -> Watched:
    """Return the alarms of an enclosure: none while nobody lives in it, since a filter is started on ammonia."""
    found: list[Alarm] = []
    ended: list[tuple[str, dt.date]] = []
    high: list[tuple[dt.date, dt.date]] = []
    for what in ("ammonia", "nitrite"):
        current: Alarm | None = None
        over: dt.date | None = None
        since: dt.date | None = None
        clean: list[dt.date] = []
        for reading in case.readings(what):
            if not _inhabited(case, reading.day):
                continue
            alarm = _judged(case, what, reading)
            if alarm is not None:
                if what == "ammonia" and since is not None and not alarm.first:
                    alarm = replace(alarm, first=_ask_the_tap(case, since, reading))
                current, clean, over, since = alarm, [], None, since or reading.day
            elif current is not None and reading.day > current.day and reading.day not in clean:
                clean.append(reading.day)
                if since is not None:
                    high.append((since, reading.day))
                    since = None
                if len(clean) == CLEAN_DAYS:
                    current, over = None, reading.day
        if current is not None:
            found.append(current)
        if over is not None:
            ended.append((what, over))
        if since is not None:
            high.append((since, dt.date.max))
    return Watched(tuple(found), tuple(ended), _unfed_since(high))


def _unfed_since(high: Iterable[tuple[dt.date, dt.date]]) -> dt.date | None:
    """Return the beginning of the spans that run into each other up to one that goes on; None where all have ended."""
    began = ended = dt.date.min
    for first, last in sorted(high):
        if first > ended:
            began = first
        ended = max(ended, last)
    return began if ended == dt.date.max else None


def _inhabited(case: Case, day: dt.date) -> bool:
    arrivals = [r.arrived for r in case.enclosure.resident]
    return any(arrived is None or arrived <= day for arrived in arrivals)


def _judged(case: Case, what: str, reading: Entry) -> Alarm | None:
    value = reading.value or 0.0
    return _ammonia(case, reading, value) if what == "ammonia" else _nitrite(case, reading, value)


def _nitrite(case: Case, reading: Entry, value: float) -> Alarm | None:
    step = nitrite_step(case.house, value)
    if step is None:
        return None
    verdict, name = step
    share = _share(value, case.house.nitrite_look)
    changed_on, left = _changed(case, reading, share)
    return Alarm(
        what="nitrite",
        entry=reading,
        verdict=verdict,
        reading=f"Nitrite was {case.reading('nitrite', value)} on {case.date(reading.day)}.",
        rule=case.house.limit(name),
        source=case.house.source(name),
        share=share,
        first="",
        pace="",
        changed_on=changed_on,
        left=left,
        tests=TESTS_AFTER[verdict],
    )


def _ammonia(case: Case, reading: Entry, value: float) -> Alarm | None:
    house = case.house
    ph, ph_from = _ph(case, reading)
    celsius, celsius_from = _water(case, reading)
    conditions = f"at pH {case.numeral(ph)} ({ph_from}) and {case.degrees(celsius)} ({celsius_from})"
    try:
        harmful = ammonia.unionised_share(ph, celsius)
    except ValueError:
        # Outside the formula's range only the amount itself counts.
        harmful = 0.0
    step = ammonia_step(house, value, value * harmful)
    if step is None:
        return None
    verdict, name = step
    in_all = name == "ammonia_clean"
    # Both limits as amounts in all, so that they can be held against what new water brings; the stricter is to be reached, or
    # more ammonia would ask for less of a change.
    limit = house.ammonia_clean if in_all else min(house.ammonia_clean, house.ammonia_look / harmful)
    new = _brought(case)
    share, first, pace = _share(value, limit, new), "", ""
    if new > HELPS * value:
        share, first = 0.0, _bind(case, new)
    elif ph < ACID_PH:
        share, first, pace = ACID_SHARE, BIND_FIRST, A_FIFTH
    changed_on, left = _changed(case, reading, share)
    emerson = not in_all and not house.own(name)
    return Alarm(
        what="ammonia",
        entry=reading,
        verdict=verdict,
        reading=f"Ammonia was {case.reading('ammonia', value)} on {case.date(reading.day)}; {conditions} {_little(case, value * harmful)} of it is un-ionised, the part that harms.",
        rule=house.limit(name) if not in_all else f"{house.limit(name)[:-1]} in all.",
        source=ammonia.EMERSON if emerson else house.source(name),
        share=share,
        first=first,
        pace=pace,
        changed_on=changed_on,
        left=left,
        tests=TESTS_ACID if ph < ACID_PH else TESTS_AFTER[verdict],
    )


BIND_FIRST = (
    f"Under pH {ACID_PH:g} little of the ammonia harms, but new water lifts the pH, and that part with it: bind the ammonia in the "
    "tank first, with a conditioner that binds ammonia, by its label."
)
A_FIFTH = f"Then change {ACID_SHARE * 100:.0f} % a day, with a test of pH and ammonia before each."


def _bind(case: Case, new: float) -> str:
    assumed = (
        "" if case.site.place.tap_water.disinfectant_level is not None else ", at the level that is assumed,"
    )
    return (
        f"Changing water does not help: the chloramine of the tap{assumed} leaves {_little(case, new)} mg/L of ammonia in new water. Bind it "
        "in the tank with a conditioner that binds ammonia, by its label, and so in all new water; or take water without chloramine. "
        "See that the filter runs; it takes the rest out. Some kits go on showing what is bound: ask for one that tells free ammonia."
    )


def _ask_the_tap(case: Case, since: dt.date, reading: Entry) -> str:
    """Return what to look into where changes have not ended an alarm and nobody knows what the tap carries; "" otherwise."""
    made = [e for e in case.done("water-change") if e.day >= since and not _follows(e, reading)]
    if not made or case.site.place.tap_water.disinfectant != "unknown":
        return ""
    most = disinfectant.freed_ammonia_mg_l(case.chlorine_level)
    return (
        f"It is high after a change too: test new water for ammonia, once it is treated. If the tap carries chloramine that is up to "
        f"{_little(case, most)} mg/L: then a conditioner that binds ammonia, by its label, helps, and a change does not."
    )


def _brought(case: Case) -> float:
    """Return the ammonia, mg/L as N, that new water is known to bring: what its chloramine leaves when it is neutralised.

    A tap of which nobody knows what it carries counts as free of it here: a change that may help is better than none.
    """
    if case.site.place.tap_water.disinfectant != "chloramine":
        return 0.0
    return disinfectant.freed_ammonia_mg_l(case.chlorine_level)


def _changed(case: Case, reading: Entry, share: float) -> tuple[tuple[dt.date, ...], float]:
    """Return the days of the changes since a reading, and what they leave of the share that it asks for, to 5 %.

    Two changes of a quarter take out 44 % and not half: what stays is multiplied.
    """
    made = [e for e in case.done("water-change") if _follows(e, reading)]
    kept = math.prod(1.0 - (case.change_share if e.value is None else e.value) for e in made)
    left = 1.0 - (1.0 - share) / kept if kept > 0.0 else 0.0
    days = tuple(dict.fromkeys(e.day for e in made))
    if not made:
        return days, share
    return days, 0.0 if left < LET_GO else min(share, _to_a_twentieth(left))


def _follows(change: Entry, reading: Entry) -> bool:
    """Tell whether a change was made after a reading: by the hour where both have one, else in the order of recording."""
    if change.day != reading.day:
        return change.day > reading.day
    if change.time is not None and reading.time is not None and change.time != reading.time:
        return change.time > reading.time
    return change.number > reading.number


def _little(case: Case, mg_l: float) -> str:
    """Return an amount in mg/L to two figures, as plain digits: the limits for it are a few hundredths."""
    return (
        f"under {case.numeral(0.001)}"
        if mg_l < 0.001
        else f"{case.numeral(mg_l, '.2g')}"
        if mg_l < 10
        else f"{mg_l:.0f}"
    )


def _share(value: float, limit: float, new: float = 0.0) -> float:
    """Return the share of water that brings a value down to its limit, to 5 %, a quarter at least and half at most.

    Mixed water: (1 - share) x value + share x new = limit, where `new` is what new water brings; all in mg/L.
    """
    needed = (value - limit) / (value - new) if new < limit < value else 1.0 if new >= limit else 0.0
    return min(MOST_SHARE, max(LEAST_SHARE, _to_a_twentieth(needed)))


def _to_a_twentieth(share: float) -> float:
    return math.ceil(share * 20.0 - 1e-9) / 20.0


def _ph(case: Case, reading: Entry) -> tuple[float, str]:
    near = _nearest(case.readings("ph"), reading, PH_DAYS)
    if near is not None and near.value is not None:
        return near.value, "measured" if near.day == reading.day else f"of {case.date(near.day)}"
    tap = case.site.place.tap_water.ph
    return (tap, "of the tap") if tap is not None else (SAFE_PH, "not measured, the safe side")


def _water(case: Case, reading: Entry) -> tuple[float, str]:
    near = _nearest(case.readings("temperature"), reading, WATER_DAYS)
    if near is not None and near.value is not None:
        return near.value, "measured" if near.day == reading.day else f"of {case.date(near.day)}"
    if case.set_to_c is not None:
        return case.set_to_c, "as the heater is set"
    return SAFE_C, "not measured, the safe side"


def _nearest(found: list[Entry], reading: Entry, days: int) -> Entry | None:
    """Return the last reading of the same day, else the last one before it that is not older than so many days."""
    usable = [e for e in found if 0 <= (reading.day - e.day).days <= days]
    return usable[-1] if usable else None


@watch
def told(case: Case) -> Iterator[Consequence]:
    """Say what alarms there are, and what ended."""
    watched = alarms(case)
    for alarm in watched.open:
        yield Consequence(
            key="water-change",
            verdict=alarm.verdict,
            reading=alarm.reading,
            rule=alarm.rule,
            source=alarm.source,
            plan=_plan(case, alarm, alone=all(a is alarm or not a.left for a in watched.open)),
        )
    for what, day in watched.ended:
        yield Consequence(
            key="water-test",
            verdict="fine",
            reading=f"{what.capitalize()} was clean in the tests of two days, the second on {case.date(day)}.",
            rule="The alarm is over.",
            source=EXTRA,
            plan="Extra changes and tests are no longer planned for it.",
        )


def _plan(case: Case, alarm: Alarm, *, alone: bool) -> str:
    """Say what is done about an alarm; one that is not alone has its changes with the other substance's, where those are larger."""
    change = "" if switched_off(case, "water-change") or not alarm.share else _change(case, alarm)
    pace = alarm.pace
    if pace and not alone:
        change, pace = "", "The change that nitrite asks for comes after that, with a test of pH before it."
    days = [case.date(day) for day in alarm.tested_on]
    if case.described.cycled is False and case.enclosure.cycled is False:
        tests = "" if switched_off(case, "cycle-test") else "the cycle test goes on daily"
    elif switched_off(case, "water-test"):
        tests = ""
    else:
        tests = f"tests follow on {', '.join(days[:-1])} and {days[-1]}, until two are clean"
    said = "; ".join(filter(None, (change, tests)))
    return " ".join(filter(None, (alarm.first, pace, said[:1].upper() + said[1:] + "." if said else "")))


def _change(case: Case, alarm: Alarm) -> str:
    """Say whether the extra change is due, in part or not any more."""
    if not alarm.changed_on:
        return f"An extra change of {alarm.share * 100:.0f} % is due at once"
    last = case.date(alarm.changed_on[-1])
    if alarm.left:
        return f"The change of {last} was less than the {alarm.share * 100:.0f} % that it takes: another {alarm.left * 100:.0f} % is due at once"
    return f"The extra change of {alarm.share * 100:.0f} % was done on {last}"
