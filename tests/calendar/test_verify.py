"""The last look at a feed: what is broken is not published. Sections are those of RFC 5545."""

import datetime as dt
import re

import pytest
from support.feeds import NOTHING_ELSE, export, plan, read

from scheduler import workflow
from scheduler.calendar import FeedError, Options, referee, verify
from scheduler.workflow.feeds import draft

TODAY = dt.date(2026, 12, 1)


def toml(dates):
    on = ", ".join(str(dt.date(2027, 1, 1) + dt.timedelta(days=n)) for n in range(dates))
    return f"""
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-12-01

[[enclosure]]
name = "Sedge"
{NOTHING_ELSE}
[[enclosure.extra_job]]
key = "rain-barrel"
title = "rinse the rain barrel"
rule = "FREQ=MONTHLY;BYDAY=1SA"
note = "Lid off, brush, rinse; lid on, and so on until the line is so long that it has to be folded."

[[enclosure.extra_job]]
key = "net"
title = "mend the net"
on = [{on}]
"""


@pytest.fixture(
    scope="module", params=[{"alarms": True}, {"all_day": True, "alarms": True}], ids=["events", "all-day"]
)
def good(request, tmp_path_factory):
    return export(tmp_path_factory.mktemp("good"), toml(4), TODAY, 366, Options(**request.param))[
        "fen-lane-sedge.ics"
    ]


def entry(feed, number=1):
    """Return an entry of the feed; the second is one of the single dates or the rule."""
    return re.findall(rb"BEGIN:VEVENT\r\n.*?END:VEVENT\r\n", feed, re.S)[number]


def without(name):
    """Return the damage that takes a property out of one entry."""

    def damage(feed):
        whole = entry(feed)
        return feed.replace(whole, re.sub(rb"\r\n%b[;:][^\r]*(\r\n [^\r]*)*" % name, b"", whole, count=1))

    return damage


def twice(feed):
    one, two = entry(feed, 0), entry(feed, 1)
    uid = re.search(rb"UID:[^\r]*", one)[0]
    return feed.replace(two, re.sub(rb"UID:[^\r]*", uid, two, count=1))


def swap(old, new):
    def damage(feed):
        assert old in feed
        return feed.replace(old, new, 1)

    return damage


BROKEN = [
    ("bare LF", swap(b"SEQUENCE:0\r\n", b"SEQUENCE:0\n"), "bare line break", "3.1: CRLF"),
    ("bare CR", swap(b"SEQUENCE:0\r\n", b"SEQUENCE:0\r"), "bare line break", "3.1: CRLF"),
    ("all LF", lambda f: f.replace(b"\r\n", b"\n"), "bare line break", "3.1: CRLF"),
    ("NUL", swap(b"net", b"n\x00t"), "control character", "3.1: CONTROL"),
    ("backspace", swap(b"net", b"n\x08t"), "control character", "3.1: CONTROL"),
    ("DEL", swap(b"net", b"n\x7ft"), "control character", "3.1: CONTROL"),
    ("long line", swap(b"SUMMARY:", b"SUMMARY:" + b"x" * 80), "more than 75 octets", "3.1: 75 octets"),
    ("76 octets", swap(b"SEQUENCE:0\r\n", b"X-NOTE:" + b"x" * 69 + b"\r\nSEQUENCE:0\r\n"), "more than 75 octets", "3.1"),
    ("Latin-1", swap("–".encode(), b"\xe9"), "not UTF-8", "3.1.4: UTF-8"),
    ("half a character", swap("–".encode(), "–".encode()[:2]), "not UTF-8", "3.1.4: UTF-8"),
    ("byte order mark", lambda f: b"\xef\xbb\xbf" + f, "line that is no property", "3.4: begins with BEGIN"),
    ("lower case", swap(b"SUMMARY:", b"Summary:"), "line that is no property", "one reader refuses the calendar"),
    ("no colon", swap(b"SEQUENCE:0", b"SEQUENCE 0"), "line that is no property", "3.1: contentline"),
    ("empty line", swap(b"SEQUENCE:0\r\n", b"SEQUENCE:0\r\n\r\n"), "line that is no property", "3.1: contentline"),
    ("stray text", swap(b"SEQUENCE:0\r\n", b"SEQUENCE:0\r\nsee you\r\n"), "line that is no property", "3.1"),
    ("bad parameter", swap(b"REFRESH-INTERVAL;VALUE=DURATION:", b"REFRESH-INTERVAL;VALUE:"), "line that is no property", "3.1: param"),
    ("open quote", swap(b"REFRESH-INTERVAL;VALUE=DURATION:", b'REFRESH-INTERVAL;VALUE="DURATION:'), "line that is no property", "3.2: quoted-string"),
    ("no UID", without(b"UID"), "two entries with one UID, or one without", "3.6.1: UID is REQUIRED"),
    ("no DTSTAMP", without(b"DTSTAMP"), "without DTSTAMP", "3.6.1: DTSTAMP is REQUIRED"),
    ("no DTSTART", without(b"DTSTART"), "without DTSTART", "3.6.1: REQUIRED without METHOD"),
    ("no SUMMARY", without(b"SUMMARY"), "without SUMMARY", "a nameless duty helps nobody"),
    ("no SEQUENCE", without(b"SEQUENCE"), "without SEQUENCE", "the next export rests on it"),
    ("one UID twice", twice, "two entries with one UID", "3.8.4.7: globally unique"),
    ("no end", lambda f: f[: -len(b"END:VCALENDAR\r\n")], "cut short", "3.4"),
    ("cut in an entry", lambda f: f[: f.rindex(b"SUMMARY")], "cut short", "3.4"),
    ("cut in a line", lambda f: f[: f.rindex(b"RRULE:") + 9], "line that is no property", "3.4"),
    ("no beginning", lambda f: f[f.index(b"BEGIN:VEVENT") :], "cut short", "3.4"),
    ("an entry without end", swap(b"END:VEVENT\r\n", b""), "entry without an end", "3.6"),
    ("an alarm without end", swap(b"END:VALARM\r\n", b""), "do not nest", "3.6"),
    ("an end too many", swap(b"END:VALARM\r\n", b"END:VALARM\r\nEND:VALARM\r\n"), "do not nest", "3.6"),
    ("an alarm around the end", swap(b"END:VALARM\r\nEND:VEVENT\r\n", b"END:VEVENT\r\nEND:VALARM\r\n"), "do not nest", "3.6"),
    ("nothing", lambda f: b"", "cut short", "3.4"),
]  # fmt: skip


def test_a_whole_feed_passes_and_is_counted(good):
    assert verify(good, "VEVENT") == good.count(b"BEGIN:VEVENT")


@pytest.mark.parametrize(("damage", "message", "source"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_a_broken_feed_is_refused(damage, message, source, good):
    broken = damage(good)
    assert broken != good
    with pytest.raises(FeedError, match=message):
        verify(broken, "VEVENT")


@pytest.mark.parametrize(
    ("damage", "source"),
    [
        (swap(b"DTSTART;TZID=Europe/Dublin:2027", b"DTSTART;TZID=Europe/Dublin:20x7"), "3.3.5: DATE-TIME"),
        (swap(b"RRULE:FREQ=MONTHLY", b"RRULE:FREQ=FORTNIGHTLY"), "3.3.10: RECUR"),
        (swap(b"RRULE:FREQ=YEARLY", b"RRULE:FREQ=NEVER"), "3.3.10: RECUR, in the time zone"),
        (swap(b"DURATION:PT10M", b"DURATION:10M"), "3.3.6: DURATION"),
        (swap(b"SEQUENCE:0", b"SEQUENCE:one"), "3.3.8: INTEGER"),
        (swap(b"TZOFFSETTO:+0100", b"TZOFFSETTO:1 h"), "3.3.14: UTC-OFFSET"),
        (lambda feed: b"", "3.4"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_the_referee_refuses_values_of_the_wrong_form(damage, source, tmp_path):
    """One malformed DTSTART keeps a mail program from ever finishing to load the calendar."""
    feed = export(tmp_path, toml(2), TODAY)["fen-lane-sedge.ics"]
    referee(feed, "VEVENT")
    with pytest.raises(FeedError):
        referee(damage(feed), "VEVENT")


def test_a_feed_that_does_not_pass_leaves_the_old_ones_in_place(tmp_path, monkeypatch):
    """All files are replaced, or none; and nothing half-written stays behind."""
    before = export(tmp_path, toml(2), TODAY)
    planned = plan(read(tmp_path, toml(2).replace("10, ", "")), TODAY + dt.timedelta(days=3))
    honest, calls = draft.header, []

    def torn(*arguments, **more):
        calls.append(arguments)
        top = honest(*arguments, **more)
        return top.replace(b"VERSION:2.0\r\n", b"VERSION:2.0\n") if len(calls) > 1 else top

    monkeypatch.setattr(draft, "header", torn)
    with pytest.raises(FeedError, match="bare line break"):
        workflow.export(planned, tmp_path / "calendars", Options(each_job=True, alarms=True))
    assert len(calls) > 1
    assert {file.name: file.read_bytes() for file in (tmp_path / "calendars").iterdir()} == before
