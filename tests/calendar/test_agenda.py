"""Which entry a job stands in: exactly one, in each feed, on each day; and how the entries of an earlier layout leave."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from support import told
from support.recorded import history, load

from scheduler import workflow
from scheduler.calendar import Agenda, Options, Writer
from scheduler.calendar.routine import is_routine
from scheduler.description import Site
from scheduler.history import NO_HISTORY, Entry, History
from scheduler.plan import Occurrence
from scheduler.rota import Rota
from scheduler.workflow import Planned
from scheduler.workflow.rota.site_rota import RotaContext, shown_rota

SAMPLES = Path(__file__).parents[2] / "sample_configs"
BEGUN, TODAY = dt.date(2026, 12, 1), dt.date(2026, 12, 10)
DAY = dt.timedelta(days=1)
LAST = TODAY + 59 * DAY
RECORDED = dt.datetime(2026, 12, 1, 12)  # noqa: DTZ001 - UTC, as the log keeps it


def lived_in(site: Site) -> History:
    """Return a record of nine days and a morning in which most is done, by somebody, and some is not."""
    keepers = [k.id for k in site.keepers] or [""]
    done = [Entry(kind="done", enclosure="nowhere", name="daily-look", day=BEGUN, recorded=RECORDED)]
    plan = workflow.make_plan(site, BEGUN, BEGUN, 10, History(BEGUN))
    for number, one in enumerate(workflow.days_of(plan), start=1):
        # Of the days before one in seven is missed; of today one in three is done.
        if number % 7 if one.day < TODAY else number % 3 == 0:
            enclosure, key, variant = one.job.log_name
            done.append(
                Entry(
                    kind="done",
                    enclosure=enclosure,
                    name=key,
                    of=variant,
                    day=one.day,
                    recorded=RECORDED,
                    number=number,
                    keeper=keepers[number % len(keepers)],
                )
            )
    return History(BEGUN, done=done)


@dataclass(frozen=True)
class Exported:
    """A sample as it is exported on the tenth day."""

    planned: Planned
    rota: Rota | None
    feeds: dict[str, bytes]
    agenda: Agenda

    @property
    def site(self) -> Site:
        return self.planned.site

    def of(self, enclosure: str = "") -> bytes:
        stem = self.site.settings.id
        return self.feeds[f"{stem}-{enclosure}.ics" if enclosure else f"{stem}.ics"]

    def told(self, enclosure: str = "") -> Counter[tuple[dt.date, str, str, str]]:
        """Return what a feed has: day, UID, enclosure and title of each job that is still to be done."""
        found = told.of_days(self.of(enclosure), self.site, TODAY, LAST)
        return Counter((day, uid, one.enclosure, one.title) for day, uid, one in found if not one.lent)

    def stands(self, one: Occurrence) -> bool:
        """Tell whether the site's feed has a job: of many enclosures, beyond the rounds, routine and what is seldom alone."""
        in_round = self.rota is not None and one.ref in self.days
        return in_round or is_routine(one.series) or self.agenda.is_in_site(one.series)

    @property
    def days(self) -> dict[object, dt.date]:
        """Return the day on which somebody does what is in rounds; of what nobody takes, the day on which it falls due."""
        if self.rota is None:
            return {}
        left = {u.item.ref: u.item.occurrence.day for u in self.rota.unfilled}
        return left | {t.item.ref: t.day for t in self.rota.tasks()}

    def listed(self) -> Iterator[tuple[dt.date, Occurrence]]:
        """Yield what `jobs` lists and is still to be done, on the day on which it is done."""
        days = self.days
        for one in workflow.days_of(self.planned):
            day = days.get(one.ref, one.day)
            if one.entry is None and day <= LAST:
                yield day, one


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(
            (sample, is_recorded),
            id=f"{sample}, {'lived in' if is_recorded else 'new'}",
            marks=pytest.mark.slow if sample == "rescue" else (),
        )
        for sample in ("one-tank", "household", "rescue")
        for is_recorded in (False, True)
    ],
)
def exported(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Exported:
    sample, is_recorded = request.param
    site = workflow.read_site(SAMPLES / f"{sample}.toml")
    found = lived_in(site) if is_recorded else NO_HISTORY
    planned = workflow.make_plan(site, TODAY, TODAY, 366, found)
    rota = None
    if len(site.keepers) > 1:
        rota = shown_rota(site, RotaContext(history=found, planned=planned), TODAY, TODAY, judged=False).rota
    folder = tmp_path_factory.mktemp(sample)
    done = workflow.export(planned, folder, Options(), keep_starts=True, rota=rota)
    feeds = {path.name: path.read_bytes() for path, _, _ in done.files}
    agenda = Agenda(Writer(planned.site, Options()), planned.series, planned.done, planned.first, rota=rota)
    return Exported(planned, rota, feeds, agenda)


def test_every_job_stands_in_exactly_one_entry_and_it_is_the_one_that_is_named(exported: Exported) -> None:
    """Sixty days as recurring-ical-events lists them; the UID is the one of `jobs --format json`."""
    expected = Counter(
        (day, exported.agenda.entry_of(one)[0], one.job.enclosure.id, told.title_of(one.job))
        for day, one in exported.listed()
        if exported.stands(one)
    )
    found = exported.told()
    assert found - expected == expected - found == Counter() and expected


def test_the_hour_that_is_named_is_that_of_the_entry(exported: Exported) -> None:
    """A whole day of several people's names has none: the hour is that of the part of the day."""
    seen = {(day, str(e["UID"])): told.hour_of(e) for day, e in told.days(exported.of(), TODAY, LAST)}
    looked_at = 0
    for day, one in exported.listed():
        uid, hour = exported.agenda.entry_of(one)
        if exported.stands(one) and seen[day, uid] is not None:
            assert seen[day, uid] == hour, (day, one.job.title)
            looked_at += 1
    assert looked_at > 50


def test_the_enclosures_feeds_say_the_same_as_the_sites(exported: Exported) -> None:
    """Job for job and day for day; of many enclosures the site's has no job that the enclosure's has not."""
    whole = exported.told()
    for enclosure in exported.site.enclosures:
        there = Counter(
            (day, e, title) for (day, _, e, title), n in whole.items() for _ in range(n) if e == enclosure.id
        )
        own = Counter(
            (day, e, title) for (day, _, e, title), n in exported.told(enclosure.id).items() for _ in range(n)
        )
        assert own and there - own == Counter()
        lacking = {(day, title) for day, _, title in own - there}
        beyond = {
            (day, told.title_of(one.job))
            for day, one in exported.listed()
            if one.job.enclosure.id == enclosure.id and not exported.stands(one)
        }
        assert lacking == beyond


def test_what_was_done_is_in_the_entry_that_is_named(exported: Exported) -> None:
    """For 60 days: in the note of its routine, in its round, or in an entry of its own."""
    notes = {
        str(e["UID"]): str(e["DESCRIPTION"])
        for feed in [exported.of(), *(exported.of(e.id) for e in exported.site.enclosures)]
        for e in told.parsed(feed).events
    }
    for one in exported.planned.done:
        note = notes[exported.agenda.entry_of(one)[0]]
        assert "Done " in note and f"{one.day.day} {one.day:%B %Y}" in note, (one.day, one.job.title)


# --- the horizon ---

HOUSE = """
[site]
name = "Alder Row"
time_zone = "Europe/Dublin"
start = 2026-12-07
[[keeper]]
name = "Noor"
weekdays = ["Mon", "Wed", "Fri"]
[[keeper]]
name = "Desmond"
weekdays = ["Tue", "Thu", "Sat", "Sun"]
[[enclosure]]
name = "Den tank"
room = "den"
set_up = 2025-03-01
cycled = true
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm"}]
"""
MONDAY = dt.date(2026, 12, 7)


def test_after_the_rounds_stands_the_plan(tmp_path: Path) -> None:
    """To the last day who does what; on it that it is so; from the day after what falls due, at its hours."""
    site = load(HOUSE)
    planned = workflow.make_plan(site, MONDAY, MONDAY, 366)
    rota = shown_rota(site, RotaContext(planned=planned), MONDAY, MONDAY, judged=False).rota
    done = workflow.export(planned, tmp_path, Options(), keep_starts=True, rota=rota)
    (feed,) = (path.read_bytes() for path, _, _ in done.files if path.name == "alder-row.ics")
    assert rota.last == MONDAY + 27 * DAY == dt.date(2027, 1, 3)
    assert told.shown(told.days(feed, rota.last - 2 * DAY, rota.last + 3 * DAY)) == EXPECTED


EXPECTED = [
    "2027-01-01 Noor: Test water, 3 more",
    "2027-01-02 Des: Look in",
    "2027-01-03 Des: Water change, 1 more",
    "2027-01-03 Rounds planned to here",
    "2027-01-04 07:30 Feed, look in",
    "2027-01-05 07:30 Look in",
    "2027-01-05 09:00 Wipe down",
    "2027-01-06 07:30 Feed, look in",
]


# --- what stood there before ---


def test_the_entries_of_the_earlier_layout_end_and_no_job_stands_twice(tmp_path: Path) -> None:
    """Before, each job had an entry. One reader goes on showing a rule that is only left out, so they end by UNTIL."""
    site, found = (
        load(HOUSE.partition("[[keeper]]")[0] + HOUSE[HOUSE.index("[[enclosure]]") :]),
        history("2026-12-01", ["2026-12-01 did daily-look"], "den-tank"),
    )
    planned = workflow.make_plan(site, MONDAY, MONDAY, 366, found)
    workflow.export(planned, tmp_path, Options(each_job=True), keep_starts=True)
    old = {str(e["UID"]) for e in told.parsed((tmp_path / "alder-row.ics").read_bytes()).events}
    today = MONDAY + 2 * DAY
    planned = workflow.make_plan(site, today, today, 366, found)
    workflow.export(planned, tmp_path, Options(), keep_starts=True)
    feed = (tmp_path / "alder-row.ics").read_bytes()
    agenda = Agenda(Writer(planned.site, Options()), planned.series, planned.done, planned.first)
    expected = Counter(
        (one.day, agenda.entry_of(one)[0], told.title_of(one.job))
        for one in workflow.days_of(planned)
        if one.day <= today + 60 * DAY
    )
    assert (
        Counter(
            (d, uid, one.title) for d, uid, one in told.of_days(feed, planned.site, today, today + 60 * DAY)
        )
        == expected
    )
    # Of what had a rule and has none now the days before today are left.
    events = {str(e["UID"]): e for e in told.parsed(feed).events}
    ended = [e for uid, e in events.items() if uid in old and "RRULE" in e and "UNTIL" in e["RRULE"]]
    assert sorted(str(e["SUMMARY"]) for e in ended) == ["Feed", "Look in"]
    assert all(e["RRULE"]["UNTIL"][0].date() < today for e in ended)
    # And what has an entry of its own still has its name.
    assert {str(e["UID"]) for e in events.values() if e["SUMMARY"] == "Water change"} <= old
