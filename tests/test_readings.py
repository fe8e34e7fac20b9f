"""Readings as keepers and test kits write them, against molar masses and units; and slips of the pen."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import ReadingError, UsageError
from scheduler.locales import formats_of
from scheduler.quantities import KINDS
from scheduler.readings import (
    QUANTITIES,
    SIGNS,
    ParsedReading,
    assumption,
    field_unit,
    in_field,
    named_of,
    parse_reading,
    quantity,
    show_reading,
    unlikely,
    with_unit,
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


# --- What a kit reads as ----------------------------------------------------------------------------------------

# g of the ion for each g of its nitrogen, from molar masses N 14.0067, O 15.9994, H 1.00794 (IUPAC; from memory).
NO3 = (14.0067 + 3 * 15.9994) / 14.0067
NO2 = (14.0067 + 2 * 15.9994) / 14.0067
NH3 = (14.0067 + 3 * 1.00794) / 14.0067
NH4 = (14.0067 + 4 * 1.00794) / 14.0067

EPA = "US drinking water: 10 mg/L of nitrate as N (40 CFR 141.62; from memory) is 44.3 mg/L of NO3"
WHO = "WHO: 50 mg/L of nitrate as NO3 (guidelines for drinking-water; from memory) is 11.3 mg/L as N"
LABEL = "spellings of kits' labels: common practice, no published source"

WRITTEN = [
    # quantity, text, what the kit reads as, value kept, source
    ("nitrate", "35 mg/L as NO3", "NO3", 35, "kept as NO3"),
    ("nitrate", "10 mg/L as N", "N", 44.3, EPA),
    ("nitrate", "11.3 mg/L as N", "N", 50, WHO),
    *(("nitrate", text, "NO3", 20, LABEL) for text in (
        "20 mg/L NO3", "20 ppm NO3", "20 mg/l no3", "20 mg/L NO3-", "20 mg/L NO₃⁻", "20 mg/L (NO3)",
        "20 mg/L (as NO3)", "20 mg NO3/L", "20mg/L NO3", "20 mg/L-NO3", " 20  mg/L  as  NO3 ",
    )),
    *(("nitrate", text, "N", 5 * NO3, LABEL) for text in (
        "5 mg/L as N", "5 mg/L N", "5 ppm as n", "5 mg/L-N", "5 mg/L NO3-N", "5 mg/L as NO3-N", "5 mg/L NO3--N",
        "5 mg/L NO₃-N", "5 mg/L NO₃⁻-N", "5 mg/L N-NO3", "5 mg N/L", "5 mg NO3-N/L", "5 mg/L (NO3-N)",
        "5 mg/L (as N)", "5 mg/L NO3 N", "5 mg/L nitrate-N", "5 mg/L nitrate nitrogen", "5 mg/L as nitrogen",
    )),
    *(("nitrite", text, "NO2", 0.5 / NO2, LABEL) for text in ("0.5 mg/L NO2", "0.5 mg/L as NO2", "0.5 ppm NO2-")),
    *(("nitrite", text, "N", 0.5, LABEL) for text in ("0.5 mg/L as N", "0.5 mg/L NO2-N", "0.5 mg/L nitrite-N")),
    *(("ammonia", text, "NH3", 0.5 / NH3, LABEL) for text in ("0.5 mg/L NH3", "0.5 mg/L as NH3")),
    *(("ammonia", text, "NH4", 0.5 / NH4, LABEL) for text in ("0.5 mg/L NH4", "0.5 mg/L NH4+", "0.5 mg/L NH₄⁺")),
    *(("ammonia", text, "N", 0.5, LABEL) for text in (
        "0.5 mg/L as N", "0.5 mg/L NH3-N", "0.5 mg/L NH4-N", "0.5 mg/L NH4+-N", "0.5 mg/L N-NH4", "0.5 mg/L TAN",
        "0.5 mg/L as TAN", "0.5 mg/L ammonia-N", "0.5 mg/L ammonium nitrogen",
    )),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "said", "value", "source"), WRITTEN)
def test_what_the_text_says_that_the_kit_reads_as(name, text, said, value, source):
    for basis in (None, *QUANTITIES[name].bases):
        found = parse_reading(name, text, basis)
        assert (found.said, found.assumed) == (said, False), source
        assert found.value == pytest.approx(value, rel=2e-3), source


@pytest.mark.parametrize(
    ("name", "basis", "value"),
    [
        ("nitrate", "N", 8 * NO3),
        ("nitrate", "NO3", 8),
        ("nitrite", "N", 8),
        ("nitrite", "NO2", 8 / NO2),
        ("ammonia", "N", 8),
        ("ammonia", "NH3", 8 / NH3),
        ("ammonia", "NH4", 8 / NH4),
    ],
)
def test_what_the_description_says_that_the_kit_reads_as(name, basis, value):
    found = parse_reading(name, "8 ppm", basis)
    assert found == ParsedReading(value=pytest.approx(value, rel=1e-4), given="8 ppm", said=basis)
    assert assumption(name, found) is None


@pytest.mark.parametrize(
    ("name", "said", "sentence"),
    [
        (
            "nitrate",
            "NO3",
            "nitrate was taken as mg/L of NO3: look at what the kit reads as; if that is N, "
            'write "8 mg/L as N", or nitrate = "N" once in [site.test_kit]',
        ),
        (
            "nitrite",
            "N",
            "nitrite was taken as mg/L of N: look at what the kit reads as; if that is NO2, "
            'write "8 mg/L as NO2", or nitrite = "NO2" once in [site.test_kit]',
        ),
        (
            "ammonia",
            "N",
            "ammonia was taken as mg/L of N: look at what the kit reads as; if that is NH3 or NH4, "
            'write "8 mg/L as NH3", or ammonia = "NH3" once in [site.test_kit]',
        ),
    ],
)
def test_where_nobody_says_it_something_is_taken_and_told(name, said, sentence):
    found = parse_reading(name, "8 mg/L")
    assert found == ParsedReading(value=8, given="8 mg/L", said=said, assumed=True)
    assert assumption(name, found) == sentence
    assert parse_reading(name, "8 mg/L " + sentence.split('"8 mg/L ')[1].split('"')[0]).value != 8


def test_nothing_found_is_nothing_whatever_the_kit_reads_as():
    assert assumption("nitrite", parse_reading("nitrite", "0 mg/L")) is None
    assert assumption("ph", parse_reading("ph", "7")) is None


@given(st.sampled_from(["ammonia", "nitrite"]), st.integers(1, 10_000))
def test_the_safe_side_is_taken_for_what_is_poisonous(name, hundredths):
    text = f"{hundredths / 100} mg/L"
    others = [parse_reading(name, text, basis).value for basis in QUANTITIES[name].bases]
    assert parse_reading(name, text).value == max(others)


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


# --- Back to text -----------------------------------------------------------------------------------------------


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
