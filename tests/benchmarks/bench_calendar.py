"""Dated events a second: this export against icalendar building and serialising each event property by property.

Run by hand: python tests/benchmarks/bench_calendar.py
"""

from __future__ import annotations

import datetime as dt
import statistics
import tempfile
import time
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.description import load
from scheduler.plan import Series
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 1)
JOBS = 60
ROUNDS = 5


def description() -> str:
    """Return a site whose extra jobs have rules outside the portable vocabulary: every occurrence becomes an event."""
    months = ",".join(map(str, range(1, 13)))
    extra = "".join(
        f'[[enclosure.extra_job]]\nkey = "own-{n}"\ntitle = "Own duty {n}"\nrule = "FREQ=DAILY;BYMONTH={months}"\nnote = "{"Look, count, rinse, note it down; then the next one. " * 7}"\n'
        for n in range(JOBS)
    )
    return f'[site]\nname = "Bench"\ntime_zone = "Europe/Dublin"\n[[enclosure]]\nname = "Tank"\n{extra}'


def ours(planned: workflow.Planned) -> float:
    """Return the seconds that an export of the planned site takes, checks and files included."""
    with tempfile.TemporaryDirectory() as folder:
        begin = time.perf_counter()
        workflow.export(planned, Path(folder), Options(alarms=True))
        return time.perf_counter() - begin


def by_icalendar(series: tuple[Series, ...], most: int) -> tuple[int, float]:
    """Return how many events were written in how many seconds, each built and serialised by the package."""
    from icalendar import Alarm, Calendar, Event

    zone = ZoneInfo("Europe/Dublin")
    stamp = dt.datetime(2026, 12, 1, tzinfo=dt.UTC)
    calendar = Calendar()
    begin = time.perf_counter()
    count = 0
    for one in series:
        notes = one.job.notes().text()
        for day in one.dates:
            if count == most:
                break
            event = Event()
            event.add("uid", f"{one.job.key}-{day}")
            event.add("dtstamp", stamp)
            event.add("last-modified", stamp)
            event.add("sequence", 0)
            event.add("dtstart", dt.datetime.combine(day, dt.time(7, 30), zone))
            event.add("duration", dt.timedelta(minutes=one.job.minutes))
            event.add("summary", one.job.title)
            event.add("description", notes)
            event.add("location", "Tank")
            event.add("categories", ["Tank", one.job.key])
            event.add("transp", "TRANSPARENT")
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("trigger", dt.timedelta(minutes=-10))
            alarm.add("description", one.job.title)
            event.add_component(alarm)
            calendar.add_component(event)
            count += 1
    calendar.to_ical()
    return count, time.perf_counter() - begin


def main() -> None:
    """Measure both in turn, and print medians and their ratio."""
    site = load(description(), load_sheets())
    planned = workflow.make_plan(site, TODAY, TODAY, 728)
    dated = tuple(s for s in planned.series if s.dates)
    # The feed of the enclosure and the feed of the site carry each event.
    events = 2 * sum(len(s.dates) for s in dated)
    rates: list[float] = []
    others: list[float] = []
    for _ in range(ROUNDS):
        rates.append(events / ours(planned))
        count, seconds = by_icalendar(dated, 2000)
        others.append(count / seconds)
    print(f"events in one export: {events}")
    print(f"export, checks and files included: {statistics.median(rates):,.0f} events a second")
    print(f"icalendar, property by property:   {statistics.median(others):,.0f} events a second")
    print(f"ratio: {statistics.median(a / b for a, b in zip(rates, others, strict=True)):.1f}")


if __name__ == "__main__":
    main()
