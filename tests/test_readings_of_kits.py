"""What a test kit reads as, against molar masses: by its text, by the description, and where nobody says it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.readings import QUANTITIES, ParsedReading, assumption, parse_reading

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
