"""One alarm for each part of the day, for those who ask: of the routine, of the round, or of the first other job."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from pathlib import Path

import pytest
from icalendar import Component
from support import told
from support.recorded import load
from support.samples import RESCUE

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.workflow.rota.site_rota import RotaContext, shown_rota

SAMPLES = Path(__file__).parents[2] / "sample_configs"
TODAY = dt.date(2026, 12, 1)
DAYS = 60
LAST = TODAY + dt.timedelta(days=DAYS - 1)


def export(folder: Path, sample: str, *, rota: bool) -> dict[str, bytes]:
    site = workflow.read_site(SAMPLES / f"{sample}.toml")
    planned = workflow.make_plan(site, TODAY, TODAY, 366)
    shared = shown_rota(site, RotaContext(planned=planned), TODAY, TODAY, judged=False).rota if rota else None
    done = workflow.export(planned, folder, Options(alarms=True), rota=shared)
    return {path.stem: path.read_bytes() for path, _, _ in done.files}


def rings(feed: bytes) -> Counter[int]:
    """Return how many parts of days have so many alarms, of those in which there is something to do."""
    alarms: Counter[tuple[dt.date, bool]] = Counter()
    for day, entry in told.days(feed, TODAY, LAST):
        if entry["SUMMARY"] != "Rounds planned to here":
            hour = told.hour_of(entry)
            alarms[day, hour is not None and hour.hour >= 15] += len(entry.walk("VALARM"))
    return Counter(alarms.values())


@pytest.mark.parametrize(
    ("sample", "feed", "expected"),
    [
        # One part of the day has something to do on each of the 60 days.
        ("one-tank", "harbour-row", {1: 60}),
        ("household", "pruitt-street", {1: 60}),
        ("household", "pruitt-street-den-tank", {1: 60}),
        # An entry with a rule rings on all its days or on none: two in a few evenings, so that no evening is without.
        ("rescue", "withy-ford", {1: 112, 2: 8}),
        ("rescue", "withy-ford-alder", {1: 60}),
    ],
)
def test_each_part_of_each_day_of_the_plan_rings_once(sample, feed, expected, tmp_path):
    assert rings(export(tmp_path, sample, rota=False)[feed]) == expected


@pytest.mark.parametrize("sample", ["household", RESCUE])
def test_each_round_rings_once(sample, tmp_path):
    """A keeper's calendar for each part of a day, the site's once a day as far as rounds are planned, and after that once a part."""
    feeds = export(tmp_path, sample, rota=True)
    site = workflow.read_site(SAMPLES / f"{sample}.toml")
    for stem in [site.settings.id, *(f"{site.settings.id}-{k.id}.rounds" for k in site.keepers)]:
        assert rings(feeds[stem]).keys() == {1}, stem


@pytest.mark.parametrize("rota", [False, True])
def test_an_alarm_is_shown_and_invites_nobody(rota, tmp_path):
    """RFC 5545, section 3.6.6: DISPLAY has a DESCRIPTION; an ATTENDEE belongs to EMAIL alone. UID: RFC 9074, section 4."""
    looked_at = 0
    for feed in export(tmp_path, "household", rota=rota).values():
        assert b"\nATTENDEE" not in feed
        alarms = [alarm for entry in told.parsed(feed).events for alarm in entry.walk("VALARM")]
        for alarm in alarms:
            assert set(alarm) == {"UID", "ACTION", "TRIGGER", "DESCRIPTION"}
            assert alarm["ACTION"] == "DISPLAY" and str(alarm["DESCRIPTION"])
        assert len({str(alarm["UID"]) for alarm in alarms}) == len(alarms)
        looked_at += len(alarms)
    assert looked_at > 20


SITE = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-11-30
[[enclosure]]
name = "Sedge"
extra_job = [
  {key = "tea", title = "brew the leaf tea", short = "Leaf tea", every = "1 week", weekdays = ["Wed"], part = "evening", minutes = 5},
  {key = "net", title = "mend the net", short = "Mend net", every = "1 week", weekdays = ["Wed"], part = "evening", minutes = 5},
  {key = "rail", title = "oil the rail", short = "Oil rail", every = "1 week", weekdays = ["Fri"], part = "evening", minutes = 5},
]
[enclosure.job]
"""


def ringing(folder: Path, text: str) -> list[str]:
    planned = workflow.make_plan(load(text), TODAY, TODAY, 30)
    workflow.export(planned, folder, Options(alarms=True))
    feed = (folder / "fen-lane.ics").read_bytes()

    def has_alarm(entry: Component) -> bool:
        return bool(entry.walk("VALARM"))

    week = told.days(feed, TODAY, TODAY + dt.timedelta(days=6))
    return sorted(
        f"{line} *" if has_alarm(entry) else line
        for day, entry in week
        for line in told.shown([(day, entry)])
        if "18:" in line or "20:" in line
    )


def test_a_part_without_routine_rings_with_the_first_of_its_other_jobs(tmp_path):
    assert ringing(tmp_path, SITE) == [
        "2026-12-02 20:30 Leaf tea",
        "2026-12-02 20:30 Mend net *",
        "2026-12-04 20:30 Oil rail *",
    ]


def test_where_there_is_routine_that_rings_alone(tmp_path):
    text = SITE.replace('{key = "rail",', '{key = "rail", routine = true,').replace(
        'weekdays = ["Fri"]', 'weekdays = ["Wed"]'
    )
    assert ringing(tmp_path, text) == [
        "2026-12-02 18:30 Oil rail *",
        "2026-12-02 20:30 Leaf tea",
        "2026-12-02 20:30 Mend net",
    ]
