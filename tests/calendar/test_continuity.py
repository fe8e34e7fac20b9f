"""From one export to the next: what did not change keeps its bytes, what did says so (RFC 5545, sections 3.8.7.2-4)."""

import datetime as dt
import re

import pytest
from icalendar import Calendar
from support.feeds import NOTHING_ELSE, export

from scheduler.calendar import Options

FIRST = dt.date(2026, 12, 1)
LATER = dt.date(2026, 12, 2)

HOUSE = f"""
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-11-02

[[enclosure]]
name = "Sedge"
{NOTHING_ELSE}
[[enclosure.extra_job]]
key = "rain-barrel"
title = "rinse the rain barrel"
rule = "FREQ=MONTHLY;BYDAY=1SA"
minutes = 15

[[enclosure.extra_job]]
key = "gutters"
title = "clear the gutters"
rule = "FREQ=MONTHLY;BYDAY=-1SU"
minutes = 40

[[enclosure.extra_job]]
key = "net"
title = "mend the net"
on = [2027-03-01, 2027-04-01]

[[enclosure]]
name = "Reed"
[[enclosure.resident]]
name = "Fern"
species = "Trachemys scripta"
carapace = "14 cm"
"""
LONGER = HOUSE.replace("minutes = 15", "minutes = 20")
FORMS = [
    Options(each_job=True),
    Options(each_job=True, all_day=True),
    Options(to_dos=True),
    Options(each_job=True, alarms=True, base_url="https://example.org"),
]


def blocks(feed, kind="VEVENT"):
    """Return the bytes of each entry by UID."""
    found = re.findall(
        rb"BEGIN:%b\r\nUID:([^\r]*)\r\n.*?END:%b\r\n" % (kind.encode(), kind.encode()), feed, re.S
    )
    whole = re.findall(rb"BEGIN:%b\r\n.*?END:%b\r\n" % (kind.encode(), kind.encode()), feed, re.S)
    assert len(found) == len(whole) == len(set(found)) > 0
    return dict(zip(found, whole, strict=True))


def barrel(feed):
    """Return the entry of the rain barrel as icalendar reads it."""
    (entry,) = [
        e for e in Calendar.from_ical(feed).walk("VEVENT") if e["SUMMARY"] == "rinse the rain barrel: Sedge"
    ]
    return entry


def changed(before, after):
    """Return the UIDs of the entries whose bytes differ, and of those that came or went."""
    old, new = blocks(before), blocks(after)
    return {uid for uid in old.keys() | new.keys() if old.get(uid) != new.get(uid)}


@pytest.mark.parametrize("options", FORMS, ids=["events", "all-day", "to-dos", "alarms"])
def test_exporting_twice_changes_no_byte_and_no_date_of_change(options, tmp_path):
    """What a web host answers to If-None-Match and If-Modified-Since rests on both (RFC 9110, section 8.8)."""
    before = export(tmp_path, HOUSE, FIRST, 366, options)
    files = sorted((tmp_path / "calendars").iterdir())
    times = [file.stat().st_mtime_ns for file in files]
    inodes = [file.stat().st_ino for file in files]
    assert export(tmp_path, HOUSE, FIRST, 366, options) == before
    assert sorted((tmp_path / "calendars").iterdir()) == files, "nothing else may be left in the folder"
    assert [file.stat().st_mtime_ns for file in files] == times
    assert [file.stat().st_ino for file in files] == inodes


def test_a_changed_entry_says_so_and_the_others_keep_their_bytes(tmp_path):
    before = export(tmp_path, HOUSE, FIRST)
    after = export(tmp_path, LONGER, FIRST)
    assert after["fen-lane-reed.ics"] == before["fen-lane-reed.ics"]
    for name in ("fen-lane.ics", "fen-lane-sedge.ics"):
        assert changed(before[name], after[name]) == {barrel(after[name])["UID"].encode()}
        assert barrel(before[name])["DURATION"].dt == dt.timedelta(minutes=15)
        assert barrel(after[name])["DURATION"].dt == dt.timedelta(minutes=20)
        assert (barrel(before[name])["SEQUENCE"], barrel(after[name])["SEQUENCE"]) == (0, 1)


def test_stamps_and_sequence_over_a_history_of_changes(tmp_path):
    """SEQUENCE is 0 at first and grows by one with each revision (section 3.8.7.4), back to the old content too.

    Without METHOD both DTSTAMP and LAST-MODIFIED tell when the entry was last revised (3.8.7.2, 3.8.7.3).
    """
    story = []
    for day, toml in ((1, HOUSE), (2, LONGER), (3, LONGER), (4, HOUSE), (5, HOUSE)):
        today = FIRST.replace(day=day)
        feed = export(tmp_path, toml, today)["fen-lane-sedge.ics"]
        entry, calendar = barrel(feed), Calendar.from_ical(feed)
        assert entry["DTSTAMP"].dt == entry["LAST-MODIFIED"].dt
        assert entry["UID"] == barrel(feed)["UID"]
        story.append((entry["SEQUENCE"], entry["DTSTAMP"].dt.day, calendar["LAST-MODIFIED"].dt.day))
    assert story == [(0, 1, 1), (1, 2, 2), (1, 2, 2), (2, 4, 4), (2, 4, 4)]


def test_a_new_name_changes_the_texts_but_not_the_uids(tmp_path):
    """RFC 5545, section 3.8.4.7: the identifier is persistent; `id` keeps it through a renaming."""
    before = export(tmp_path, HOUSE.replace('name = "Sedge"', 'name = "Sedge"\nid = "sedge"'), FIRST)
    after = export(tmp_path, HOUSE.replace('name = "Sedge"', 'name = "Great Sedge"\nid = "sedge"'), FIRST)
    one, two = before["fen-lane-sedge.ics"], after["fen-lane-sedge.ics"]
    assert blocks(one).keys() == blocks(two).keys()
    assert all(b"\r\nSEQUENCE:1\r\n" in block for block in blocks(two).values())
    assert b": Great Sedge\r\n" in two and b": Sedge\r\n" not in two
    assert after["fen-lane-reed.ics"] == before["fen-lane-reed.ics"]


def test_jobs_that_come_and_go_leave_the_others_alone(tmp_path):
    more = HOUSE.replace("on = [2027-03-01, 2027-04-01]", "on = [2027-03-01, 2027-05-01]")
    before = export(tmp_path, HOUSE, FIRST)["fen-lane-sedge.ics"]
    after = export(tmp_path, more, LATER)["fen-lane-sedge.ics"]
    assert len(changed(before, after)) == 2
    assert (
        b"DTSTART;TZID=Europe/Dublin:20270401T" in before
        and b"DTSTART;TZID=Europe/Dublin:20270401T" not in after
    )
    (new,) = blocks(after).keys() - blocks(before).keys()
    assert b"SEQUENCE:0\r\nDTSTART;TZID=Europe/Dublin:20270501T" in blocks(after)[new]
    assert Calendar.from_ical(after)["LAST-MODIFIED"].dt.day == LATER.day


@pytest.mark.parametrize(
    "options",
    [Options(each_job=True), Options(each_job=True, all_day=True), Options(to_dos=True)],
    ids=["events", "all-day", "to-dos"],
)
def test_the_next_day_brings_no_news_about_what_is_regular(options, tmp_path):
    """The whole future stands in the rule; an entry that changes daily makes every reader fetch and announce it."""
    kind = "VTODO" if options.to_dos else "VEVENT"
    name = "fen-lane.to-dos.ics" if options.to_dos else "fen-lane.ics"
    before = export(tmp_path, HOUSE, FIRST, 366, options)[name]
    after = export(tmp_path, HOUSE, FIRST + dt.timedelta(days=1), 366, options)[name]
    old, new = blocks(before, kind), blocks(after, kind)
    regular = {uid for uid, block in old.items() if b"\r\nRRULE:" in block}
    assert len(regular) > 3
    assert {uid for uid in regular if old[uid] != new[uid]} == set()


@pytest.mark.parametrize(
    "damage",
    [
        lambda feed: b"",
        lambda feed: feed[: len(feed) // 3],
        lambda feed: feed.replace(b"\r\n", b"\n"),
        lambda feed: b"\xff\xfe\x00" * 1000,
        lambda feed: feed.replace(b"SEQUENCE:0", b"SEQUENCE:99999999999"),
        lambda feed: feed.replace(b"UID:", b"X-UID:"),
        lambda feed: re.sub(rb"(DTSTART[^:]*):\d{8}", rb"\1:20269999", feed),
    ],
    ids=["empty", "cut short", "other line breaks", "no text", "absurd numbers", "no UIDs", "no such day"],
)
def test_an_earlier_feed_that_is_damaged_is_replaced_by_a_whole_one(damage, tmp_path):
    whole = export(tmp_path, HOUSE, FIRST)
    for file in (tmp_path / "calendars").iterdir():
        file.write_bytes(damage(file.read_bytes()))
    assert export(tmp_path, HOUSE, FIRST) == whole
