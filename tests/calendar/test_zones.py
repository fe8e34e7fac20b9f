"""VTIMEZONE against the IANA time zone database, for every zone of it.

The evaluator below follows RFC 5545, section 3.6.5, on what icalendar reads: an observance begins at DTSTART and at each
RRULE and RDATE, local times under TZOFFSETFROM; from there on TZOFFSETTO holds. The reference is zoneinfo.
"""

import bisect
import datetime as dt
import re
import zoneinfo
from itertools import pairwise
from zoneinfo import ZoneInfo, available_timezones

import pytest
from dateutil.rrule import rrulestr
from icalendar import Calendar

from scheduler.calendar.zones import vtimezone

ZONES = sorted(available_timezones() - {"localtime", "posixrules", "Factory"})
FIRST, LAST = dt.datetime.fromisoformat("2026-01-01"), dt.datetime.fromisoformat("2036-12-31T23:59")
MINUTE = dt.timedelta(minutes=1)
TABULATED = {"Africa/Cairo", "Africa/Casablanca", "Africa/El_Aaiun", "Asia/Gaza", "Asia/Hebron", "Egypt"}
"""Zones whose changes follow no yearly rule of RFC 5545: Ramadan, or the last Thursday's 24:00 (tzdata, `africa`, `asia`)."""


@pytest.fixture(
    autouse=True,
    scope="module",
    params=[pytest.param("the system's", marks=pytest.mark.slow), "the package's"],
)
def database(request):
    """Take the database of the system, then that of the package tzdata: they are of different years."""
    before = zoneinfo.TZPATH
    zoneinfo.reset_tzpath(before if request.param == "the system's" else ())
    ZoneInfo.clear_cache()
    vtimezone.cache_clear()
    yield
    zoneinfo.reset_tzpath(before)
    ZoneInfo.clear_cache()
    vtimezone.cache_clear()


def offset(zone, moment):
    """Return the offset of a zone at a moment that is given in UTC without saying so."""
    return moment.replace(tzinfo=dt.UTC).astimezone(zone).utcoffset()


def read(key, first_year):
    """Return the observances of a zone as icalendar reads them."""
    wrapped = (
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-\r\n" + vtimezone(key, first_year) + b"END:VCALENDAR\r\n"
    )
    (zone,) = Calendar.from_ical(wrapped).walk("VTIMEZONE")
    assert zone["TZID"] == key
    return zone.subcomponents


def onsets(observances, until):
    """Return (moment in UTC, offset before, offset after) of every change, in order of time."""
    found = []
    for o in observances:
        start, before, after = o["DTSTART"].dt, o["TZOFFSETFROM"].td, o["TZOFFSETTO"].td
        local = {start}
        if "RRULE" in o:
            rule = rrulestr(o["RRULE"].to_ical().decode(), dtstart=start)
            local |= set(rule.between(start, until, inc=True))
        dates = o.get("RDATE", [])
        for item in dates if isinstance(dates, list) else [dates]:
            local |= {date.dt for date in item.dts}
        found += [(moment - before, before, after) for moment in local]
    return sorted(found)


def differences(key, first_year, first, last):
    """Return the moments at which the VTIMEZONE and the database disagree: each onset, a minute before, every 5 days.

    No zone changes twice within five days; so a change that the VTIMEZONE lacks shows at the next probe.
    """
    zone, changes = ZoneInfo(key), onsets(read(key, first_year), last)
    moments = [moment for moment, _, _ in changes]
    probes = [first + n * dt.timedelta(days=5) for n in range((last - first).days // 5 + 1)]
    probes += [probe for m in moments for probe in (m - MINUTE, m, m + MINUTE) if first <= probe <= last]
    wrong = []
    for probe in sorted(probes):
        at = bisect.bisect(moments, probe) - 1
        said = changes[at][2] if at >= 0 else None
        if said != offset(zone, probe):
            wrong.append(f"{probe} UTC: {said}, should be {offset(zone, probe)}")
    # TZOFFSETFROM has to be what held before, wherever that is inside the years looked at.
    for before, after in pairwise(changes):
        if first <= after[0] <= last and before[2] != after[1]:
            wrong.append(f"{after[0]} UTC: TZOFFSETFROM {after[1]}, should be {before[2]}")
    return wrong


def test_every_zone_of_the_database_is_right_to_the_minute_from_2026_to_2036():
    wrong = {key: differences(key, 2026, FIRST, LAST) for key in ZONES}
    assert {key: found[:3] for key, found in wrong.items() if found} == {}
    assert len(ZONES) > 400


@pytest.mark.parametrize("first_year", [1997, 2020, 2025, 2027, 2031])
@pytest.mark.parametrize(
    "key",
    [
        "Europe/Dublin",
        "America/New_York",
        "Australia/Lord_Howe",
        "Asia/Kathmandu",
        "America/Santiago",
        "Africa/Casablanca",
    ],
)
def test_a_feed_that_begins_in_another_year_is_right_from_there_on(key, first_year):
    assert differences(key, first_year, FIRST.replace(year=first_year), LAST) == []


def changes_a_year(key):
    """Return how often a zone changes its clocks in each of the years 2026 to 2036."""
    zone, found = ZoneInfo(key), []
    for year in range(FIRST.year, LAST.year + 1):
        offsets = [offset(zone, FIRST.replace(year=year) + n * dt.timedelta(days=5)) for n in range(74)]
        found.append(sum(a != b for a, b in pairwise(offsets)))
    return found


def test_zones_that_change_their_clocks_have_the_form_of_two_yearly_rules():
    """The form that all readers get right. Where onsets have to be listed, each is a property of its own: one reader
    takes the first value of an RDATE only."""
    forms = {}
    for key in ZONES:
        observances, often = read(key, 2026), changes_a_year(key)
        if min(often) >= 2:
            two = sorted(o.name for o in observances) == ["DAYLIGHT", "STANDARD"]
            forms[key] = two and all("RRULE" in o and "RDATE" not in o for o in observances)
        elif max(often) == 0 and len(observances) == 1:
            assert "RRULE" not in observances[0] and "RDATE" not in observances[0], key
        assert b"," not in b"".join(re.findall(rb"RDATE.*", vtimezone(key, 2026))), key
    assert {key for key, two_rules in forms.items() if not two_rules} <= TABULATED
    # In tzdata 2025b, 187 names have rules that fit RFC 5545 as written, and 8 more after a shift of the day; in 2026.6
    # nine Canadian names no longer change their clocks, and Cuba's two do so irregularly until 2027.
    assert sum(forms.values()) >= 180


def test_the_larger_offset_is_called_daylight():
    """Ireland's law has it the other way round (tzdata, `europe`); readers expect summer to be DAYLIGHT."""
    for key in ZONES:
        for o in read(key, 2026):
            larger = o["TZOFFSETTO"].td > o["TZOFFSETFROM"].td
            assert o.name == ("DAYLIGHT" if larger else "STANDARD"), key


# RFC 5545, sections 3.6.5 (what an observance must hold), 3.1 (length of lines), 3.3.14 (UTC-OFFSET).
LINE = re.compile(
    r"(BEGIN|END):(VTIMEZONE|STANDARD|DAYLIGHT)|TZID:[A-Za-z0-9_+/-]+|DTSTART:\d{8}T\d{6}|RDATE:\d{8}T\d{6}"
    r"|RRULE:FREQ=YEARLY;BYMONTH=\d+(;BYMONTHDAY=[\d,]+)?(;BYDAY=-?\d?(MO|TU|WE|TH|FR|SA|SU))?"
    r"|TZOFFSET(FROM|TO):(?!-0000)[+-]\d{4}|TZNAME:[A-Za-z0-9+-]+"
)


def test_every_zone_is_well_formed():
    for key in ZONES:
        text = vtimezone(key, 2026)
        assert text.endswith(b"END:VTIMEZONE\r\n")
        # One web calendar fails on a VTIMEZONE of some 200 lines.
        assert text.count(b"\n") < 100, key
        for line in text.decode("ascii").split("\r\n")[:-1]:
            assert LINE.fullmatch(line), f"{key}: {line}"
            assert len(line) <= 75, f"{key}: {line}"
        for observance in re.findall(
            rb"BEGIN:STANDARD.*?END:STANDARD|BEGIN:DAYLIGHT.*?END:DAYLIGHT", text, re.S
        ):
            for name in (b"DTSTART", b"TZOFFSETFROM", b"TZOFFSETTO", b"TZNAME"):
                assert observance.count(b"\r\n" + name + b":") == 1, key


def test_two_yearly_rules_begin_in_1970_and_there_are_no_others():
    """Today's rules, not the zone's history: what changed its law in between has the two alone as well."""
    for key in (
        "Europe/Lisbon",
        "Europe/London",
        "Antarctica/Troll",
        "America/New_York",
        "Australia/Lord_Howe",
    ):
        found = read(key, 2026)
        assert [o["DTSTART"].dt.year for o in found] == [1970, 1970], key
        for o in found:
            # The onset is one that the rule makes (RFC 5545, section 3.8.5.3), by dateutil.
            rule = rrulestr(o["RRULE"].to_ical().decode(), dtstart=FIRST.replace(year=1969))
            assert rule.after(FIRST.replace(year=1970)).date() == o["DTSTART"].dt.date(), key


def test_a_view_of_years_ago_lists_the_law_of_then_and_goes_on_with_the_rules():
    """The Energy Policy Act of 2005 moved New York's changes from 2007 on (tzdata, `northamerica`)."""
    found = read("America/New_York", 2006)
    assert [(o["DTSTART"].dt.year, "RRULE" in o, "RDATE" in o) for o in found] == [
        (2004, False, False),
        (2005, False, True),
        (2005, False, True),
        (2025, True, False),
        (2025, True, False),
    ]


def test_what_dublin_gets():
    """Irish summer time: last Sundays of March and October, 01:00 UTC (S.I. No. 506/2001, EU Directive 2000/84/EC)."""
    assert vtimezone("Europe/Dublin", 2026).decode().split("\r\n") == [
        "BEGIN:VTIMEZONE",
        "TZID:Europe/Dublin",
        "BEGIN:DAYLIGHT",
        "DTSTART:19700329T010000",
        "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU",
        "TZOFFSETFROM:+0000",
        "TZOFFSETTO:+0100",
        "TZNAME:IST",
        "END:DAYLIGHT",
        "BEGIN:STANDARD",
        "DTSTART:19701025T020000",
        "RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU",
        "TZOFFSETFROM:+0100",
        "TZOFFSETTO:+0000",
        "TZNAME:GMT",
        "END:STANDARD",
        "END:VTIMEZONE",
        "",
    ]
