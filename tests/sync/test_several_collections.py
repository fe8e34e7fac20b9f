"""Several keepers, a collection each: who has which to-do, what changes hands, and the same as events."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from icalendar import Component
from support.caldav_servers import Caldav, Phone, Way, shown, way_to
from support.ponds import ALONE, NOBODY, TWO, Pond, flat, moved, ticked, unticked
from support.recorded import RECORDED
from support.row import FOREIGN, OWN, PANE, PUMP, phone, way
from support.servers import new_log

from scheduler.log import Published, open_log
from scheduler.rota import Assigned

__all__ = ["phone", "way"]
pytestmark = pytest.mark.server


def test_each_keeper_has_a_collection_and_a_tick_is_of_whose_it_is(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(TWO)
    pond.sync(way.url)
    assert phone.collections() == ["alder-row-ben-ash", "alder-row-noor"]
    own = {name: phone.listed(name) for name in phone.collections()}
    assert sorted(len(some) for some in own.values()) == [1, 2]
    everything = [uid for name in own for uid in phone.texts(name)]
    assert len(everything) == len(set(everything)) == 3
    for name, some in own.items():
        title = some[0].split(" ", 2)[2]
        phone.change(name, title, ticked("2026-12-07 08:00"))
    pond.sync(way.url)
    assert {(line.split()[-1]) for line in pond.log()} == {"ben-ash", "noor"}


def test_the_to_dos_of_a_keeper_who_left_go(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    """What Ben ticked before he left is his still; what he would have done is Noor's, and on nobody else's telephone."""
    pond.describe(TWO.replace('weekdays = ["Wed", "Sun"]', ""))
    pond.ok("rota enclosures.toml --weeks 4 --publish")
    pond.sync(way.url)
    ben = "alder-row-ben-ash"
    mine, *others = phone.listed(ben)
    phone.change(ben, mine.split(" ", 2)[2], ticked("2026-12-07 08:00"))
    assert phone.put(ben, "party.ics", FOREIGN["party.ics"]) == 201

    def ours() -> list[str]:
        return sorted(shown(entry) for name, entry in phone.entries(ben).items() if name != "party.ics")

    pond.describe(ALONE)
    said = flat(pond.sync(way.url))
    assert f"{len(others)} taken away" in said
    assert [line.split()[-1] for line in pond.log()] == ["ben-ash"]
    assert ours() == [f"{mine} done"]
    way.nothing_written(lambda: pond.sync(way.url))
    # When what is done has been there for long enough, nothing of ours is left, and it is no longer looked at.
    pond.sync(way.url, today="2027-02-09")
    assert ours() == [] and "party.ics" in phone.texts(ben)
    assert ben not in pond.sync(way.url, "--format json", today="2027-02-09")


def test_with_the_first_keeper_the_to_dos_of_everybody_go_over(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(NOBODY)
    pond.sync(way.url)
    before = phone.listed("alder-row")
    pond.describe(ALONE)
    assert f"{len(before)} taken away" in flat(pond.sync(way.url))
    assert phone.listed("alder-row") == []
    assert len(phone.listed(OWN)) == len(before)


def test_a_collection_that_was_named_is_not_one_that_somebody_left(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(TWO)
    phone.make("garden")
    pond.sync(way.url, "--keeper Ben --collection garden")
    before = phone.texts("garden")
    pond.sync(way.url)
    assert phone.texts("garden") == before


HEAVY = TWO.replace('"rinse the pump"', '"carry the pump", lift = "30 kg"').replace(
    'weekdays = ["Wed", "Sun"]', 'weekdays = ["Mon", "Tue", "Wed", "Thu", "Sat"]'
)


def test_who_lends_a_hand_has_a_to_do_that_records_nothing(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(HEAVY)
    pond.ok("rota enclosures.toml --weeks 1 --publish")
    pond.sync(way.url, weeks=1)
    lists = {name: phone.listed(name) for name in phone.collections()}
    (helper,) = (name for name, lines in lists.items() if any("Help " in line for line in lines))
    (carrier,) = lists.keys() - {helper}
    (hand,) = (line.split(" ", 2)[2] for line in lists[helper] if "Help " in line)
    (carried,) = (line.split(" ", 2)[2] for line in lists[carrier] if "carry" in line)
    phone.change(helper, hand, ticked("2026-12-07 08:00"))
    pond.sync(way.url, weeks=1)
    way.nothing_written(lambda: pond.sync(way.url, weeks=1))
    assert pond.log() == []
    assert any(line.endswith(f"{hand} done") for line in phone.listed(helper))
    # Unticked, or moved without the job, it is put back.
    phone.change(helper, hand, unticked)
    pond.sync(way.url, weeks=1)
    phone.change(helper, hand, moved(+1))
    assert "stays on its day: a hand is lent on the day of the job" in flat(pond.sync(way.url, weeks=1))
    # With the job it goes.
    phone.change(carrier, carried, ticked("2026-12-07 08:00"))
    pond.sync(way.url, weeks=1)
    assert not any("Help " in line for line in phone.listed(helper))
    assert [line.split()[2] for line in pond.log()] == ["pump"]


def test_what_changes_hands_changes_collections(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(
        TWO.replace('weekdays = ["Wed", "Sun"]', "").replace(
            'weekdays = ["Mon", "Tue", "Wed", "Thu", "Sat"]', ""
        )
    )
    pond.ok("rota enclosures.toml --weeks 2 --publish")
    pond.sync(way.url)
    before = {name: phone.listed(name) for name in phone.collections()}
    giver = max(before, key=lambda name: len(before[name]))
    taker = next(name for name in before if name != giver)
    day = before[giver][0].split()[0]
    names = [name.removeprefix("alder-row-") for name in (giver, taker)]
    pond.ok(f"swap enclosures.toml {day} {names[0]} {names[1]}")
    pond.sync(way.url)
    after = {name: phone.listed(name) for name in phone.collections()}
    moved_ = [line for line in before[giver] if line.startswith(day)]
    assert after[taker] == sorted([*before[taker], *moved_])
    assert after[giver] == [line for line in before[giver] if line not in moved_]


def test_what_is_late_has_its_day_and_one_collection(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    due, day, ben = dt.date(2026, 12, 9), dt.date(2026, 12, 12), "alder-row-ben-ash"
    line = f"2026-12-12 07:30 {PUMP}"
    pond.describe(TWO.replace('weekdays = ["Wed", "Sun"]', ""))
    with open_log(pond.log_url) as log:
        rows = (Assigned("sedge", "pump", "", due, day, "noor"),)
        log.publish("alder-row", Published(dt.date(2026, 12, 7), dt.date(2027, 1, 3), RECORDED, rows))
    pond.sync(way.url)
    assert line in phone.listed(OWN)
    pond.ok("swap enclosures.toml 2026-12-12 noor ben-ash pump", today="2026-12-10")
    pond.sync(way.url, today="2026-12-10")
    assert line in phone.listed(ben) and line not in phone.listed(OWN)
    # Another job begins the record: what fell due before that day is not overdue, and has its day all the same.
    pond.ok("did Sedge pane --by Noor", today="2026-12-11")
    pond.sync(way.url, today="2026-12-11")
    assert line in phone.listed(ben)
    pond.sync(way.url, today="2026-12-13")
    assert line not in phone.listed(ben)


def test_what_is_put_is_published_and_holds_still(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    """As with what a server of feeds shows: somebody ticks, days pass, and nobody's to-dos go to somebody else."""

    def rota(today: str) -> list[tuple[str, str]]:
        made = json.loads(pond.run("rota enclosures.toml --weeks 4 --format json", today=today)[1])
        assert made["changes"] == []
        return [(one["date"], one["keeper"]) for one in made["rounds"]]

    pond.describe(TWO)
    pond.sync(way.url, weeks=4)
    first = rota("2026-12-07")
    assert first[-1][0] > "2026-12-25"
    before = {name: phone.texts(name).keys() for name in phone.collections()}
    for day in ("2026-12-08", "2026-12-09", "2026-12-22"):
        pond.sync(way.url, weeks=4, today=day)
    # Two weeks later less than two weeks are left, and more of it is published; what was there stays.
    assert [one for one in rota("2026-12-22") if one[0] <= "2027-01-03"] == [
        one for one in first if one[0] >= "2026-12-22"
    ]
    with open_log(pond.log_url) as log:
        published = log.published("alder-row")
    assert published is not None and published.last == dt.date(2027, 1, 18)
    for name, uids in before.items():
        others = {uid for other in before if other != name for uid in phone.texts(other)}
        assert not uids & others
    # Who is away gives way, and that is published too.
    pond.describe(TWO.replace('name = "Noor"', 'name = "Noor"\naway = ["2026-12-22/2027-01-10"]'))
    pond.sync(way.url, weeks=4, today="2026-12-22")
    assert {keeper for date, keeper in rota("2026-12-22") if date <= "2027-01-10"} == {"Ben Ash"}


def test_many_weeks_are_published_some_at_a_time(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(ALONE)
    lasts = []
    for today in ("2026-12-07", "2026-12-08", "2026-12-20", "2026-12-22"):
        pond.sync(way.url, weeks=8, today=today)
        with open_log(pond.log_url) as log:
            published = log.published("alder-row")
        assert published is not None
        lasts.append(str(published.last))
    assert lasts == ["2027-01-31", "2027-01-31", "2027-01-31", "2027-02-15"]


def test_as_events_what_is_moved_is_moved_and_what_is_done_says_so(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    def later(entry: Component) -> None:
        start = entry["DTSTART"].dt + dt.timedelta(days=2)
        del entry["DTSTART"]
        entry.add("DTSTART", start)

    pond.describe(NOBODY)
    pond.sync(way.url, "--as events")
    assert phone.collections() == ["alder-row-events"]
    phone.change("alder-row-events", PUMP, later)
    pond.sync(way.url, "--as events")
    pond.ok("did Sedge pane", today="2026-12-11")
    pond.sync(way.url, "--as events", today="2026-12-11", weeks=1)
    way.nothing_written(lambda: pond.sync(way.url, "--as events", today="2026-12-11", weeks=1))
    assert phone.listed("alder-row-events")[:2] == [
        f"2026-12-11 07:30 {PUMP}",
        f"2026-12-13 18:30 Done: {PANE}",
    ]


def test_with_a_log_in_postgresql(
    pond: Pond, radicale: Caldav, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    monkeypatch.setenv("PONDROUND_LOG", new_log("postgresql", request))
    radicale.empty()
    phone = Phone(radicale)
    pond.describe(ALONE)
    with way_to(radicale) as way:
        pond.sync(way.url)
        phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))
        phone.change(OWN, PANE, moved(+2))
        said = pond.sync(way.url)
        assert "12 December 2026 -> Monday 14 December 2026" in said
        assert pond.log() == ["2026-12-07 08:00 pump noor"]
        way.nothing_written(lambda: pond.sync(way.url))
