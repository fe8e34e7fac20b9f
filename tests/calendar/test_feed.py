"""A whole feed: its header, its entries, and what RFC 5545, RFC 7986 and RFC 9074 ask of them."""

import datetime as dt
import json
import re
import uuid

import pytest
from dateutil.rrule import rrulestr
from icalendar import Calendar
from support.feeds import NOTHING_ELSE, entries, export, unfolded

from scheduler.calendar import Options

TODAY = dt.date(2026, 12, 1)

ONE_DUTY = f"""
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-12-01

[site.times]
morning = "07:30"

[[enclosure]]
name = "Sedge"
room = "kitchen annexe"
{NOTHING_ELSE}
[[enclosure.extra_job]]
key = "rain-barrel"
title = "rinse the rain barrel"
rule = "FREQ=MONTHLY;BYDAY=1SA"
minutes = 15
note = "Lid off; brush, rinse, lid on.\\nNo soap."

[[enclosure.extra_job]]
key = "net-mended"
title = "look after the mended net"
part = "evening"
on = [2027-03-01]
"""

FURNISHED = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-12-01
[[keeper]]
name = "Noor"
weekdays = ["Sat", "Sun", "Wed"]
[[enclosure]]
name = "Sedge"
length = "150 cm"
width = "60 cm"
height = "60 cm"
water_depth = "52 cm"
set_up = 2026-11-20
cycled = false
[enclosure.filter]
kind = "canister"
flow = "2400 L/h"
media_trays = 4
[[enclosure.heater]]
power = "300 W"
set_to = "25 degC"
body = "titanium"
[[enclosure.lamp]]
kind = "mercury vapour"
power = "100 W"
installed = 2026-11-20
hours_a_day = 12
[[enclosure.resident]]
name = "Fern"
species = "Trachemys scripta"
sex = "female"
carapace = "14 cm"
mass = "480 g"
arrived = 2026-11-28
quarantine = true
[[enclosure.extra_job]]
key = "counted"
title = "paint the stand"
rule = "FREQ=WEEKLY;COUNT=5"
[[enclosure.extra_job]]
key = "ended"
title = "fetch the willow leaves"
part = "evening"
rule = "FREQ=DAILY;INTERVAL=2;UNTIL=20270612"
[[enclosure.extra_job]]
key = "gutters"
title = "clear the gutters"
rule = "FREQ=MONTHLY;BYMONTHDAY=1,15"
"""

FORMS = {
    "events": (Options(each_job=True), "VEVENT"),
    "all-day": (Options(each_job=True, all_day=True), "VEVENT"),
    "to-dos": (Options(to_dos=True), "VTODO"),
    "all-day to-dos": (Options(to_dos=True, all_day=True), "VTODO"),
    "alarms": (Options(each_job=True, alarms=True), "VEVENT"),
    "all-day alarms": (Options(each_job=True, all_day=True, alarms=True), "VEVENT"),
}


@pytest.fixture(params=FORMS)
def form(request):
    return FORMS[request.param]


@pytest.fixture
def feeds(form, tmp_path):
    return export(tmp_path, FURNISHED, TODAY, 366, form[0])


# --- whole ---


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("events", Options(each_job=True, base_url="https://example.org/turtles/", alarms=True)),
        ("all-day", Options(each_job=True, all_day=True, alarms=True)),
        ("to-dos", Options(to_dos=True)),
    ],
)
def test_the_whole_feed_of_two_duties(name, options, tmp_path, golden):
    feeds = export(tmp_path, ONE_DUTY, TODAY, 366, options)
    kind = ".to-dos" if options.to_dos else ""
    assert sorted(feeds) == [f"fen-lane-sedge{kind}.ics", f"fen-lane{kind}.ics"]
    golden(f"two-duties.{name}.ics", feeds[f"fen-lane-sedge{kind}.ics"].decode())


# --- bytes ---


def test_every_line_ends_in_crlf_and_has_75_octets_at_most(feeds):
    """RFC 5545, section 3.1; and no byte order mark, for which one reader refuses the calendar."""
    for feed in feeds.values():
        assert feed.startswith(b"BEGIN:VCALENDAR\r\n") and feed.endswith(b"\r\nEND:VCALENDAR\r\n")
        assert b"\xef\xbb\xbf" not in feed
        lines = feed.split(b"\r\n")
        assert not any(b"\r" in line or b"\n" in line for line in lines)
        assert max(map(len, lines)) <= 75


def test_a_character_beyond_ascii_stands_before_the_time_zone(tmp_path):
    """One web calendar guesses the encoding from the first lines, and a long time zone in front misleads it."""
    for feed in export(tmp_path, FURNISHED, TODAY).values():
        head, zone, _ = feed.partition(b"BEGIN:VTIMEZONE\r\n")
        assert zone and any(byte > 0x7F for byte in head)


def test_the_same_description_gives_the_same_bytes(tmp_path, form):
    one, two = tmp_path / "one", tmp_path / "two"
    one.mkdir(), two.mkdir()
    assert export(one, FURNISHED, TODAY, 366, form[0]) == export(two, FURNISHED, TODAY, 366, form[0])


# --- header ---

# W3C, CSS Color Module Level 3, section 4.3: those of the 147 names that feeds may carry.
CSS3 = {
    "cadetblue": "#5F9EA0", "darkseagreen": "#8FBC8F", "tan": "#D2B48C", "lightsteelblue": "#B0C4DE",
    "rosybrown": "#BC8F8F", "thistle": "#D8BFD8", "palegoldenrod": "#EEE8AA", "lightslategray": "#778899",
}  # fmt: skip


def test_the_header_is_complete(feeds, form):
    titles = {
        "fen-lane": "Fen Lane – turtle care",
        "fen-lane-sedge": "Sedge – Fen Lane",
        "fen-lane.to-dos": "Fen Lane – turtle care to-dos",
        "fen-lane-sedge.to-dos": "Sedge – Fen Lane to-dos",
    }
    for name, feed in feeds.items():
        calendar = Calendar.from_ical(feed)
        assert calendar["VERSION"] == "2.0", "RFC 5545, section 3.7.4"
        assert calendar["PRODID"].startswith("-//"), "RFC 5545, section 3.7.3"
        assert calendar["CALSCALE"] == "GREGORIAN", "RFC 5545, section 3.7.1"
        assert str(calendar["NAME"]) == titles[name.removesuffix(".ics")], "RFC 7986, section 5.1"
        assert str(calendar["X-WR-CALNAME"]) == str(calendar["NAME"]), "for readers before RFC 7986"
        whose = "Sedge" if "sedge" in name else "Fen Lane"
        about = f"What {whose} needs\\, planned by pondround. No vet\\, no electrician: a reminder."
        assert f"DESCRIPTION:{about}" in unfolded(feed), "RFC 7986, section 5.2"
        assert f"X-WR-CALDESC:{about}" in unfolded(feed), "for readers before RFC 7986"
        assert calendar["LAST-MODIFIED"].dt == dt.datetime(2026, 12, 1, tzinfo=dt.UTC), (
            "RFC 7986, section 5.4"
        )
        assert CSS3[str(calendar["COLOR"])] == calendar["X-APPLE-CALENDAR-COLOR"], "RFC 7986, section 5.9"
        assert uuid.UUID(calendar["UID"]).version == 5, "RFC 7986, section 5.3"
        # Section 5.7: VALUE=DURATION is required, although it is the only type that there is.
        assert "REFRESH-INTERVAL;VALUE=DURATION:PT6H" in unfolded(feed)
        assert "X-PUBLISHED-TTL:PT6H" in unfolded(feed)


def test_a_feed_has_no_method(feeds):
    """With METHOD:PUBLISH an ORGANIZER would be due (RFC 5546, section 3.2.1), and CalDAV forbids it (RFC 4791, 4.1)."""
    for feed in feeds.values():
        names = {re.split("[;:]", line)[0] for line in unfolded(feed)}
        assert not names & {
            "METHOD",
            "ORGANIZER",
            "ATTENDEE",
            "ATTACH",
            "IMAGE",
            "URL",
            "EXRULE",
            "RDATE",
            "EXDATE",
        }


@pytest.mark.parametrize("base", ["https://example.org/turtles", "https://example.org/turtles/"])
def test_the_source_is_named_only_when_the_address_is_known(base, tmp_path):
    """RFC 7986, section 5.8: VALUE=URI is required."""
    for name, feed in export(tmp_path, FURNISHED, TODAY, 30, Options(each_job=True, base_url=base)).items():
        assert f"SOURCE;VALUE=URI:https://example.org/turtles/{name}" in unfolded(feed)
    for feed in export(tmp_path, FURNISHED, TODAY, 30).values():
        assert not any(line.startswith("SOURCE") for line in unfolded(feed))


def test_one_time_zone_and_every_start_in_it(tmp_path):
    """RFC 5545, section 3.6.5: one VTIMEZONE for each TZID that is used; whole days use none (3.2.19)."""
    for feed in export(tmp_path, FURNISHED, TODAY).values():
        assert feed.count(b"BEGIN:VTIMEZONE\r\nTZID:Europe/Dublin\r\n") == 1
        starts = [
            line for line in unfolded(feed.partition(b"END:VTIMEZONE")[2]) if line.startswith("DTSTART")
        ]
        assert starts and all(
            re.fullmatch(r"DTSTART;TZID=Europe/Dublin:\d{8}T\d{6}", line) for line in starts
        )
    for feed in export(tmp_path, FURNISHED, TODAY, 366, Options(each_job=True, all_day=True)).values():
        assert b"TZ" not in feed
    in_utc = FURNISHED.replace("Europe/Dublin", "UTC")
    for feed in export(tmp_path, in_utc, TODAY).values():
        assert b"TZ" not in feed
        starts = [line for line in unfolded(feed) if line.startswith("DTSTART")]
        assert starts and all(re.fullmatch(r"DTSTART:\d{8}T\d{6}Z", line) for line in starts)


# --- entries ---


def test_every_entry_has_what_the_standard_asks_for(feeds, form):
    """RFC 5545, sections 3.6.1 and 3.6.2, and what design and practice add: no bare instant, not busy, categories."""
    options, kind = form
    for feed in feeds.values():
        found = Calendar.from_ical(feed).walk(kind)
        assert len(found) > 20
        for entry in found:
            assert entry["DTSTAMP"].dt == entry["LAST-MODIFIED"].dt, (
                "without METHOD they are the same, 3.8.7.2"
            )
            assert entry["SEQUENCE"] == 0, "3.8.7.4: 0 at first"
            assert str(entry["SUMMARY"]) and str(entry["DESCRIPTION"])
            assert str(entry["LOCATION"]) == "Sedge, Fen Lane"
            assert str(entry["CATEGORIES"].cats[0]) == "Sedge"
            assert ("DURATION" in entry) is not options.all_day
            assert ("STATUS" in entry) is options.to_dos
            assert (entry.get("TRANSP") == "TRANSPARENT") is not options.to_dos, (
                "3.8.2.7 knows it for VEVENT alone"
            )


def test_uids_are_version_5_uuids_and_each_stands_once(feeds, form):
    """RFC 7986, section 5.3: no "@", no host; RFC 9562, section 5.5: version 5."""
    for feed in feeds.values():
        uids = [str(entry["UID"]) for entry in Calendar.from_ical(feed).walk(form[1])]
        assert len(uids) == len(set(uids))
        assert all(str(uuid.UUID(uid)) == uid and uuid.UUID(uid).version == 5 for uid in uids)
        assert all(uuid.UUID(uid).variant == uuid.RFC_4122 for uid in uids)


def test_events_and_to_dos_of_a_job_have_different_uids(tmp_path):
    """One calendar server holds both, and a UID names one object (RFC 4791, section 4.1)."""
    events = export(tmp_path, FURNISHED, TODAY)["fen-lane.ics"]
    to_dos = export(tmp_path, FURNISHED, TODAY, 366, Options(to_dos=True))["fen-lane.to-dos.ics"]
    uids = [re.findall(rb"\r\nUID:(.*)\r\n", feed) for feed in (events, to_dos)]
    assert not set(uids[0]) & set(uids[1])
    assert len(uids[0]) == len(uids[1])


def test_a_whole_day_ends_with_the_next(tmp_path):
    """The end is exclusive, and a DATE as the start is (RFC 5545, sections 3.6.1 and 3.8.2.2; DUE: 3.8.2.3)."""
    for to_dos, kind, end in ((False, "VEVENT", "DTEND"), (True, "VTODO", "DUE")):
        feeds = export(tmp_path, FURNISHED, TODAY, 366, Options(each_job=True, all_day=True, to_dos=to_dos))
        for feed in feeds.values():
            for entry in Calendar.from_ical(feed).walk(kind):
                start, stop = entry["DTSTART"].dt, entry[end].dt
                assert type(start) is type(stop) is dt.date
                assert stop - start == dt.timedelta(days=1)
                assert entry["DTSTART"].params["VALUE"] == entry[end].params["VALUE"] == "DATE"


def test_a_rule_begins_with_its_own_first_instance(feeds, form):
    """Where DTSTART is no instance of the rule the set is undefined (RFC 5545, section 3.8.5.3)."""
    looked_at = 0
    for feed in feeds.values():
        for entry in Calendar.from_ical(feed).walk(form[1]):
            if "RRULE" in entry:
                start = entry["DTSTART"].dt
                start = start.replace(tzinfo=None) if isinstance(start, dt.datetime) else start
                start = dt.datetime.combine(start, dt.time()) if type(start) is dt.date else start
                parts = entry["RRULE"].to_ical().decode().split(";UNTIL")[0]
                assert rrulestr(parts, dtstart=start)[0] == start, parts
                looked_at += 1
    assert looked_at > 20


def test_rules_keep_to_what_all_readers_agree_on(feeds, form):
    """DAILY, WEEKLY and MONTHLY with INTERVAL, BYDAY, one BYMONTHDAY; YEARLY on its date. FREQ first (3.3.10)."""
    plain = re.compile(
        r"RRULE:(FREQ=DAILY(;INTERVAL=\d+)?|FREQ=WEEKLY(;INTERVAL=\d+)?;BYDAY=(MO|TU|WE|TH|FR|SA|SU)(,(MO|TU|WE|TH|FR|SA|SU))*"
        r"|FREQ=MONTHLY(;INTERVAL=\d+)?;(BYMONTHDAY=-?\d+|BYDAY=-?\d(MO|TU|WE|TH|FR|SA|SU))|FREQ=YEARLY(;INTERVAL=\d+)?)"
        r"(;UNTIL=\d{8}(T\d{6}Z)?)?"
    )
    for feed in feeds.values():
        rules = [
            line for line in unfolded(feed.partition(b"END:VTIMEZONE")[2] or feed) if line.startswith("RRULE")
        ]
        assert len(rules) > 10
        assert [rule for rule in rules if not plain.fullmatch(rule)] == []


@pytest.mark.parametrize(
    ("options", "counted", "ended", "source"),
    [
        # In December Dublin has UTC; in June 18:30 is 17:30 UTC.
        (
            Options(each_job=True),
            "20261218T073000Z",
            "20270612T173000Z",
            "with a zone UNTIL is in UTC, 3.3.10",
        ),
        (
            Options(each_job=True, all_day=True),
            "20261218",
            "20270612",
            "UNTIL has the type of DTSTART, 3.3.10",
        ),
    ],
)
def test_the_end_of_a_rule_has_the_kind_of_its_start(options, counted, ended, source, tmp_path):
    """RFC 5545, section 3.3.10. A COUNT becomes its last day: it stays true when the feed begins later."""
    found = rules(export(tmp_path, FURNISHED, TODAY, 366, options)["fen-lane-sedge.ics"])
    # Both run from 20 November, a Friday, when the enclosure was set up; the fifth Friday is 18 December.
    assert found["paint the stand"] == f"FREQ=WEEKLY;BYDAY=FR;UNTIL={counted}", source
    assert found["fetch the willow leaves"] == f"FREQ=DAILY;INTERVAL=2;UNTIL={ended}", source


def rules(feed):
    """Return the rule of each entry that has one, as it is written, by summary."""
    lines = iter(unfolded(feed.partition(b"END:VTIMEZONE")[2] or feed))
    found, rule = {}, ""
    for line in lines:
        name, _, value = line.partition(":")
        rule = value if name == "RRULE" else "" if name == "BEGIN" else rule
        if name == "SUMMARY" and rule:
            found[value] = rule
    return found


@pytest.mark.parametrize("all_day", [False, True])
def test_every_alarm_is_complete(all_day, tmp_path):
    """RFC 5545, section 3.6.6: ACTION, TRIGGER, and DESCRIPTION where it is displayed; RFC 9074, section 4: UID.

    A whole day begins at midnight; its alarm waits for the hour at which the job would start.
    """
    feed = export(tmp_path, FURNISHED, TODAY)["fen-lane.ics"]
    starts = {entry["UID"]: entry["DTSTART"].dt for entry in Calendar.from_ical(feed).walk("VEVENT")}
    feed = export(tmp_path, FURNISHED, TODAY, 366, Options(each_job=True, alarms=True, all_day=all_day))[
        "fen-lane.ics"
    ]
    jobs, triggers = {}, set()
    for entry in Calendar.from_ical(feed).walk("VEVENT"):
        # One in each part of a day rings: see the alarms of the agenda.
        for alarm in entry.walk("VALARM"):
            start = starts[entry["UID"]]
            hour = dt.timedelta(hours=start.hour, minutes=start.minute)
            assert alarm["ACTION"] == "DISPLAY"
            assert alarm["TRIGGER"].dt == (hour if all_day else -dt.timedelta(minutes=10))
            assert str(alarm["DESCRIPTION"]) == str(entry["SUMMARY"])
            assert set(alarm) == {"UID", "ACTION", "TRIGGER", "DESCRIPTION"}
            assert uuid.UUID(alarm["UID"]).version == 5
            jobs.setdefault(alarm["UID"], set()).add(entry["SUMMARY"])
            triggers.add(alarm["TRIGGER"].dt)
    assert all(len(summaries) == 1 for summaries in jobs.values()), "two jobs share the UID of an alarm"
    assert len(triggers) == (2 if all_day else 1)


def test_alarms_come_only_when_asked_for(tmp_path):
    for feed in export(tmp_path, FURNISHED, TODAY).values():
        assert b"VALARM" not in feed


@pytest.mark.parametrize(
    ("minutes", "duration"), [(1, "PT1M"), (59, "PT59M"), (60, "PT1H"), (90, "PT1H30M"), (1440, "PT24H")]
)
def test_how_long_a_job_takes(minutes, duration, tmp_path):
    """RFC 5545, section 3.3.6."""
    toml = ONE_DUTY.replace("minutes = 15", f"minutes = {minutes}")
    feed = export(tmp_path, toml, TODAY)["fen-lane-sedge.ics"]
    entry = entries(feed)["rinse the rain barrel"]
    assert f"DURATION:{duration}" in unfolded(feed)
    assert entry["DURATION"].dt == dt.timedelta(minutes=minutes)


def test_names_and_notes_with_everything_in_them_come_through(tmp_path):
    name = """Sedge, "the big one"; C:\\turtles 🐢 – it's 漢字"""
    note = "1; 2, 3\nEND:VEVENT\nBEGIN:VALARM\nTRIGGER:-PT1M\n\\n is no line break"
    toml = ONE_DUTY.replace('name = "Sedge"', f"id = 'sedge'\nname = {json.dumps(name, ensure_ascii=False)}")
    toml = toml.replace(
        'note = "Lid off; brush, rinse, lid on.\\nNo soap."', f"note = {json.dumps(note, ensure_ascii=False)}"
    )
    feed = export(tmp_path, toml, TODAY)["fen-lane-sedge.ics"]
    entry = entries(feed)["rinse the rain barrel"]
    assert str(entry["DESCRIPTION"]).startswith(f"Rinse the rain barrel, 15 min\n{note}")
    assert [str(c) for c in entry["CATEGORIES"].cats] == [name, "rinse the rain barrel"]
    assert str(entry["LOCATION"]) == f"kitchen annexe, {name}, Fen Lane"
    assert Calendar.from_ical(feed).walk("VALARM") == []
    # icalendar leaves the escapes of NAME as they are, although it is a TEXT (RFC 7986, section 5.1).
    escaped = """Sedge\\, "the big one"\\; C:\\\\turtles 🐢 – it's 漢字 – Fen Lane"""
    assert f"NAME:{escaped}" in unfolded(feed)
    assert f"X-WR-CALNAME:{escaped}" in unfolded(feed)
