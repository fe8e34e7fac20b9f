"""Two years of a keeper who does jobs on time, late, early, twice, and not at all: none is lost, none doubled.

The bookkeeping here knows nothing of how the plan is made. It holds each day's plan against what it knows: what was
done when, and the rules in the words of the guide. PONDROUND_KEEPERS=20 pytest tests/plan/test_simulated_keeper.py
runs more keepers over the whole two years.
"""

from __future__ import annotations

import datetime as dt
import random  # noqa: TID251 - seeded, for a keeper of its own
from collections import Counter
from dataclasses import dataclass, field
from os import environ  # noqa: TID251 - how long the test runs is chosen outside
from pathlib import Path

import pytest

from scheduler import workflow
from scheduler.care import Every
from scheduler.description import Site
from scheduler.history import Entry, History
from scheduler.plan import Occurrence, occurrences
from scheduler.workflow.site_files import read_site

SAMPLES = Path(__file__).parents[2] / "sample_configs"
BEGUN = dt.date(2026, 12, 1)
RECORDED = dt.datetime(2026, 12, 1, 12)  # noqa: DTZ001 - UTC, as the log keeps it
VIEW = 60
Name = tuple[str, str, str]

KEEPERS = int(environ.get("PONDROUND_KEEPERS", "1"))
DAYS = 730 if KEEPERS > 1 else 150


@dataclass
class Book:
    """What was done, by job; and the plan's day for each job as of the evening before.

    `lone` tells that every day has somebody: then an interval is kept to the day.
    """

    lone: bool
    last: dict[Name, dt.date] = field(default_factory=dict)
    entries: list[Entry] = field(default_factory=list)
    next_day: dict[Name, tuple[dt.date, dt.date]] = field(default_factory=dict)
    checked: Counter[str] = field(default_factory=Counter)

    def do(self, name: Name, day: dt.date, turn: int = 0) -> None:
        enclosure, key, of = name
        self.entries.append(
            Entry(kind="done", enclosure=enclosure, name=key, of=of, day=day, turn=turn, recorded=RECORDED)
        )
        self.last[name] = max(day, self.last.get(name, day))

    def history(self, today: dt.date) -> History:
        recent = [e for e in self.entries if (today - e.day).days <= 130]
        return History(BEGUN, self.last, recent)


def plan(site: Site, today: dt.date, book: Book) -> list[Occurrence]:
    planned = workflow.make_plan(site, today, today, VIEW, book.history(today))
    last = today + dt.timedelta(days=VIEW - 1)
    return list(occurrences(planned.site, planned.series, today, last))


def full_name(o: Occurrence) -> Name:
    return o.job.enclosure.id, o.job.key, o.job.variant


def look(book: Book, found: list[Occurrence], today: dt.date) -> None:
    """Hold a morning's plan against what is known."""
    each_day = Counter((full_name(o), o.day) for o in found)
    assert max(each_day.values()) == 1, [key for key, n in each_day.items() if n > 1]
    first = {full_name(o): o for o in reversed(found)}
    for o in found:
        assert o.day >= today
        if o.since is None:
            assert o.state == "due"
            continue
        book.checked["open"] += 1
        # What is open is shown today, first of its job, and was due on a day that is over and was not done since.
        assert o.day == today and first[full_name(o)] is o
        assert BEGUN <= o.since < today
        last = book.last.get(o.job.log_name)
        assert last is None or last < o.since
        assert o.state == ("overdue" if (today - o.since).days > o.job.window else "due")
    at_once = {
        o.job.log_name for o in found if o.day == today and o.job.recorded_as is not None and not o.job.window
    }
    for name, (day, since) in book.next_day.items():
        o = first.get(name)
        if name in at_once:
            # What a reading asks for today stands for it, and counts as it: the two never stand side by side.
            assert o is None or o.day > today
            book.checked["stood for"] += 1
            continue
        book.checked["followed"] += 1
        if day < today:
            # It was planned for a day that is over, and it was not done: it is there, today, and says so. Filter service
            # may have come a day or two before its day, or wait as long, to keep off a change of water.
            assert o is not None, (today, name, day)
            if o.job.heavy:
                assert (o.day - day).days <= 2 * o.job.window + 1, (today, name, day)
            else:
                assert o.day == today and o.since is not None and o.since <= max(since, BEGUN), (
                    today,
                    name,
                    day,
                )
        else:
            slack = dt.timedelta(days=2 * o.job.window if o is not None and o.job.heavy else 0)
            assert o is not None and o.day <= day + slack, (today, name, day)


def evening(book: Book, found: list[Occurrence], today: dt.date, seen: list[Occurrence]) -> None:
    """Hold the plan after the day's work against what was done, and remember what it promises."""
    first = {full_name(o): o for o in reversed(found)}
    for o in seen:
        if book.last.get(o.job.log_name) != today or full_name(o) not in first:
            continue
        after = first[full_name(o)]
        # Done today, it comes again on a later day; by interval, that many days later, or where somebody can.
        assert after.day > today and after.since is None
        cadence = after.job.cadence
        if isinstance(cadence, Every) and not cadence.lasts:
            book.checked["intervals"] += 1
            gap = (after.day - today).days
            if book.lone and not after.job.heavy:
                assert gap == cadence.span.interval_days, (today, o.job.key, gap)
            assert 0 < gap <= cadence.span.interval_days + max(after.job.window, 6)
    # A job of a span of days is over with them.
    book.next_day = {
        name: (o.day, o.since or o.day)
        for name, o in first.items()
        if getattr(o.job.cadence, "until", None) is None
    }


@pytest.mark.parametrize("seed", range(KEEPERS))
@pytest.mark.parametrize("sample", ["one-tank", pytest.param("household", marks=pytest.mark.slow)])
def test_no_job_is_lost_and_none_doubled(sample: str, seed: int) -> None:
    site = read_site(SAMPLES / f"{sample}.toml")
    keeper = random.Random(f"{sample} {seed}")
    book = Book(lone=not any(k.weekdays for k in site.keepers))
    never = {"vet-check", "cord-check"} if seed % 2 else {"filter-check"}
    book.do((site.enclosures[0].id, "daily-look", ""), BEGUN)
    for n in range(DAYS):
        today = BEGUN + dt.timedelta(days=n)
        found = plan(site, today, book)
        look(book, found, today)
        for o in found:
            name = o.job.log_name
            chance = keeper.random()
            if o.job.key in never:
                continue
            if (o.day == today and chance < 0.6) or (0 < (o.day - today).days <= 5 and chance < 0.03):
                book.do(name, today)
            if o.day == today and chance < 0.05:
                book.do(name, today, turn=1)
        evening(book, plan(site, today, book), today, found)
    # What was never done is still there, as of the day on which it first fell due.
    for o in plan(site, BEGUN + dt.timedelta(days=DAYS), book):
        if o.job.key in never and o.since is not None:
            assert (o.since - BEGUN).days < 400
            book.checked["never"] += 1
    assert book.checked["open"] > 50 and book.checked["intervals"] > 100 and book.checked["never"] > 0
