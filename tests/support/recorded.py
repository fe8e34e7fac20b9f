"""A record in short, for tests: `2026-12-19 did water-change`, `2026-12-19 ammonia 1.0`; and the plan that follows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import scheduler
from scheduler.description import Site
from scheduler.history import AMENDING, Entry, History
from scheduler.readings import QUANTITIES, named_of
from scheduler.workflow import Planned, make_plan

RECORDED = dt.datetime(2026, 12, 1, 12)  # noqa: DTZ001 - UTC, as the log keeps it


def load(text: str) -> Site:
    return scheduler.loads(text)


def entry(line: str, enclosure: str = "sedge", number: int = 0) -> Entry:
    """Read one line: a day (and an hour), then `did KEY[/VARIANT] [VALUE]`, `QUANTITY[.OF] VALUE`, or what bends the plan:
    `postponed KEY[/VARIANT] DUE/TO`, `skipped KEY[/VARIANT] DUE`, `once KEY DAY`."""
    day, *words = line.split()
    time = None
    if ":" in words[0]:
        time = dt.time.fromisoformat(words.pop(0))
    if words[0] in AMENDING:
        kind, job, given = words
        name, _, of = job.partition("/")
        return Entry(
            kind=kind,  # type: ignore[arg-type]
            enclosure=enclosure,
            name=name,
            of=of,
            day=dt.date.fromisoformat(day),
            given=given,
            title=name.replace("-", " "),
            recorded=RECORDED,
            number=number,
        )
    done = words[0] == "did"
    name, of = named_of(words[0])
    if done:
        name, _, of = words[1].partition("/")
    value = float(words[-1]) if len(words) > (2 if done else 1) else None
    assert done or (name in QUANTITIES and value is not None), line
    return Entry(
        kind="done" if done else "reading",
        enclosure=enclosure,
        name=name,
        of=of,
        day=dt.date.fromisoformat(day),
        time=time,
        value=value,
        recorded=RECORDED,
        number=number,
    )


def history(begun: str, lines: Iterable[str], enclosure: str = "sedge") -> History:
    """Return the history of lines, as the log would give it."""
    entries = [entry(line, enclosure, number) for number, line in enumerate(lines, start=1)]
    return History(
        dt.date.fromisoformat(begun),
        done=[e for e in entries if e.kind == "done"],
        readings=[e for e in entries if e.kind == "reading"],
        amendments=[e for e in entries if e.kind in AMENDING],
    )


def planned(text: str, today: str, found: History, days: int = 60) -> Planned:
    day = dt.date.fromisoformat(today)
    return make_plan(load(text), day, day, days, found)


def listed(plan: Planned, key: str, days: int = 60) -> list[str]:
    """Return the occurrences of a job: `2026-12-19`, with ` overdue since 2026-12-16` where one is open, ` done`."""
    last = plan.today + dt.timedelta(days=days - 1)
    found = scheduler.occurrences(plan.site, plan.series, plan.today, last, plan.done)
    return [
        f"{o.day}" + (f" {o.state} since {o.since}" if o.since else " done" if o.state == "done" else "")
        for o in found
        if o.job.key == key
    ]
