"""A later export changes only what is new: rules keep the start that the earlier feed gave them."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from icalendar import Calendar

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.calendar.continuity import KEEP_START_DAYS

SITE = """
[site]
name = "Weir"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Pool"
set_up = 2026-10-01
cycled = true
"""
DAY = dt.date(2026, 12, 1)


def export(folder: Path, today: dt.date, *, text: str = SITE, keep: bool = True) -> bytes:
    file = folder / "enclosures.toml"
    file.write_text(text, "utf-8")
    planned = workflow.make_plan(workflow.read_site(file), today, today, 728)
    workflow.export(planned, folder, Options(each_job=True), keep_starts=keep)
    return (folder / "weir-pool.ics").read_bytes()


def starts(feed: bytes) -> dict[str, tuple[dt.date, int]]:
    found = Calendar.from_ical(feed).events
    return {str(e["categories"].cats[1]): (e["dtstart"].dt.date(), int(e["sequence"])) for e in found}


def test_the_next_day_changes_nothing(tmp_path: Path) -> None:
    first = export(tmp_path, DAY)
    written = (tmp_path / "weir-pool.ics").stat().st_mtime_ns
    assert export(tmp_path, DAY + dt.timedelta(days=1)) == first
    assert (tmp_path / "weir-pool.ics").stat().st_mtime_ns == written, "a web host tells readers this date"


def test_a_changed_rule_begins_anew_and_counts_up(tmp_path: Path) -> None:
    before = starts(export(tmp_path, DAY))
    changed = SITE + '[enclosure.job.supplies]\nevery = "6 weeks"\n[enclosure.job.top-up]\nminutes = 6\n'
    after = starts(export(tmp_path, DAY + dt.timedelta(days=9), text=changed))
    assert after.pop("Supplies") != before["Supplies"]
    # Minutes are content; the days stay, and so does the start.
    assert after.pop("Top up") == (before["Top up"][0], 1)
    # No other job moves.
    assert after.items() <= before.items() and len(after) == len(before) - 2


def test_a_new_enclosure_moves_no_job_of_the_others(tmp_path: Path) -> None:
    # With a second enclosure the titles of the first name their place; from then on no more.
    two = SITE + '[[enclosure]]\nname = "Weir basin"\nset_up = 2026-11-15\n'
    first = export(tmp_path, DAY, text=two)
    more = two + '[[enclosure]]\nname = "A newer one"\nset_up = 2026-11-15\n'
    assert export(tmp_path, DAY + dt.timedelta(days=1), text=more) == first


def test_history_does_not_grow_for_ever(tmp_path: Path) -> None:
    export(tmp_path, DAY)
    kept = DAY + dt.timedelta(days=KEEP_START_DAYS)
    assert starts(export(tmp_path, kept))["Look in"] == (DAY, 0)
    assert starts(export(tmp_path, kept + dt.timedelta(days=1)))["Look in"] == (
        kept + dt.timedelta(days=1),
        1,
    )


def test_a_view_that_is_asked_for_is_given_exactly(tmp_path: Path) -> None:
    export(tmp_path, DAY)
    assert starts(export(tmp_path, DAY + dt.timedelta(days=2), keep=False))["Look in"][0] == dt.date(
        2026, 12, 3
    )


def test_what_is_in_the_folder_need_not_be_ours(tmp_path: Path) -> None:
    for earlier in (b"", b"BEGIN:VEVENT\r\nUID:x\r\n", bytes(range(256)) * 50, b"BEGIN:VEVENT\r\n" * 1000):
        (tmp_path / "weir-pool.ics").write_bytes(earlier)
        assert starts(export(tmp_path, DAY))["Look in"] == (DAY, 0)
