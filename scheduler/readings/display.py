"""Readings as a keeper reads them off, and those that look like slips of the pen."""

from __future__ import annotations

from scheduler.locales import PLAIN, Formats
from scheduler.quantities import System, convert
from scheduler.readings.catalogue import quantity
from scheduler.sources import Source

LIKELY = Source("ranges and steps that only catch slips of the pen; they are no husbandry", "house value")

WITHIN_DAYS = 60
"""Steps from one reading to the next are looked at when they are nearer than this. House value."""


def unlikely(
    name: str,
    value: float,
    last: float | None = None,
    days: int | None = None,
    system: System = "metric",
    *,
    formats: Formats = PLAIN,
) -> str | None:
    """Return a sentence why a value looks mistyped, or None: outside the likely range, or far from the last
    reading.

    `value` and `last` are in the unit of the quantity, `days` those between the two (None: taken as near).
    The ranges and steps are house values (LIKELY). The value is not refused: a sick or cold animal's may be
    true.
    """
    q = quantity(name)
    shown = show_reading(name, value, system, formats)
    if not q.likely[0] <= value <= q.likely[1]:
        low, high = (show_reading(name, bound, system, formats) for bound in q.likely)
        return f"{q.label}: {shown} is unlikely; expected {low} to {high}"
    if last is None:
        return None
    far = abs(value - last) > q.step or (last > 0.0 and not q.down * last <= value <= q.up * last)
    grew_less = value < last and not q.falls
    if not far or (days is not None and abs(days) >= WITHIN_DAYS and not grew_less):
        return None
    before = "" if days is None else f", {abs(days)} day{'' if abs(days) == 1 else 's'} apart"
    return (
        f"{q.label}: {shown} is far from the last reading of "
        f"{show_reading(name, last, system, formats)}{before}"
    )


def show_reading(name: str, value: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a reading as a person reads it off, in the site's units: 35 mg/L, 0.4 mg/L (as N), 77 °F, 480 g,
    pH 7.4."""

    def short(value: float, decimals: int) -> str:
        return formats.numeral(_rounded(value, decimals))

    q = quantity(name)
    us = system == "us"
    if q.kind == "temperature":
        return f"{short(convert(value, 'degC', 'degF'), 1)} °F" if us else f"{short(value, 1)} °C"
    if q.kind == "concentration":
        small = 0.0 < value < 0.005
        number = (
            f"under {formats.numeral('0.01')}"
            if small
            else short(value, 2 if value < 1 else 1 if value < 10 else 0)
        )
        return f"{number} mg/L" + (" (as N)" if q.assumed == "N" else "")
    if q.kind == "mass":
        grams = f"{short(value, 1 if value < 100 else 0)} g"
        pounds = convert(value, "g", "lb")
        ounces = f"{short(pounds * 16, 1)} oz" if pounds < 1 else f"{short(pounds, 2)} lb"
        return f"{grams} ({ounces})" if us else grams
    if q.kind == "length":
        return f"{short(convert(value, 'cm', 'in'), 1)} in" if us else f"{short(value, 1)} cm"
    if q.is_sign:
        return "yes" if value >= 0.5 else "no"
    return f"pH {short(value, 2)}" if q.name == "ph" else f"UVI {short(value, 1)}"


def _rounded(value: float, decimals: int) -> str:
    # + 0.0: what rounds to nothing is 0, not -0.
    text = f"{round(value, decimals) + 0.0:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if decimals else text
