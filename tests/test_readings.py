"""Readings as keepers write them: what may be measured, numbers with units, what is refused, and slips of the pen."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import ReadingError, UsageError
from scheduler.quantities import KINDS
from scheduler.readings import (
    QUANTITIES,
    SIGNS,
    ParsedReading,
    named_of,
    parse_reading,
    quantity,
    show_reading,
    unlikely,
)

# --- What may be measured ---------------------------------------------------------------------------------------


def test_the_table():
    assert [(q.name, q.unit, q.of) for q in QUANTITIES.values()] == [
        ("temperature", "degC", ""),
        ("basking", "degC", ""),
        ("uvi", "1", "lamp"),
        ("ammonia", "mg/L as N", ""),
        ("nitrite", "mg/L as N", ""),
        ("nitrate", "mg/L as NO3", ""),
        ("ph", "1", ""),
        ("alkalinity", "mg/L as CaCO3", ""),
        ("weight", "g", "resident"),
        ("length", "cm", "resident"),
        *((name, "1", "resident") for name in SIGNS),
    ]


def test_every_quantity_keeps_its_own_rules():
    for q in QUANTITIES.values():
        assert q.unit.split(" ")[0] == (KINDS[q.kind].unit if q.kind else "1")
        assert q.possible[0] <= q.likely[0] < q.likely[1] <= q.possible[1]
        assert q.down < 1 < q.up
        example = parse_reading(q.name, q.example)
        assert not example.assumed
        assert unlikely(q.name, example.value) is None
        assert unlikely(q.name, example.value, example.value, 0) is None


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("temperature", "temperature"), ("temp", "temperature"), ("Water", "temperature"), ("tempera", "temperature"),
        ("basking", "basking"), ("surface", "basking"), ("bask", "basking"),
        ("uvi", "uvi"), ("UV", "uvi"), ("uv_index", "uvi"), ("UV  Index", "uvi"),
        ("ammonia", "ammonia"), ("NH3", "ammonia"), ("nh4", "ammonia"), ("TAN", "ammonia"), ("NH3/NH4", "ammonia"),
        ("nitrite", "nitrite"), ("NO2", "nitrite"), ("nitri", "nitrite"),
        ("nitrate", "nitrate"), ("NO3", "nitrate"), (" nitra ", "nitrate"),
        ("pH", "ph"), ("p", "ph"),
        ("weight", "weight"), ("mass", "weight"), ("grams", "weight"),
        ("length", "length"), ("carapace", "length"),
    ],
)  # fmt: skip
def test_words_for_a_quantity(word, name):
    assert quantity(word).name == name


ALL = "temperature, basking, uvi, ammonia, nitrite, nitrate, ph, alkalinity, weight, length, sign.NAME"


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("wieght", 'nothing is measured as "wieght"; nearest: weight'),
        ("carapase", 'nothing is measured as "carapase"; nearest: length'),
        ("Nitrates", 'nothing is measured as "Nitrates"; nearest: nitrate'),
        ("nitr", '"nitr" may mean nitrite or nitrate; write more of it'),
        ("xyzzy", f'nothing is measured as "xyzzy"; there are: {ALL}'),
        ("", f'nothing is measured as ""; there are: {ALL}'),
        ("\x1b[2J", f'nothing is measured as "\\u001b[2J"; there are: {ALL}'),
    ],
)
def test_a_word_for_nothing(word, said):
    with pytest.raises(UsageError) as caught:
        quantity(word)
    assert str(caught.value) == said


# --- Numbers and units ------------------------------------------------------------------------------------------

SCALES = "degF = degC x 9/5 + 32, exact by definition"
POUND = "pound 453.59237 g: international yard and pound agreement 1959 (value from memory)"
YARD = "inch 2.54 cm: international yard and pound agreement 1959 (value from memory)"


@pytest.mark.parametrize(
    ("name", "text", "value", "source"),
    [
        ("temperature", "25 degC", 25, "SI"),
        ("temperature", "77 degF", 25, SCALES),
        ("temperature", "25.3°C", 25.3, "SI"),
        ("basking", "95 °F", 35, SCALES),
        ("weight", "480 g", 480, "SI"),
        ("weight", "1.1 lb", 498.951607, POUND),
        ("weight", "2.3 kg", 2300, "SI"),
        ("length", "14.2 cm", 14.2, "SI"),
        ("length", "142 mm", 14.2, "SI"),
        ("length", "4 in", 10.16, f"{YARD}; 21 CFR 1240.62 names 4 in"),
        ("ph", "7.4", 7.4, "a bare number"),
        ("ph", "pH 7.4", 7.4, "a bare number, named"),
        ("ph", "8", 8, "a bare number"),
        ("ph", " +7.40 ", 7.4, "a bare number"),
        ("uvi", "2.7", 2.7, "a bare number"),
        ("uvi", "UVI 2.7", 2.7, "a bare number, named"),
        ("uvi", "0", 0, "a lamp that is off"),
        ("ph", "0", 0, "the scale's own end"),
        ("ph", "14", 14, "the scale's own end"),
    ],
)
def test_numbers_with_their_units(name, text, value, source):
    given_text = " ".join(text.split())
    assert parse_reading(name, text) == ParsedReading(value=pytest.approx(value), given=given_text), source


# --- What is refused --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("nitrate", "35", 'nitrate: found "35" without a unit; write "35 mg/L"'),
        ("nitrate", "8 as N", 'nitrate: found "8 as N" without a unit; write "8 mg/L as N"'),
        ("temperature", "77", 'temperature: found "77" without a unit; write "77 degC" or "77 degF"'),
        ("weight", "480", 'weight: found "480" without a unit; write "480 g"'),
        ("length", "14.2", 'length: found "14.2" without a unit; write "14.2 cm" or "14.2 in"'),
        (
            "nitrate",
            "8 gal",
            'nitrate: found "8 gal", which is a volume; expected a concentration with its unit; write "35 mg/L as NO3"',
        ),
        (
            "weight",
            "480 mL",
            'weight: found "480 mL", which is a volume; expected a mass with its unit; write "480 g"',
        ),
        (
            "nitrate",
            "8 mg/L as NO2",
            'nitrate: found "8 mg/L as NO2", which is another quantity; write nitrate="35 mg/L as NO3"',
        ),
        (
            "ammonia",
            "1 mg/L NO3-N",
            'ammonia: found "1 mg/L NO3-N", which is another quantity; write ammonia="0.25 mg/L as N"',
        ),
        (
            "nitrite",
            "1 mg/L TAN",
            'nitrite: found "1 mg/L TAN", which is another quantity; write nitrite="0.1 mg/L as N"',
        ),
        (
            "nitrite",
            "1 mg/L N-NO3",
            'nitrite: found "1 mg/L N-NO3", which is another quantity; write nitrite="0.1 mg/L as N"',
        ),
        (
            "nitrate",
            "8 mg/L as nitrate",
            'nitrate: a kit for nitrate reads as NO3 or N, not as "nitrate"; write nitrate="35 mg/L as NO3"',
        ),
        ("nitrate", "1,5 mg/L as N", 'nitrate: found "1,5 mg/L", a number with a comma; write "1.5 mg/L as N"'),
        ("nitrate", "1,5 mg N/L", 'nitrate: found "1,5 mg/L", a number with a comma; write "1.5 mg/L N"'),
        ("nitrate", "1,500 mg/L-N", 'nitrate: found "1,500 mg/L", a number with a comma; write "1500 mg/L-N", or "1.500 mg/L-N" if the comma is a decimal point'),
        ("weight", "1,480 g", 'weight: found "1,480 g", a number with a comma; write "1480 g", or "1.480 g" if the comma is a decimal point'),
        ("temperature", "77 degC", 'temperature: found "77 degC", which cannot be; expected -2 to 60 degC; write temperature="25 degC"'),
        ("nitrate", "3000 mg/L as N", 'nitrate: found "3000 mg/L as N", which cannot be; expected 0 to 10000 mg/L as NO3; write nitrate="35 mg/L as NO3"'),
        ("ph", "14.1", 'ph: found "14.1", which cannot be; expected 0 to 14; write ph=7.4'),
        ("ph", "-1", 'ph: found "-1", which cannot be; expected 0 to 14; write ph=7.4'),
        ("ph", "7,4", 'ph: found "7,4", expected a number without a unit; write ph=7.4'),
        ("ph", "pH 8,1", 'ph: found "pH 8,1", expected a number without a unit; write ph=8.1'),
        ("ph", "7.4 mg/L", 'ph: found "7.4 mg/L", expected a number without a unit; write ph=7.4'),
        ("ph", "nan", 'ph: found "nan", expected a number without a unit; write ph=7.4'),
        ("ph", "", 'ph: found "", expected a number without a unit; write ph=7.4'),
        ("uvi", "1e999", 'uvi: found "1e999", expected a number without a unit; write uvi=2.7'),
        ("uvi", "UVI", 'uvi: found "UVI", expected a number without a unit; write uvi=2.7'),
        ("uvi", "300", 'uvi: found "300", which cannot be; expected 0 to 100; write uvi=2.7'),
        (
            "ph",
            "7" * 101,
            f'ph: found "{"7" * 59}…", which is too long for a reading; write ph=7.4',
        ),
    ],
)  # fmt: skip
def test_what_is_refused_with_what_to_write(name, text, said):
    with pytest.raises(UsageError) as caught:
        parse_reading(name, text)
    assert str(caught.value) == said


@pytest.mark.parametrize("text", ["nan mg/L", "inf mg/L", "-1 mg/L", "1e300 mg/L", "mg/L", "", "one mg/L", "8 mg/L as", "8 mg/L (", "8 mg/L\x00 as N"])  # fmt: skip
def test_what_is_no_amount(text):
    with pytest.raises(UsageError, match=r"^nitrate: found .*; (write|expected) "):
        parse_reading("nitrate", text)


def test_a_kit_reads_as_something_of_its_own_quantity():
    with pytest.raises(UsageError, match='a kit for nitrate reads as NO3 or N, not as "NO2"'):
        parse_reading("nitrate", "8 mg/L", "NO2")


@given(st.sampled_from(list(QUANTITIES)), st.text(max_size=120))
def test_any_text_is_a_reading_or_refused(name, text):
    try:
        found = parse_reading(name, text)
    except UsageError as error:
        assert "\n" not in str(error)
        return
    assert QUANTITIES[name].possible[0] <= found.value <= QUANTITIES[name].possible[1]


# --- What looks mistyped ----------------------------------------------------------------------------------------

HOUSE = "house value: catches slips of the pen, is no husbandry"


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("temperature", 5, 40), ("basking", 10, 60), ("uvi", 0, 12), ("ammonia", 0, 8), ("nitrite", 0, 10),
        ("nitrate", 0, 400), ("ph", 5, 9.5), ("weight", 2, 20_000), ("length", 2, 60),
    ],
)  # fmt: skip
def test_likely_ranges(name, low, high):
    assert unlikely(name, low) is None, HOUSE
    assert unlikely(name, high) is None, HOUSE
    assert unlikely(name, high * 1.01 + 0.1) is not None, HOUSE
    assert low == 0 or unlikely(name, low * 0.99) is not None, HOUSE


@pytest.mark.parametrize(
    ("name", "value", "last", "days", "said"),
    [
        ("nitrate", 4000, None, None, "nitrate: 4000 mg/L is unlikely; expected 0 mg/L to 400 mg/L"),
        ("ammonia", 25, 0.25, 7, "total ammonia: 25 mg/L (as N) is unlikely; expected 0 mg/L (as N) to 8 mg/L (as N)"),
        ("ph", 4.7, 7.4, 7, "pH: pH 4.7 is unlikely; expected pH 5 to pH 9.5"),
        ("weight", 721, 480, 7, "weight: 721 g is far from the last reading of 480 g, 7 days apart"),
        ("weight", 720, 480, 7, None),
        ("weight", 319, 480, 7, "weight: 319 g is far from the last reading of 480 g, 7 days apart"),
        ("weight", 321, 480, 7, None),
        ("weight", 4800, 480, None, "weight: 4800 g is far from the last reading of 480 g"),
        ("weight", 800, 480, 59, "weight: 800 g is far from the last reading of 480 g, 59 days apart"),
        ("weight", 800, 480, 60, None),
        ("weight", 300, 480, 60, None),
        ("weight", 300, 480, -60, None),
        ("weight", 800, 480, -7, "weight: 800 g is far from the last reading of 480 g, 7 days apart"),
        ("length", 17.7, 14.2, 30, None),
        ("length", 17.8, 14.2, 30, "length of the carapace: 17.8 cm is far from the last reading of 14.2 cm, 30 days apart"),
        ("length", 17.8, 14.2, 60, None),
        ("length", 13.5, 14.2, 30, None),
        ("length", 13.4, 14.2, 400, "length of the carapace: 13.4 cm is far from the last reading of 14.2 cm, 400 days apart"),
        ("ph", 5.8, 7.4, 7, "pH: pH 5.8 is far from the last reading of pH 7.4, 7 days apart"),
        ("ph", 6.0, 7.4, 7, None),
        ("ph", 9.1, 7.4, 7, "pH: pH 9.1 is far from the last reading of pH 7.4, 7 days apart"),
        ("temperature", 36, 25, 1, "water temperature: 36 °C is far from the last reading of 25 °C, 1 day apart"),
        ("temperature", 35, 25, 1, None),
        ("temperature", 12, 25, 90, None),
        ("basking", 50, 34, 0, "temperature of the basking place: 50 °C is far from the last reading of 34 °C, 0 days apart"),
        ("basking", 48, 34, 0, None),
        ("uvi", 9.5, 3.1, 7, "UV Index: UVI 9.5 is far from the last reading of UVI 3.1, 7 days apart"),
        ("uvi", 9.0, 3.1, 7, None),
        ("uvi", 1.0, 3.1, 7, "UV Index: UVI 1 is far from the last reading of UVI 3.1, 7 days apart"),
        ("uvi", 3.1, 0.0, 7, None),
        ("nitrate", 160, 5, 7, None),
        ("nitrite", 5, 0, 7, None),
    ],
)  # fmt: skip
def test_what_looks_like_a_slip_of_the_pen(name, value, last, days, said):
    assert unlikely(name, value, last, days) == said, HOUSE


def test_a_slip_is_told_in_the_units_of_the_site():
    assert unlikely("temperature", 38, 25, 1, "us") == (
        "water temperature: 100.4 °F is far from the last reading of 77 °F, 1 day apart"
    )
    assert unlikely("length", 100, system="us") == (
        "length of the carapace: 39.4 in is unlikely; expected 0.8 in to 23.6 in"
    )


@given(st.sampled_from(["weight", "length", "uvi"]), st.floats(2, 60), st.floats(2, 60))
def test_what_never_changed_is_never_a_slip(name, one, other):
    assert unlikely(name, min(one, 12), min(one, 12), 7) is None
    if unlikely(name, min(one, 12), min(other, 12), 7) is not None:
        assert one != other


# --- Signs ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"), [("yes", 1.0), ("Seen", 1.0), ("1", 1.0), ("no", 0.0), ("gone", 0.0), ("0", 0.0)]
)
def test_a_sign_is_seen_or_not(text, value):
    for name in SIGNS:
        assert parse_reading(name, text).value == value
        assert show_reading(name, value, "us") == ("yes" if value else "no")


@pytest.mark.parametrize("text", ["", "maybe", "2", "0.5", "yes no"])
def test_anything_else_is_no_sign(text):
    with pytest.raises(ReadingError, match=r"expected yes \(seen\) or no"):
        parse_reading("sign.gasping", text)


def test_a_name_says_whose_it_is():
    assert named_of("weight.Fern") == ("weight", "Fern")
    assert named_of("sign.gasping") == ("sign.gasping", "")
    assert named_of("sign.gasping.St. Ives") == ("sign.gasping", "St. Ives")
    assert quantity("sign.gasp").name == "sign.gasping"
    with pytest.raises(UsageError, match=r"sign\.shut-eyes, sign\.nose"):
        quantity("sign.qqqqqqqqqqqq")
