"""Recurrence rules of RFC 5545 as text: read, and refused where they are malformed or sub-daily."""

from __future__ import annotations

import datetime as dt
import re

from scheduler.errors import clip, nearest
from scheduler.rules.rule import WEEKDAYS, Rule

MOST_INSTANCES = 10_000
"""Largest COUNT that a description may ask for: more is a slip or an attack on the calendar programs that
read it."""


_FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
_SUBDAILY = ("HOURLY", "MINUTELY", "SECONDLY", "BYHOUR", "BYMINUTE", "BYSECOND")
_NUMBERS = {
    "BYMONTHDAY": (-31, 31),
    "BYMONTH": (1, 12),
    "BYSETPOS": (-366, 366),
    "BYWEEKNO": (-53, 53),
    "BYYEARDAY": (-366, 366),
}
_PARTS = ("FREQ", "INTERVAL", "BYDAY", *_NUMBERS, "WKST", "COUNT", "UNTIL")
_DAY = re.compile(r"([+-]?[1-9][0-9]?)?(MO|TU|WE|TH|FR|SA|SU)")


class RuleError(ValueError):
    """A rule that is malformed or that this program refuses, with what to write instead."""

    def __init__(self, message: str, hint: str = "") -> None:
        """Keep the two halves apart, so that the description can place them in a problem."""
        super().__init__(message)
        self.message, self.hint = message, hint


def parse(text: str) -> Rule:
    """Return the rule that the text of an RRULE value stands for; RuleError for what is malformed or
    sub-daily."""
    if len(text) > 500:
        raise RuleError(f"found a rule of {len(text)} characters", "write a rule of at most 500 characters")
    parts: dict[str, str] = {}
    body = text.strip().removeprefix("RRULE:")
    for piece in body.split(";"):
        name, equals, value = piece.partition("=")
        name = name.strip().upper()
        if not equals or not value:
            raise RuleError(
                f"found {clip(piece)}, expected NAME=VALUE", 'write for example "FREQ=MONTHLY;BYDAY=1SA"'
            )
        if name in _SUBDAILY:
            raise RuleError(
                f"found {name}, but a job has one start a day",
                "leave it out; site.times says when a job starts",
            )
        if name not in _PARTS:
            close = nearest(name, _PARTS)
            raise RuleError(
                f"found the unknown part {clip(name)}",
                f"nearest: {close}" if close else "parts: " + ", ".join(_PARTS),
            )
        if name in parts:
            raise RuleError(f"found {name} twice", "keep one of them")
        parts[name] = value.strip().upper()
    return _build(parts)


def _build(parts: dict[str, str]) -> Rule:
    freq = parts.get("FREQ", "")
    if freq in _SUBDAILY:
        raise RuleError(
            f"found FREQ={freq}, but a job is due at most once a day",
            "write FREQ=DAILY, or two extra jobs with different `part`",
        )
    if freq not in _FREQUENCIES:
        raise RuleError(f"found FREQ={clip(freq)}", "expected one of " + ", ".join(_FREQUENCIES))
    if "COUNT" in parts and "UNTIL" in parts:
        raise RuleError("found COUNT and UNTIL together", "RFC 5545 allows only one of them")
    wkst = parts.get("WKST", "MO")
    if wkst not in WEEKDAYS:
        raise RuleError(f"found WKST={clip(wkst)}", "expected one of " + ", ".join(WEEKDAYS))
    numbers = {name: _integers(name, parts.get(name), *_NUMBERS[name]) for name in _NUMBERS}
    rule = Rule(
        freq=freq,
        interval=_integer("INTERVAL", parts.get("INTERVAL", "1"), 1, 1000),
        byday=_days(parts.get("BYDAY"), freq, bool(numbers["BYWEEKNO"])),
        bymonthday=numbers["BYMONTHDAY"],
        bymonth=numbers["BYMONTH"],
        bysetpos=numbers["BYSETPOS"],
        byweekno=numbers["BYWEEKNO"],
        byyearday=numbers["BYYEARDAY"],
        wkst=wkst,
        count=_integer("COUNT", parts["COUNT"], 1, MOST_INSTANCES) if "COUNT" in parts else None,
        until=_until(parts["UNTIL"]) if "UNTIL" in parts else None,
    )
    # Limits of the RFC's own table of BYxxx against FREQ (3.3.10).
    wrong = (
        (rule.bymonthday and freq == "WEEKLY", "BYMONTHDAY must not go with FREQ=WEEKLY"),
        (rule.byyearday and freq != "YEARLY", "BYYEARDAY goes only with FREQ=YEARLY"),
        (rule.byweekno and freq != "YEARLY", "BYWEEKNO goes only with FREQ=YEARLY"),
        (
            rule.bysetpos
            and not (rule.byday or rule.bymonthday or rule.bymonth or rule.byweekno or rule.byyearday),
            "BYSETPOS needs another BY part",
        ),
        (
            rule.bysetpos and min(map(abs, rule.bysetpos)) > rule.most_in_set(),
            "BYSETPOS counts further than a period of the rule has days",
        ),
    )
    for bad, why in wrong:
        if bad:
            raise RuleError(why, "see RFC 5545, section 3.3.10")
    return rule


def _integer(name: str, text: str, least: int, most: int) -> int:
    if re.fullmatch(r"[+-]?[0-9]{1,6}", text) is None or not least <= int(text) <= most:
        raise RuleError(f"found {name}={clip(text)}", f"expected a whole number from {least} to {most}")
    return int(text)


def _integers(name: str, text: str | None, least: int, most: int) -> tuple[int, ...]:
    if text is None:
        return ()
    values = tuple(_integer(name, item, least, most) for item in text.split(","))
    if 0 in values:
        raise RuleError(f"found {name}=0", f"expected whole numbers from {least} to {most} without 0")
    return tuple(sorted(set(values)))


def _days(text: str | None, freq: str, by_week_number: bool) -> tuple[str, ...]:
    if text is None:
        return ()
    found: list[str] = []
    for item in text.split(","):
        match = _DAY.fullmatch(item)
        if match is None:
            raise RuleError(
                f"found BYDAY={clip(item)}", "expected MO to SU, for monthly rules with a number: 1SA, -1SU"
            )
        if match[1] and (freq not in ("MONTHLY", "YEARLY") or by_week_number):
            raise RuleError(
                f"found BYDAY={item} with FREQ={freq}", "a numbered weekday goes only with MONTHLY or YEARLY"
            )
        found.append((match[1] or "").lstrip("+") + match[2])
    return tuple(sorted(set(found), key=lambda d: (WEEKDAYS.index(d[-2:]), d)))


def _until(text: str) -> dt.date | dt.datetime:
    for pattern, form in ((r"[0-9]{8}", "%Y%m%d"), (r"[0-9]{8}T[0-9]{6}Z?", "%Y%m%dT%H%M%S")):
        if re.fullmatch(pattern, text):
            try:
                # An instant without Z is local time, which is what a keeper means; `ending` compares it so.
                moment = dt.datetime.strptime(text.rstrip("Z"), form).replace(
                    tzinfo=dt.UTC if text.endswith("Z") else None
                )
            except ValueError:
                break
            return moment if "T" in text else moment.date()
    raise RuleError(
        f"found UNTIL={clip(text)}",
        "expected a date such as 20271224, or an instant such as 20271224T090000Z",
    )
