"""The pH and the temperature of the water on a day: as measured, else as far as the description tells, else
the safe side."""

from __future__ import annotations

import datetime as dt

from scheduler.care.engine.case import Case
from scheduler.history import Entry

SAFE_PH, SAFE_C = 8.0, 26.0
"""pH and degC to reckon with where nobody measured either: on the safe side. House values."""

PH_DAYS, WATER_DAYS = 30, 7
"""A pH, and a water temperature, that old still stand for the day of an ammonia test. House values."""


def ph_at(case: Case, day: dt.date | None = None) -> tuple[float, str]:
    """Return the pH on a day, or by the last reading, and where it is from, in words."""
    near = _nearest(case.readings("ph"), day, PH_DAYS)
    if near is not None and near.value is not None:
        return near.value, "measured" if near.day == day else f"of {case.date(near.day)}"
    tap = case.site.settings.tap_water.ph
    return (tap, "of the tap") if tap is not None else (SAFE_PH, "not measured, the safe side")


def ph_after(case: Case, day: dt.date, until: dt.date | None) -> Entry | None:
    """Return the last reading of the pH after a day and before the day `until`, or ever since; None without
    one."""
    later = [e for e in case.readings("ph") if e.day > day and (until is None or e.day < until)]
    return later[-1] if later else None


def water_at(case: Case, day: dt.date | None = None) -> tuple[float, str]:
    """Return the temperature of the water in degC on a day, or by the last reading, and where it is from, in
    words."""
    near = _nearest(case.readings("temperature"), day, WATER_DAYS)
    if near is not None and near.value is not None:
        return near.value, "measured" if near.day == day else f"of {case.date(near.day)}"
    if case.set_to_c is not None:
        return case.set_to_c, "as the heater is set"
    return SAFE_C, "not measured, the safe side"


def _nearest(found: list[Entry], day: dt.date | None, days: int) -> Entry | None:
    """Return the last reading of a day, else the last one before it that is not older than so many days;
    without a day the last."""
    usable = [e for e in found if day is None or 0 <= (day - e.day).days <= days]
    return usable[-1] if usable else None
