"""To-dos to a server and back, as documents: what a keeper sees, what the telephone does, what the log says then.

Every test runs against two servers of different origin. The telephone is plain HTTP and icalendar.
"""

from __future__ import annotations

import datetime as dt

import pytest
from icalendar import Component
from support.caldav_servers import Caldav, Phone, Way, way_to
from support.ponds import ALONE, NOBODY, Pond, flat, ticked, unticked
from support.row import OWN, PANE, PUMP, phone, way

__all__ = ["phone", "way"]
pytestmark = pytest.mark.server


def test_each_occurrence_is_put_once(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(ALONE)
    said = pond.sync(way.url)
    assert said == ("Noor – rounds, Alder Row to-dos: 3 put, 0 changed, 0 taken away, 0 unchanged\n")
    assert phone.collections() == [OWN]
    assert phone.listed(OWN) == [
        f"2026-12-10 07:30 {PUMP}",
        f"2026-12-12 18:30 {PANE}",
        f"2026-12-17 07:30 {PUMP}",
    ]
    before = phone.texts(OWN)
    asked = way.nothing_written(lambda: pond.sync(way.url))
    # By another address of the same server what lies there is recognised, and nothing is written either.
    with way_to(caldav) as other:
        assert other.nothing_written(lambda: pond.sync(other.url)) > asked
        assert other.nothing_written(lambda: pond.sync(other.url)) == asked
    assert phone.texts(OWN) == before


def test_a_collection_says_what_it_is_and_takes_no_events(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE.replace('name = "Alder Row"', 'name = "Alder & <b>Row"\nid = "alder-row"'))
    pond.sync(way.url)
    body = (
        '<d:propfind xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:prop><d:displayname/>'
        "<c:supported-calendar-component-set/></d:prop></d:propfind>"
    )
    _, text, _ = phone.ask(
        "PROPFIND", f"{caldav.home}{OWN}/", body, {"Depth": "0", "Content-Type": "text/xml"}
    )
    assert "Noor – rounds, Alder &amp; &lt;b&gt;Row to-dos" in text
    assert "VTODO" in text and "VEVENT" not in text


def test_a_tick_is_in_the_history_with_who_and_when(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PANE, ticked("2026-12-10 19:05", "wiped twice"))
    said = pond.sync(way.url, today="2026-12-10")
    assert said == (
        "Sedge: brush the pane, done on 10 December 2026, 19:05.\n"
        "  next on Saturday 19 December 2026\n"
        "Noor – rounds, Alder Row to-dos: 2 put, 0 changed, 0 taken away, 3 unchanged\n"
    )
    assert pond.ok("history", today="") == (
        "      1  2026-12-10  19:05  brush the pane, Noor\n                              wiped twice\n"
    )
    assert pond.log() == ["2026-12-10 19:05 pane noor wiped twice"]
    # The interval counts from the day on which it was done: on the server too the next one is there.
    assert phone.listed(OWN) == [
        f"2026-12-10 07:30 {PUMP}",
        f"2026-12-12 18:30 {PANE} done",
        f"2026-12-17 07:30 {PUMP}",
        f"2026-12-19 18:30 {PANE}",
        f"2026-12-23 07:30 {PUMP}",
    ]
    way.nothing_written(lambda: pond.sync(way.url, today="2026-12-10"))
    assert len(pond.log()) == 1


TANK = NOBODY.replace("water-change = {off = true}, ", "").replace(
    "extra_job",
    """length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
cycled = true
resident = [{name = "Fern", species = "painted turtle", arrived = 2026-11-23}]
extra_job""",
)
"""With water changes, that a reading of ammonia adds one to."""


def test_an_extra_change_is_recorded_as_the_change_that_it_is(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(TANK)
    pond.ok('reading Sedge "ammonia=2 mg/L as N" ph=7.8')
    pond.sync(way.url, weeks=1)
    phone.change("alder-row", "Extra change", ticked("2026-12-07 08:00"))
    said = pond.sync(way.url, weeks=1)
    assert said.startswith("Sedge: water change, 50 %, done on 7 December 2026, 08:00.\n")
    assert phone.listed("alder-row")[:2] == [
        "2026-12-07 07:30 Extra change done",
        # The plain change is folded into it: two never stand side by side.
        "2026-12-09 07:30 rinse the pump",
    ]


def test_what_an_alarm_asks_for_is_not_met_by_what_was_done_before_it(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(TANK)
    pond.ok("did Sedge water-change --on 2026-12-06")
    pond.ok('reading Sedge "ammonia=2 mg/L as N" ph=7.8')
    pond.sync(way.url, weeks=1)
    assert "2026-12-07 07:30 Extra change" in phone.listed("alder-row")
    # The reading was wrong. The extra change goes: the change of the day before was none for it.
    pond.ok("undo")
    pond.ok("undo")
    pond.sync(way.url, weeks=1)
    assert [line for line in phone.listed("alder-row") if "extra" in line] == []


def test_however_a_program_writes_it_a_tick_is_a_tick(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    """RFC 5545: STATUS (3.8.1.11), PERCENT-COMPLETE (3.8.1.8), COMPLETED (3.8.2.1)."""

    def by_percent(entry: Component) -> None:
        entry.pop("STATUS")
        entry.add("PERCENT-COMPLETE", 100)

    def by_moment(entry: Component) -> None:
        entry.pop("STATUS")
        ticked("2026-12-12 23:50")(entry)
        entry.pop("STATUS")
        entry.pop("PERCENT-COMPLETE")

    def by_status(entry: Component) -> None:
        entry["STATUS"] = "COMPLETED"
        entry["LAST-MODIFIED"].dt = dt.datetime(2026, 12, 11, 23, 30, tzinfo=dt.UTC)

    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, by_percent, 0)
    phone.change(OWN, PANE, by_moment)
    phone.change(OWN, PUMP, by_status, 1)
    pond.sync(way.url, today="2026-12-14")
    # Where no moment is said, that of the last change counts: ours was midnight, in Dublin too.
    assert sorted(pond.log()) == [
        "2026-12-07 00:00 pump noor",
        "2026-12-11 23:30 pump noor",
        "2026-12-12 23:50 pane noor",
    ]


def test_a_moment_that_cannot_be_is_today(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PANE, ticked("2031-01-01 08:00"))
    phone.change(OWN, PUMP, ticked("1904-01-01 00:00"))
    pond.sync(way.url)
    assert sorted(pond.log()) == ["2026-12-07 pane noor", "2026-12-07 pump noor"]


def test_a_tick_from_before_the_set_up_is_refused_and_open_again(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, ticked("2026-11-20 08:00"))
    said = pond.sync(way.url)
    assert said == (
        "rinse the pump, Thursday 10 December 2026: is not recorded as done: Sedge was\n"
        "set up on 23 November 2026, after 20 November 2026\n"
        "Noor – rounds, Alder Row to-dos: 0 put, 1 changed, 0 taken away, 2 unchanged\n"
    )
    assert f"2026-12-10 07:30 {PUMP}" in phone.listed(OWN)


def test_a_tick_that_is_taken_away_takes_its_entry_back(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PANE, ticked("2026-12-07 19:00"))
    pond.sync(way.url)
    phone.change(OWN, PANE, unticked)
    said = pond.sync(way.url)
    assert said.startswith("Sedge: brush the pane of 7 December 2026, 19:00 is taken back.\n")
    assert pond.log() == ["2026-12-07 19:00 pane noor", "2026-12-07 void pane noor unticked in the calendar"]
    assert f"2026-12-12 18:30 {PANE}" in phone.listed(OWN)
    # And ticked again.
    phone.change(OWN, PANE, ticked("2026-12-07 20:00"))
    pond.sync(way.url)
    assert pond.log()[-1] == "2026-12-07 20:00 pane noor"


@pytest.mark.parametrize("recorded", ["later", "elsewhere", "before it was ticked"])
def test_what_rests_on_more_than_a_tick_stays_done(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone, recorded: str
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    if recorded == "later":
        phone.change(OWN, PANE, ticked("2026-12-10 19:00"))
        pond.sync(way.url, today="2026-12-10")
        pond.ok("did Sedge pane", today="2026-12-11")
        why = "it was done again since; `pondround undo --entry` takes back what is wrong"
    else:
        pond.ok("did Sedge pane --at 09:00", today="2026-12-11")
        if recorded != "elsewhere":
            phone.change(OWN, PANE, ticked("2026-12-11 19:00"))
        pond.sync(way.url, today="2026-12-11")
        assert len(pond.log()) == 1
        why = "it was not recorded from there; `pondround undo --entry` takes it back"
    entries = pond.log()
    phone.change(OWN, PANE, unticked)
    said = pond.sync(way.url, today="2026-12-11")
    assert f"stays done: {why} Noor" in flat(said)
    assert pond.log() == entries
    assert f"2026-12-12 18:30 {PANE} done" in phone.listed(OWN)


def test_a_tick_too_early_counts_for_its_day_and_the_to_do_is_open_again(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    # The pump of the 16th, on the 7th: its window is four days.
    phone.change(OWN, PUMP, ticked("2026-12-07 08:00"), 1)
    said = pond.sync(way.url)
    assert (
        "rinse the pump, Thursday 17 December 2026: is still to do, and open there again: the log has nothing that counts "
        "for it"
    ) in flat(said)
    # It counts for the one of the 9th.
    assert phone.listed(OWN) == [
        f"2026-12-10 07:30 {PUMP} done",
        f"2026-12-12 18:30 {PANE}",
        f"2026-12-17 07:30 {PUMP}",
    ]
