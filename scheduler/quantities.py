"""Quantities: text with a unit to plain numbers in one unit a kind, and back to text a person can measure.

Inside the program a length is a float in cm, a volume in L, a mass in g, a temperature in degC, a power in W,
a flow in L/h, a concentration in mg/L, and names carry the unit (`depth_cm`). Unit definitions and conversion
are pint's, with a registry of just the units that the description knows.
"""

from __future__ import annotations

import datetime as dt
import functools
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from scheduler.errors import clip, nearest
from scheduler.locales import PLAIN, Formats

if TYPE_CHECKING:
    import pint

System = Literal["metric", "us"]

# Exact factors: inch, foot, pound (international yard and pound agreement 1959), US gallon 231 in3 (NIST
# Handbook 44, appendix C), imperial gallon 4.54609 L (UK Weights and Measures Act 1985).
_DEFINITIONS = (
    "meter = [length] = m",
    "centimeter = 0.01 * meter = cm",
    "millimeter = 0.001 * meter = mm",
    "inch = 0.0254 * meter = in",
    "foot = 12 * inch = ft",
    "gram = [mass] = g",
    "kilogram = 1000 * gram = kg",
    "milligram = 0.001 * gram = mg",
    "pound = 453.59237 * gram = lb",
    "ounce = pound / 16 = oz",
    "hour = [time] = h",
    "watt = [power] = W",
    "kilowatt = 1000 * watt = kW",
    "liter = 0.001 * meter ** 3 = L = litre",
    "milliliter = 0.001 * liter = mL",
    "gallon = 231 * inch ** 3 = gal",
    "imp_gal = 4.54609 * liter",
    "square_meter = meter ** 2",
    "square_foot = foot ** 2",
    "kelvin = [temperature]; offset: 0 = K",
    "degree_Celsius = kelvin; offset: 273.15 = degC",
    "degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF",
)

# What people write -> what the registry calls it.
_SPELLINGS = {
    "°C": "degC", "°F": "degF", "C": "degC", "F": "degF", "l": "L", "liters": "L", "litres": "L", "ml": "mL",
    "l/h": "L/h", "lph": "L/h", "gph": "gal/h", "US gal": "gal", "gallons": "gal", "imp gal": "imp_gal",
    "imp gal/h": "imp_gal/h", "US gal/h": "gal/h", "inches": "in", "feet": "ft", "watts": "W", "w": "W",
    "pounds": "lb", "lbs": "lb", "ounces": "oz", "grams": "g", "ppm": "mg/L", "mg/l": "mg/L",
    "m2": "square_meter", "m²": "square_meter", "ft2": "square_foot", "ft²": "square_foot",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Dimension:
    """One kind of quantity: its name, the unit it is kept in, what a keeper may write, and the believable
    range."""

    name: str
    unit: str
    written: tuple[str, ...]
    example: str
    least: float
    most: float


# The ranges only catch slips of the pen (a tank of 40 m, a lamp of 20 kW); they are house limits, not
# husbandry.
KINDS: Mapping[str, Dimension] = {
    k.name: k
    for k in (
        Dimension("length", "cm", ("cm", "in", "mm", "m", "ft"), '"91 cm" or "36 in"', 0.05, 10_000.0),
        Dimension("area", "square_meter", ("m2", "ft2"), '"1.5 m2"', 0.001, 10_000.0),
        Dimension("volume", "L", ("L", "gal", "imp gal", "mL"), '"150 L" or "40 gal"', 0.01, 1_000_000.0),
        Dimension("mass", "g", ("g", "kg", "oz", "lb"), '"480 g" or "1.1 lb"', 0.1, 1_000_000.0),
        Dimension(
            "flow", "L/h", ("L/h", "gal/h", "imp gal/h"), '"1200 L/h" or "315 gal/h"', 1.0, 1_000_000.0
        ),
        Dimension("power", "W", ("W", "kW"), '"200 W"', 0.5, 10_000.0),
        Dimension("temperature", "degC", ("degC", "degF"), '"25 degC" or "77 degF"', -30.0, 95.0),
        Dimension("concentration", "mg/L", ("mg/L",), '"1.5 mg/L"', 0.0, 10_000.0),
    )
}

_NUMBER_UNIT = re.compile(
    r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?|[+-]?(?:nan|inf|infinity))\s*(.*?)\s*", re.I | re.S
)
_COMMA = re.compile(r"\s*[+-]?\d[\d.,]*,(\d+)")


class QuantityError(ValueError):
    """Text that is not a quantity of the expected kind; `message` says what was found, `hint` what to
    write."""

    def __init__(self, message: str, hint: str) -> None:
        """Keep the two halves apart, so that the description can place them in a problem."""
        super().__init__(message)
        self.message, self.hint = message, hint


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for line in _DEFINITIONS:
        registry.define(line)
    return registry


@functools.lru_cache(maxsize=512)
def _scale(unit: str, to: str) -> tuple[float, float] | None:
    """Return (factor, offset) such that value_in_to = value * factor + offset; None when the kinds differ.

    Raises KeyError for a unit that the registry does not know.
    """
    import pint

    registry = _registry()
    try:
        # Only names of units, "/" and "*" reach pint's parser: the caller's pattern has refused everything
        # else.
        source = registry.Unit(unit)
    except (
        pint.errors.UndefinedUnitError,
        pint.errors.DefinitionSyntaxError,
        ValueError,
        TypeError,
    ) as error:
        raise KeyError(unit) from error
    target = registry.Unit(to)
    if source.dimensionality != target.dimensionality:
        return None
    zero = float(registry.Quantity(0.0, source).to(target).magnitude)
    # A large probe keeps the digits of the factor: at 1 degF the offset would swallow four of them.
    probe = 1.0 if zero == 0.0 else 1e6
    one = float(registry.Quantity(probe, source).to(target).magnitude)
    return (one - zero) / probe, zero


def convert(value: float, unit: str, to: str) -> float:
    """Return `value` of `unit` in the unit `to`; both are names of the registry.

    KeyError when they do not match.
    """
    scale = _scale(unit, to)
    if scale is None:
        raise KeyError(f"{unit} is not convertible to {to}")
    return value * scale[0] + scale[1]


def _kind_of(unit: str) -> str:
    for kind in KINDS.values():
        if _scale(unit, kind.unit) is not None:
            return kind.name
    return "another kind of quantity"


@functools.lru_cache(maxsize=8192)
def parse(text: str, kind_name: str) -> float:
    """Return the number that `text` ("36 in") stands for in the unit of the kind.

    QuantityError says what is wrong.
    """
    kind = KINDS[kind_name]
    article = "an" if kind.name[0] in "aeiou" else "a"
    wanted = f"{article} {kind.name} with its unit"
    write = f"write {kind.example}"
    if comma := _COMMA.match(text[:100]):
        raise QuantityError(f"found {clip(text)}, a number with a comma", _without_comma(text, comma))
    match = _NUMBER_UNIT.fullmatch(text) if len(text) <= 100 else None
    if match is None:
        raise QuantityError(f"found {clip(text)}, expected {wanted}", write)
    number, unit = float(match[1]), match[2]
    if not math.isfinite(number):
        raise QuantityError(f"found {clip(text)}, not a finite number; expected {wanted}", write)
    if not unit:
        raise QuantityError(f"found {clip(text)} without a unit, expected {wanted}", write)
    name = _SPELLINGS.get(unit, unit)
    try:
        if re.fullmatch(r"[A-Za-z_]{1,20}(/[A-Za-z]{1,10})?", name) is None:
            raise KeyError(name)
        scale = _scale(name, kind.unit)
    except KeyError:
        close = nearest(unit, kind.written)
        hint = f'nearest unit: "{close}"; {write}' if close else write
        raise QuantityError(
            f"found {clip(text)}: unknown unit {clip(unit)}, expected {wanted}", hint
        ) from None
    if scale is None:
        raise QuantityError(
            f"found {clip(text)}, which is {_with_article(_kind_of(name))}; expected {wanted}", write
        )
    value = number * scale[0] + scale[1]
    if not kind.least <= value <= kind.most:
        raise QuantityError(
            f"found {clip(text)}, which is not believable for {article} {kind.name}",
            f"expected {kind.least:g} to {kind.most:g} {kind.written[0]}, such as {kind.example}",
        )
    return value


def _without_comma(text: str, comma: re.Match[str]) -> str:
    """Return what to write for a number with a comma; where it may part thousands or decimals, both."""
    whole = clip(text.replace(",", "").strip())
    points, commas = text.count("."), text.count(",")
    if commas > 1 or (points and text.index(".") > text.index(",")):
        return f"write {whole}"
    point = clip(text.replace(".", "").replace(",", ".").strip())
    if points or len(comma[1]) != 3:
        return f"write {point}"
    return f"write {whole}, or {point} if the comma is a decimal point"


def _with_article(noun: str) -> str:
    return noun if noun.startswith("another") else ("an " if noun[0] in "aeiou" else "a ") + noun


# --- Spans ---


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time in the calendar: whole days, or whole months (a year is 12 months)."""

    days: int = 0
    months: int = 0

    def __str__(self) -> str:
        """Return the span as a keeper writes it."""
        number, word = (self.months, "month") if self.months else (self.days, "day")
        if self.months and self.months % 12 == 0:
            number, word = self.months // 12, "year"
        elif not self.months and self.days % 7 == 0 and self.days > 14:
            number, word = self.days // 7, "week"
        return f"{number} {word}" + ("" if number == 1 else "s")

    @property
    def interval_days(self) -> int:
        """Return the span as an interval between occurrences: months as the whole weeks that fit into their
        mean length.

        1 month is 28 days, 3 are 91, 6 are 182, a year is 364: the weekday stays, and services can keep apart
        for ever.
        """
        return 7 * int(self.months * 30.4375 // 7) if self.months else self.days

    @property
    def most_days(self) -> int:
        """Return the longest the span can be, in days."""
        return self.days + math.ceil(self.months * 30.4375 + 1.5) if self.months else self.days


_SPAN = re.compile(r"\s*(\d{1,5})\s*(day|days|week|weeks|month|months|year|years)\s*")
_IN_DAYS = {"day": 1, "week": 7}
_IN_MONTHS = {"month": 1, "year": 12}


@functools.lru_cache(maxsize=1024)
def parse_span(text: str, least_days: int = 1) -> Span:
    """Return the span that text such as "14 days", "6 weeks" or "6 months" stands for, at most 20 years."""
    write = 'write "14 days", "6 weeks" or "6 months"'
    match = _SPAN.fullmatch(text) if len(text) <= 40 else None
    if match is None:
        raise QuantityError(
            f"found {clip(text)}, expected a span of whole days, weeks, months or years", write
        )
    number, word = int(match[1]), match[2].rstrip("s")
    span = Span(days=number * _IN_DAYS[word]) if word in _IN_DAYS else Span(months=number * _IN_MONTHS[word])
    if not least_days <= span.days + span.months * 30 <= 7305:
        raise QuantityError(f"found {clip(text)}, expected {least_days} day(s) to 20 years", write)
    return span


# --- Back to text ---


def _round(value: float, steps: tuple[tuple[float, float], ...]) -> float:
    """Round to the step of the first row whose limit the value stays under."""
    step = next(s for limit, s in steps if abs(value) < limit)
    return round(value / step) * step


def _plain(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if value % 1 else f"{value:.0f}"


def show_volume(litres: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a volume as a jug or a pail measures it: 84 L, 22 gal."""
    if system == "us":
        gallons = _round(convert(litres, "L", "gal"), ((3, 0.1), (20, 0.5), (math.inf, 1)))
        return f"{formats.numeral(_plain(gallons))} gal"
    rounded = _round(litres, ((3, 0.1), (20, 0.5), (1000, 1), (math.inf, 5)))
    return f"{formats.numeral(_plain(rounded))} L"


def show_area(cm2: float, system: System, formats: Formats = PLAIN) -> str:
    """Return an area of floor or water: 6000 cm², 930 in²."""
    if system == "us":
        return f"{formats.number(round(cm2 / 2.54**2 / 5) * 5, 'd')} in²"
    return f"{formats.number(round(cm2 / 50) * 50, 'd')} cm²"


def show_length(cm: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a length as a tape measures it: 26 cm, 10.25 in."""
    if system == "us":
        inches = _round(convert(cm, "cm", "in"), ((40, 0.25), (math.inf, 1)))
        return f"{formats.numeral(_plain(inches))} in"
    return f"{formats.numeral(_plain(_round(cm, ((40, 0.5), (math.inf, 1)))))} cm"


def show_temperature(celsius: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a temperature as a tank thermometer shows it: 25 °C, 77 °F."""
    if system == "us":
        return f"{round(convert(celsius, 'degC', 'degF'))} °F"
    return f"{formats.numeral(_plain(_round(celsius, ((math.inf, 0.5),))))} °C"


def show_temperature_step(kelvin: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a difference of temperatures: 2 °C, 4 °F."""
    if system == "us":
        return f"{round(kelvin * 1.8)} °F"
    return f"{formats.numeral(_plain(_round(kelvin, ((math.inf, 0.5),))))} °C"


_LEAST_G = 0.05
"""The smallest step of a mass, of a pocket scale for a hatchling's meal."""


def show_mass(grams: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a mass as a pocket, a kitchen or a bathroom scale shows it: 0.35 g, 6.2 g, 480 g, 11 kg, 24 lb.

    What is there is never printed as nothing.
    """
    if 0 < grams < _LEAST_G:
        return f"less than {formats.numeral(_plain(_LEAST_G))} g"
    on_scale = f"{formats.numeral(_plain(_round(grams, ((2, _LEAST_G), (50, 0.1), (math.inf, 1)))))} g"
    if system == "us":
        pounds = convert(grams, "g", "lb")
        if pounds >= 3:
            return f"{formats.number(round(pounds), 'd')} lb"
        if grams < 2:
            # No scale in ounces tells such masses apart.
            return on_scale
        ounces = _plain(_round(pounds * 16, ((2, 0.05), (math.inf, 0.5))))
        return f"{on_scale} ({formats.numeral(ounces)} oz)"
    if grams >= 2000:
        return f"{formats.numeral(_plain(_round(grams / 1000, ((10, 0.1), (math.inf, 1)))))} kg"
    return on_scale


def show_milligrams(mg: float, formats: Formats = PLAIN) -> str:
    """Return milligrams to two figures, rounded up: what has to be neutralised is never understated."""
    if mg <= 0:
        return "0 mg"
    step = 10.0 ** (math.floor(math.log10(mg)) - 1)
    return f"{formats.number(math.ceil(mg / step - 1e-9) * step, '.10g')} mg"


def show_date(day: dt.date, formats: Formats = PLAIN) -> str:
    """Return a date that nobody reads the wrong way round: 1 December 2026."""
    return formats.date(day)


def show_minutes(minutes: int) -> str:
    """Return a time as people say it: 50 min, 2 h, 2 h 55 min."""
    hours, rest = divmod(minutes, 60)
    return " ".join([f"{hours} h"] * (hours > 0) + [f"{rest} min"] * (rest > 0 or not hours))
