"""The calendars of fourteen volunteers: exactly the rounds of the rota, as readers of another origin see them."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from support import told
from support.rounds import (
    DAY,
    HORIZON,
    RESCUE,
    blocks,
    export,
    jobs_in,
    jobs_of,
    parts,
    rounds,
    without_horizon,
)

from scheduler import workflow
from scheduler.calendar.notes import QUARANTINE
from scheduler.calendar.titles import keeper_names


@dataclass(frozen=True)
class Exported:
    folder: Path
    site: workflow.Site
    feeds: dict[str, bytes]
    rounds: list[dict[str, Any]]

    def of(self, keeper: str) -> list[dict[str, Any]]:
        return [one for one in self.rounds if one["keeper"] == keeper]

    def feed(self, keeper: str) -> bytes:
        (found,) = [k for k in self.site.keepers if k.name == keeper]
        return self.feeds[f"withy-ford-{found.id}.rounds.ics"]


TODAY = dt.date(2026, 12, 1)


@pytest.fixture(scope="module")
def rescue(tmp_path_factory: pytest.TempPathFactory) -> Exported:
    folder = tmp_path_factory.mktemp("rescue")
    (folder / "rescue.toml").write_bytes(RESCUE.read_bytes())
    feeds = export(folder, TODAY, file="rescue.toml")
    made = rounds(folder, TODAY, "--weeks", "4", file="rescue.toml")
    return Exported(folder, workflow.read_site(RESCUE), feeds, made)


VOLUNTEERS = [
    "Agnes", "Bronwen", "Callum", "Femi", "Hester", "Ilse", "Jonty", "Magda", "Noreen", "Ottilie", "Percival", "Ravi",
    "Saoirse", "Tobias",
]  # fmt: skip


def test_these_are_all_volunteers(rescue: Exported) -> None:
    assert [k.name for k in rescue.site.keepers] == VOLUNTEERS
    assert {name for name in rescue.feeds if ".rounds" in name} == {
        f"withy-ford-{name.lower()}.rounds.ics" for name in VOLUNTEERS
    }


LAST = TODAY + 27 * DAY


@pytest.mark.parametrize("keeper", VOLUNTEERS)
def test_a_volunteers_calendar_is_exactly_that_volunteers_rounds(rescue: Exported, keeper: str) -> None:
    """Read by icalendar: an entry for each part of a day, its minutes, and every job in it, quarantine last."""
    place, jobs = rescue.site.settings, jobs_of(rescue.site)
    events = without_horizon(rescue.feed(keeper), LAST)
    own = parts(jobs, rescue.of(keeper))
    assert own, f"{keeper} has no round in four weeks: nothing would be compared"
    assert [str(told.day_of(event)) for event in events] == [one["date"] for one in own]
    for event, one in zip(events, own, strict=True):
        assert event["DURATION"].dt == dt.timedelta(minutes=one["minutes"])
        start = event["DTSTART"].dt
        assert (start.time(), start.tzinfo.key) == (place.time_of(one["part"]), "Europe/London")
        lines = str(event["DESCRIPTION"]).splitlines()
        works = told.works(event, rescue.site)
        assert Counter(works) == jobs_in(jobs, one)
        mine = [(w.enclosure, w.title) for w in works if not w.lent]
        tasks = [(t["enclosure"], jobs[t["enclosure"], t["job"], t["variant"]]) for t in one["jobs"]]
        assert mine == [(enclosure, told.title_of(job)) for enclosure, job in tasks], "in walking order"
        # Quarantine comes last, under its own words.
        sick = {task["enclosure"] for task in (*one["jobs"], *one["helps"]) if task["quarantine"]}
        assert lines.count(QUARANTINE) == bool(sick)
        apart = [w.enclosure in sick for w in works]
        assert apart == sorted(apart)


@pytest.mark.reader
def test_other_readers_see_the_same(rescue: Exported, readers: Any) -> None:
    """recurring-ical-events and ical.js, of all volunteers at once: who, instant and summary."""
    zone, place = ZoneInfo("Europe/London"), rescue.site.settings
    files = {
        str(rescue.folder / "out" / f"withy-ford-{name.lower()}.rounds.ics"): name for name in VOLUNTEERS
    }
    titles = {
        (name, told.day_of(e), told.hour_of(e)): str(e["SUMMARY"])
        for name in VOLUNTEERS
        for e in without_horizon(rescue.feed(name), LAST)
    }
    expected = []
    for one in parts(jobs_of(rescue.site), rescue.rounds):
        at, day = place.time_of(one["part"]), dt.date.fromisoformat(one["date"])
        start = dt.datetime.combine(day, at, zone).astimezone(dt.UTC)
        expected.append((one["keeper"], f"{start:%Y-%m-%dT%H:%M:%SZ}", titles[one["keeper"], day, at]))
    for read in (readers.recurring_ical_events, readers.ical_js):
        seen = [
            e
            for e in read(map(Path, files), "2026-01-01T00:00:00Z", "2028-01-01T00:00:00Z")
            if e["summary"] != HORIZON
        ]
        assert sorted((files[e["file"]], e["utc"], e["summary"]) for e in seen) == sorted(expected)


def test_the_sites_calendar_names_who(rescue: Exported) -> None:
    """To the end of the rounds an entry a keeper and day with the name in front, whole days, the steps in the keeper's own."""
    jobs, names = jobs_of(rescue.site), {k.name: keeper_names(rescue.site)[k.id] for k in rescue.site.keepers}
    events = [e for e in told.parsed(rescue.feeds["withy-ford.ics"]).walk("VEVENT") if told.day_of(e) <= LAST]
    named = [e for e in events if str(e["SUMMARY"]).partition(": ")[0] in names.values()]
    said = [
        (told.day_of(e), str(e["SUMMARY"]).partition(": ")[0], Counter(told.works(e, rescue.site)))
        for e in named
    ]
    expected = [
        (dt.date.fromisoformat(one["date"]), names[one["keeper"]], jobs_in(jobs, one))
        for one in rescue.rounds
    ]
    assert sorted(said, key=lambda one: one[:2]) == sorted(expected, key=lambda one: one[:2])
    assert {str(e["SUMMARY"]).partition(": ")[0] for e in events if e not in named} <= {"Nobody", HORIZON}
    assert all(told.hour_of(e) is None for e in events)
    assert all("\n1. " not in str(e["DESCRIPTION"]) for e in events)
    uids = {str(e["UID"]) for e in events}
    assert all(not uids & blocks(rescue.feed(keeper)).keys() for keeper in VOLUNTEERS)


def test_no_uid_stands_in_two_volunteers_calendars(rescue: Exported) -> None:
    found = Counter(uid for keeper in VOLUNTEERS for uid in blocks(rescue.feed(keeper)))
    assert set(found.values()) == {1}
