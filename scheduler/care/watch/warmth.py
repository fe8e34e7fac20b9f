"""Temperatures that were read: which are out of the species' band, and for how long."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care import lamps
from scheduler.care.engine.case import Case
from scheduler.care.figures.heat import LIMITS, WATER_LIMITS_C
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.history import Entry
from scheduler.sources import Source

BASKING_MOST_C = 38.0
"""degC of the basking surface over which it is an alarm. House value."""

BASKING_LIMIT = Source("a basking surface over 38 °C is an alarm", "house value")


@dataclass(frozen=True, slots=True)
class Run:
    """Readings in a row that are out of the band, to the last one: the first and the last of them, and which
    side."""

    first: Entry
    last: Entry
    cold: bool
    band: tuple[float, float]

    @property
    def value(self) -> float:
        """Return the last temperature, degC."""
        return self.last.value or 0.0

    @property
    def urgent(self) -> bool:
        """Tell whether the last temperature is past the alarm limit of water."""
        low, high = WATER_LIMITS_C
        return self.value < low or self.value > high

    def lasted(self, case: Case) -> str:
        """Return for how long, as far as readings tell: 3 days, 5 hours."""
        days = (self.last.day - self.first.day).days
        if days:
            return f"for {days} day{'s' if days > 1 else ''} of readings, since {case.date(self.first.day)}"
        if self.first.time is not None and self.last.time is not None and self.last.time > self.first.time:
            minutes = (
                (self.last.time.hour - self.first.time.hour) * 60
                + self.last.time.minute
                - self.first.time.minute
            )
            return f"for {max(1, round(minutes / 60))} h of readings"
        return "in one reading so far"


@once
def water_run(case: Case) -> Run | None:
    """Return the water's run out of the band of the species; None where it is in it, and where it follows the
    weather."""
    return None if case.enclosure.outdoors else _run(case.readings("temperature"), case.water_band)


@once
def basking_run(case: Case) -> Run | None:
    """Return the run of the basking surface out of the band of the species."""
    return _run(case.readings("basking"), case.basking_band)


def _run(readings: list[Entry], band: tuple[float, float] | None) -> Run | None:
    if band is None or not readings or readings[-1].value is None:
        return None
    cold = readings[-1].value < band[0]
    if not cold and readings[-1].value <= band[1]:
        return None
    first = readings[-1]
    for reading in reversed(readings):
        value = reading.value
        if value is None or not (value < band[0] if cold else value > band[1]):
            break
        first = reading
    return Run(first, readings[-1], cold, band)


def _band_source(case: Case, *, water: bool) -> Source:
    sheets = [s for r in case.enclosure.resident if (s := case.sheet(r)) is not None]
    return (sheets[0].water if water else sheets[0].basking).cited


@watch
def water(case: Case) -> Iterator[Consequence]:
    """Say that the water is too cold or too warm, and since when."""
    run = water_run(case)
    if run is None:
        return
    low, high = WATER_LIMITS_C
    urgent = run.urgent
    limit = case.degrees(low if run.cold else high)
    yield Consequence(
        key="heater-check" if case.enclosure.heater or urgent else "daily-look",
        judges="temperature",
        verdict="act" if urgent else "look",
        reading=(
            f"The water was {case.reading('temperature', run.value)} on {case.date(run.last.day)}, "
            f"{run.lasted(case)}."
        ),
        rule=f"These animals want {case.band(run.band)}"
        + (f"; {'under' if run.cold else 'over'} {limit} is an alarm." if urgent else "."),
        source=LIMITS if urgent else _band_source(case, water=True),
        plan=_plan(case, run),
        gist=f"the water is too {'cold' if run.cold else 'warm'}",
    )


def _plan(case: Case, run: Run) -> str:
    if run.urgent and not case.enclosure.heater and not switched_off(case, "heater-check"):
        return "First aid is due at once: its note says what to do, in which order."
    if not _has_heater_check(case):
        return "Find the cause, and measure again today: nothing changes in the plan."
    checked = max(case.history.variants(case.enclosure.id, "heater-check").values(), default=None)
    if checked is not None and checked >= run.first.day:
        return f"The heater was checked on {case.date(checked)}: find another cause, and measure again today."
    return "A check of the heater is due at once."


def _has_heater_check(case: Case) -> bool:
    return bool(case.enclosure.heater) and not switched_off(case, "heater-check")


@watch
def basking(case: Case) -> Iterator[Consequence]:
    """Say that the basking surface is too cold or too warm, and since when."""
    run = basking_run(case)
    if run is None:
        return
    urgent = run.value > BASKING_MOST_C
    yield Consequence(
        key="basking-review",
        judges="basking",
        verdict="act" if urgent else "look",
        reading=(
            f"The basking surface was {case.reading('basking', run.value)} on {case.date(run.last.day)}, "
            f"{run.lasted(case)}."
        ),
        rule=f"These animals want {case.band(run.band)}"
        + (f"; over {case.degrees(BASKING_MOST_C)} is an alarm." if urgent else "."),
        source=BASKING_LIMIT if urgent else _band_source(case, water=False),
        plan=(
            "Nothing changes in the plan: "
            f"{'lower the lamp, or take a stronger one' if run.cold else 'raise the lamp, or take a weaker one'}, "  # noqa: E501
            "and measure again after an hour. Lamps are moved unplugged and cold."
        )
        + (f" {lamps.not_nearer(case)}" if run.cold else ""),
        gist=f"the basking place is too {'cold' if run.cold else 'warm'}",
    )
