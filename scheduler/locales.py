"""How dates, times of day and numbers are written for people: as always, or by the locale of a site.

What is said stays English. A locale decides the order of a date, the clock of 12 or 24 hours and the marks of
a number, by CLDR, which Babel carries; it is loaded only where a site has a locale.

Decisions
---------

A locale decides order, clock and marks; the words stay English
    Numbers and clock are the locale's own by CLDR. A date keeps its month in letters, so that nobody reads
    it the wrong way round, and "12. Dezember" would be a word of another language in an English sentence:
    it is written as English is in the locale's region (CLDR's en-AT for de-AT), where that agrees with the
    locale on what comes first, day or month, and on the clock; else by the English of the world, Europe or
    the United States that does (fr-CA is not en-CA, es-US not en-US). Who puts the year first has it in
    numbers alone; there are none here. Digits are western. Numbers are in groups from five digits on:
    "1.250 L" in an English note is a thousandfold mistake for somebody, so four digits stay whole, as the
    SI Brochure leaves them. CLDR's narrow no-break space is written as the usual one, which every font has.
    Sources are quoted as they stand, and what a keeper wrote is never touched.
"""

from __future__ import annotations

import datetime as dt
import functools
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel import Locale

GROUPED_FROM = 5
"""From so many digits on they are parted in groups: four are not by custom (SI Brochure, section 5.4.4), and
1.250 may be read as one and a quarter.
"""


_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
_DATE = re.compile(rf"\b(?:[12][0-9]|3[01]|[1-9]) (?:{_MONTHS}) [1-9][0-9]{{3}}\b")
_NUMBER = re.compile(r"(?<![\w.,])([0-9]+)(?:\.([0-9]+))?(?!\w|[.,][0-9])")


class Formats:
    """How dates, times of day and numbers are written where nothing else is said: 5 December 2026, 07:30,
    7.4."""

    decimal = "."
    comma_is_decimal: bool | None = None
    """Whether 1,250 is one and a quarter, and 1.250 may be more than a thousand; None where nobody said."""

    def date(self, day: dt.date) -> str:
        """Return a date that nobody reads the wrong way round: 5 December 2026."""
        return f"{day.day} {day:%B %Y}"

    def weekday_date(self, day: dt.date) -> str:
        """Return a date with its weekday: Saturday 5 December 2026."""
        return f"{day:%A} {self.date(day)}"

    def short_date(self, day: dt.date) -> str:
        """Return a date of these weeks: Sat 5 Dec."""
        return f"{day:%a} {day.day} {day:%b}"

    def time(self, time: dt.time | dt.datetime) -> str:
        """Return a time of day: 07:30."""
        return f"{time:%H:%M}"

    def number(self, value: float, spec: str = "g") -> str:
        """Return a number by a format of Python's: `number(7.44, ".2g")` is 7.4."""
        return self.numeral(format(value, spec))

    def numeral(self, text: str) -> str:
        """Return a number that is written out with a point, "12500.5", with the marks that it has here."""
        return text

    def prose(self, text: str) -> str:
        """Return a text of ours with its decimal numbers and dates as they are written here; never for a
        keeper's words or a source."""
        return text


PLAIN = Formats()
"""How they are written without a locale, and by the command line."""


class LocalFormats(Formats):
    """How they are written by a locale, in English.

    Numbers and clock are the locale's own. Dates have English names, in the locale's order of day and month,
    as English is written in its region: CLDR's en-AT for de-AT. Where CLDR has no English of the region, or
    one of another order or another clock, that of the world, of Europe or of the United States has it.
    """

    def __init__(self, locale: Locale) -> None:
        """Take what CLDR says of a locale."""
        from babel.numbers import get_decimal_symbol, get_group_symbol

        # Western digits, whatever the locale's own: they stand in English sentences.
        self.decimal = get_decimal_symbol(locale, numbering_system="latn")
        self.comma_is_decimal = self.decimal == ","
        self._group = _sturdy(get_group_symbol(locale, numbering_system="latn"))
        self._last, self._others = locale.decimal_formats[None].grouping
        english = list(_english_of(locale))
        order = day_is_first(locale)
        self._dated = next(one for one in english if order is None or day_is_first(one) == order)
        self._timed = next(one for one in english if has_12_hours(one) == has_12_hours(locale))

    def date(self, day: dt.date) -> str:
        """Return a date: 5 December 2026, or December 5, 2026."""
        from babel.dates import format_date

        return format_date(day, "long", self._dated)

    def weekday_date(self, day: dt.date) -> str:
        """Return a date with its weekday: Saturday, 5 December 2026."""
        from babel.dates import format_date

        return format_date(day, "full", self._dated)

    def short_date(self, day: dt.date) -> str:
        """Return a date of these weeks: Sat, 5 Dec."""
        from babel.dates import format_skeleton

        return format_skeleton("MMMEd", day, locale=self._dated)

    def time(self, time: dt.time | dt.datetime) -> str:
        """Return a time of day, as it is there: 07:30, 7.30, or 7:30 AM."""
        from babel.dates import format_time

        there = time.time() if isinstance(time, dt.datetime) else time.replace(tzinfo=None)
        return _sturdy(format_time(there, "short", locale=self._timed))

    def numeral(self, text: str) -> str:
        """Return a number that is written out with a point with the locale's marks: 7,4; from five digits on
        in groups."""
        return _NUMBER.sub(lambda found: self._whole(found[1]) + self._part(found[2]), text)

    def prose(self, text: str) -> str:
        """Return a text of ours with the locale's decimal mark in all its decimal numbers, and its dates in
        the locale's order."""
        dated = _DATE.sub(self._dated_anew, text)
        return _NUMBER.sub(lambda found: found[1] + self._part(found[2]), dated)

    def _dated_anew(self, found: re.Match[str]) -> str:
        day, month, year = found[0].split()
        try:
            return self.date(dt.date(int(year), _MONTHS.split("|").index(month) + 1, int(day)))
        except ValueError:
            return found[0]

    def _whole(self, digits: str) -> str:
        if len(digits) < GROUPED_FROM:
            return digits
        rest, groups = digits[: -self._last], [digits[-self._last :]]
        while rest:
            groups.insert(0, rest[-self._others :])
            rest = rest[: -self._others]
        return self._group.join(groups)

    def _part(self, digits: str | None) -> str:
        return "" if digits is None else self.decimal + digits


@functools.lru_cache(maxsize=64)
def formats_of(tag: str | None) -> Formats:
    """Return how dates, times and numbers are written by a locale, a tag that was checked; PLAIN without
    one."""
    return PLAIN if tag is None else LocalFormats(parsed(tag))


def day_is_first(locale: Locale) -> bool | None:
    """Tell whether a locale puts the day before the month in a date with the month's name; None where the
    year comes first."""
    order = [c for c in _pattern(locale.date_formats["long"].pattern) if c in "yMLd"]
    return None if order[0] == "y" else order.index("d") < min(order.index(c) for c in "ML" if c in order)


def has_12_hours(locale: Locale) -> bool:
    """Tell whether a locale's clock has 12 hours."""
    return any(c in "hK" for c in _pattern(locale.time_formats["short"].pattern))


def _pattern(pattern: str) -> str:
    """Return a pattern of CLDR (UTS 35, part 4) without the words in it, which stand between apostrophes."""
    return re.sub(r"'[^']*'", "", pattern)


def _english_of(locale: Locale) -> list[Locale]:
    """Return the English of a locale's region, as far as CLDR has it, then of the world, Europe and the
    United States."""
    from babel import Locale
    from babel.core import get_global
    from babel.localedata import exists

    region = locale.territory
    if region is None:
        # As CLDR has it: German is of Germany where nobody says more.
        region = get_global("likely_subtags").get(str(locale), "en_Latn_US").split("_")[-1]
    names = (f"en_{region}", "en_001", "en_150", "en_US")
    return [Locale.parse(name) for name in names if exists(name)]


def _sturdy(text: str) -> str:
    """Return a text with no-break spaces of the usual width: the narrow one is a box in many a calendar's
    font."""
    return text.replace("\u202f", "\u00a0")


def parsed(tag: str) -> Locale:
    """Return the locale of a tag of BCP 47. LookupError where CLDR does not know it."""
    from babel import Locale
    from babel.core import UnknownLocaleError

    try:
        locale = Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError) as error:
        raise LookupError(tag) from error
    if tag.lower().split("-")[0] in ("und", "root"):
        # No language and every language: Babel takes them for English.
        raise LookupError(tag)
    return locale
