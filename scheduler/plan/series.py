"""A series: the occurrences of one job, either as a rule that every calendar program reads alike, or as
dates."""

from __future__ import annotations

import datetime as dt
import heapq
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from scheduler.care import Job
from scheduler.history import Amendment
from scheduler.rules import WEEKDAYS, Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Open:
    """An occurrence that fell due and was not done: it is shown on `day`, which is today, until it is.

    `since` is the day on which it fell due, `overdue` tells whether its window is over. It is the series'
    `own` where the series has an occurrence today that stands for both. `of` is its day among single dates,
    whose entry it keeps.
    """

    day: dt.date
    since: dt.date
    overdue: bool
    own: bool = False
    of: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Series:
    """The occurrences of a job.

    Regular: `rule` (portable, without end) from `first`, its own first instance, to `until` if that is given.
    Irregular: `dates`, up to the horizon; `why` says why there is no rule.

    Where a record is kept: `open` is what fell due and was not done. `met` are the days of the series that
    were done, by the day on which that was; they are no occurrences any more. A series that `moves` goes on
    from what was done last: its first day is the next time, and nothing of it lies before. Where people bend
    it by hand, `skipped` are days that its rule gives and that are left out, `chosen` those on which it comes
    because somebody said so, with what was said; where it has dates, those are among them.
    """

    job: Job
    rule: Rule | None = None
    first: dt.date | None = None
    until: dt.date | None = None
    dates: tuple[dt.date, ...] = ()
    why: str = ""
    open: Open | None = None
    met: Mapping[dt.date, dt.date] = field(default_factory=dict)
    moves: bool = False
    skipped: frozenset[dt.date] = frozenset()
    chosen: Mapping[dt.date, Amendment] = field(default_factory=dict)

    @property
    def gone(self) -> frozenset[dt.date]:
        """Return the days of the series on which there is nothing to be done: it was done, or is left out."""
        return self.skipped.union(self.met.values())

    @property
    def apart(self) -> tuple[dt.date, ...]:
        """Return the days to come on which it comes because somebody said so, and which no rule gives."""
        if self.rule is None or not self.chosen:
            return ()
        gone = self.gone
        return tuple(d for d in sorted(self.chosen) if d not in gone and d not in self._given(d, d))

    def __repr__(self) -> str:
        """Return its job and what tells its days, on one line."""
        days = f"{len(self.dates)} days" if self.rule is None else f"{self.rule.text()} from {self.first}"
        return f"<Series {self.job.enclosure.id}/{self.job.word}: {days}>"

    def between(self, first: dt.date, last: dt.date) -> Iterator[dt.date]:
        """Yield the days of the occurrences from `first` to `last`, both included; one that is open comes on
        its day."""
        if self.open is None and not self.met:
            yield from self.days(first, last)
            return
        shown = self.open.day if self.open is not None and first <= self.open.day <= last else None
        gone = self.gone
        for day in self.days(first, last):
            if shown is not None and shown <= day:
                yield shown
                if shown == day:
                    shown = None
                    continue
                shown = None
            if day not in gone:
                yield day
        if shown is not None:
            yield shown

    def days(self, first: dt.date, last: dt.date) -> Iterator[dt.date]:
        """Yield the days of the series from `first` to `last`, both included, whether they are done or
        not."""
        if self.rule is None or self.first is None:
            yield from (day for day in self.dates if first <= day <= last)
        elif not (self.skipped or self.chosen):
            yield from self._given(first, last)
        else:
            kept = (day for day in self._given(first, last) if day not in self.skipped)
            yield from _merged(kept, sorted(day for day in self.chosen if first <= day <= last))

    def _given(self, first: dt.date, last: dt.date) -> Iterator[dt.date]:
        """Yield the days that the rule gives."""
        assert self.rule is not None and self.first is not None
        end = last if self.until is None else min(last, self.until)
        start = aligned(self.rule, self.first, first)
        yield from (day for day in self.rule.dates(start, end) if day >= first)


def _merged(days: Iterator[dt.date], others: list[dt.date]) -> Iterator[dt.date]:
    """Yield the days of two orders in one, each once; the first may have no end."""
    last: dt.date | None = None
    for day in heapq.merge(days, others):
        if day != last:
            yield day
        last = day


def aligned(rule: Rule, first: dt.date, day: dt.date) -> dt.date:
    """Return a start from which the rule gives the same instances from `day` on, without walking there from
    `first`."""
    if day <= first or rule.count is not None or rule.unportable(first):
        return first
    if rule.freq == "DAILY":
        return first + dt.timedelta(days=(day - first).days // rule.interval * rule.interval)
    if rule.freq == "WEEKLY":
        # From the first day of the rule's week: a start inside the week would hide that week's earlier days.
        monday = first - dt.timedelta(days=(first.weekday() - WEEKDAYS.index(rule.wkst)) % 7)
        period = 7 * rule.interval
        return max(first, monday + dt.timedelta(days=(day - monday).days // period * period))
    step = rule.interval * (12 if rule.freq == "YEARLY" else 1)
    months = (day.year - first.year) * 12 + day.month - first.month
    year, month = divmod(first.year * 12 + first.month - 1 + months // step * step, 12)
    # A yearly rule takes its day from the start; a monthly one names it, and starts on the first of its
    # month.
    return max(first, dt.date(year, month + 1, first.day if rule.freq == "YEARLY" else 1))


def every(days: int, first: dt.date, second: int = 0) -> Rule:
    """Return the rule of an interval in days from its first occurrence: by weeks where it is whole weeks.

    With `second` it comes twice a week: on the weekday of the first day, and so many days after that.
    """
    if second:
        both = sorted({first.weekday(), (first.weekday() + second) % 7})
        return Rule(freq="WEEKLY", byday=tuple(WEEKDAYS[day] for day in both))
    if days % 7 == 0:
        return Rule(freq="WEEKLY", interval=days // 7, byday=(WEEKDAYS[first.weekday()],))
    return Rule(freq="DAILY", interval=days)
