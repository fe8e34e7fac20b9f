"""Readings back to text: as they are shown, and as they are typed into a field."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import UsageError
from scheduler.locales import formats_of
from scheduler.readings import QUANTITIES, SIGNS, field_unit, in_field, parse_reading, show_reading, with_unit


@pytest.mark.parametrize(
    ("name", "value", "metric", "us"),
    [
        ("temperature", 25, "25 °C", "77 °F"),
        ("temperature", 25.34, "25.3 °C", "77.6 °F"),
        ("temperature", -0.04, "0 °C", "31.9 °F"),
        ("basking", 35, "35 °C", "95 °F"),
        ("nitrate", 35.4, "35 mg/L", "35 mg/L"),
        ("nitrate", 160, "160 mg/L", "160 mg/L"),
        ("nitrate", 7.08, "7.1 mg/L", "7.1 mg/L"),
        ("ammonia", 0.4, "0.4 mg/L (as N)", "0.4 mg/L (as N)"),
        ("ammonia", 0.388, "0.39 mg/L (as N)", "0.39 mg/L (as N)"),
        ("ammonia", 0.0049, "under 0.01 mg/L (as N)", "under 0.01 mg/L (as N)"),
        ("nitrite", 0, "0 mg/L (as N)", "0 mg/L (as N)"),
        ("nitrite", 0.0051, "0.01 mg/L (as N)", "0.01 mg/L (as N)"),
        ("weight", 480, "480 g", "480 g (1.06 lb)"),
        ("weight", 8.24, "8.2 g", "8.2 g (0.3 oz)"),
        ("weight", 99.96, "100 g", "100 g (3.5 oz)"),
        ("weight", 2345.6, "2346 g", "2346 g (5.17 lb)"),
        ("length", 14.2, "14.2 cm", "5.6 in"),
        ("length", 20, "20 cm", "7.9 in"),
        ("ph", 7.4, "pH 7.4", "pH 7.4"),
        ("ph", 8.0, "pH 8", "pH 8"),
        ("ph", 7.456, "pH 7.46", "pH 7.46"),
        ("uvi", 2.7, "UVI 2.7", "UVI 2.7"),
        ("uvi", 3.0, "UVI 3", "UVI 3"),
    ],
)
def test_a_reading_is_shown_as_it_is_read_off(name, value, metric, us):
    assert show_reading(name, value, "metric") == metric
    assert show_reading(name, value, "us") == us


@given(
    st.sampled_from([name for name in QUANTITIES if name not in SIGNS]),
    st.floats(0, 1),
    st.sampled_from(["metric", "us"]),
)
def test_what_is_shown_can_be_written_again(name, part, system):
    # The pounds and ounces in brackets are for the eye.
    low, high = QUANTITIES[name].likely
    shown = re.sub(r" \([^)]* (oz|lb)\)", "", show_reading(name, low + part * (high - low), system))
    if shown.startswith("under"):
        return
    again = parse_reading(name, shown).value
    assert math.isclose(again, low + part * (high - low), rel_tol=0.06, abs_tol=0.15), shown


@pytest.mark.parametrize(
    ("name", "typed", "basis", "taken"),
    [
        ("nitrate", "35", "NO3", "35 mg/L as NO3"),
        ("nitrite", "0,05", "N", "0.05 mg/L as N"),
        ("nitrite", " 0.05 ", "", "0.05 mg/L"),
        ("ammonia", "0,25 mg/L", "NH4", "0.25 mg/L as NH4"),
        ("ammonia", "0.25 mg/L as N", "NH4", "0.25 mg/L as N"),
        ("ph", "7,4", "", "7.4"),
        ("ph", "٧٫٤", "", "7.4"),
        ("ph", "７.４", "", "7.4"),
        ("weight", "480", "", "480 g"),
        ("weight", "1.2 kg", "", "1.2 kg"),
        ("weight", "480,5", "", "480.5 g"),
        ("temperature", "−1", "", "-1 degC"),
        ("temperature", "77 °F", "", "77 °F"),
        ("length", "14,2", "", "14.2 cm"),
        ("uvi", "2,7", "", "2.7"),
    ],
)  # fmt: skip
def test_what_is_typed_into_a_field(name, typed, basis, taken):
    """Decimal comma or point, digits of any script, with its unit or without; then it is read as anything else is."""
    assert in_field(name, typed, "metric", basis) == taken
    assert parse_reading(name, taken)


def test_a_field_is_in_the_units_of_the_site():
    assert in_field("temperature", "77", "us") == "77 degF"
    assert in_field("length", "5,5", "us") == "5.5 in"
    assert [field_unit(name, "us") for name in ("temperature", "length", "weight", "nitrate", "ph")] == [
        "°F", "in", "g", "mg/L", "",
    ]  # fmt: skip


@pytest.mark.parametrize("typed", ["1,250", "12,500 g", "-1,250"])
def test_a_comma_that_may_part_thousands_is_asked_about(typed):
    """A decimal comma in one country parts thousands in another; resolution 10 of the 22nd CGPM (2003, from memory) wants spaces for that."""
    with pytest.raises(UsageError, match="may be two numbers"):
        in_field("weight", typed, "metric")


@pytest.mark.parametrize(
    ("tag", "typed", "said"),
    [
        # Where the locale has a comma it is the point that may part thousands.
        ("de-DE", "1.250", 'weight: found "1.250", which may be two numbers; write 1,250 or 1250'),
        (
            "de-DE",
            "12.500 g",
            'weight: found "12.500 g", which may be two numbers; write 12,500 g or 12500 g',
        ),
        ("de-DE", "1.250,5", 'weight: found "1.250,5", a number with thousands parted off; write 1250,5'),
        ("de-DE", "1,250", "1.250 g"),
        ("de-DE", "480,5", "480.5 g"),
        ("de-DE", "480.5", "480.5 g"),
        ("de-DE", "0.125", "0.125 g"),
        ("en-US", "1,250", 'weight: found "1,250", which may be two numbers; write 1.250 or 1250'),
        ("en-US", "1,250.5", 'weight: found "1,250.5", a number with thousands parted off; write 1250.5'),
        ("en-US", "1.250", "1.250 g"),
        ("en-US", "480,5", "480.5 g"),
        (None, "1,250", 'weight: found "1,250", which may be two numbers; write 1.250 or 1250'),
    ],
)
def test_a_mark_is_never_a_thousandfold_mistake(tag, typed, said):
    """What the locale's own mark says is taken; the other one before three digits is asked about, whoever writes it."""
    try:
        found = in_field("weight", typed, "metric", formats=formats_of(tag))
    except UsageError as error:
        found = str(error)
    assert found == said


def test_what_is_typed_with_its_unit_may_have_the_locales_comma():
    assert with_unit("temperature", "25,5 °C", formats_of("de-AT")) == "25.5 °C"
    assert with_unit("ph", "7,4", formats_of("fr-FR")) == "7.4"
    # Without a locale it is read as on the command line.
    assert with_unit("ph", "7,4", formats_of(None)) == "7,4"
    with pytest.raises(UsageError, match=r"write 1,250 g or 1250 g"):
        with_unit("weight", "1.250 g", formats_of("de-AT"))


@pytest.mark.parametrize(
    ("name", "value", "system", "shown"),
    [
        ("temperature", 25.5, "metric", "25,5 °C"),
        ("nitrite", 0.004, "metric", "under 0,01 mg/L (as N)"),
        ("weight", 12500.0, "metric", "12.500 g"),
        ("weight", 480.5, "us", "480 g (1,06 lb)"),
        ("ph", 7.45, "metric", "pH 7,45"),
    ],
)
def test_a_reading_is_shown_with_the_marks_of_the_locale(name, value, system, shown):
    assert show_reading(name, value, system, formats_of("de-DE")) == shown


@given(st.sampled_from(sorted(QUANTITIES)), st.text(max_size=30))
def test_anything_typed_into_a_field_is_read_or_refused(name, typed):
    try:
        parse_reading(name, in_field(name, typed, "metric"))
    except UsageError:
        return
