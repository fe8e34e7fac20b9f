"""What is coming in the months ahead: lamps, supplies, vet, space, the cold season, arrivals, and what they
cost.

Quantities follow from the enclosures' figures and from the planned occurrences, which are an argument: the
plan rests on the care rules, not they on it.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from scheduler.care import lamps
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import Job
from scheduler.care.outlook.coming import lamp_name, line_of, listed
from scheduler.care.outlook.line import Outlook, OutlookKind, OutlookLine, Purchase, Unit, Unknown
from scheduler.care.outlook.room import overdue
from scheduler.care.outlook.room import unknown as unknown_room
from scheduler.care.outlook.shelf import shelf
from scheduler.sources import KEEPER


def outlook(
    cases: Sequence[Case],
    planned: Iterable[tuple[dt.date, Job]],
    first: dt.date,
    last: dt.date,
    enclosure: str | None = None,
) -> Outlook:
    """Return the outlook of a site from `first` to `last`, both included, or of one enclosure, by its id.

    `cases` are all its enclosures, in the order of ids; `planned` are the occurrences of that span,
    in any order.
    """
    site = cases[0].site
    wanted = frozenset(c.enclosure.id for c in cases if enclosure in (None, c.enclosure.id))
    by_id = {c.enclosure.id: c for c in cases if c.enclosure.id in wanted}
    lines: list[OutlookLine] = []
    minutes: Counter[tuple[int, int]] = Counter()
    times: Counter[tuple[str, str]] = Counter()
    changes: Counter[str] = Counter()
    # A job has one line, whatever the day. The jobs are kept: the id of one that is gone could be another's.
    chosen: dict[int, tuple[Job, OutlookLine | None]] = {}
    for day, job in planned:
        if job.key == "water-change":
            changes[job.enclosure.id] += 1
        case = by_id.get(job.enclosure.id)
        if case is None:
            continue
        minutes[day.year, day.month] += job.minutes
        times[job.enclosure.id, job.key] += 1
        if id(job) not in chosen:
            chosen[id(job)] = job, (line_of(case, day, job) if listed(case, job) else None)
        _, line = chosen[id(job)]
        if line is not None:
            lines.append(replace(line, day=day))
    for case in by_id.values():
        lines += _arrivals(case, first, last)
        now = overdue(case, first)
        lines += [now] if now is not None else []
    products = shelf(cases, wanted, first, last, changes)
    lines += products.lines
    lines.sort(key=lambda line: (line.day, line.enclosure.id if line.enclosure else "", line.text))
    return Outlook(
        name=site.settings.name,
        units=site.settings.units,
        enclosures=tuple(case.enclosure for case in by_id.values()),
        first=first,
        last=last,
        lines=tuple(lines),
        purchases=(*products.purchases, *_counted(by_id.values(), times), *_ordered(lines)),
        unknown=(*products.unknown, *(u for case in by_id.values() for u in _unknown(case))),
        minutes={f"{year:04}-{month:02}": some for (year, month), some in sorted(minutes.items())},
    )


def _arrivals(case: Case, first: dt.date, last: dt.date) -> Iterator[OutlookLine]:
    for day, residents in case.arrivals.items():
        if first <= day <= last:
            text = f"arrival of {join(tuple(r.name for r in residents))}"
            yield OutlookLine(
                day=day, enclosure=case.enclosure, kind="arrival", job=None, text=text, source=KEEPER
            )


_COUNTED: tuple[tuple[str, Unit, tuple[str, ...]], ...] = (
    ("cuttlebone, pieces of about 5 cm (2 in)", "piece", ("cuttlebone",)),
    ("tests of ammonia, nitrite, nitrate and pH", "test", ("water-test",)),
    ("tests of the same, if the new biofilter does not work before", "test", ("cycle-test",)),
)
"""What each occurrence of a job uses one of."""


def _counted(cases: Iterable[Case], times: Counter[tuple[str, str]]) -> Iterator[Purchase]:
    """Yield what the planned jobs use one at a time."""
    own = [case.enclosure for case in cases]
    for what, unit, keys in _COUNTED:
        users = tuple(e for e in own if any(times[e.id, key] for key in keys))
        if users:
            count = sum(times[e.id, key] for e in users for key in keys)
            yield Purchase(what=what, quantity=count, unit=unit, enclosures=users)


def _ordered(lines: Iterable[OutlookLine]) -> Iterator[Purchase]:
    """Yield the lamps that the lines order, alike ones of one price together."""
    found: dict[tuple[str, str], list[OutlookLine]] = {}
    for line in lines:
        if line.bought:
            found.setdefault((line.bought, str(line.cost)), []).append(line)
    for (what, _), some in sorted(found.items()):
        each = some[0].cost
        users = {line.enclosure.id: line.enclosure for line in some if line.enclosure is not None}
        yield Purchase(
            what=what,
            quantity=len(some),
            unit="lamp",
            enclosures=tuple(users[name] for name in sorted(users)),
            cost=each.times(len(some)) if each is not None else None,
        )


def _unknown(case: Case) -> Iterator[Unknown]:
    for lamp in lamps.uv_lamps(case):
        if lamp.installed is None:
            text = (
                f"{lamp_name(case, lamp)}: the days to order and replace it; lamp.installed is not in the "
                "description"
            )
            yield Unknown(enclosure=case.enclosure, text=text)
    room = unknown_room(case)
    if room is not None:
        yield room


__all__ = ["Outlook", "OutlookKind", "OutlookLine", "Purchase", "Unknown", "outlook"]
