"""Readings as text: what a keeper writes, with its unit and what the kit reads as, to the number that is
kept."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass

from scheduler.errors import ReadingError, UsageError, clip
from scheduler.locales import PLAIN, Formats
from scheduler.quantities import KINDS, QuantityError, System, parse
from scheduler.readings.catalogue import NO, YES, Quantity, quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class ParsedReading:
    """A reading as it is kept: the number, the text it was given as, what the kit was taken to read as, and
    by whom.

    `said` is "" where there is nothing to say; `assumed` is true when neither the text nor the description
    said it.
    """

    value: float
    given: str
    said: str = ""
    assumed: bool = False


_UNITS = {"temperature": ("degC", "degF"), "concentration": ("mg/L",), "mass": ("g",), "length": ("cm", "in")}

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_BASIS = re.compile(
    r"(?P<amount>.*?[A-Za-z0-9])(?:\s+|\s*\(\s*|-)(?:as\s+)?"
    r"(?:(?P<ion>NO3|NO2|NH3|NH4)[-+]?"
    r"|(?P<of>NO3[-+]?|NO2[-+]?|NH3|NH4\+?|nitrate|nitrite|ammonia|ammonium)[\s-]*(?:N|nitrogen)"
    r"|(?:N|nitrogen)[\s-]+(?P<after>NO3|NO2|NH3|NH4)[-+]?"
    r"|(?:N|nitrogen)|(?P<tan>TAN))\s*\)?",
    re.I,
)
_OF = {
    "NO3": "nitrate", "NITRATE": "nitrate", "NO2": "nitrite", "NITRITE": "nitrite", "NH3": "ammonia", "NH4": "ammonia",  # noqa: E501
    "AMMONIA": "ammonia", "AMMONIUM": "ammonia", "TAN": "ammonia",
}  # fmt: skip


def parse_reading(name: str, text: str, basis: str | None = None) -> ParsedReading:
    """Return the reading that text such as "35 mg/L", "8 mg/L as N", "77 degF" or "7.4" stands for.

    `basis` is what the keeper's kit reads as by the description ("N", "NO3"); what the text says goes before
    it. Where neither says, nitrate counts as NO3, like that of the tap, ammonia and nitrite as N, which is
    the larger amount. ReadingError says what was found, what is expected and what to write; UsageError that
    nothing is measured by that name.
    """
    q = quantity(name)
    given = " ".join(text.split())
    if len(given) > 100:
        raise _refused(q, f"found {clip(given)}, which is too long for a reading")
    if not q.kind:
        value, said, assumed = _bare(q, given), "", False
    elif q.bases:
        amount, rest, written = _parted(q, given)
        said = written or basis or q.assumed
        if said not in q.bases:
            raise _refused(q, f"a kit for {q.name} reads as {' or '.join(q.bases)}, not as {clip(said)}")
        value, assumed = _parsed(q, amount, rest) * q.bases[said], not (written or basis)
    else:
        value, said, assumed = _parsed(q, given), "", False
    low, high = q.possible
    if not low <= value <= high:
        unit = "" if q.unit == "1" else f" {q.unit}"
        raise _refused(q, f"found {clip(given)}, which cannot be; expected {low:g} to {high:g}{unit}")
    return ParsedReading(value=value, given=given, said=said, assumed=assumed)


def field_unit(name: str, system: System) -> str:
    """Return the unit that stands beside the field of a quantity: °C or °F, mg/L, g, cm or in; empty for a
    bare number."""
    us = system == "us"
    return {
        "temperature": "°F" if us else "°C",
        "concentration": "mg/L",
        "mass": "g",
        "length": "in" if us else "cm",
    }.get(quantity(name).kind, "")


def in_field(name: str, text: str, system: System, basis: str = "", formats: Formats = PLAIN) -> str:
    """Return what somebody typed into the field of a quantity as `parse_reading` takes it: "0,25" is "0.25
    mg/L as N".

    Comma and point are decimal marks, digits may be of any script. What has a unit keeps it. `basis` is what
    the kit reads as, where the form says it. ReadingError for a mark that may part thousands: "1,250" is one
    of two weights, but for sites whose locale has the comma as its decimal mark; there "1.250" is.
    """
    q = quantity(name)
    plain = _with_point(q, text, formats)
    if _NUMBER.fullmatch(plain) is None:
        return f"{plain} as {basis}" if basis and needs_basis(name, plain) else plain
    if not q.kind:
        return plain
    unit = {"°C": "degC", "°F": "degF"}.get(field_unit(name, system), field_unit(name, system))
    return f"{plain} {unit}" + (f" as {basis}" if basis and q.bases else "")


def with_unit(name: str, text: str, formats: Formats) -> str:
    """Return what somebody typed with its unit as `parse_reading` takes it: "7,4" is "7.4" where the locale
    has a comma.

    Without a locale it is taken as it stands. ReadingError for a point that may part thousands there.
    """
    return text if formats.comma_is_decimal is None else _with_point(quantity(name), text, formats)


def needs_basis(name: str, text: str) -> bool:
    """Tell whether a value in a field depends on what the kit reads as and does not say it; none is none
    either way."""
    if not quantity(name).bases:
        return False
    try:
        return parse_reading(name, text).assumed and parse_reading(name, text).value > 0.0
    except UsageError:
        return False


def assumption(name: str, measured: ParsedReading) -> str | None:
    """Return the sentence that tells a keeper what the kit was taken to read as; None where that is said or
    no matter."""
    if not measured.assumed or not measured.value:
        return None
    q = quantity(name)
    others = [basis for basis in q.bases if basis != measured.said]
    return (
        f"{q.name} was taken as mg/L of {measured.said}: look at what the kit reads as; if that is "
        f"{' or '.join(others)}, "
        f'write "{measured.given} as {others[0]}", or {q.name} = "{others[0]}" once in [site.test_kit]'
    )


def _with_point(q: Quantity, text: str, formats: Formats) -> str:
    """Return a text that begins with a number with that in plain digits and a point.

    ReadingError where it may be two numbers.
    """
    plain = "".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text.replace("٫", "."))
    plain = " ".join(plain.replace("−", "-").split())
    parts, own = (".", ",") if formats.comma_is_decimal else (",", ".")
    if re.match(rf"[+-]?[1-9][0-9]{{0,2}}\{parts}[0-9]{{3}}(?![0-9])", plain):
        # With both marks the last one is the decimal mark: only one number can be meant.
        one = re.match(rf"[+-]?[0-9]+\{parts}[0-9]+\{own}[0-9]", plain) is not None
        whole = plain.replace(parts, "")
        write = whole if one else f"{plain.replace(parts, own)} or {whole}"
        may_be = "a number with thousands parted off" if one else "which may be two numbers"
        raise ReadingError(f"{q.name}: found {clip(text)}, {may_be}; write {write}")
    return re.sub(r"^([+-]?[0-9]*),([0-9]+)", r"\1.\2", plain)


def _bare(q: Quantity, given: str) -> float:
    """Return a number without a unit; the quantity may be named before it, as show_reading does.

    Of a sign: seen (1) or not (0).
    """
    if q.is_sign:
        if given.lower() not in (*YES, *NO):
            raise _refused(q, f"found {clip(given)}, expected yes (seen) or no (not, or gone)")
        return 1.0 if given.lower() in YES else 0.0
    number = re.sub(rf"(?i)^{q.name} ", "", given)
    if _NUMBER.fullmatch(number) is None or not math.isfinite(float(number)):
        write = number.replace(",", ".") if re.fullmatch(r"[0-9]+,[0-9]+", number) else q.example
        raise _refused(q, f"found {clip(given)}, expected a number without a unit", write)
    return float(number)


def _parsed(q: Quantity, amount: str, rest: str = "") -> float:
    """Return the number of an amount with its unit; `rest` is what stands behind it, for what to write
    instead."""
    if _NUMBER.fullmatch(amount):
        write = " or ".join(f'"{amount} {unit}{rest}"' for unit in _UNITS[q.kind])
        raise ReadingError(f"{q.name}: found {clip(amount + rest)} without a unit; write {write}")
    try:
        return parse(amount, q.kind)
    except QuantityError as error:
        hint = error.hint.replace(KINDS[q.kind].example, f'"{q.example}"')
        if "," in amount:
            hint = re.sub(r'"([^"]*)"', lambda said: f'"{said[1]}{rest}"', error.hint)
        raise ReadingError(f"{q.name}: {error.message}; {hint}") from None


def _parted(q: Quantity, given: str) -> tuple[str, str, str]:
    """Return the amount, the rest of the text, and what it says that the kit reads as: "8 mg/L", " NO3-N",
    "N"."""
    plain = unicodedata.normalize("NFKC", given).replace("−", "-")
    plain = re.sub(r"(?i)\bmg ([^\s/]+)/L\b", r"mg/L \1", plain)
    match = _BASIS.fullmatch(plain)
    if match is None:
        amount, _, unknown = given.partition(" as ")
        return amount, "", unknown
    ion = match["ion"]
    of = ion or match["of"] or match["after"] or match["tan"]
    if of and _OF[of.upper().rstrip("+-")] != q.name:
        raise _refused(q, f"found {clip(given)}, which is another quantity")
    return match["amount"], plain[match.end("amount") :], ion.upper() if ion else "N"


def _refused(q: Quantity, message: str, write: str = "") -> ReadingError:
    write = write or (clip(q.example) if q.kind else q.example)
    return ReadingError(f"{q.name}: {message}; write {q.name}={write}", f"{q.name}: {message}; write {write}")
