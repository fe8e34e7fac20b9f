"""Ammonia and nitrite: how poisonous a reading is, and when it is over."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care.case import Case
from scheduler.care.verdicts import Verdict
from scheduler.care.watch.cycling import CLEAN_MG_L
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.handbook import ammonia
from scheduler.history import Entry
from scheduler.quantities import show_date
from scheduler.readings import show_reading
from scheduler.sources import Source

SAFE_PH, SAFE_C = 8.0, 26.0
"""pH and degC to reckon with where nobody measured either: on the safe side. House values."""

PH_DAYS, WATER_DAYS = 30, 7
"""A pH, and a water temperature, that old still stand for the day of an ammonia test. House values."""

LEAST_SHARE, MOST_SHARE = 0.25, 0.5
"""An extra change replaces a quarter of the water at least, and half at most: more at once is a shock. House values."""

TESTS_AFTER = {"act": (1, 2, 4), "look": (1, 2)}
"""Days after an alarm on which the water is tested again. House values."""

CLEAN_DAYS = 2
"""An alarm is over when tests of so many days were clean. House value."""

EXTRA = Source(
    "an extra change of 25 to 50 % and tests on the days after, until two are clean", "house value"
)


@dataclass(frozen=True, slots=True)
class Alarm:
    """A reading over its limit: what was read, how bad it is, how that came about, and the share of water to change."""

    what: str
    entry: Entry
    verdict: Verdict
    reading: str
    rule: str
    source: Source
    share: float

    @property
    def day(self) -> dt.date:
        """Return the day of the reading."""
        return self.entry.day


@dataclass(frozen=True, slots=True)
class Watched:
    """The alarms of an enclosure that are not over, one for each substance at most; and the day on which others ended."""

    open: tuple[Alarm, ...]
    ended: tuple[tuple[str, dt.date], ...]


@once
def alarms(case: Case) -> Watched:
    """Return the alarms of an enclosure: none while nobody lives in it, since a filter is started on ammonia."""
    found: list[Alarm] = []
    ended: list[tuple[str, dt.date]] = []
    for what in ("ammonia", "nitrite"):
        current: Alarm | None = None
        over: dt.date | None = None
        clean: list[dt.date] = []
        for reading in case.readings(what):
            if not _inhabited(case, reading.day):
                continue
            alarm = _judged(case, what, reading)
            if alarm is not None:
                current, clean, over = alarm, [], None
            elif current is not None and reading.day > current.day and reading.day not in clean:
                clean.append(reading.day)
                if len(clean) == CLEAN_DAYS:
                    current, over = None, reading.day
        if current is not None:
            found.append(current)
        if over is not None:
            ended.append((what, over))
    return Watched(tuple(found), tuple(ended))


def _inhabited(case: Case, day: dt.date) -> bool:
    arrivals = [r.arrived for r in case.enclosure.resident]
    return any(arrived is None or arrived <= day for arrived in arrivals)


def _judged(case: Case, what: str, reading: Entry) -> Alarm | None:
    value = reading.value or 0.0
    return _ammonia(case, reading, value) if what == "ammonia" else _nitrite(case, reading, value)


def _nitrite(case: Case, reading: Entry, value: float) -> Alarm | None:
    house = case.house
    if value < house.nitrite_look:
        return None
    act = value >= house.nitrite_act
    limit = house.nitrite_act if act else house.nitrite_look
    own = "nitrite_act" if act else "nitrite_look"
    return Alarm(
        what="nitrite",
        entry=reading,
        verdict="act" if act else "look",
        reading=f"Nitrite was {show_reading('nitrite', value, case.units)} on {show_date(reading.day)}.",
        rule=f"The limit is {limit:g}.",
        source=house.source(own),
        share=_share(value, house.nitrite_look),
    )


def _ammonia(case: Case, reading: Entry, value: float) -> Alarm | None:
    house = case.house
    ph, ph_from = _ph(case, reading)
    celsius, celsius_from = _water(case, reading)
    conditions = f"at pH {ph:g} ({ph_from}) and {case.degrees(celsius)} ({celsius_from})"
    try:
        share = ammonia.unionised_share(ph, celsius)
    except ValueError:
        # Outside the formula's range only the amount itself counts.
        share = 0.0
    toxic = value * share
    said = f"Ammonia was {show_reading('ammonia', value, case.units)} on {show_date(reading.day)}; {conditions} {_little(toxic)} of it is un-ionised, the part that harms."
    if toxic >= house.ammonia_look:
        act = toxic >= house.ammonia_act
        limit, own = (house.ammonia_act, "ammonia_act") if act else (house.ammonia_look, "ammonia_look")
        source = ammonia.EMERSON if not house.own(own) else house.source(own)
        return Alarm(
            what="ammonia",
            entry=reading,
            verdict="act" if act else "look",
            reading=said,
            rule=f"The house limit is {limit:g}." if not house.own(own) else f"Your limit is {limit:g}.",
            source=source,
            share=_share(toxic, house.ammonia_look),
        )
    if value > CLEAN_MG_L:
        return Alarm(
            what="ammonia",
            entry=reading,
            verdict="look",
            reading=said,
            rule=f"A working filter leaves at most {CLEAN_MG_L:g} mg/L.",
            source=Source("ammonia and nitrite not detectable (0.25 mg/L on a hobby kit)", "house value"),
            share=_share(value, CLEAN_MG_L),
        )
    return None


def _little(mg_l: float) -> str:
    """Return an amount in mg/L to two figures, as plain digits: the limits for it are a few hundredths."""
    return "under 0.001" if mg_l < 0.001 else f"{mg_l:.2g}" if mg_l < 10 else f"{mg_l:.0f}"


def _share(value: float, limit: float) -> float:
    """Return the share of water that brings a value down to its limit, to 5 %, a quarter at least and half at most."""
    needed = 1.0 - limit / value if value > 0 else 0.0
    return min(MOST_SHARE, max(LEAST_SHARE, math.ceil(needed * 20.0 - 1e-9) / 20.0))


def _ph(case: Case, reading: Entry) -> tuple[float, str]:
    near = _nearest(case.readings("ph"), reading, PH_DAYS)
    if near is not None and near.value is not None:
        return near.value, "measured" if near.day == reading.day else f"of {show_date(near.day)}"
    tap = case.site.place.tap_water.ph
    return (tap, "of the tap") if tap is not None else (SAFE_PH, "not measured, the safe side")


def _water(case: Case, reading: Entry) -> tuple[float, str]:
    near = _nearest(case.readings("temperature"), reading, WATER_DAYS)
    if near is not None and near.value is not None:
        return near.value, "measured" if near.day == reading.day else f"of {show_date(near.day)}"
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
            plan=_plan(case, alarm),
        )
    for what, day in watched.ended:
        yield Consequence(
            key="water-test",
            verdict="fine",
            reading=f"{what.capitalize()} was clean in the tests of two days, the second on {show_date(day)}.",
            rule="The alarm is over.",
            source=EXTRA,
            plan="Extra changes and tests are no longer planned for it.",
        )


def _plan(case: Case, alarm: Alarm) -> str:
    change = (
        ""
        if switched_off(case, "water-change")
        else f"An extra change of {alarm.share * 100:.0f} % is due at once"
    )
    days = [show_date(alarm.day + dt.timedelta(days=d)) for d in TESTS_AFTER[alarm.verdict]]
    if case.described.cycled is False and case.enclosure.cycled is False:
        tests = "" if switched_off(case, "cycle-test") else "the cycle test goes on daily"
    elif switched_off(case, "water-test"):
        tests = ""
    else:
        tests = f"tests follow on {', '.join(days[:-1])} and {days[-1]}, until two are clean"
    said = "; ".join(filter(None, (change, tests)))
    return said[:1].upper() + said[1:] + "." if said else ""
