"""What the log says against what the server has: entries taken back, days gone by, a log lost, two syncs at once."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable

import pytest
from support.caldav_servers import Caldav, Phone, Way
from support.ponds import ALONE, NOBODY, Pond, ticked
from support.row import OWN, PANE, PUMP, phone, way

__all__ = ["phone", "way"]
pytestmark = pytest.mark.server


def test_what_the_log_has_is_done_on_the_server_and_stays_a_while(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    pond.ok("did Sedge pane --at 18:40", today="2026-12-11")
    pond.sync(way.url, today="2026-12-11")
    done = next(e for e in phone.entries(OWN).values() if e["SUMMARY"] == PANE and "COMPLETED" in e)
    assert done["COMPLETED"].dt == dt.datetime(2026, 12, 11, 18, 40, tzinfo=dt.UTC)
    assert (str(done["STATUS"]), int(done["PERCENT-COMPLETE"])) == ("COMPLETED", 100)
    kept = f"2026-12-12 18:30 {PANE} done"
    pond.sync(way.url, today="2027-02-09")
    assert kept in phone.listed(OWN)
    pond.sync(way.url, today="2027-02-10")
    assert kept not in phone.listed(OWN)


def test_an_entry_that_is_taken_back_opens_the_to_do_again(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))
    pond.sync(way.url)
    pond.ok("undo")
    pond.sync(way.url)
    assert f"2026-12-10 07:30 {PUMP}" in phone.listed(OWN)
    assert pond.log()[-1] == "2026-12-07 void pump noor"
    pond.sync(way.url)
    assert len(pond.log()) == 2
    # Where it is no longer in the plan either, it goes.
    phone.change(OWN, PANE, ticked("2026-12-07 08:00"))
    pond.sync(way.url)
    pond.ok("undo")
    pond.describe(ALONE.replace('{key = "pane"', '{key = "glass"'))
    pond.sync(way.url)
    assert not [line for line in phone.listed(OWN) if line.endswith("done")]


def test_what_is_overdue_is_on_today_and_what_left_the_plan_goes(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(NOBODY)
    pond.ok("did Sedge pane", today="2026-12-03")
    pond.sync(way.url)
    first = phone.listed("alder-row")
    assert first == [f"2026-12-09 07:30 {PUMP}", f"2026-12-13 18:30 {PANE}", f"2026-12-16 07:30 {PUMP}"]
    pond.sync(way.url, today="2026-12-11")
    assert phone.listed("alder-row")[0] == f"2026-12-11 07:30 {PUMP}"
    pond.describe(NOBODY.replace('{key = "pane"', '{key = "glass"'))
    said = pond.sync(way.url, today="2026-12-11")
    assert "2 put, 0 changed, 2 taken away" in said
    assert len(phone.listed("alder-row")) == 5


def test_what_is_overdue_and_nobody_takes_any_more_is_nobodys_to_do(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.ok("did Sedge pane", today="2026-12-03")
    pond.sync(way.url, today="2026-12-11")
    assert f"2026-12-12 07:30 {PUMP}" in phone.listed(OWN)
    pond.describe(ALONE.replace("minutes = 45", 'minutes = 45\naway = ["2026-12-12/2026-12-31"]'))
    pond.sync(way.url, today="2026-12-11")
    assert phone.listed(OWN) == []


def test_a_log_that_was_lost_doubles_nothing_and_deletes_nothing(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    before = phone.texts(OWN)
    phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))
    (pond.folder / "enclosures.db").unlink()
    pond.sync(way.url)
    assert phone.texts(OWN).keys() == before.keys()
    assert pond.log() == ["2026-12-07 08:00 pump noor"]


def just_before(way: Way, method: str, what: Callable[[], object]) -> None:
    """Have something happen right before the first request of a method reaches the server."""

    def look(asked: str, path: str) -> None:
        if asked == method:
            way.before_request = None
            what()

    way.before_request = look


@pytest.mark.parametrize("ticks", [True, False])
def test_somebody_who_is_quicker_is_listened_to(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone, ticks: bool
) -> None:
    how = ticked("2026-12-07 08:00") if ticks else lambda entry: entry.add("PRIORITY", 3)
    pond.describe(ALONE)
    pond.sync(way.url)
    pond.describe(ALONE.replace('name = "Sedge"', 'name = "Sedge"\nroom = "hall"'))
    just_before(way, "PUT", lambda: phone.change(OWN, PUMP, how))
    said = pond.sync(way.url)
    entries = phone.entries(OWN).values()
    if ticks:
        assert "Sedge: rinse the pump, done on 7 December 2026, 08:00.\n" in said
        assert pond.log() == ["2026-12-07 08:00 pump noor"]
        assert f"2026-12-10 07:30 {PUMP} done" in phone.listed(OWN)
        assert {str(e["LOCATION"]) for e in entries} == {"hall, Sedge, Alder Row", "Sedge, Alder Row"}
    else:
        assert {str(e["LOCATION"]) for e in entries} == {"hall, Sedge, Alder Row"}
        assert [e["PRIORITY"] for e in entries if "PRIORITY" in e] == [3]
    way.nothing_written(lambda: pond.sync(way.url))


def test_what_is_ticked_just_before_it_would_be_taken_away_is_recorded(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    pond.describe(ALONE.replace('{key = "pane"', '{key = "glass"'))
    just_before(way, "DELETE", lambda: phone.change(OWN, PANE, ticked("2026-12-07 08:00"), 0))
    pond.sync(way.url)
    # The job is no longer described; what was done is done.
    assert pond.log() == ["2026-12-07 08:00 pane noor"]
    (entry,) = json.loads("[" + ",".join(pond.ok("history --format json", today="").splitlines()) + "]")
    assert (entry["title"], entry["minutes"]) == ("brush the pane", 15)


def test_two_syncs_at_once_double_nothing_and_lose_no_tick(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)

    def another() -> None:
        pond.sync(caldav.url)
        phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))

    just_before(way, "PUT", another)
    said = pond.sync(way.url)
    assert "Sedge: rinse the pump, done on 7 December 2026, 08:00.\n" in said
    assert "0 put, 0 changed, 0 taken away, 3 unchanged" in said
    assert f"2026-12-10 07:30 {PUMP} done" in phone.listed(OWN) and len(phone.listed(OWN)) == 3
