"""The hours of a feed as libraries of another origin read them: vobject, which a widespread CalDAV server expands with,
dateutil's tzical, and icalendar.
"""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import vobject
from dateutil import tz
from icalendar import Calendar
from support.feeds import NOTHING_ELSE, entries, export
from vobject.icalendar import tzinfo_eq

from scheduler.calendar import Options, verify

FIRST = dt.date(2026, 12, 1)
DAYS = [FIRST + dt.timedelta(days=n) for n in range(731)]
ZONES = [
    "Europe/Lisbon", "Europe/London", "Antarctica/Troll", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca",
]  # fmt: skip
DAILY_LOOK = NOTHING_ELSE.replace("[enclosure.job.daily-look]\noff = true\n", "")


def site(zone: str) -> str:
    return f"""
[site]
name = "Quay"
time_zone = "{zone}"
[[enclosure]]
name = "Tejo"
{DAILY_LOOK}
"""


def in_utc(zone: str) -> list[dt.datetime]:
    """Return the moments of the daily look, at its half past seven, by the time zone database."""
    at = dt.time(7, 30)
    return [dt.datetime.combine(day, at, ZoneInfo(zone)).astimezone(dt.UTC) for day in DAYS]


@pytest.mark.parametrize("zone", ZONES)
def test_vobject_sees_the_daily_look_at_its_hour_on_every_day_of_two_years(tmp_path: Path, zone: str) -> None:
    """It takes a zone for UTC that does not differ from it from 2000 to 2020, and writes such times in UTC."""
    feed = export(tmp_path, site(zone), FIRST)["quay-tejo.ics"]
    event = vobject.readOne(feed.decode()).vevent
    rule = event.getrruleset()
    # The rule gives wall clocks; the zone is that of the start.
    seen = [moment.replace(tzinfo=event.dtstart.value.tzinfo) for moment in rule[: len(DAYS)]]
    assert [moment.astimezone(dt.UTC) for moment in seen] == in_utc(zone)
    assert not tzinfo_eq(event.dtstart.value.tzinfo, vobject.icalendar.utc)
    for moment in seen[:: len(DAYS) // 9]:
        event.dtstart.value = moment
        (again,) = Calendar.from_ical(event.serialize(validate=False)).walk("VEVENT")
        assert again["DTSTART"].dt.replace(tzinfo=ZoneInfo(zone)) == moment, "not as if it were UTC"


@pytest.mark.parametrize("zone", ZONES)
def test_dateutil_sees_the_daily_look_at_its_hour_on_every_day_of_two_years(
    tmp_path: Path, zone: str
) -> None:
    feed = export(tmp_path, site(zone), FIRST)["quay-tejo.ics"].decode()
    begin, end = feed.index("BEGIN:VTIMEZONE"), feed.index("BEGIN:VEVENT")
    there = tz.tzical(io.StringIO(feed[begin:end].replace("\r\n", "\n"))).get()
    at = dt.time(7, 30)
    assert [dt.datetime.combine(day, at, there).astimezone(dt.UTC) for day in DAYS] == in_utc(zone)


# --- stamps ---


@pytest.mark.parametrize(
    ("zone", "day", "stamp"),
    [
        ("UTC", dt.date(2026, 12, 1), "2026-12-01 00:00"),
        ("Europe/Dublin", dt.date(2026, 12, 1), "2026-12-01 00:00"),
        ("Europe/Dublin", dt.date(2026, 7, 1), "2026-06-30 23:00"),
        ("Pacific/Kiritimati", dt.date(2026, 12, 1), "2026-11-30 10:00"),
        ("Pacific/Auckland", dt.date(2026, 12, 1), "2026-11-30 11:00"),
        ("America/New_York", dt.date(2026, 12, 1), "2026-12-01 05:00"),
        ("Pacific/Pago_Pago", dt.date(2026, 12, 1), "2026-12-01 11:00"),
        # Midnight is skipped on that day in Cuba (last second Sunday of March).
        ("America/Havana", dt.date(2026, 3, 8), "2026-03-08 05:00"),
    ],
)
def test_no_stamp_lies_in_the_future_of_anybody_who_exports_on_that_day(
    tmp_path: Path, zone: str, day: dt.date, stamp: str
) -> None:
    """RFC 5545, section 3.8.7.2: DTSTAMP is when the entry was last revised. The day begins at the site, not in UTC."""
    feed = export(tmp_path, site(zone), day)["quay-tejo.ics"]
    calendar = Calendar.from_ical(feed)
    (event,) = calendar.walk("VEVENT")
    earliest = dt.datetime.combine(day, dt.time(), ZoneInfo(zone)).astimezone(dt.UTC)
    for found in (event["DTSTAMP"], event["LAST-MODIFIED"], calendar["LAST-MODIFIED"]):
        assert found.dt == dt.datetime.fromisoformat(stamp).replace(tzinfo=dt.UTC) <= earliest


# --- nothing to do ---


@pytest.mark.parametrize("zone", ["Europe/Dublin", "UTC", "Africa/Casablanca"])
@pytest.mark.parametrize(
    "options", [Options(each_job=True), Options(each_job=True, all_day=True), Options(to_dos=True)]
)
def test_a_feed_without_entries_is_a_calendar(tmp_path: Path, zone: str, options: Options) -> None:
    """RFC 5545, section 3.6: a calendar includes at least one component; a time zone is one."""
    empty = site(zone) + "[enclosure.job.daily-look]\noff = true\n"
    feeds = export(tmp_path, empty, FIRST, 366, options)
    assert len(feeds) == 2
    for feed in feeds.values():
        assert verify(feed, options.kind) == 0
        calendar = Calendar.from_ical(feed)
        assert [(c.name, c["TZID"]) for c in calendar.subcomponents] == [("VTIMEZONE", zone)]
        assert vobject.readOne(feed.decode()).vtimezone.tzid.value == zone
    assert export(tmp_path, empty, FIRST + dt.timedelta(days=1), 366, options) == feeds
    # And with something to do it is as if it had never been empty, but for the dates of change.
    full = export(tmp_path, site(zone), FIRST, 366, options)
    assert len(entries(full[min(full)], options.kind)) == 1
    needs = not options.all_day and zone != "UTC"
    assert all((b"BEGIN:VTIMEZONE" in feed) == needs for feed in full.values())
    assert export(tmp_path, empty, FIRST, 366, options).keys() == feeds.keys()


@pytest.mark.reader
@pytest.mark.parametrize("zone", ["Europe/Dublin", "UTC"])
def test_other_readers_open_a_feed_without_entries(readers, tmp_path: Path, zone: str) -> None:
    export(tmp_path, site(zone) + "[enclosure.job.daily-look]\noff = true\n", FIRST)
    file = tmp_path / "calendars" / "quay.ics"
    for read in (readers.recurring_ical_events, readers.ical_js):
        assert read([file], "2026-12-01T00:00:00Z", "2027-12-01T00:00:00Z") == []
