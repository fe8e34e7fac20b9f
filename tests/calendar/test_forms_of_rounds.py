"""Rounds in other forms: an entry for each job, to-dos, whole days, alarms; helping hands and odd names."""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path

import pytest
from icalendar import Calendar
from support import told
from support.alder import ALDER, OFF, alder, shown
from support.rounds import DAY, HORIZON, MONDAY, blocks, export, jobs_of, parts, rounds, without_horizon

from scheduler import care, workflow
from scheduler.calendar.titles import keeper_names

__all__ = ["alder"]


def test_an_entry_for_each_job(alder: Path) -> None:
    feed = export(alder, MONDAY, "--each-job")["alder-ben.rounds.ics"]
    made = [one for one in rounds(alder, MONDAY, "--weeks", "2") if one["keeper"] == "Ben"]
    events = Calendar.from_ical(feed).walk("VEVENT")
    jobs = {(j.enclosure.id, j.key): j for j in care.jobs(workflow.read_site(alder / "enclosures.toml"))}
    expected = []
    for one in made:
        for task in one["jobs"]:
            job = jobs[task["enclosure"], task["job"]]
            at = dt.time(7, 30) if job.part == "morning" else dt.time(18, 30)
            start = dt.datetime.combine(dt.date.fromisoformat(one["date"]), at)
            expected.append(
                (start, f"{job.title}: {job.enclosure.name}", dt.timedelta(minutes=task["minutes"]))
            )
    assert [
        (e["DTSTART"].dt.replace(tzinfo=None), str(e["SUMMARY"]), e["DURATION"].dt) for e in events
    ] == expected


def test_to_dos(alder: Path) -> None:
    """RFC 5545, section 3.6.2: DUE or DURATION; 3.8.1.11: NEEDS-ACTION until it is done."""
    feeds = export(alder, MONDAY)
    to_dos = export(alder, MONDAY, "--as", "to-dos")
    events, feed = feeds["alder-ben.rounds.ics"], to_dos["alder-ben.rounds-to-dos.ics"]
    # A to-do for each job: ticks of a group could not be told apart.
    assert [line.replace(":", "") for line in shown(feed, "VTODO")] == shown(events)
    found = Calendar.from_ical(feed).walk("VTODO")
    assert {str(t["STATUS"]) for t in found} == {"NEEDS-ACTION"}
    assert not blocks(feed, "VTODO").keys() & blocks(events).keys()
    assert b"VEVENT" not in feed
    # The events that were there are left as they are.
    assert to_dos["alder-ben.rounds.ics"] == events


def test_all_day(alder: Path) -> None:
    """RFC 5545, section 3.6.1: DTEND is the day after, and not included."""
    timed = shown(export(alder, MONDAY)["alder-ben.rounds.ics"])
    feed = export(alder, MONDAY, "--all-day")["alder-ben.rounds.ics"]
    assert shown(feed) == timed
    assert not blocks(feed).keys() - blocks(export(alder, MONDAY)["alder-ben.rounds.ics"]).keys()
    for event in Calendar.from_ical(feed).walk("VEVENT"):
        assert type(event["DTSTART"].dt) is dt.date
        assert event["DTEND"].dt == event["DTSTART"].dt + DAY
        assert "DURATION" not in event


@pytest.mark.parametrize(("options", "triggers"), [([], {-10}), (["--all-day"], {7 * 60 + 30, 18 * 60 + 30})])
def test_alarms(alder: Path, options: list[str], triggers: set[int]) -> None:
    """RFC 5545, section 3.6.6: TRIGGER counts from the start; of a whole day that is midnight."""
    feed = export(alder, MONDAY, "--alarms", *options)["alder-ben.rounds.ics"]
    events = [e for e in Calendar.from_ical(feed).walk("VEVENT") if e["SUMMARY"] != HORIZON]
    assert events
    alarms = [alarm for event in events for alarm in event.walk("VALARM")]
    assert len(alarms) == len(events)
    assert {alarm["TRIGGER"].dt for alarm in alarms} == {dt.timedelta(minutes=n) for n in triggers}
    assert [str(a["DESCRIPTION"]) for a in alarms] == [str(e["SUMMARY"]) for e in events]
    assert len({str(alarm["UID"]) for alarm in alarms}) == len(alarms)


PAILS = f"""
[site]
name = "Alder"
[[keeper]]
name = "Noor"
weekdays = ["Mon"]
[[keeper]]
name = "Ben"
weekdays = ["Mon"]
[[enclosure]]
name = "Sedge"
job = {{{OFF}}}
extra_job = [{{key = "pails", title = "carry pails", on = [2026-12-07], minutes = 20, lift = "30 kg"}}]
"""


@pytest.mark.parametrize("options", [[], ["--each-job"]])
def test_who_lends_a_hand_has_it_in_the_calendar(tmp_path: Path, options: list[str]) -> None:
    (tmp_path / "enclosures.toml").write_text(PAILS, "utf-8")
    feeds = export(tmp_path, MONDAY, *options)
    one, other = sorted(
        (str(event["SUMMARY"]), str(event["DESCRIPTION"]), event["DURATION"].dt)
        for name in ("alder-ben.rounds.ics", "alder-noor.rounds.ics")
        for event in told.parsed(feeds[name]).walk("VEVENT")
        if event["SUMMARY"] != HORIZON
    )
    assert one[2] == other[2] == dt.timedelta(minutes=20)
    everything = " ".join([*one[:2], *other[:2]])
    assert re.search(r"Help (Noor|Ben): carry pails", everything)
    assert re.search(r"[Cc]arry pails(, 20 min)?, with (Noor|Ben)", everything)
    assert not set(blocks(feeds["alder-ben.rounds.ics"])) & set(blocks(feeds["alder-noor.rounds.ics"]))


ODD = ["Ümit 🐢; drop, \\n", 'BEGIN:VEVENT "x"', "a" * 80, "=1+1"]


@pytest.mark.parametrize("name", ODD)
def test_odd_names_are_escaped(tmp_path: Path, name: str) -> None:
    """RFC 5545, sections 3.1 (lines of 75 octets) and 3.3.11 (TEXT)."""
    quoted = json.dumps(name, ensure_ascii=False)
    text = ALDER.replace('name = "Ben"', f'name = {quoted}\nid = "odd"').replace('"mend the net"', quoted)
    (tmp_path / "enclosures.toml").write_text(text, "utf-8")
    feeds = export(tmp_path, MONDAY)
    made = rounds(tmp_path, MONDAY, "--weeks", "4")
    site = workflow.read_site(tmp_path / "enclosures.toml")
    own = [one for one in parts(jobs_of(site), made) if one["keeper"] == name]
    events = without_horizon(feeds["alder-odd.rounds.ics"], MONDAY + 27 * DAY)
    assert len(events) == len(own) > 0
    titles = [w.title for e in events for w in told.works(e, site) if w.enclosure == "reed"]
    assert titles == [name[:1].upper() + name[1:] for one in own for t in one["jobs"] if t["job"] == "net"]
    end = MONDAY + 27 * DAY
    whole = [e for e in without_horizon(feeds["alder.ics"], end) if told.day_of(e) <= end]
    by = keeper_names(site)["odd"]
    assert sum(str(e["SUMMARY"]).startswith(f"{by}: ") for e in whole) == len({one["date"] for one in own})
    assert all(len(line) <= 75 for feed in feeds.values() for line in feed.split(b"\r\n"))
