"""Dates, times and numbers by locale, against CLDR as Babel carries it: order, clock and marks are the locale's own."""

import datetime as dt
import re
import subprocess
import sys
from decimal import Decimal

import pytest
from babel import Locale
from babel.dates import format_date, format_time
from babel.localedata import locale_identifiers
from babel.numbers import parse_decimal

from scheduler.description.locale_tags import check_tag
from scheduler.locales import PLAIN, formats_of

DAY = dt.date(2026, 12, 25)
TAGS = sorted(name.replace("_", "-") for name in locale_identifiers() if name != "root")
NARROW, WIDE = "\u202f", "\u00a0"


@pytest.mark.parametrize(
    ("tag", "date", "weekday", "short", "time", "number", "large"),
    [
        (None, "5 September 2026", "Saturday 5 September 2026", "Sat 5 Sep", "19:05", "7.4", "12500"),
        ("de-AT", "5 September 2026", "Saturday, 5 September 2026", "Sat, 5 Sept", "19:05", "7,4", "12.500"),
        ("de-CH", "5 September 2026", "Saturday, 5 September 2026", "Sat, 5 Sept", "19:05", "7.4", "12'500"),
        ("en-GB", "5 September 2026", "Saturday, 5 September 2026", "Sat 5 Sept", "19:05", "7.4", "12,500"),
        (
            "en-US",
            "September 5, 2026",
            "Saturday, September 5, 2026",
            "Sat, Sep 5",
            "7:05~PM",
            "7.4",
            "12,500",
        ),
        ("fi-FI", "5 September 2026", "Saturday, 5 September 2026", "Sat, 5 Sept", "19.05", "7,4", "12~500"),
        ("sv-SE", "5 September 2026", "Saturday, 5 September 2026", "Sat, 5 Sept", "19:05", "7,4", "12~500"),
        # The region's English has another order and another clock than its French: these are the French ones.
        ("fr-CA", "5 September 2026", "Saturday, 5 September 2026", "Sat, 5 Sept", "19:05", "7,4", "12~500"),
        (
            "es-US",
            "5 September 2026",
            "Saturday, 5 September 2026",
            "Sat, 5 Sept",
            "7:05~PM",
            "7.4",
            "12,500",
        ),
        # The year comes first there, in numbers; English of the region has it last.
        (
            "ja-JP",
            "September 5, 2026",
            "Saturday, September 5, 2026",
            "Sat, Sep 5",
            "19:05",
            "7.4",
            "12,500",
        ),
        ("hu-HU", "5 September 2026", "Saturday, 5 September 2026", "Sat, 5 Sept", "19:05", "7,4", "12~500"),
        # Words and digits stay English.
        (
            "ar-EG",
            "5 September 2026",
            "Saturday, 5 September 2026",
            "Sat, 5 Sept",
            "7:05~pm",
            "7.4",
            "12,500",
        ),
    ],
)
def test_what_locales_make_of_a_date_a_time_and_numbers(
    tag: str | None, date: str, weekday: str, short: str, time: str, number: str, large: str
) -> None:
    formats = formats_of(tag)
    day = dt.date(2026, 9, 5)
    assert formats.date(day) == date
    assert formats.weekday_date(day) == weekday
    assert formats.short_date(day) == short
    assert formats.time(dt.time(19, 5)) == time.replace("~", WIDE)
    assert formats.number(7.44, ".2g") == number
    assert formats.numeral("12500") == large.replace("~", WIDE)


def test_without_a_locale_numbers_are_as_they_are_written_out() -> None:
    for text in ("7.4", "-0.25", "under 0.01", "1250", "12500.5", "1e+06", "-", ""):
        assert PLAIN.numeral(text) == PLAIN.prose(text) == text


def test_a_number_of_four_digits_is_not_parted() -> None:
    """The SI Brochure, section 5.4.4, leaves four digits whole; 1.250 L could be read as one and a quarter."""
    assert formats_of("de-DE").numeral("1250") == "1250"
    assert formats_of("en-US").numeral("9999.5") == "9999.5"
    assert formats_of("hi-IN").numeral("1250000") == "12,50,000"


def test_order_clock_and_marks_are_the_locales_own() -> None:
    for tag in TAGS:
        _holds(tag)


def _holds(tag: str) -> None:
    own, formats = Locale.parse(tag, sep="-"), formats_of(check_tag(tag))

    # A number comes back through Babel's own reader of that locale.
    for text in ("7.4", "0.025", "12500.5", "1250000", "250"):
        written = formats.numeral(text)
        again = written.replace(WIDE, NARROW) if NARROW in own.number_symbols["latn"]["group"] else written
        assert parse_decimal(again, locale=own, numbering_system="latn") == Decimal(text), written

    # The clock: an evening hour has the digits that the locale itself gives it.
    there = format_time(dt.time(19, 5), "short", locale=own)
    plain = "".join(str(int(c)) if c.isdecimal() else c for c in there)
    hour, minute = re.findall(r"[0-9]+", plain)
    found = re.findall(r"[0-9]+", formats.time(dt.time(19, 5)))
    assert [int(n) for n in found] == [int(hour), int(minute)], there
    assert formats.time(dt.time(19, 5)) != formats.time(dt.time(7, 5))

    # The order of day and month, where a date does not begin with its year.
    pattern = re.sub(r"'[^']*'", "", own.date_formats["long"].pattern)
    order = re.sub(r"(.)\1+", r"\1", re.sub(r"[^dMLy]", "", pattern)).replace("L", "M")
    written = formats.date(DAY)
    if not order.startswith("y"):
        assert (order.index("d") < order.index("M")) == (written.index("25") < written.index("December"))
    for text in (written, formats.weekday_date(DAY), formats.short_date(DAY), formats.time(dt.time(7, 5))):
        assert NARROW not in text
        assert text.replace(WIDE, " ").isascii()


@pytest.mark.parametrize("tag", ["en-US", "en-GB", "en-AU", "en-CA", "en-IE", "en-AT", "en-ZA"])
def test_the_english_of_a_region_is_that_of_cldr(tag: str) -> None:
    own, formats = Locale.parse(tag, sep="-"), formats_of(tag)
    assert formats.date(DAY) == format_date(DAY, "long", own)
    assert formats.weekday_date(DAY) == format_date(DAY, "full", own)
    assert formats.time(dt.time(7, 5)) == format_time(dt.time(7, 5), "short", locale=own).replace(
        NARROW, WIDE
    )


def test_only_decimal_numbers_of_a_text_change() -> None:
    text = "Animals were seen 2 m (6.6 ft) above the water, at 0.5-14 °C; see 2.4.1, v2.4, 1,250.5 and 3.5. Then 12500."
    assert formats_of("de-AT").prose(text) == (
        "Animals were seen 2 m (6,6 ft) above the water, at 0,5-14 °C; see 2.4.1, v2.4, 1,250.5 and 3,5. Then 12500."
    )


def test_dates_of_a_text_are_in_the_order_of_the_locale() -> None:
    text = "In force from 14 June 2006; not on 31 February 2006, nor in 2007."
    assert formats_of("en-US").prose(text).startswith("In force from June 14, 2006; not on ")
    assert formats_of("de-AT").prose(text) == text


def test_babel_is_not_loaded_where_no_site_has_a_locale() -> None:
    code = (
        "import sys\n"
        "from scheduler.description import load\n"
        "from scheduler.species import load_sheets\n"
        "import scheduler.calendar, scheduler.sheets, scheduler.web.visit, scheduler.workflow, scheduler.sync\n"
        'text = \'[site]\\nname = "Fen"\\n{}[[enclosure]]\\nname = "Sedge"\\n\'\n'
        "place = load(text.format(''), load_sheets()).settings\n"
        "print(place.formats.date(__import__('datetime').date(2026, 12, 5)), 'babel' in sys.modules)\n"
        "place = load(text.format('locale = \"de-AT\"\\n'), load_sheets()).settings\n"
        "print(place.formats.number(7.4), 'babel' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "5 December 2026 False\n7,4 True\n"
