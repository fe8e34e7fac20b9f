"""Recurrence rules of RFC 5545, section 3.3.10, as whole days: judged for portability, expanded.

The planner works in days; the time of day comes from the site. Sub-daily rules are therefore refused, with a
reason. Expansion of the few portable shapes and of week numbers is plain arithmetic, everything else is
dateutil's.
"""

from __future__ import annotations

import calendar
import datetime as dt
import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One recurrence rule in days.

    `until` is the last allowed day, or still the instant that the keeper wrote.
    """

    freq: str
    interval: int = 1
    byday: tuple[str, ...] = ()
    bymonthday: tuple[int, ...] = ()
    bymonth: tuple[int, ...] = ()
    bysetpos: tuple[int, ...] = ()
    byweekno: tuple[int, ...] = ()
    byyearday: tuple[int, ...] = ()
    wkst: str = "MO"
    count: int | None = None
    until: dt.date | dt.datetime | None = None

    def ending(self, zone: ZoneInfo, start: dt.time) -> Rule:
        """Return the rule with `until` as a date: the last day whose start (local time) is not after the
        instant."""
        if not isinstance(self.until, dt.datetime):
            return self
        local = self.until.astimezone(zone) if self.until.tzinfo else self.until
        last = local.date() if local.time() >= start else local.date() - dt.timedelta(days=1)
        return replace(self, until=last)

    def text(self) -> str:
        """Return the rule without its end, FREQ first as RFC 5545 advises."""
        parts = [f"FREQ={self.freq}"]
        if self.interval != 1:
            parts.append(f"INTERVAL={self.interval}")
        if self.bymonth:
            parts.append("BYMONTH=" + ",".join(map(str, self.bymonth)))
        if self.bymonthday:
            parts.append("BYMONTHDAY=" + ",".join(map(str, self.bymonthday)))
        if self.byday:
            parts.append("BYDAY=" + ",".join(self.byday))
        return ";".join(parts)

    def aloud(self, start: dt.date) -> Rule:
        """Return the rule with the day that RFC 5545 takes from DTSTART written out: one reader misreads it
        otherwise."""
        if self.freq == "WEEKLY" and not self.byday:
            return replace(self, byday=(WEEKDAYS[start.weekday()],))
        if self.freq == "MONTHLY" and not (self.byday or self.bymonthday):
            return replace(self, bymonthday=(start.day,))
        return self

    def unportable(self, start: dt.date | None = None) -> str:
        """Return why calendar programs would not agree on this rule, or nothing when all of them do.

        The vocabulary was measured over twelve readers; the narrower cases (one BYMONTHDAY, no WKST that
        matters) are what the strictest mail programs map. A yearly rule is judged with its start: 29 February
        moves.
        """
        if self.bysetpos or self.byweekno or self.byyearday:
            return "BYSETPOS, BYWEEKNO and BYYEARDAY are read differently by calendar programs"
        if self.wkst != "MO" and self.freq == "WEEKLY" and self.interval > 1 and len(self.byday) > 1:
            return "a week that does not start on Monday is ignored by some calendar programs"
        nth = [d for d in self.byday if len(d) > 2]
        match self.freq:
            case "DAILY":
                plain = not (self.byday or self.bymonthday or self.bymonth)
            case "WEEKLY":
                plain = not (nth or self.bymonthday or self.bymonth)
            case "MONTHLY":
                one_day = len(self.bymonthday) == 1 and not self.byday
                one_nth = len(self.byday) == 1 and len(nth) == 1 and not self.bymonthday
                plain = (one_day or one_nth) and not self.bymonth
            case _:
                no_parts = not (self.byday or self.bymonthday or self.bymonth)
                plain = no_parts and start is not None and (start.month, start.day) != (2, 29)
        return (
            "" if plain else f"FREQ={self.freq} with these BY parts is read differently by calendar programs"
        )

    # --- expansion
    # --------------------------------------------------------------------------------------------

    def dates(self, start: dt.date, until: dt.date) -> Iterator[dt.date]:
        """Yield the instances from `start` (RFC 5545's DTSTART, an instance only if the rule makes it) to
        `until`.

        `until` is included. The rule's own end counts from `start`. Raises ValueError while `until` of the
        rule is still an instant: call `ending` first.
        """
        if isinstance(self.until, dt.datetime):
            raise ValueError("the rule ends at an instant: give zone and start to `ending` first")
        last = until if self.until is None else min(until, self.until)
        if self.byweekno:
            found = self._by_week_number(start, last)
        elif self.unportable(start):
            found = self._by_dateutil(start, last)
        elif self.freq == "DAILY":
            found = map(dt.date.fromordinal, range(start.toordinal(), last.toordinal() + 1, self.interval))
        elif self.freq == "WEEKLY":
            found = self._weekly(start, last)
        else:
            found = self._monthly(start, last)
        yield from itertools.islice(found, self.count) if self.count is not None else found

    def _weekly(self, start: dt.date, last: dt.date) -> Iterator[dt.date]:
        shift = WEEKDAYS.index(self.wkst)
        offsets = sorted((WEEKDAYS.index(d) - shift) % 7 for d in self.byday) or [
            (start.weekday() - shift) % 7
        ]
        first, end = start.toordinal(), last.toordinal()
        week = first - (start.weekday() - shift) % 7
        for monday in range(week, end + 1, 7 * self.interval):
            for offset in offsets:
                if first <= monday + offset <= end:
                    yield dt.date.fromordinal(monday + offset)

    def _monthly(self, start: dt.date, last: dt.date) -> Iterator[dt.date]:
        """Yield the instances of a monthly rule with one day or one numbered weekday, or of a yearly rule
        without parts."""
        step = self.interval * (12 if self.freq == "YEARLY" else 1)
        for month in range(start.year * 12 + start.month - 1, last.year * 12 + last.month, step):
            day = self._day_of(month // 12, month % 12 + 1, start.day)
            if day is not None and start <= day <= last:
                yield day

    def _day_of(self, year: int, month: int, day: int) -> dt.date | None:
        """Return the rule's day in a month, None where the month has none; `day` is that of the start."""
        length = calendar.monthrange(year, month)[1]
        if self.byday:
            nth, weekday = int(self.byday[0][:-2]), WEEKDAYS.index(self.byday[0][-2:])
            first = 1 + (weekday - dt.date(year, month, 1).weekday()) % 7
            last = length - (dt.date(year, month, length).weekday() - weekday) % 7
            day = first + 7 * (nth - 1) if nth > 0 else last + 7 * (nth + 1)
        elif self.bymonthday:
            day = self.bymonthday[0] if self.bymonthday[0] > 0 else length + 1 + self.bymonthday[0]
        return dt.date(year, month, day) if 1 <= day <= length else None

    def _by_week_number(self, start: dt.date, last: dt.date) -> Iterator[dt.date]:
        """Yield the instances of a yearly rule with BYWEEKNO, by ISO 8601's weeks and whole calendar years.

        Week 53 reaches into the next year, and its days there belong to that year's instances. dateutil 2.9
        names the weeks at the turn of the year wrongly: 1 January 2022 is in week 52 of 2021, and it says 53.
        """
        for year in range(start.year, last.year + 1, self.interval):
            first = dt.date(year, 1, 1).toordinal()
            days = map(dt.date.fromordinal, range(first, first + 365 + calendar.isleap(year)))
            found = [day for day in days if self._may_fall_on(day, start)]
            if self.bysetpos:
                # From 1 from the front, from -1 from the back.
                places = {p - 1 if p > 0 else len(found) + p for p in self.bysetpos}
                found = [day for place, day in enumerate(found) if place in places]
            yield from (day for day in found if start <= day <= last)

    def _by_dateutil(self, start: dt.date, last: dt.date) -> Iterator[dt.date]:
        # dateutil looks at `until` only when it has found something: a rule without instances it follows to
        # the year 9999. A coarse look at each day tells first whether there is anything to find.
        days = map(dt.date.fromordinal, range(start.toordinal(), last.toordinal() + 1))
        if not any(self._may_fall_on(day, start) for day in days):
            return iter(())
        from dateutil import rrule as du

        weekdays = [getattr(du, d[-2:])(int(d[:-2])) if len(d) > 2 else getattr(du, d) for d in self.byday]
        midnight = dt.time()
        made = du.rrule(
            getattr(du, self.freq),
            dtstart=dt.datetime.combine(start, midnight),
            interval=self.interval,
            wkst=getattr(du, self.wkst),
            until=dt.datetime.combine(last, midnight),
            bysetpos=self.bysetpos or None,
            bymonth=self.bymonth or None,
            bymonthday=self.bymonthday or None,
            byyearday=self.byyearday or None,
            byweekday=weekdays or None,
        )
        return (moment.date() for moment in made)

    def _may_fall_on(self, day: dt.date, start: dt.date) -> bool:
        """Tell whether a day passes every part of the rule but BYSETPOS."""
        aligned = {
            "DAILY": (day - start).days,
            "WEEKLY": (_week(day, self.wkst) - _week(start, self.wkst)) // 7,
            "MONTHLY": (day.year - start.year) * 12 + day.month - start.month,
            "YEARLY": day.year - start.year,
        }[self.freq]
        if aligned % self.interval or (self.bymonth and day.month not in self.bymonth):
            return False
        if self.byweekno and not _week_numbers(day, self.wkst) & set(self.byweekno):
            return False
        length = calendar.monthrange(day.year, day.month)[1]
        if self.bymonthday and not {day.day, day.day - length - 1} & set(self.bymonthday):
            return False
        in_year, year_length = day.timetuple().tm_yday, 365 + calendar.isleap(day.year)
        if self.byyearday and not {in_year, in_year - year_length - 1} & set(self.byyearday):
            return False
        if self.byday:
            by_month = self.freq == "MONTHLY" or self.bymonth
            at, of = (day.day, length) if by_month else (in_year, year_length)
            name = WEEKDAYS[day.weekday()]
            return bool({name, f"{(at + 6) // 7}{name}", f"-{(of - at) // 7 + 1}{name}"} & set(self.byday))
        return self._is_default_day(day, start)

    def _is_default_day(self, day: dt.date, start: dt.date) -> bool:
        """Tell whether a day is what RFC 5545 takes from DTSTART where the rule names no day.

        A week that is named by its number is all its days, as dateutil has it too.
        """
        named = self.bymonthday or self.byyearday or self.byweekno
        if self.freq == "WEEKLY":
            return day.weekday() == start.weekday()
        if self.freq == "DAILY" or named:
            return True
        return day.day == start.day and (
            self.freq == "MONTHLY" or bool(self.bymonth) or day.month == start.month
        )

    def most_in_set(self) -> int:
        """Return the most days that one period of the rule can have, which BYSETPOS counts through."""
        if self.freq in ("DAILY", "WEEKLY"):
            return 1 if self.freq == "DAILY" else max(1, len(self.byday))
        yearly = self.freq == "YEARLY"
        months = len(self.bymonth) or 12 if yearly else 1
        by_month = not yearly or bool(self.bymonth)
        sizes = [366 if yearly else 31]
        if self.byday:
            plain = 5 * months if by_month else 53
            sizes.append(sum(plain if len(d) == 2 else months if by_month else 1 for d in self.byday))
        if self.bymonthday:
            sizes.append(len(self.bymonthday) * months)
        if self.byyearday:
            sizes.append(len(self.byyearday))
        if self.byweekno:
            sizes.append(7 * len(self.byweekno))
        if len(sizes) == 1:
            sizes.append(months if self.bymonth else 1)
        return min(sizes)

    def happens(self, start: dt.date) -> bool:
        """Tell whether the rule has an instance within 28 years, in which every date meets every weekday."""
        rule = replace(self, until=None)
        return next(rule.dates(start, start + dt.timedelta(days=28 * 365 + 7)), None) is not None


def _week(day: dt.date, first: str) -> int:
    """Return the ordinal of the first day of the day's week."""
    return day.toordinal() - (day.weekday() - WEEKDAYS.index(first)) % 7


def _week_numbers(day: dt.date, first: str) -> set[int]:
    """Return the two numbers of the day's week, from the front and from the back of the year that has most of
    it.

    RFC 5545, section 3.3.10: weeks are numbered as ISO 8601 does, also where they begin on another day than
    Monday.
    """
    this = _week(day, first)
    year = dt.date.fromordinal(this + 3).year
    # The week with 4 January is the first one.
    begin, end = (_week(dt.date(y, 1, 4), first) for y in (year, year + 1))
    return {(this - begin) // 7 + 1, (this - end) // 7}
