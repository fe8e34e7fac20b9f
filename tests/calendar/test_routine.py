"""Routine in a feed: rules by weekday, cut where the week changes; what was done of it; names that stay."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from icalendar import Component
from support import told
from support.recorded import history, load

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.history import NO_HISTORY, History

TODAY = dt.date(2026, 12, 1)
DAY = dt.timedelta(days=1)
TANK = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-11-30
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm"}]
"""
WATCHED = TANK.replace('carapace = "12 cm"', 'carapace = "12 cm", arrived = 2026-11-28')
TITLES = ["Feed, look in", "Look in", "Feed, look in", "Look in", "Feed, look in", "Look in", "Look in"]


def export(folder: Path, text: str, today: dt.date = TODAY, found: History = NO_HISTORY) -> bytes:
    planned = workflow.make_plan(load(text), today, today, 366, found)
    workflow.export(planned, folder, Options(), keep_starts=True)
    return (folder / "fen-lane.ics").read_bytes()


def routine(feed: bytes) -> list[Component]:
    return [e for e in told.parsed(feed).events if [str(c) for c in e["CATEGORIES"].cats] == ["Routine"]]


def stretches(feed: bytes) -> list[str]:
    """Return the entries of routine: first day, weekday, last day where there is one, and title."""
    lines = []
    for entry in routine(feed):
        first = told.day_of(entry)
        rule = entry.get("RRULE", {})
        last = f"{rule['UNTIL'][0]:%d %b}" if "UNTIL" in rule else "" if rule else f"{first:%d %b}"
        lines.append(f"{first:%Y-%m-%d %a} to {last or '...'}: {entry['SUMMARY']}")
    return sorted(lines)


def test_a_week_is_seven_rules_without_end(tmp_path: Path) -> None:
    feed = export(tmp_path, TANK)
    assert stretches(feed) == [
        "2026-12-01 Tue to ...: Look in",
        "2026-12-02 Wed to ...: Feed, look in",
        "2026-12-03 Thu to ...: Look in",
        "2026-12-04 Fri to ...: Feed, look in",
        "2026-12-05 Sat to ...: Look in",
        "2026-12-06 Sun to ...: Look in",
        "2026-12-07 Mon to ...: Feed, look in",
    ]
    assert {e["RRULE"].to_ical().decode()[:18] for e in routine(feed)} == {"FREQ=WEEKLY;BYDAY="}


def test_a_watch_is_a_stretch_with_an_end_and_is_there_from_the_beginning(tmp_path: Path) -> None:
    """Fourteen days from the arrival: to Friday 11 December on Fridays, and so on; then the week without it."""
    feed = export(tmp_path, WATCHED)
    assert stretches(feed) == [
        "2026-12-01 Tue to 08 Dec: Watch basking",
        "2026-12-02 Wed to 09 Dec: Feed, watch basking",
        "2026-12-03 Thu to 10 Dec: Watch basking",
        "2026-12-04 Fri to 11 Dec: Feed, watch basking",
        "2026-12-05 Sat to 12 Dec: Watch basking",
        "2026-12-06 Sun to 06 Dec: Watch basking",
        "2026-12-07 Mon to 07 Dec: Feed, watch basking",
        "2026-12-13 Sun to ...: Look in",
        "2026-12-14 Mon to ...: Feed, look in",
        "2026-12-15 Tue to ...: Look in",
        "2026-12-16 Wed to ...: Feed, look in",
        "2026-12-17 Thu to ...: Look in",
        "2026-12-18 Fri to ...: Feed, look in",
        "2026-12-19 Sat to ...: Look in",
    ]


def test_a_stretch_without_end_has_the_name_of_one_that_never_had_another_before_it(tmp_path: Path) -> None:
    """Numbers are counted back from the rule without end: a watch that comes or is over renames nothing."""
    plain = {str(e["UID"]) for e in routine(export(tmp_path / "plain", TANK))}
    watched = {
        str(e["UID"])
        for e in routine(export(tmp_path / "watched", WATCHED))
        if "UNTIL" not in e.get("RRULE", {"UNTIL": 1})
    }
    assert plain == watched and len(plain) == 7


def test_a_stretch_that_is_over_stays_as_it_was_and_no_other_entry_changes(tmp_path: Path) -> None:
    before = {str(e["UID"]): e.to_ical() for e in routine(export(tmp_path, WATCHED))}
    after = {str(e["UID"]): e.to_ical() for e in routine(export(tmp_path, WATCHED, TODAY + 20 * DAY))}
    assert all(before[uid] == body for uid, body in after.items())
    # Only single days that are over are not written any more.
    assert all(b"RRULE" not in before[uid] for uid in before.keys() - after.keys())


# --- what was done ---

WEDNESDAY = dt.date(2026, 12, 2)


def notes(feed: bytes, first: dt.date, last: dt.date) -> list[str]:
    """Return day and title of the routine, with its boxes and what was done."""
    return [
        " | ".join(
            [f"{day} {e['SUMMARY']}"]
            + [
                line
                for line in str(e["DESCRIPTION"]).splitlines()
                if line.startswith(("[ ]", "Done ", "- look"))
            ]
        )
        for day, e in told.days(feed, first, last)
        if [str(c) for c in e["CATEGORIES"].cats] == ["Routine"]
    ]


def test_what_is_left_of_today_stands_in_an_entry_of_its_own(tmp_path: Path) -> None:
    found = history("2026-12-01", ["2026-12-01 did daily-look", "2026-12-02 did daily-look"])
    export(tmp_path, TANK)
    feed = export(tmp_path, TANK, WEDNESDAY, found)
    assert notes(feed, WEDNESDAY, WEDNESDAY + 7 * DAY) == [
        "2026-12-02 Feed | [ ] Feed, 10 min",
        "2026-12-03 Look in | [ ] Daily look, 5 min",
        "2026-12-04 Feed, look in | [ ] Daily look, 5 min | [ ] Feed, 10 min",
        "2026-12-05 Look in | [ ] Daily look, 5 min",
        "2026-12-06 Look in | [ ] Daily look, 5 min",
        "2026-12-07 Feed, look in | [ ] Daily look, 5 min | [ ] Feed, 10 min",
        "2026-12-08 Look in | [ ] Daily look, 5 min | Done 1 December 2026: daily look",
        "2026-12-09 Feed, look in | [ ] Daily look, 5 min | [ ] Feed, 10 min | Done 2 December 2026: daily look",
    ]


def test_where_all_is_done_nothing_is_left_today(tmp_path: Path) -> None:
    found = history("2026-12-01", ["2026-12-01 did daily-look"])
    export(tmp_path, TANK)
    feed = export(tmp_path, TANK, TODAY, found)
    assert notes(feed, TODAY, TODAY) == []


def test_what_was_done_is_told_by_the_first_entry_of_its_weekday_that_is_there(tmp_path: Path) -> None:
    """The last Thursday of the watch is done: of that stretch no day is left whole, so that the next one tells it."""
    thursday = dt.date(2026, 12, 10)
    found = history("2026-12-01", ["2026-12-03 did daily-look", "2026-12-10 did basking-watch/2026-11-28"])
    feed = export(tmp_path, WATCHED, thursday, found)
    assert notes(feed, thursday, thursday) == ["2026-12-10 Look in | [ ] Daily look, 5 min"]
    (next_one,) = notes(feed, thursday + 7 * DAY, thursday + 7 * DAY)
    assert next_one.endswith("Done 3 December 2026: daily look")
    done = [e for e in told.parsed(feed).events if str(e["SUMMARY"]).startswith("Done: ")]
    assert [(told.day_of(e), str(e["SUMMARY"])) for e in done] == [(thursday, "Done: watch basking")]


# --- names ---

HOUSE = TANK + "".join(
    f'[[enclosure]]\nname = "{name}"\nset_up = 2026-10-03\ncycled = true\n' for name in ("Reed", "Rush")
)
CHANGES = {
    "a fourth enclosure": (
        HOUSE,
        HOUSE + '[[enclosure]]\nname = "Bog"\nset_up = 2026-10-03\ncycled = true\n',
    ),
    "other feeding days": (
        HOUSE,
        HOUSE.replace("cycled = true\n", 'cycled = true\njob.feed.every = "1 day"\n', 1),
    ),
    "cycled": (HOUSE.replace("cycled = true", "cycled = false", 1), HOUSE),
}


@pytest.mark.parametrize("change", CHANGES)
def test_no_entry_of_routine_comes_or_goes_with_what_the_week_holds(change: str, tmp_path: Path) -> None:
    """A name from the set of jobs would have 10 to 11 new and 7 to 11 gone at each of these."""
    before, after = (
        {str(e["UID"]): e.to_ical() for e in routine(export(tmp_path, text))} for text in CHANGES[change]
    )
    assert before.keys() == after.keys()
    assert before != after
