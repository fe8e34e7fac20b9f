"""Readings: what a keeper may measure, how it is written, and which values look like slips of the pen.

A reading is kept as a plain number in the unit of its quantity: degC, g, cm, pH and UV Index as they are, ammonia and
nitrite in mg/L as N, nitrate in mg/L as NO3.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from scheduler.errors import ReadingError, UsageError, clip, nearest
from scheduler.handbook.nitrogen import NH3_PER_N, NH4_PER_N, NO2_PER_N, NO3_PER_N
from scheduler.locales import PLAIN, Formats
from scheduler.quantities import KINDS, QuantityError, System, convert, parse
from scheduler.sources import Source

LIKELY = Source("ranges and steps that only catch slips of the pen; they are no husbandry", "house value")

SIGN = "sign"
"""What the names of signs begin with: sign.gasping=yes, and as weight.Fern of one of several animals sign.gasping.Fern=yes."""

WITHIN_DAYS = 60
"""Steps from one reading to the next are looked at when they are nearer than this. House value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One quantity: its names, the unit it is kept in, whom a reading is of, and what is possible and likely.

    `kind` is that of `quantities` ("": a bare number). `bases` says how much of the unit that is kept one mg/L is, by
    what the kit may read as; `assumed` is taken where nobody says. `step` is the largest likely difference from the last
    reading, `up` and `down` the factors; `falls` tells whether it can become less in time. All of them house values.
    """

    name: str
    label: str
    unit: str
    kind: str = ""
    aliases: tuple[str, ...] = ()
    of: Literal["", "resident", "lamp"] = ""
    example: str
    possible: tuple[float, float]
    likely: tuple[float, float]
    bases: Mapping[str, float] = field(default_factory=dict)
    assumed: str = ""
    step: float = math.inf
    up: float = math.inf
    down: float = 0.0
    falls: bool = True

    @property
    def is_sign(self) -> bool:
        """Tell whether it is a sign of illness: seen (1) or not (0)."""
        return self.name in SIGNS


SIGNS: Mapping[str, tuple[str, bool]] = {
    f"{SIGN}.{name}": (label, at_once)
    for name, label, at_once in (
        ("shut-eyes", "swollen or shut eyes", False),
        ("nose", "nose discharge", False),
        ("soft-shell", "soft shell or foul spots", False),
        ("listless", "listless", False),
        ("not-eating", "not eating for 7 days (a hatchling 3)", False),
        ("open-mouth", "open-mouth breathing", True),
        ("gasping", "gasping", True),
        ("lopsided", "one side high in the water", True),
        ("bleeding", "bleeding or red skin", True),
        ("straining", "straining", True),
        ("prolapse", "prolapse", True),
        ("fits", "fits", True),
        ("burn", "a burn", True),
        ("cracked-shell", "a cracked shell", True),
    )
}
"""The signs of illness, by the names under which they are recorded: what is seen, and whether a vet sees it on the same day."""

YES, NO = ("yes", "y", "seen", "1"), ("no", "n", "gone", "0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A reading as it is kept: the number, the text it was given as, what the kit was taken to read as, and by whom.

    `said` is "" where there is nothing to say; `assumed` is true when neither the text nor the description said it.
    """

    value: float
    given: str
    said: str = ""
    assumed: bool = False


QUANTITIES: Mapping[str, Quantity] = {
    q.name: q
    for q in (
        Quantity(
            name="temperature", label="water temperature", unit="degC", kind="temperature", aliases=("temp", "water"),
            example="25 degC", possible=(-2.0, 60.0), likely=(5.0, 40.0), step=10.0,
        ),
        Quantity(
            name="basking", label="temperature of the basking place", unit="degC", kind="temperature",
            aliases=("surface",), example="32 degC", possible=(-20.0, 95.0), likely=(10.0, 60.0), step=15.0,
        ),
        Quantity(
            name="uvi", label="UV Index", unit="1", aliases=("uv", "uv index"), of="lamp", example="2.7",
            possible=(0.0, 100.0), likely=(0.0, 12.0), up=3.0, down=1.0 / 3.0,
        ),
        Quantity(
            name="ammonia", label="total ammonia", unit="mg/L as N", kind="concentration",
            aliases=("nh3", "nh4", "tan", "nh3/nh4", "ammonium"), example="0.25 mg/L as N",
            possible=(0.0, 1000.0), likely=(0.0, 8.0),
            bases={"N": 1.0, "NH3": 1.0 / NH3_PER_N, "NH4": 1.0 / NH4_PER_N}, assumed="N",
        ),
        Quantity(
            name="nitrite", label="nitrite", unit="mg/L as N", kind="concentration", aliases=("no2",),
            example="0.1 mg/L as N", possible=(0.0, 1000.0), likely=(0.0, 10.0),
            bases={"N": 1.0, "NO2": 1.0 / NO2_PER_N}, assumed="N",
        ),
        Quantity(
            name="nitrate", label="nitrate", unit="mg/L as NO3", kind="concentration", aliases=("no3",),
            example="35 mg/L as NO3", possible=(0.0, 10_000.0), likely=(0.0, 400.0),
            bases={"NO3": 1.0, "N": NO3_PER_N}, assumed="NO3",
        ),
        Quantity(
            name="ph", label="pH", unit="1", example="7.4", possible=(0.0, 14.0), likely=(5.0, 9.5), step=1.5,
        ),
        Quantity(
            name="alkalinity", label="alkalinity", unit="mg/L as CaCO3", kind="concentration",
            example="120 mg/L", possible=(0.0, 2000.0), likely=(0.0, 500.0),
        ),
        Quantity(
            name="weight", label="weight", unit="g", kind="mass", aliases=("mass", "grams"), of="resident",
            example="480 g", possible=(0.5, 300_000.0), likely=(2.0, 20_000.0), up=1.5, down=1.0 / 1.5,
        ),
        Quantity(
            name="length", label="length of the carapace", unit="cm", kind="length", aliases=("carapace",),
            of="resident", example="14.2 cm", possible=(1.0, 200.0), likely=(2.0, 60.0), up=1.25, down=0.95, falls=False,
        ),
        *(
            Quantity(
                name=name, label=label, unit="1", of="resident", example="yes", possible=(0.0, 1.0), likely=(0.0, 1.0),
                up=2.0,
            )
            for name, (label, _) in SIGNS.items()
        ),
    )
}  # fmt: skip
"""What a keeper records, by name. Possible and likely ranges and steps are house values, see LIKELY."""

_NAMES = {alias: q.name for q in QUANTITIES.values() for alias in (q.name, *q.aliases)}
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
    "NO3": "nitrate", "NITRATE": "nitrate", "NO2": "nitrite", "NITRITE": "nitrite", "NH3": "ammonia", "NH4": "ammonia",
    "AMMONIA": "ammonia", "AMMONIUM": "ammonia", "TAN": "ammonia",
}  # fmt: skip


def named_of(name: str) -> tuple[str, str]:
    """Return the word for the quantity and whom or what it is of: weight.Fern, sign.gasping.Fern; "" where nobody is named."""
    parts = 2 if name.strip().lower().startswith(f"{SIGN}.") else 1
    words = name.split(".", parts)
    return ".".join(words[:parts]), ".".join(words[parts:])


def quantity(word: str) -> Quantity:
    """Return the quantity that a word names: by its name, another name for it, or a unique beginning of its name."""
    low = " ".join(word.lower().replace("_", " ").split())
    if low in _NAMES:
        return QUANTITIES[_NAMES[low]]
    begun = [q for name, q in QUANTITIES.items() if low and name.startswith(low)]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise UsageError(f"{clip(word)} may mean {' or '.join(q.name for q in begun)}; write more of it")
    close = nearest(low, _NAMES)
    hint = f"nearest: {_NAMES[close]}" if close else f"there are: {_names(low)}"
    raise UsageError(f"nothing is measured as {clip(word)}; {hint}")


def parse_reading(name: str, text: str, basis: str | None = None) -> Measured:
    """Return the reading that text such as "35 mg/L", "8 mg/L as N", "77 degF" or "7.4" stands for.

    `basis` is what the keeper's kit reads as by the description ("N", "NO3"); what the text says goes before it. Where
    neither says, nitrate counts as NO3, like that of the tap, ammonia and nitrite as N, which is the larger amount.
    ReadingError says what was found, what is expected and what to write; UsageError that nothing is measured by that name.
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
    return Measured(value=value, given=given, said=said, assumed=assumed)


def field_unit(name: str, system: System) -> str:
    """Return the unit that stands beside the field of a quantity: °C or °F, mg/L, g, cm or in; empty for a bare number."""
    us = system == "us"
    return {
        "temperature": "°F" if us else "°C",
        "concentration": "mg/L",
        "mass": "g",
        "length": "in" if us else "cm",
    }.get(quantity(name).kind, "")


def in_field(name: str, text: str, system: System, basis: str = "", formats: Formats = PLAIN) -> str:
    """Return what somebody typed into the field of a quantity as `parse_reading` takes it: "0,25" is "0.25 mg/L as N".

    Comma and point are decimal marks, digits may be of any script. What has a unit keeps it. `basis` is what the kit reads as,
    where the form says it. ReadingError for a mark that may part thousands: "1,250" is one of two weights, but for sites whose
    locale has the comma as its decimal mark; there "1.250" is.
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
    """Return what somebody typed with its unit as `parse_reading` takes it: "7,4" is "7.4" where the locale has a comma.

    Without a locale it is taken as it stands. ReadingError for a point that may part thousands there.
    """
    return text if formats.comma_is_decimal is None else _with_point(quantity(name), text, formats)


def needs_basis(name: str, text: str) -> bool:
    """Tell whether a value in a field depends on what the kit reads as and does not say it; none is none either way."""
    if not quantity(name).bases:
        return False
    try:
        return parse_reading(name, text).assumed and parse_reading(name, text).value > 0.0
    except UsageError:
        return False


def assumption(name: str, measured: Measured) -> str | None:
    """Return the sentence that tells a keeper what the kit was taken to read as; None where that is said or no matter."""
    if not measured.assumed or not measured.value:
        return None
    q = quantity(name)
    others = [basis for basis in q.bases if basis != measured.said]
    return (
        f"{q.name} was taken as mg/L of {measured.said}: look at what the kit reads as; if that is {' or '.join(others)}, "
        f'write "{measured.given} as {others[0]}", or {q.name} = "{others[0]}" once in [site.test_kit]'
    )


def unlikely(
    name: str,
    value: float,
    last: float | None = None,
    days: int | None = None,
    system: System = "metric",
    *,
    formats: Formats = PLAIN,
) -> str | None:
    """Return a sentence why a value looks mistyped, or None: outside the likely range, or far from the last reading.

    `value` and `last` are in the unit of the quantity, `days` those between the two (None: taken as near). The ranges
    and steps are house values (LIKELY). The value is not refused: a sick or cold animal's may be true.
    """
    q = quantity(name)
    shown = show_reading(name, value, system, formats)
    if not q.likely[0] <= value <= q.likely[1]:
        low, high = (show_reading(name, bound, system, formats) for bound in q.likely)
        return f"{q.label}: {shown} is unlikely; expected {low} to {high}"
    if last is None:
        return None
    far = abs(value - last) > q.step or (last > 0.0 and not q.down * last <= value <= q.up * last)
    grew_less = value < last and not q.falls
    if not far or (days is not None and abs(days) >= WITHIN_DAYS and not grew_less):
        return None
    before = "" if days is None else f", {abs(days)} day{'' if abs(days) == 1 else 's'} apart"
    return f"{q.label}: {shown} is far from the last reading of {show_reading(name, last, system, formats)}{before}"


def show_reading(name: str, value: float, system: System, formats: Formats = PLAIN) -> str:
    """Return a reading as a person reads it off, in the site's units: 35 mg/L, 0.4 mg/L (as N), 77 °F, 480 g, pH 7.4."""

    def short(value: float, decimals: int) -> str:
        return formats.numeral(_short(value, decimals))

    q = quantity(name)
    us = system == "us"
    if q.kind == "temperature":
        return f"{short(convert(value, 'degC', 'degF'), 1)} °F" if us else f"{short(value, 1)} °C"
    if q.kind == "concentration":
        small = 0.0 < value < 0.005
        number = (
            f"under {formats.numeral('0.01')}"
            if small
            else short(value, 2 if value < 1 else 1 if value < 10 else 0)
        )
        return f"{number} mg/L" + (" (as N)" if q.assumed == "N" else "")
    if q.kind == "mass":
        grams = f"{short(value, 1 if value < 100 else 0)} g"
        pounds = convert(value, "g", "lb")
        ounces = f"{short(pounds * 16, 1)} oz" if pounds < 1 else f"{short(pounds, 2)} lb"
        return f"{grams} ({ounces})" if us else grams
    if q.kind == "length":
        return f"{short(convert(value, 'cm', 'in'), 1)} in" if us else f"{short(value, 1)} cm"
    if q.is_sign:
        return "yes" if value >= 0.5 else "no"
    return f"pH {short(value, 2)}" if q.name == "ph" else f"UVI {short(value, 1)}"


# --- Reading the text -------------------------------------------------------------------------------------------


def _with_point(q: Quantity, text: str, formats: Formats) -> str:
    """Return a text that begins with a number with that in plain digits and a point. ReadingError where it may be two numbers."""
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


def _names(low: str) -> str:
    """Return what can be measured, for whoever wrote something else: the signs by name to those who asked for one."""
    if low.startswith(SIGN):
        return ", ".join(SIGNS)
    return ", ".join([*(name for name in QUANTITIES if name not in SIGNS), f"{SIGN}.NAME"])


def _bare(q: Quantity, given: str) -> float:
    """Return a number without a unit; the quantity may be named before it, as show_reading does. Of a sign: seen (1) or not (0)."""
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
    """Return the number of an amount with its unit; `rest` is what stands behind it, for what to write instead."""
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
    """Return the amount, the rest of the text, and what it says that the kit reads as: "8 mg/L", " NO3-N", "N"."""
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


def _short(value: float, decimals: int) -> str:
    # + 0.0: what rounds to nothing is 0, not -0.
    text = f"{round(value, decimals) + 0.0:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if decimals else text
