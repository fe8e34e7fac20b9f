"""The lines of planned jobs: those that come seldom, and those that have a price."""

from __future__ import annotations

import datetime as dt

from scheduler.care import lamps
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import ByRule, Every, Job, On
from scheduler.care.outlook.line import OutlookKind, OutlookLine
from scheduler.care.outlook.room import outgrowing
from scheduler.description.site import Lamp
from scheduler.handbook import growth
from scheduler.quantities import Span
from scheduler.sources import HOUSE, KEEPER, Source

SELDOM_DAYS = 56
"""A job whose interval is shorter is routine, which has no line of its own.

House value: two months of four weeks.
"""


_KINDS: dict[str, OutlookKind] = {
    "treat-driftwood": "arrival",
    "fit-out": "arrival",
    "pre-arrival-check": "arrival",
    "basking-review": "arrival",
    "quarantine-release": "arrival",
    "faecal-test": "vet",
    "vet-check": "vet",
    "uv-lamp-order": "lamp",
    "uv-lamp-replace": "lamp",
    "burn-in-baseline": "lamp",
    "lamp-clean": "lamp",
    "lamp-timer": "lamp",
    "uvi-reading": "lamp",
    "supplies": "supply",
    "cuttlebone": "supply",
    "cold-season-check": "season",
    "hot-season-check": "season",
}
"""What a job is about; any other is a service."""

_ALWAYS = {
    "media-rinse",
    "cord-check",
    "space-review",
    "vet-check",
    "faecal-test",
    "cold-season-check",
    "hot-season-check",
    "uv-lamp-order",
    "uv-lamp-replace",
    "quarantine-release",
}
"""Jobs that have a line however often the keeper has them."""

_PAID = {"uv-lamp-order", "vet-check", "faecal-test"}
"""Jobs that cost something wherever they are done."""


def listed(case: Case, job: Job) -> bool:
    """Tell whether the occurrences of a job have lines: it comes seldom, or has a price."""
    if job.key == "supplies" and job.variant:
        # Days to order: the shelf knows them, also of what several enclosures share.
        return False
    own = case.enclosure.job.get(job.key)
    if job.key in _ALWAYS or (own is not None and own.price is not None):
        return True
    match job.cadence:
        case Every(span=span):
            return span.interval_days >= SELDOM_DAYS
        case ByRule(rule=rule):
            return rule.freq == "YEARLY" or (rule.freq == "MONTHLY" and rule.interval > 1)
        case On():
            return True


def line_of(case: Case, day: dt.date, job: Job) -> OutlookLine:
    """Return the line of one occurrence."""
    own = case.enclosure.job.get(job.key)
    cost = own.price if own is not None else None
    lamp = _lamp(case, job.variant)
    if job.key == "uv-lamp-order" and lamp is not None and lamp[0].price is not None:
        cost = lamp[0].price
    one = job.key == "uv-lamp-order"
    kind: OutlookKind = _KINDS.get(job.key, "service")
    text, source = job.title, _source(case, job)
    if lamp is not None and job.key in ("uv-lamp-order", "uv-lamp-replace"):
        found = lamps.life(case, *lamp)
        text, source = f"replace the {lamp_name(case, lamp[0])} ({found.why})", found.source
        if one:
            ahead = Span(case.house.lamps_ahead_days)
            text = (
                f"order a {lamp_name(case, lamp[0])}: the one in use is replaced in about {ahead} "
                f"({found.why})"
            )
    elif job.key == "space-review":
        source = HOUSE
        if job.variant:
            kind, text, source = "space", outgrowing(case) or job.title, growth.CAPTIVE
    return OutlookLine(
        day=day,
        enclosure=case.enclosure,
        kind=kind,
        job=job.key,
        text=text,
        source=source,
        quantity=1 if one else None,
        unit="lamp" if one else None,
        cost=cost,
        paid=job.key in _PAID,
        bought=lamp_name(case, lamp[0]) if one and lamp is not None else "",
    )


def lamp_name(case: Case, lamp: Lamp) -> str:
    """Return a lamp as it is asked for in a shop."""
    return f"{lamp.kind} lamp" + (f" of {case.numeral(lamp.power)} W" if lamp.power is not None else "")


def _lamp(case: Case, variant: str) -> tuple[Lamp, dt.date] | None:
    """Return the UV lamp that a job's variant names, with the day of its installation."""
    return next(((lamp, installed) for name, lamp, installed in lamps.dated(case) if name == variant), None)


def _source(case: Case, job: Job) -> Source:
    """Return whose the day of a job is: the keeper's where the cadence is, else what its notes name first."""
    own = case.enclosure.job.get(job.key)
    if own is not None and not job.fixed and any((own.every, own.rule, own.on)):
        return KEEPER
    return next(iter(job.notes().sources), HOUSE)
