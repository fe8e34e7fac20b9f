"""To-dos that a telephone moved: where they may go they go, and elsewhere they are put back, and it is said why."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from icalendar import Component
from support.caldav_servers import Caldav, Phone, Way
from support.ponds import ALONE, DUBLIN, NOBODY, Pond, flat, moved, ticked
from support.row import OWN, PANE, PUMP, phone, way

__all__ = ["phone", "way"]
pytestmark = pytest.mark.server


def test_within_its_window_and_on_a_day_of_the_keepers_it_is_moved(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, moved(+2))
    said = pond.sync(way.url)
    assert said == (
        "rinse the pump: 10 December 2026 -> Saturday 12 December 2026\n"
        "Noor – rounds, Alder Row to-dos: 0 put, 1 changed, 0 taken away, 2 unchanged\n"
    )
    assert phone.listed(OWN) == [
        f"2026-12-12 07:30 {PUMP}",
        f"2026-12-12 18:30 {PANE}",
        f"2026-12-17 07:30 {PUMP}",
    ]
    # It is so in the published rota, to which everything else keeps.
    rota = json.loads(pond.ok("rota enclosures.toml --weeks 2 --format json"))
    assert [(r["date"], [job["job"] for job in r["jobs"]]) for r in rota["rounds"]] == [
        ("2026-12-12", ["pump", "pane"]),
        ("2026-12-17", ["pump"]),
    ]
    way.nothing_written(lambda: pond.sync(way.url))


@pytest.mark.parametrize(
    ("title", "days", "why"),
    [
        (PUMP, +1, "Noor does not come on a Friday (11 December 2026)"),
        (PUMP, +5, "its window is 7 December 2026 to 12 December 2026"),
        (PUMP, -4, "6 December 2026 is over"),
    ],
)
def test_otherwise_it_is_put_back_and_said_why(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone, title: str, days: int, why: str
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    before = phone.listed(OWN)
    phone.change(OWN, title, moved(days))
    said = pond.sync(way.url)
    assert flat(said) == (
        f"rinse the pump, Thursday 10 December 2026: stays on its day: {why} "
        "Noor – rounds, Alder Row to-dos: 0 put, 1 changed, 0 taken away, 2 unchanged"
    )
    assert phone.listed(OWN) == before


def test_a_day_that_is_full_takes_nothing_more(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(ALONE.replace("minutes = 45", "minutes = 35"))
    pond.sync(way.url)
    phone.change(OWN, PUMP, moved(+2))
    said = pond.sync(way.url)
    assert "stays on its day: Noor has 35 min on 12 December 2026 and would need 40 Noor" in flat(said)


def test_of_two_that_are_moved_to_one_day_it_takes_what_it_holds(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE.replace("minutes = 45", "minutes = 35"))
    pond.sync(way.url)
    assert phone.listed(OWN)[1:] == [f"2026-12-12 18:30 {PANE}", f"2026-12-17 07:30 {PUMP}"]
    phone.change(OWN, PANE, moved(+2))
    phone.change(OWN, PUMP, moved(-3), 1)
    said = flat(pond.sync(way.url))
    assert "brush the pane: 12 December 2026 -> Monday 14 December 2026" in said
    assert "stays on its day: Noor has 35 min on 14 December 2026 and would need 40" in said


def test_a_round_more_than_somebody_wants_in_a_week_is_none(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE.replace("minutes = 45", "minutes = 45\nrounds_a_week = 1"))
    pond.sync(way.url)
    assert phone.listed(OWN)[0].startswith("2026-12-12 07:30") and phone.listed(OWN)[1].startswith(
        "2026-12-12"
    )
    phone.change(OWN, PUMP, moved(-2))
    said = pond.sync(way.url)
    assert "Noor has 1 of 1 rounds in the week of 10 December 2026 already" in flat(said)


def test_ticked_and_moved_is_ticked(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    def both(entry: Component) -> None:
        moved(+2)(entry)
        ticked("2026-12-07 08:00")(entry)

    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, both)
    said = pond.sync(way.url)
    assert "->" not in said and "stays" not in said
    assert pond.log() == ["2026-12-07 08:00 pump noor"]


def test_another_hour_of_the_day_is_left_as_it_is(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    def later(entry: Component) -> None:
        del entry["DUE"]
        entry.add("DUE", dt.datetime(2026, 12, 10, 20, 0, tzinfo=DUBLIN))

    pond.describe(ALONE)
    pond.sync(way.url)
    path = phone.change(OWN, PUMP, later)
    text = phone.ask("GET", path)[1]
    way.nothing_written(lambda: pond.sync(way.url))
    assert phone.ask("GET", path)[1] == text


def test_without_keepers_the_window_alone_decides_and_the_day_is_kept(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(NOBODY)
    pond.sync(way.url)
    assert phone.collections() == ["alder-row"]
    assert phone.listed("alder-row") == [
        f"2026-12-09 07:30 {PUMP}",
        f"2026-12-13 18:30 {PANE}",
        f"2026-12-16 07:30 {PUMP}",
    ]
    phone.change("alder-row", PUMP, moved(+2))
    phone.change("alder-row", PANE, moved(+3))
    said = pond.sync(way.url)
    assert "rinse the pump: 9 December 2026 -> Friday 11 December 2026\n" in said
    assert "stays on its day: its window is 11 December 2026 to 15 December 2026" in flat(said)
    day_after = [
        f"2026-12-11 07:30 {PUMP}",
        f"2026-12-13 18:30 {PANE}",
        f"2026-12-16 07:30 {PUMP}",
    ]
    assert phone.listed("alder-row") == day_after
    for today in ("2026-12-08", "2026-12-10", "2026-12-11"):
        pond.sync(way.url, today=today, weeks=1)
        assert phone.listed("alder-row")[0] == day_after[0], today
