"""A series: the occurrences of one job, either as a rule that every calendar program reads alike, or as dates."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care import Job
from scheduler.rules import WEEKDAYS, Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The occurrences of a job.

    Regular: `rule` (portable, without end) from `first`, its own first instance, to `until` if that is given.
    Irregular: `dates`, up to the horizon; `why` says why there is no rule.
    """

    job: Job
    rule: Rule | None = None
    first: dt.date | None = None
    until: dt.date | None = None
    dates: tuple[dt.date, ...] = ()
    why: str = ""

    def between(self, first: dt.date, last: dt.date) -> Iterator[dt.date]:
        """Yield the days of the occurrences from `first` to `last`, both included."""
        if self.rule is None or self.first is None:
            yield from (day for day in self.dates if first <= day <= last)
            return
        end = last if self.until is None else min(last, self.until)
        start = aligned(self.rule, self.first, first)
        yield from (day for day in self.rule.dates(start, end) if day >= first)


def aligned(rule: Rule, first: dt.date, day: dt.date) -> dt.date:
    """Return a start from which the rule gives the same instances from `day` on, without walking there from `first`."""
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
    # A yearly rule takes its day from the start; a monthly one names it, and starts on the first of its month.
    return max(first, dt.date(year, month + 1, first.day if rule.freq == "YEARLY" else 1))


def every(days: int, first: dt.date) -> Rule:
    """Return the rule of an interval in days from its first occurrence: by weeks where it is whole weeks."""
    if days % 7 == 0:
        return Rule(freq="WEEKLY", interval=days // 7, byday=(WEEKDAYS[first.weekday()],))
    return Rule(freq="DAILY", interval=days)
