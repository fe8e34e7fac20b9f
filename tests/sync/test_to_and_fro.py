"""To-dos to a server and back, as documents: what a keeper sees, what the telephone does, what the log says then.

Every test runs against two servers of different origin. The telephone is plain HTTP and icalendar.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Callable, Iterator

import pytest
from caldav_servers import Caldav, Phone, Way, shown, way_to
from icalendar import Alarm, Component, vRecur
from ponds import ALONE, DUBLIN, NOBODY, TWO, Pond, flat, moved, ticked, unticked
from recorded import RECORDED
from servers import new_log

from scheduler.log import Published, open_log
from scheduler.rota import Assigned

pytestmark = pytest.mark.server

PUMP, PANE = "rinse the pump", "brush the pane"
OWN = "alder-row-noor"


@pytest.fixture
def way(caldav: Caldav) -> Iterator[Way]:
    with way_to(caldav) as made:
        yield made


@pytest.fixture
def phone(caldav: Caldav) -> Phone:
    return Phone(caldav)


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


# --- moved ---


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


# --- what stands in the way ---


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


FOREIGN = {
    "party.ics": (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//somebody//EN\r\nBEGIN:VTODO\r\nUID:party@example.org\r\n"
        "DTSTAMP:20261201T000000Z\r\nSUMMARY:Buy <script>alert(1)</script> cake\r\nSTATUS:COMPLETED\r\n"
        "X-PONDROUND-JOB:sedge/pump//2026-12-09/\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
    ),
    "week.ics": (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//somebody//EN\r\nBEGIN:VEVENT\r\nUID:week@example.org\r\n"
        "DTSTAMP:20261201T000000Z\r\nDTSTART:20261207T100000Z\r\nRRULE:FREQ=WEEKLY\r\nSUMMARY:Choir\r\n"
        "END:VEVENT\r\nEND:VCALENDAR\r\n"
    ),
}


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


# --- the log goes before ---


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


# --- several keepers, collections, events ---


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
