"""Dates, numbers and amounts as a site writes them: in its units, with the marks of its locale."""

from __future__ import annotations

import datetime as dt

from scheduler.locales import Formats
from scheduler.quantities import (
    System,
    show_area,
    show_length,
    show_mass,
    show_milligrams,
    show_temperature,
    show_temperature_step,
    show_volume,
)
from scheduler.readings import show_reading


class Wording:
    """How a site writes what it measures."""

    def __init__(self, units: System, formats: Formats) -> None:
        """Take the units and the formats of the site."""
        self.units, self.formats = units, formats

    def date(self, day: dt.date) -> str:
        """Return a date as the site's locale has it."""
        return self.formats.date(day)

    def numeral(self, value: float, spec: str = "g") -> str:
        """Return a number by a format of Python's, with the marks of the site's locale."""
        return self.formats.number(value, spec)

    def reading(self, name: str, value: float) -> str:
        """Return a reading in the site's units."""
        return show_reading(name, value, self.units, self.formats)

    def litres(self, value: float) -> str:
        """Return a volume in the site's units."""
        return show_volume(value, self.units, self.formats)

    def cm(self, value: float) -> str:
        """Return a length in the site's units."""
        return show_length(value, self.units, self.formats)

    def area(self, value: float) -> str:
        """Return an area of some cm2 in the site's units."""
        return show_area(value, self.units, self.formats)

    def degrees(self, value: float) -> str:
        """Return a temperature in the site's units."""
        return show_temperature(value, self.units, self.formats)

    def degrees_apart(self, value: float) -> str:
        """Return a difference of temperatures in the site's units."""
        return show_temperature_step(value, self.units, self.formats)

    def milligrams(self, value: float) -> str:
        """Return milligrams, rounded up."""
        return show_milligrams(value, self.formats)

    def grams(self, value: float) -> str:
        """Return a mass in the site's units."""
        return show_mass(value, self.units, self.formats)

    def kilograms(self, value: float) -> str:
        """Return a mass of some kg in the site's units."""
        return show_mass(value * 1000.0, self.units, self.formats)

    def band(self, band: tuple[float, float]) -> str:
        """Return a range of temperatures in the site's units: 22-26 °C."""
        low, high = self.degrees(band[0]), self.degrees(band[1])
        return f"{low.split(' ')[0]}-{high}"
