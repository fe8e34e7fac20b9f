"""What stands in the way of a sync: things deleted, cancelled, damaged, of others, or at another address."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from icalendar import Alarm, Component, vRecur
from support.caldav_servers import Caldav, Phone, Way
from support.ponds import ALONE, Pond, flat, moved, ticked
from support.row import FOREIGN, OWN, PANE, PUMP, phone, way

__all__ = ["phone", "way"]
pytestmark = pytest.mark.server


def test_what_is_deleted_or_cancelled_there_is_put_back(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    def cancel(entry: Component) -> None:
        entry["STATUS"] = "CANCELLED"

    pond.describe(ALONE)
    pond.sync(way.url)
    before = phone.listed(OWN)
    path = phone.change(OWN, PANE, cancel)
    (gone, _) = [p for p in phone.paths(f"{caldav.home}{OWN}/") if p != path]
    phone.ask("DELETE", gone)
    said = pond.sync(way.url)
    assert said.count("was deleted or cancelled") == 2
    assert "is put back: a job is not done by deleting it" in flat(said)
    assert "1 put, 1 changed, 0 taken away, 1 unchanged" in said
    assert phone.listed(OWN) == before


def test_what_others_put_there_is_never_touched(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(ALONE)
    phone.make("shared", "Everything & more")
    for name, text in FOREIGN.items():
        assert phone.put("shared", name, text) == 201
    before = {name: phone.texts("shared")[name] for name in FOREIGN}
    collection = '--collection "Everything & more"'
    pond.sync(way.url, collection)
    phone.change("shared", PUMP, ticked("2026-12-07 08:00"))
    phone.change("shared", PANE, moved(+2))
    pond.sync(way.url, collection)
    pond.sync(way.url, collection, today="2027-03-08")
    pond.describe(ALONE.replace("[[enclosure]]", "[[enclosure]]\nroom = 'hall'"))
    pond.sync(way.url, collection, today="2027-03-08")
    texts = phone.texts("shared")
    assert {name: texts[name] for name in FOREIGN} == before
    # One tick: what somebody else's to-do claims of itself is nobody's work.
    assert len(pond.log()) == 1


def test_what_is_no_calendar_is_passed_over(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    assert phone.put(OWN, "party.ics", FOREIGN["party.ics"]) == 201
    caldav.damage(f"{caldav.home}{OWN}/party.ics", "BEGIN:VCALENDAR\r\nthis is no calendar\r\n")
    phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))
    pond.sync(way.url)
    assert pond.log() == ["2026-12-07 08:00 pump noor"]
    way.nothing_written(lambda: pond.sync(way.url))


def test_ours_that_became_unreadable_is_written_anew_and_its_tick_counts(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    """As a server keeps it that takes whatever it is given."""
    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))
    phone.change(OWN, PANE, lambda entry: entry.add("PRIORITY", 1))
    way.reword = lambda method, text: re.sub("DUE[^:]*:[0-9T]+", "DUE:the day after", text)
    said = pond.sync(way.url)
    assert pond.log() == ["2026-12-07 08:00 pump noor"]
    assert "brush the pane, Saturday 12 December 2026: could not be read there, and is written anew" in flat(
        said
    )
    assert f"2026-12-10 07:30 {PUMP} done" in phone.listed(OWN)
    way.nothing_written(lambda: pond.sync(way.url))


def test_what_a_server_does_not_give_is_left_alone(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    """Radicale leaves a file out that is no calendar; Xandikos lists it, and fails when it is asked for."""
    pond.describe(ALONE)
    pond.sync(way.url)
    for name in phone.entries(OWN):
        caldav.damage(f"{caldav.home}{OWN}/{name}", "BEGIN:VCALENDAR\r\nno calendar\r\n")
    said = flat(pond.sync(way.url))
    if caldav.kind == "radicale":
        assert "3 put, 0 changed" in said and len(phone.entries(OWN)) == 3
    else:
        # A tick may be in it, so that nothing is written over it.
        assert said.count("is left alone: the server does not give it (status 500)") == 3
    way.nothing_written(lambda: pond.sync(way.url))


def test_something_else_in_the_place_of_ours_is_left_alone(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    name = min(phone.entries(OWN))
    path = f"{caldav.home}{OWN}/{name}"
    phone.ask("DELETE", path)
    assert phone.put(OWN, name, FOREIGN["party.ics"]) == 201
    before = phone.ask("GET", path)[1]
    said = pond.sync(way.url)
    assert "is left alone: something else stands in its place" in flat(said)
    assert phone.ask("GET", path)[1] == before


def test_what_a_program_keeps_at_another_address_is_found_there(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    pond.describe(ALONE)
    pond.sync(way.url)
    for name, text in phone.texts(OWN).items():
        phone.ask("DELETE", f"{caldav.home}{OWN}/{name}")
        assert phone.put(OWN, f"moved-{name}", text) == 201
    phone.change(OWN, PUMP, ticked("2026-12-07 08:00"))
    said = pond.sync(way.url)
    assert said == (
        "Sedge: rinse the pump, done on 7 December 2026, 08:00.\n"
        "  next on Wednesday 16 December 2026\n"
        "Noor – rounds, Alder Row to-dos: 0 put, 0 changed, 0 taken away, 3 unchanged\n"
    )
    assert len(phone.texts(OWN)) == 3


def test_at_another_address_it_is_moved_and_cancelled_as_well(
    pond: Pond, caldav: Caldav, way: Way, phone: Phone
) -> None:
    def cancel(entry: Component) -> None:
        entry["STATUS"] = "CANCELLED"

    pond.describe(ALONE)
    pond.sync(way.url)
    phone.change(OWN, PUMP, moved(+2))
    phone.change(OWN, PANE, cancel)
    for name, text in phone.texts(OWN).items():
        phone.ask("DELETE", f"{caldav.home}{OWN}/{name}")
        assert phone.put(OWN, f"moved-{name}", text) == 201
    said = pond.sync(way.url)
    assert "0 put, 2 changed, 0 taken away, 1 unchanged" in said
    assert phone.listed(OWN) == [
        f"2026-12-12 07:30 {PUMP}",
        f"2026-12-12 18:30 {PANE}",
        f"2026-12-17 07:30 {PUMP}",
    ]
    way.nothing_written(lambda: pond.sync(way.url))


def test_what_others_add_to_ours_stays_in_it(pond: Pond, caldav: Caldav, way: Way, phone: Phone) -> None:
    def add(entry: Component) -> None:
        alarm = Alarm.new_display("Net!", dt.timedelta(minutes=-30))
        entry.add_component(alarm)
        entry.add("X-COLOUR-OF-NET", "green")
        entry.add("PRIORITY", 2)
        entry.add("RRULE", vRecur(freq="daily"))
        entry.add("ATTENDEE", "mailto:ben@example.org")
        entry["SEQUENCE"] = 7
        entry["LAST-MODIFIED"].dt = dt.datetime(2099, 1, 1, tzinfo=dt.UTC)

    pond.describe(ALONE)
    pond.sync(way.url)
    path = phone.change(OWN, PUMP, add)
    theirs = phone.ask("GET", path)[1]
    asked = way.nothing_written(lambda: pond.sync(way.url))
    # Once it was looked at it is not fetched again.
    assert way.nothing_written(lambda: pond.sync(way.url)) == asked - 1
    assert phone.ask("GET", path)[1] == theirs
    # Ours is written again when what we have to say changes.
    pond.describe(ALONE.replace('name = "Sedge"', 'name = "Sedge"\nroom = "hall"'))
    pond.sync(way.url)
    entry = phone.entries(OWN)[path.rpartition("/")[2]]
    assert str(entry["LOCATION"]) == "hall, Sedge, Alder Row"
    assert str(entry["X-COLOUR-OF-NET"]) == "green" and entry["PRIORITY"] == 2
    assert [str(part["DESCRIPTION"]) for part in entry.subcomponents] == ["Net!"]
    assert "RRULE" not in entry and "ATTENDEE" not in entry
    assert int(entry["SEQUENCE"]) == 8
    # A stamp that is not to be believed is not surpassed.
    assert entry["LAST-MODIFIED"].dt < dt.datetime(2026, 12, 8, tzinfo=dt.UTC)
