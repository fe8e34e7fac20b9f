"""Ammonia and nitrite: how poisonous a reading is, which change of water helps, and when it is over."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scheduler.care.change_interval import nitrate_limit, tap_is_over, tap_nitrate, usual_share
from scheduler.care.conditions import ph_after, ph_at, water_at
from scheduler.care.engine.case import Case
from scheduler.care.limits import (
    ACID_PH,
    ACID_SHARE,
    LEAST_SHARE,
    MOST_SHARE,
    ammonia_ceiling,
    ammonia_step,
    nitrite_step,
)
from scheduler.care.verdicts import Verdict
from scheduler.care.watch.alarm_words import (
    A_FIFTH,
    BIND_FIRST,
    OTHER_WATER,
    follows,
    little_in_words,
    words_on_the_tap,
    words_to_bind,
)
from scheduler.care.watch.cycling import has_animals
from scheduler.care.watch.registry import once
from scheduler.handbook import ammonia
from scheduler.history import Entry
from scheduler.sources import Source

LET_GO = 0.1
"""Of an extra change that was made too small, less than this share of the water is not asked for again.

House value.
"""


HELPS = 0.5
"""A change is asked for while new water brings at most this share of the ammonia that stands in the tank:
half the water then takes a quarter of it out. Where it brings more the ammonia is bound. House value.
"""


TESTS_AFTER = {"act": (1, 2, 4), "look": (1, 2)}
"""Days after an alarm on which the water is tested again. House values."""

TESTS_ACID = (1, 2, 3, 4)
"""The same for ammonia in acid water, where each day's change waits for its test. House value."""

POISONS = ("ammonia", "nitrite")
"""What poisons within hours: tests follow an alarm, and nothing is fed. Nitrate does not."""

CLEAN_DAYS = 2
"""An alarm is over when tests of so many days were clean. House value."""

EXTRA = Source(
    "an extra change of 25 to 50 % and tests on the days after, until two are clean", "house value"
)


@dataclass(frozen=True, slots=True)
class Alarm:
    """A reading over its limit: what was read, how bad it is, how that came about, and the share of water to
    change.

    `share` is 0 where no change helps; `first` is what is to be done before any change, `pace` how the
    changes go on, `asks` what to look into where they have not helped; "" for nothing. `changed_on` are the
    days of the changes since the reading, by the hour where it is known, and `left` is the share that they
    leave to change.
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
    asks: str
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
    """The alarms of an enclosure that are not over, one for each substance at most; and the day on which
    others ended.

    `unfed_since` is the first day of the alarms since which no test was clean, or another substance was high;
    None where a test was clean since.
    """

    open: tuple[Alarm, ...]
    ended: tuple[tuple[str, dt.date], ...]
    unfed_since: dt.date | None


@once
def alarms(case: Case) -> Watched:
    """Return the alarms of an enclosure: none while nobody lives in it, since a filter is started on
    ammonia."""
    courses = {what: _course(case, what) for what in ("ammonia", "nitrite", "nitrate")}
    poisons = {what: courses[what] for what in POISONS}
    return Watched(
        open=tuple(course.open for course in courses.values() if course.open is not None),
        ended=tuple((what, course.over) for what, course in poisons.items() if course.over is not None),
        unfed_since=_unfed_since(span for course in poisons.values() for span in course.high()),
    )


@dataclass(frozen=True, slots=True)
class _Course:
    """How the readings of a substance went so far.

    `open` is the alarm that is not over, `clean` the days of clean tests since, and `over` the day on which
    the last alarm ended. `since` is the first day of readings that were high without a clean one; `past` are
    such spans that ended.
    """

    open: Alarm | None = None
    over: dt.date | None = None
    since: dt.date | None = None
    clean: tuple[dt.date, ...] = ()
    past: tuple[tuple[dt.date, dt.date], ...] = ()

    def with_alarm(self, alarm: Alarm) -> _Course:
        """Return the course after a reading over its limit."""
        return replace(self, open=alarm, over=None, since=self.since or alarm.day, clean=())

    def with_clean(self, day: dt.date, needed: int) -> _Course:
        """Return the course after a clean test; an alarm is over with the `needed` day of them."""
        if self.open is None or day <= self.open.day or day in self.clean:
            return self
        past = self.past if self.since is None else (*self.past, (self.since, day))
        clean = (*self.clean, day)
        if len(clean) == needed:
            return replace(self, open=None, over=day, since=None, clean=clean, past=past)
        return replace(self, since=None, clean=clean, past=past)

    def high(self) -> tuple[tuple[dt.date, dt.date], ...]:
        """Return the spans from a high reading to the clean one after it; the last may go on."""
        return self.past if self.since is None else (*self.past, (self.since, dt.date.max))


def _course(case: Case, what: str) -> _Course:
    course = _Course()
    readings = case.readings(what)
    for place, reading in enumerate(readings):
        if not has_animals(case.enclosure, reading.day):
            continue
        alarm = _judged(case, readings, place)
        if alarm is None:
            course = course.with_clean(reading.day, CLEAN_DAYS if what in POISONS else 1)
            continue
        if what == "ammonia" and course.since is not None and not alarm.first:
            alarm = replace(alarm, asks=words_on_the_tap(case, course.since, reading))
        course = course.with_alarm(alarm)
    return course


def _unfed_since(high: Iterable[tuple[dt.date, dt.date]]) -> dt.date | None:
    """Return the beginning of the spans that run into each other up to one that goes on; None where all have
    ended."""
    began = ended = dt.date.min
    for first, last in sorted(high):
        if first > ended:
            began = first
        ended = max(ended, last)
    return began if ended == dt.date.max else None


def verdict_on_last(case: Case, what: str) -> Verdict | None:
    """Return how bad the last reading of ammonia, nitrite or nitrate is, while animals live in the water;
    None where there is none.

    An alarm may go on although it is clean: that takes the clean tests of two days.
    """
    readings = case.readings(what)
    if not readings or not has_animals(case.enclosure, readings[-1].day):
        return None
    found = _judged(case, readings, len(readings) - 1)
    return "fine" if found is None else found.verdict


def _judged(case: Case, readings: list[Entry], place: int) -> Alarm | None:
    """Judge the reading at a place among those of its substance: what came before it, and when the next one
    came, count."""
    reading = readings[place]
    value = reading.value or 0.0
    if reading.name == "ammonia":
        until = readings[place + 1].day if place + 1 < len(readings) else None
        return _ammonia(case, reading, value, until)
    if reading.name == "nitrite":
        return _nitrite(case, reading, value)
    before = [e for e in readings[:place] if e.day < reading.day]
    return _nitrate(case, reading, value, before[-1] if before else None)


def _nitrate(case: Case, reading: Entry, value: float, before: Entry | None) -> Alarm | None:
    """Judge a nitrate reading: only the second in a row at the limit acts, since one alone may be a slip."""
    act = case.house.nitrate_act
    if value < act or before is None or (before.value or 0.0) < act:
        return None
    tap = tap_nitrate(case)
    share = 0.0 if tap_is_over(case) else _share(value, max(nitrate_limit(case), tap), tap)
    changed_on, left = _changed(case, reading, share)
    return Alarm(
        what="nitrate",
        entry=reading,
        verdict="act",
        reading=(
            f"Nitrate was {case.reading('nitrate', value)} on {case.date(reading.day)}, the second reading "
            "in a row at the limit."
        ),
        rule=case.house.limit("nitrate_act"),
        source=case.house.source("nitrate_act"),
        share=share,
        first="" if share else OTHER_WATER,
        pace="",
        asks="",
        changed_on=changed_on,
        left=left,
        tests=(),
    )


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
        asks="",
        changed_on=changed_on,
        left=left,
        tests=TESTS_AFTER[verdict],
    )


def _ammonia(case: Case, reading: Entry, value: float, until: dt.date | None) -> Alarm | None:
    """Judge an ammonia reading by the pH of its day.

    One that was read later, before the next test on the day `until`, counts too.

    A higher one makes more of the ammonia harmful; by the last one it is told whether the water is acid.
    """
    house = case.house
    ph, ph_from = ph_at(case, reading.day)
    later = ph_after(case, reading.day, until)
    acid = (ph if later is None else later.value or 0.0) < ACID_PH
    if later is not None and (later.value or 0.0) > ph:
        ph, ph_from = later.value or 0.0, f"of {case.date(later.day)}"
    celsius, celsius_from = water_at(case, reading.day)
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
    ceiling = ammonia_ceiling(ph, celsius)
    over = verdict == "look" and value >= ceiling
    if over:
        verdict = "act"
    # Both limits as amounts in all, so that they can be held against what new water brings; the stricter is
    # to be reached, or more ammonia would ask for less of a change.
    limit = house.ammonia_clean if in_all else min(house.ammonia_clean, house.ammonia_look / harmful)
    new = case.brought_ammonia
    share, first, pace = _share(value, limit, new), "", ""
    if new > HELPS * value:
        share, first = 0.0, words_to_bind(case, new)
    elif acid:
        share, first, pace = ACID_SHARE, BIND_FIRST, A_FIFTH
    changed_on, left = _changed(case, reading, share)
    emerson = not in_all and not house.own(name)
    return Alarm(
        what="ammonia",
        entry=reading,
        verdict=verdict,
        reading=(
            f"Ammonia was {case.reading('ammonia', value)} on {case.date(reading.day)}; {conditions} "
            f"{little_in_words(case, value * harmful)} of it is un-ionised, the part that harms."
        ),
        rule=f"It is acted on from {little_in_words(case, ceiling)} mg/L in all, however little of it harms."
        if over
        else f"{house.limit(name)[:-1]} in all."
        if in_all
        else house.limit(name),
        source=ammonia.EPA_CHRONIC if over else ammonia.EMERSON if emerson else house.source(name),
        share=share,
        first=first,
        pace=pace,
        asks="",
        changed_on=changed_on,
        left=left,
        tests=TESTS_ACID if acid else TESTS_AFTER[verdict],
    )


def _changed(case: Case, reading: Entry, share: float) -> tuple[tuple[dt.date, ...], float]:
    """Return the days of the changes since a reading, and what they leave of the share that it asks for, to 5
    %.

    Two changes of a quarter take out 44 % and not half: what stays is multiplied.
    """
    made = [e for e in case.done("water-change") if follows(e, reading)]
    kept = math.prod(1.0 - (usual_share(case) if e.value is None else e.value) for e in made)
    left = 1.0 - (1.0 - share) / kept if kept > 0.0 else 0.0
    days = tuple(dict.fromkeys(e.day for e in made))
    if not made:
        return days, share
    return days, 0.0 if left < LET_GO else min(share, _to_a_twentieth(left))


def _share(value: float, limit: float, new: float = 0.0) -> float:
    """Return the share of water that brings a value down to its limit, to 5 %, a quarter at least and half at
    most.

    Mixed water: (1 - share) x value + share x new = limit, where `new` is what new water brings; all in mg/L.
    """
    needed = (value - limit) / (value - new) if new < limit < value else 1.0 if new >= limit else 0.0
    return min(MOST_SHARE, max(LEAST_SHARE, _to_a_twentieth(needed)))


def _to_a_twentieth(share: float) -> float:
    return math.ceil(share * 20.0 - 1e-9) / 20.0
