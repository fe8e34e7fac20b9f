"""What is put into a collection, read by icalendar: the rules of RFC 5545 for to-dos and of RFC 4791, section 4.1."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar, Component
from support.first_local import TODAY, first_local
from support.ponds import NOBODY, bare

from scheduler.calendar import Options, Writer
from scheduler.calendar.continuity import PublishedEntry
from scheduler.calendar.text import text_line
from scheduler.log.caldav_resources import StoredResource
from scheduler.sync.resource import base_of, done_content, local_of, sent_of, text_of
from scheduler.workflow import read_site
from scheduler.workflow.rota.shares import shares_of
from scheduler.workflow.workspace import Workspace

SAMPLES = Path(__file__).parents[2] / "sample_configs"


def described(zone: str, pump: str = "minutes = 25", more: str = "") -> str:
    """Return a site in a zone, with a pump of its own kind."""
    text = NOBODY.replace("Europe/Dublin", zone).replace("minutes = 25", pump)
    return text.replace("[[enclosure]]", f"{more}[[enclosure]]", 1)


def entries(folder: Path, sample: str, to_dos: bool) -> Iterator[tuple[str, Calendar, Component]]:
    """Yield every resource of two weeks of a sample: its UID, its calendar and its entry."""
    site = read_site(SAMPLES / sample)
    shares = shares_of(Workspace(folder / sample, site, dt.date(2027, 3, 22)), 2, kept={})
    writer = Writer(shares.site, Options(to_dos=to_dos))
    for share in shares.shares:
        for one in local_of(writer, share.rounds):
            text = text_of(writer, one.uid, one.content, one.year, today=dt.date(2027, 3, 22))
            calendar = Calendar.from_ical(sent_of(writer, text))
            (entry,) = calendar.walk(writer.options.kind)
            yield one.uid, calendar, entry


@pytest.mark.parametrize("sample", ["one-tank.toml", "household.toml"])
@pytest.mark.parametrize("to_dos", [True, False])
def test_every_resource_is_one_entry_of_one_kind_without_a_method(
    tmp_path: Path, sample: str, to_dos: bool
) -> None:
    kind = "VTODO" if to_dos else "VEVENT"
    count = 0
    for uid, calendar, entry in entries(tmp_path, sample, to_dos):
        count += 1
        assert "METHOD" not in calendar
        assert [part.name for part in calendar.subcomponents] == ["VTIMEZONE", kind]
        assert str(entry["UID"]) == uid
        assert not entry.errors and not calendar.errors
        assert "RRULE" not in entry and "ATTENDEE" not in entry and "ORGANIZER" not in entry
        assert {"DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE"} <= entry.keys()
        assert {p.params["TZID"] for n, p in entry.items() if n in ("DTSTART", "DUE")} == {
            str(calendar.subcomponents[0]["TZID"])
        }
        if to_dos:
            # RFC 5545, 3.8.2.3: later than DTSTART, and of its kind; 3.6.2: no DURATION beside it.
            assert entry["DUE"].dt > entry["DTSTART"].dt and "DURATION" not in entry
            assert entry["DUE"].dt.date() == entry["DTSTART"].dt.date()
            assert str(entry["STATUS"]) == "NEEDS-ACTION" and "COMPLETED" not in entry
        else:
            assert "DUE" not in entry and entry["DURATION"].dt > dt.timedelta()
    assert count > 20


@pytest.mark.parametrize(
    ("zone", "evening", "minutes", "begins", "due"),
    [
        # The clocks of Berlin go back at three: 23:00 and 20 minutes are not concerned, 5 hours end on the day itself.
        ("Europe/Berlin", "23:00", 20, "2026-10-24T23:00+02:00", "2026-10-24T23:20+02:00"),
        ("Europe/Berlin", "23:00", 300, "2026-10-24T23:00+02:00", "2026-10-24T23:59+02:00"),
        ("Europe/Dublin", "18:30", 25, "2026-10-24T18:30+01:00", "2026-10-24T18:55+01:00"),
        ("UTC", "18:30", 25, "2026-10-24T18:30+00:00", "2026-10-24T18:55+00:00"),
        ("Pacific/Auckland", "18:30", 25, "2026-10-24T18:30+13:00", "2026-10-24T18:55+13:00"),
    ],
)
def test_its_hours_are_right_in_its_zone(
    zone: str, evening: str, minutes: int, begins: str, due: str
) -> None:
    text = described(zone, f'minutes = {minutes}, part = "evening"', f'[site.times]\nevening = "{evening}"\n')
    writer, one = first_local(text, day=dt.date(2026, 10, 24))
    calendar = Calendar.from_ical(sent_of(writer, text_of(writer, one.uid, one.content, 2026, today=TODAY)))
    (entry,) = calendar.walk("VTODO")
    found = [entry[name].dt.isoformat(timespec="minutes") for name in ("DTSTART", "DUE")]
    assert found == [begins, due]


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "Pacific/Honolulu", "Europe/Dublin"])
@pytest.mark.parametrize("time", [None, dt.time(0, 5), dt.time(23, 55)])
def test_the_day_of_completion_comes_back_in_every_zone(zone: str, time: dt.time | None) -> None:
    """COMPLETED is in UTC (RFC 5545, 3.8.2.1); the day is the site's."""
    writer, one = first_local(described(zone))
    content = done_content(writer, one.content, dt.date(2026, 12, 8), time)
    text = text_of(writer, one.uid, content, 2026, today=TODAY)
    (entry,) = Calendar.from_ical(text).walk("VTODO")
    assert str(entry["STATUS"]) == "COMPLETED" and entry["PERCENT-COMPLETE"] == 100
    local = entry["COMPLETED"].dt.astimezone(ZoneInfo(zone))
    assert (local.date(), local.time()) == (dt.date(2026, 12, 8), time or dt.time(12))
    found = base_of(writer, StoredResource(one.uid, "x", "", text))
    assert found is not None and found.done == dt.date(2026, 12, 8)


def test_an_event_that_is_done_says_so_in_its_title() -> None:
    writer, one = first_local(to_dos=False)
    content = done_content(writer, one.content, dt.date(2026, 12, 8), None)
    text = text_of(writer, one.uid, content, 2026, today=TODAY)
    (entry,) = Calendar.from_ical(sent_of(writer, text)).walk("VEVENT")
    assert str(entry["SUMMARY"]) == "Done: rinse the pump"
    found = base_of(writer, StoredResource(one.uid, "x", "", text))
    assert found is not None and (found.done, found.title) == (
        dt.date(2026, 12, 8),
        "Done: rinse the pump",
    )


POOLS = bare("""
[site]
name = "Alder Row"
[[enclosure]]
name = "Sedge"
[[enclosure]]
name = "Zander"
""").replace("water-change = {off = true}, ", "", 1)
"""Two enclosures, so that a title has to tell which, and water changes in one of them."""


@pytest.mark.parametrize(
    ("title", "done"),
    [
        # The job is in the plan: its title is that of the feeds.
        ("water change", "Done: water change Sedge"),
        ("Late: water change Sedge", "Done: water change Sedge"),
        # It is not any more: what stood there.
        ("Water change: Sedge", "Done: Water change: Sedge"),
        ("Late: water change Sedge, with Ines", "Done: water change Sedge, with Ines"),
        ("Sedge: water change", "Done: Sedge: water change"),
    ],
)
def test_done_stands_before_the_work_in_place_of_late(title: str, done: str) -> None:
    writer, one = first_local(POOLS, to_dos=False)
    job = one.task.item.job if done == "Done: water change Sedge" else None
    content = one.content.replace(b"SUMMARY:Water change: Sedge\r\n", text_line("SUMMARY", title))
    made = done_content(writer, content, dt.date(2026, 12, 8), None, job=job)
    assert made.count(b"SUMMARY:") == 1 and text_line("SUMMARY", done) in made


@pytest.mark.parametrize(
    ("lines", "title", "work"),
    [
        ("SUMMARY:Water change: Sedge\r\nCATEGORIES:Sedge,Water change", "Water change: Sedge", "Water change"),
        ("SUMMARY:Late: water change Sedge\r\nCATEGORIES:Sedge,Water change", "Late: water change Sedge", "Water change"),
        ("SUMMARY:Pails\\, tubs: Sedge\r\nCATEGORIES:Sedge,Pails\\, tubs", "Pails, tubs: Sedge", "Pails, tubs"),
        # As earlier versions put it, and had it done.
        ("SUMMARY:Sedge: water change\r\nCATEGORIES:Sedge,water-change", "Sedge: water change", "water change"),
        ("SUMMARY:Sedge: water change\\, done\r\nCATEGORIES:Sedge,water-change", "Sedge: water change, done", "water change, done"),
    ],
)  # fmt: skip
def test_of_what_was_agreed_the_work_is_read_back(lines: str, title: str, work: str) -> None:
    """Entries that were put by an earlier version are recognised, and what is ticked of them is recorded by their work."""
    writer, one = first_local(POOLS)
    text = text_of(writer, one.uid, one.content, 2026, today=TODAY)
    for name in ("SUMMARY", "CATEGORIES"):
        (was,) = (line for line in text.split("\r\n") if line.startswith(name))
        (now,) = (line for line in lines.split("\r\n") if line.startswith(name))
        text = text.replace(was, now)
    found = base_of(writer, StoredResource(one.uid, "x", "", text))
    assert found is not None and (found.title, found.work) == (title, work)
    assert found.job == one.task.item.ref


def test_what_is_written_again_is_younger() -> None:
    """RFC 5545, 3.8.7.4: the sequence number grows with each revision; DTSTAMP is that of the revision."""
    writer, one = first_local()
    first = text_of(writer, one.uid, one.content, 2026, today=TODAY)
    was = PublishedEntry(b"20261207T183000Z", 7, b"", TODAY)
    again = text_of(writer, one.uid, one.content, 2026, today=TODAY, was=was)
    (a,), (b,) = (Calendar.from_ical(text).walk("VTODO") for text in (first, again))
    assert (int(a["SEQUENCE"]), int(b["SEQUENCE"])) == (0, 8)
    assert a["DTSTAMP"].dt < was_stamp(was) < b["DTSTAMP"].dt == b["LAST-MODIFIED"].dt


def was_stamp(was: PublishedEntry) -> dt.datetime:
    return dt.datetime.strptime(was.stamp.decode(), "%Y%m%dT%H%M%SZ").replace(tzinfo=dt.UTC)


def test_names_with_script_and_lines_stay_text() -> None:
    title = 'brush <script>alert(1)</script>; \\n,"BEGIN:VTODO"'
    writer, one = first_local(described("UTC").replace('"rinse the pump"', f"'''{title}'''"))
    made = sent_of(writer, text_of(writer, one.uid, one.content, 2026, today=TODAY))
    (entry,) = Calendar.from_ical(made).walk("VTODO")
    assert str(entry["SUMMARY"]) == title
