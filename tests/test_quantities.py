"""Quantities against the definitions of their units, in plain arithmetic, and the texts that are refused."""

import datetime as dt
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.quantities import (
    KINDS,
    QuantityError,
    Span,
    parse,
    parse_span,
    show_area,
    show_date,
    show_length,
    show_mass,
    show_milligrams,
    show_minutes,
    show_temperature,
    show_temperature_step,
    show_volume,
)

HB44 = "US gallon 231 cubic inches: NIST Handbook 44, appendix C (value from memory)"
YARD = "inch 2.54 cm: international yard and pound agreement 1959 (value from memory)"
POUND = "pound 453.59237 g: international yard and pound agreement 1959 (value from memory)"
UK = "imperial gallon 4.54609 L: UK Weights and Measures Act 1985 (value from memory)"
SCALES = "degF = degC x 9/5 + 32, exact by definition"
PRACTICE = "common practice, no published source"

EXACT = [
    # text, kind, value, source
    ("1 gal", "volume", 3.785411784, HB44),
    ("40 gal", "volume", 151.41647136, HB44),
    ("1 imp gal", "volume", 4.54609, UK),
    ("1 in", "length", 2.54, YARD),
    ("4 in", "length", 10.16, "21 CFR 1240.62: turtles under 4 in"),
    ("1 ft", "length", 30.48, YARD),
    ("1 m", "length", 100, "SI"),
    ("7 mm", "length", 0.7, "SI"),
    ("1 ft2", "area", 0.09290304, YARD),
    ("1.5 m2", "area", 1.5, "SI"),
    ("1.5 m²", "area", 1.5, "SI"),
    ("10 ft²", "area", 0.9290304, YARD),
    ("1 lb", "mass", 453.59237, POUND),
    ("1 oz", "mass", 28.349523125, POUND),
    ("1.5 kg", "mass", 1500, "SI"),
    ("250 mL", "volume", 0.25, "SI"),
    ("0.3 kW", "power", 300, "SI"),
    ("32 degF", "temperature", 0, SCALES),
    ("77 degF", "temperature", 25, SCALES),
    ("-22 degF", "temperature", -30, SCALES),
    ("315 gal/h", "flow", 315 * 3.785411784, HB44),
    ("100 imp gal/h", "flow", 454.609, UK),
    # A filter of 6 to 8 tank volumes an hour for a tank of 40 US gallons.
    (f"{40 * 6} gal/h", "flow", 908.49882816, f"240 gal/h, 6 x 40: {PRACTICE}; {HB44}"),
    (f"{40 * 8} gal/h", "flow", 1211.33177088, f"320 gal/h, 8 x 40: {PRACTICE}; {HB44}"),
    ("1.5 ppm", "concentration", 1.5, "mg/L of dilute fresh water, by convention"),
]


@pytest.mark.parametrize(("text", "kind", "value", "source"), EXACT)
def test_units_are_what_their_definitions_say(text, kind, value, source):
    assert parse(text, kind) == pytest.approx(value, rel=1e-12, abs=1e-12), source


@pytest.mark.parametrize(
    "text",
    [
        "25 degC",
        "25 °C",
        "25°C",
        "25C",
        "25 C",
        "+25 degC",
        " 25  degC ",
        "25.0 degC",
        "2.5e1 degC",
        "25\tdegC",
    ],
)
def test_a_quantity_may_be_spelled_in_several_ways(text):
    assert parse(text, "temperature") == pytest.approx(25)


# What each unit is in the unit that its kind is kept in, from the definitions above: value = factor * number + shift.
FACTORS = {
    "length": {"cm": 1, "in": Fraction("2.54"), "mm": Fraction("0.1"), "m": 100, "ft": Fraction("30.48")},
    "volume": {
        "L": 1,
        "gal": 231 * Fraction("2.54") ** 3 / 1000,
        "imp gal": Fraction("4.54609"),
        "mL": Fraction("0.001"),
    },
    "mass": {"g": 1, "kg": 1000, "oz": Fraction("453.59237") / 16, "lb": Fraction("453.59237")},
    "flow": {"L/h": 1, "gal/h": 231 * Fraction("2.54") ** 3 / 1000, "imp gal/h": Fraction("4.54609")},
    "power": {"W": 1, "kW": 1000},
    "temperature": {"degC": 1, "degF": Fraction(5, 9)},
    "concentration": {"mg/L": 1},
    "area": {"m2": 1, "ft2": Fraction("0.3048") ** 2},
}
SHIFTS = {"degF": Fraction(-160, 9)}


def test_every_written_unit_is_defined_here():
    assert {kind: set(units) for kind, units in FACTORS.items()} == {
        kind: set(of.written) for kind, of in KINDS.items()
    }


@given(
    st.sampled_from([(kind, unit) for kind, units in FACTORS.items() for unit in units]),
    st.decimals(-50, 10_000, places=3),
)
def test_a_number_with_its_unit_is_converted_as_on_paper(kind_and_unit, number):
    kind, unit = kind_and_unit
    value = Fraction(str(number)) * FACTORS[kind][unit] + SHIFTS.get(unit, 0)
    least, most = KINDS[kind].least, KINDS[kind].most
    if least + 1e-9 < value < most - 1e-9:
        assert parse(f"{number} {unit}", kind) == pytest.approx(float(value), rel=1e-12, abs=1e-9)
    elif value < least - 1e-9 or value > most + 1e-9:
        with pytest.raises(QuantityError, match="not believable"):
            parse(f"{number} {unit}", kind)


# --- Refused ----------------------------------------------------------------------------------------------------

LENGTH = 'write "91 cm" or "36 in"'
FLOW = 'write "1200 L/h" or "315 gal/h"'
VOLUME = 'write "150 L" or "40 gal"'

REFUSED = [
    # text, kind, message, hint
    ("40 pounds", "volume", 'found "40 pounds", which is a mass; expected a volume with its unit', VOLUME),
    (
        "120 cm",
        "area",
        'found "120 cm", which is a length; expected an area with its unit',
        'write "1.5 m2"',
    ),
    (
        "0 m2",
        "area",
        'found "0 m2", which is not believable for an area',
        'expected 0.001 to 10000 m2, such as "1.5 m2"',
    ),
    ("6 kg", "length", 'found "6 kg", which is a mass; expected a length with its unit', LENGTH),
    ("3 gal", "flow", 'found "3 gal", which is a volume; expected a flow with its unit', FLOW),
    (
        "6 cm/h",
        "flow",
        'found "6 cm/h", which is another kind of quantity; expected a flow with its unit',
        FLOW,
    ),
    ("52", "length", 'found "52" without a unit, expected a length with its unit', LENGTH),
    ("", "length", 'found "", expected a length with its unit', LENGTH),
    ("cm", "length", 'found "cm", expected a length with its unit', LENGTH),
    ("about 52 cm", "length", 'found "about 52 cm", expected a length with its unit', LENGTH),
    ("nan cm", "length", 'found "nan cm", not a finite number; expected a length with its unit', LENGTH),
    ("inf cm", "length", 'found "inf cm", not a finite number; expected a length with its unit', LENGTH),
    ("-inf cm", "length", 'found "-inf cm", not a finite number; expected a length with its unit', LENGTH),
    ("1e999 cm", "length", 'found "1e999 cm", not a finite number; expected a length with its unit', LENGTH),
    (
        "-5 cm",
        "length",
        'found "-5 cm", which is not believable for a length',
        'expected 0.05 to 10000 cm, such as "91 cm" or "36 in"',
    ),
    (
        "0 cm",
        "length",
        'found "0 cm", which is not believable for a length',
        'expected 0.05 to 10000 cm, such as "91 cm" or "36 in"',
    ),
    (
        "200 kW",
        "power",
        'found "200 kW", which is not believable for a power',
        'expected 0.5 to 10000 W, such as "200 W"',
    ),
    (
        "-300 degC",
        "temperature",
        'found "-300 degC", which is not believable for a temperature',
        'expected -30 to 95 degC, such as "25 degC" or "77 degF"',
    ),
    ("52,5 cm", "length", 'found "52,5 cm", a number with a comma', 'write "52.5 cm"'),
    (
        "1,200 L/h",
        "flow",
        'found "1,200 L/h", a number with a comma',
        'write "1200 L/h", or "1.200 L/h" if the comma is a decimal point',
    ),
    ("1,200,000 mL", "volume", 'found "1,200,000 mL", a number with a comma', 'write "1200000 mL"'),
    ("1.200,5 L/h", "flow", 'found "1.200,5 L/h", a number with a comma', 'write "1200.5 L/h"'),
    ("1,200.5 L/h", "flow", 'found "1,200.5 L/h", a number with a comma', 'write "1200.5 L/h"'),
    (
        "12 CM",
        "length",
        'found "12 CM": unknown unit "CM", expected a length with its unit',
        f'nearest unit: "cm"; {LENGTH}',
    ),
    (
        "40 imp. gal",
        "volume",
        'found "40 imp. gal": unknown unit "imp. gal", expected a volume with its unit',
        f'nearest unit: "imp gal"; {VOLUME}',
    ),
    (
        "5 ft 3 in",
        "length",
        'found "5 ft 3 in": unknown unit "ft 3 in", expected a length with its unit',
        LENGTH,
    ),
    (
        "2 m**3",
        "volume",
        'found "2 m**3": unknown unit "m**3", expected a volume with its unit',
        VOLUME,
    ),
]


@pytest.mark.parametrize(("text", "kind", "message", "hint"), REFUSED, ids=[row[0] for row in REFUSED])
def test_what_is_no_quantity_is_refused_with_what_to_write(text, kind, message, hint):
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    assert (caught.value.message, caught.value.hint) == (message, hint)


@given(st.text(max_size=120), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_finite_quantity_or_refused(text, kind):
    try:
        value = parse(text, kind)
    except QuantityError as error:
        assert error.message.startswith("found ")
        assert error.hint
        assert all(c.isprintable() for c in error.message)
    else:
        assert math.isfinite(value)
        assert KINDS[kind].least <= value <= KINDS[kind].most


# --- Spans ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "span", "back"),
    [
        ("1 day", Span(days=1), "1 day"),
        ("14 days", Span(days=14), "14 days"),
        ("2 weeks", Span(days=14), "14 days"),
        ("6 weeks", Span(days=42), "6 weeks"),
        ("1 month", Span(months=1), "1 month"),
        ("6 months", Span(months=6), "6 months"),
        ("2 years", Span(months=24), "2 years"),
        ("20 years", Span(months=240), "20 years"),
    ],
)
def test_spans_are_whole_days_or_whole_months(text, span, back):
    assert parse_span(text) == span
    assert str(span) == back


@given(st.integers(1, 7305), st.sampled_from(["day", "week", "month", "year"]))
def test_a_span_says_itself(number, word):
    text = f"{number} {word}{'s' if number > 1 else ''}"
    try:
        span = parse_span(text)
    except QuantityError as error:
        assert number * {"day": 1, "week": 7, "month": 30, "year": 360}[word] > 7305
        assert error.message == f'found "{text}", expected 1 day(s) to 20 years'
    else:
        assert parse_span(str(span)) == span


@pytest.mark.parametrize(
    ("months", "longest"),
    # The longest run of so many months in the calendar: July and August; a leap year; two years with one leap day.
    [(1, 31), (2, 62), (12, 366), (24, 731)],
)
def test_the_longest_days_of_months_are_never_underrated(months, longest):
    assert longest <= Span(months=months).most_days <= longest + 2


@pytest.mark.parametrize(
    "text", ["", "14", "days", "1.5 days", "-3 days", "0 days", "21 years", "2 fortnights", "14 days " * 9]
)
def test_what_is_no_span_is_refused(text):
    with pytest.raises(QuantityError) as caught:
        parse_span(text)
    assert caught.value.message.startswith("found ")
    assert caught.value.hint


# --- Back to text -----------------------------------------------------------------------------------------------

SHOWN = [
    # function, value, metric, US; what a jug, a tape, a thermometer or a scale can tell apart
    (show_volume, 151.41647136, "151 L", "40 gal"),
    (show_volume, 2.44, "2.4 L", "0.6 gal"),
    (show_volume, 12.3, "12.5 L", "3 gal"),
    (show_volume, 4321, "4320 L", "1141 gal"),
    (show_length, 26.3, "26.5 cm", "10.25 in"),
    (show_length, 150, "150 cm", "59 in"),
    (show_temperature, 25.0, "25 °C", "77 °F"),
    (show_temperature, 24.6, "24.5 °C", "76 °F"),
    (show_temperature, -5.0, "-5 °C", "23 °F"),
    (show_temperature_step, 2.0, "2 °C", "4 °F"),
    (show_area, 6000.0, "6000 cm²", "930 in²"),
    (show_area, 1234.0, "1250 cm²", "190 in²"),
    (show_mass, 0.24, "0.25 g", "0.25 g"),
    (show_mass, 1.27, "1.25 g", "1.25 g"),
    (show_mass, 6.24, "6.2 g", "6.2 g (0.2 oz)"),
    (show_mass, 36.58, "36.6 g", "36.6 g (1.3 oz)"),
    (show_mass, 480, "480 g", "480 g (17 oz)"),
    (show_mass, 10_970, "11 kg", "24 lb"),
]


@pytest.mark.parametrize(("show", "value", "metric", "us"), SHOWN)
def test_amounts_are_printed_as_a_person_can_measure_them(show, value, metric, us):
    assert (show(value, "metric"), show(value, "us")) == (metric, us)


def step_of(value, steps):
    return next(step for limit, step in steps if abs(value) < limit)


INFINITE = math.inf
STEPS = [
    # function, system, factor and shift from the kept unit, (limit, step) in the printed unit, largest value kept
    (show_volume, "metric", 1, 0, ((3, 0.1), (20, 0.5), (1000, 1), (INFINITE, 5)), 20_000),
    (show_volume, "us", 1 / 3.785411784, 0, ((3, 0.1), (20, 0.5), (INFINITE, 1)), 20_000),
    (show_length, "metric", 1, 0, ((40, 0.5), (INFINITE, 1)), 5000),
    (show_length, "us", 1 / 2.54, 0, ((40, 0.25), (INFINITE, 1)), 5000),
    (show_temperature, "metric", 1, 0, ((INFINITE, 0.5),), 95),
    (show_temperature, "us", 1.8, 32, ((INFINITE, 1),), 95),
]


@given(st.sampled_from(STEPS), st.floats(0, 1))
def test_printing_rounds_by_at_most_half_a_step(row, share):
    show, system, factor, shift, steps, most = row
    value = share * most
    number, unit = show(value, system).split(" ")
    exact = value * factor + shift
    assert abs(float(number) - exact) <= step_of(exact, steps) / 2 + 1e-6
    assert (
        unit
        == {show_volume: ("L", "gal"), show_length: ("cm", "in"), show_temperature: ("°C", "°F")}[show][
            system == "us"
        ]
    )


@pytest.mark.parametrize("system", ["metric", "us"])
def test_what_there_is_is_never_printed_as_nothing(system):
    assert show_mass(0.02, system) == "less than 0.05 g"
    assert show_mass(0.05, system) == "0.05 g"
    assert show_mass(0.0, system) == "0 g"


@given(st.floats(0.05, 2_000_000))
def test_masses_are_printed_to_the_step_of_a_kitchen_or_bathroom_scale(grams):
    text = show_mass(grams, "metric")
    number, unit = text.split(" ")
    back = float(number) * {"g": 1, "kg": 1000}[unit]
    step = (
        0.05 if grams < 2 else 0.1 if grams < 50 else 1 if grams < 2000 else 100 if grams < 10_000 else 1000
    )
    assert abs(back - grams) <= step / 2 + 1e-6


@pytest.mark.parametrize(
    ("mg", "text"),
    [
        (0, "0 mg"),
        (0.42, "0.42 mg"),
        (151.4, "160 mg"),
        (150.0, "150 mg"),
        (1060.0, "1100 mg"),
        (12_345.0, "13000 mg"),
    ],
)
def test_small_amounts_of_a_chemical(mg, text):
    assert show_milligrams(mg) == text


@given(st.floats(1e-3, 1e7))
def test_two_figures_are_never_too_little_and_at_most_a_tenth_too_much(mg):
    assert mg * (1 - 1e-8) <= float(show_milligrams(mg).removesuffix(" mg")) <= mg * 1.1 * (1 + 1e-8)


def test_dates_cannot_be_read_the_wrong_way_round():
    assert show_date(dt.date(2026, 12, 1)) == "1 December 2026"


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (0, "0 min"),
        (1, "1 min"),
        (59, "59 min"),
        (60, "1 h"),
        (61, "1 h 1 min"),
        (175, "2 h 55 min"),
        (1440, "24 h"),
    ],
)
def test_minutes_are_shown_as_people_say_them(minutes, text):
    assert show_minutes(minutes) == text
