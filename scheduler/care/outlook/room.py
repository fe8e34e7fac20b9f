"""Room to grow: when an animal is expected to outgrow its enclosure, and by which code."""

from __future__ import annotations

import datetime as dt

from scheduler.care.engine.case import Case, join
from scheduler.care.engine.figure import NotKnown
from scheduler.care.figures.space import CODES, outgrown_on
from scheduler.care.outlook.line import OutlookLine, Unknown
from scheduler.handbook import growth, space


def outgrowing(case: Case, word: str = "may outgrow it") -> str | None:
    """Return who may outgrow the enclosure and by which code, in words. None where it cannot be told."""
    try:
        _, late, resident = outgrown_on(case)
        limit = case.number("outgrown_at")
    except NotKnown:
        return None
    wild = f"on {case.date(late)}" if late is not None else "never"
    return (
        f"{resident.name} {word}: beyond {case.cm(limit)} of carapace {_asked(case, limit)}. "
        f"By the curve of wild animals: {wild}"
    )


def _asked(case: Case, limit: float) -> str:
    """Return what the codes ask for beyond the limit, where it is more than there is."""
    area = case.number("water_area")
    (depth,) = case.need(water_depth=case.enclosure.water_depth)
    count = sum(r.count for r in case.enclosure.resident)
    # The limit is cut to a tenth of a centimetre: a tenth more is too much for at least one code.
    beyond = space.requirements([space.Animal(limit + 0.1)] * count)
    codes = [r for r in beyond if r.kind == "code"]
    more = [
        f"{join(tuple(r.code for r in found))} {'asks' if len(found) == 1 else 'ask'} for {what}"
        for what, found in (
            ("more area", [r for r in codes if r.area_cm2 is not None and r.area_cm2 > area]),
            ("deeper water", [r for r in codes if r.depth_cm is not None and r.depth_cm > depth]),
        )
        if found
    ]
    return "; ".join(more)


def overdue(case: Case, first: dt.date) -> OutlookLine | None:
    """Return a line for the first day where an animal has outgrown its enclosure, or may have by now."""
    try:
        limit = case.number("outgrown_at")
        largest = max((r for r in case.enclosure.resident if r.carapace), key=lambda r: r.carapace or 0.0)
    except (NotKnown, ValueError):
        return None
    source = CODES
    if largest.carapace is not None and largest.carapace > limit:
        text = f"{largest.name} has outgrown it: beyond {case.cm(limit)} of carapace {_asked(case, limit)}"
    else:
        try:
            early, _, _ = outgrown_on(case)
        except NotKnown:
            return None
        if early >= first:
            return None
        text = f"measure now, {outgrowing(case, f'may have outgrown it since {case.date(early)}')}"
        source = growth.CAPTIVE
    return OutlookLine(day=first, enclosure=case.enclosure, kind="space", job=None, text=text, source=source)


def unknown(case: Case) -> Unknown | None:
    """Return what is missing to say when an animal outgrows its enclosure, where it is expected to at all."""
    text = ""
    if not case.enclosure.resident:
        return None
    try:
        limit = case.number("outgrown_at")
        outgrown_on(case)
    except NotKnown as missing:
        if missing.needs:
            verb = "is" if len(missing.needs) == 1 else "are"
            text = f"when it gets too small: {join(missing.needs)} {verb} not in the description"
        elif missing.applies:
            text = _growing_unseen(case, limit)
    return Unknown(enclosure=case.enclosure, text=text) if text else None


def _growing_unseen(case: Case, limit: float) -> str:
    """Return which animals grow beyond the limit, or may, without a curve that says when; nothing without
    any."""
    small = [r for r in case.enclosure.resident if r.carapace is None or r.carapace <= limit]
    if len(small) < len(case.enclosure.resident):
        # It is outgrown already, which has a line.
        return ""
    adults = {r.name: size for r in small if (size := case.adult_cm(r)) is not None}
    larger = tuple(name for name, size in adults.items() if size > limit)
    if larger:
        return (
            f"when it gets too small for {join(larger)}: no growth curve of the carapace is published for "
            "the species; measure monthly"
        )
    lacking = [r for r in small if r.name not in adults]
    if not lacking:
        return ""
    unsaid = any(r.species is None for r in lacking)
    why = (
        "resident.species is not in the description"
        if unsaid
        else "no adult size is known for species and sex"
    )
    return f"whether it gets too small for {join(tuple(r.name for r in lacking))}: {why}"
