"""What a log promises, the same for SQLite and PostgreSQL: nothing lost, nothing doubled, nothing changed."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import psycopg
import pytest
import sqlalchemy as sa
from support.logged import DAY, NOW, SITE, done, reading, take_back, told

from scheduler.errors import UsageError
from scheduler.history import Entry, Looks
from scheduler.log import Log, open_log, recent
from scheduler.log.tables import entry as table

YESTERDAY = DAY - dt.timedelta(1)


@pytest.fixture
def log(url: str) -> Iterator[Log]:
    with open_log(url) as opened:
        yield opened


def brief(entries: Iterator[Entry]) -> list[tuple[object, ...]]:
    """Return entries as: number, kind, name, turn, and whether taken back."""
    return [(e.number, e.kind, e.name, e.turn, e.voided) for e in entries]


# --- recording ---


def test_an_entry_comes_back_as_it_was_recorded(log: Log, url: str) -> None:
    full = reading(
        "weight",
        481.25,
        of="fern",
        time=dt.time(7, 45),
        given="481.25 g",
        keeper="Noor",
        title="Weigh Fern",
        minutes=5,
        note="ate well",
    )
    bare = done()
    assert log.record(SITE, [full, bare]) == [
        (replace(full, number=1), True),
        (replace(bare, number=2), True),
    ]
    with open_log(url, create=False) as again:
        assert list(again.entries(SITE)) == [replace(full, number=1), replace(bare, number=2)]


def test_a_job_counts_once_for_a_day(log: Log) -> None:
    first = done(keeper="Noor")
    log.record(SITE, [first])
    later = done(
        keeper="Sam", note="again?", time=dt.time(20), value=0.5, recorded=NOW + dt.timedelta(hours=1)
    )
    assert log.record(SITE, [later]) == [(replace(first, number=1), False)]
    others = [done(day=YESTERDAY), done(enclosure="rush"), done("top-up"), done(of="big")]
    assert [new for _, new in log.record(SITE, others)] == [True] * 4
    assert [new for _, new in log.record("other-site", [first])] == [True]


def test_the_same_entry_twice_in_one_go_counts_once(log: Log) -> None:
    assert [(e.number, new) for e, new in log.record(SITE, [done(), done()])] == [(1, True), (1, False)]


def test_again_records_the_next_turn(log: Log) -> None:
    log.record(SITE, [done(), reading("ph", 7.4)])
    found = log.record(SITE, [done(), done(), reading("ph", 7.4)], again=True)
    assert [(e.number, e.turn, new) for e, new in found] == [(3, 1, True), (4, 2, True), (5, 1, True)]


def test_a_reading_is_the_same_when_hour_and_value_are(log: Log) -> None:
    morning = dt.time(7, 30)
    table = [
        # value, hour -> turn, new
        (35.0, None, 0, True),
        (35.0, None, 0, False),
        (30.0, None, 1, True),
        (35.0, morning, 2, True),
        (35.0, morning, 2, False),
        (30.0, None, 1, False),
    ]
    found = [log.record(SITE, [reading("nitrate", value, time=time)])[0] for value, time, _, _ in table]
    assert [(e.value, e.time, e.turn, new) for e, new in found] == table


def test_a_note_is_the_same_when_its_words_are(log: Log) -> None:
    """It has no value; a double tap is one note whatever the minute, and two notes of one minute are two."""
    eye, shell = (
        Entry(
            kind="reading",
            enclosure="sedge",
            name="note",
            day=DAY,
            time=dt.time(9, 1),
            note=words,
            recorded=NOW,
        )
        for words in ("left eye swollen", "shell soft")
    )
    later = replace(eye, time=dt.time(9, 2))
    assert [new for _, new in log.record(SITE, [eye, later, shell])] == [True, False, True]
    assert [e.note for e in log.entries(SITE)] == ["left eye swollen", "shell soft"]
    log.void_all(SITE, [e.uid(SITE) for e in log.entries(SITE)], keeper="noor", recorded=NOW)
    assert [new for _, new in log.record(SITE, [eye])] == [True]


def test_what_is_taken_back_together_is_taken_back_as_a_whole_or_not_at_all(log: Log) -> None:
    (first, _), (second, _) = log.record(SITE, [done(), reading("nitrate", 20.0)])
    with pytest.raises(UsageError, match="has no entry"):
        log.void_all(SITE, [first.uid(SITE), "nothing"], keeper="", recorded=NOW)
    assert not any(e.voided for e in log.entries(SITE))
    for _ in range(2):
        log.void_all(SITE, [first.uid(SITE), second.uid(SITE)], keeper="", recorded=NOW)
    assert [(e.kind, e.voided) for e in log.entries(SITE)] == [
        ("done", True), ("reading", True), ("void", False), ("void", False),
    ]  # fmt: skip


def test_notes_of_two_machines_are_both_there_after_they_were_joined(log: Log) -> None:
    """Recorded in the same minute at the same tank they have one identity: the one that comes later gets the next turn."""
    here, there = (
        Entry(
            kind="reading", enclosure="sedge", name="note", day=DAY, time=dt.time(9), note=words, recorded=NOW
        )
        for words in ("left eye swollen", "shell soft")
    )
    log.record(SITE, [here])
    assert log.join(SITE, [there, here]) == (1, 1)
    assert log.join(SITE, [there, here]) == (0, 2)
    assert [(e.note, e.turn) for e in log.entries(SITE)] == [("left eye swollen", 0), ("shell soft", 1)]


def test_a_batch_is_recorded_as_a_whole_or_not_at_all(log: Log) -> None:
    with pytest.raises(UsageError):
        log.record(SITE, [done(), done("top-up", note="x" * 10_001)])
    assert list(log.entries(SITE)) == []


# --- a note that comes later ---


def test_an_entry_is_given_another_note(log: Log) -> None:
    """As anything is changed in the log: it is taken back, and there again; who did it, and how long it took, stays."""
    [(entry, _)] = log.record(SITE, [done(keeper="sam", note="all ate", time=dt.time(7, 30), value=0.5)])
    later = NOW + dt.timedelta(hours=1)
    new = log.annotate(SITE, entry.uid(SITE), "all ate | swollen eye", keeper="noor", recorded=later)
    assert new == replace(entry, note="all ate | swollen eye", turn=1, recorded=later, number=3, voided=False)
    first, taking, last = log.entries(SITE)
    assert (first.note, first.voided) == ("all ate", True)
    assert (taking.kind, taking.keeper, taking.voids) == ("void", "noor", entry.uid(SITE))
    assert last == new
    # What does not stand is given none: there was somebody else, or it was taken back.
    assert log.annotate(SITE, entry.uid(SITE), "again", keeper="noor", recorded=later) is None
    assert log.annotate(SITE, taking.uid(SITE), "again", keeper="noor", recorded=later) is None
    assert log.annotate("other-site", last.uid(SITE), "again", keeper="noor", recorded=later) is None
    with pytest.raises(UsageError):
        log.annotate(SITE, last.uid(SITE), "x" * 10_001, keeper="noor", recorded=later)
    assert len(list(log.entries(SITE))) == 3


# --- taking back ---


def test_what_is_taken_back_stays_and_can_be_recorded_anew(log: Log) -> None:
    [(entry, _)] = log.record(SITE, [done(of="big")])
    taking, new = log.void(SITE, entry.uid(SITE), keeper="Sam", note="wrong tank", recorded=NOW)
    assert new
    assert taking == Entry(
        kind="void",
        enclosure="sedge",
        name="water-change",
        of="big",
        day=DAY,
        keeper="Sam",
        note="wrong tank",
        recorded=NOW,
        voids=entry.uid(SITE),
        number=2,
    )
    assert [new for _, new in log.record(SITE, [done(of="big")])] == [True]
    assert brief(log.entries(SITE)) == [
        (1, "done", "water-change", 0, True),
        (2, "void", "water-change", 0, False),
        (3, "done", "water-change", 1, False),
    ]


def test_taking_back_twice_is_harmless(log: Log) -> None:
    [(entry, _)] = log.record(SITE, [done()])
    first, _ = take_back(log, entry)
    assert take_back(log, entry) == (first, False)
    assert len(list(log.entries(SITE))) == 2


def test_only_an_entry_of_the_site_can_be_taken_back(log: Log) -> None:
    [(entry, _)] = log.record(SITE, [done()])
    taking, _ = take_back(log, entry)
    with pytest.raises(UsageError, match="takes another one back; record that one anew"):
        take_back(log, taking)
    with pytest.raises(UsageError, match=r'no entry "[0-9a-f-]{36}" of this site'):
        log.void("other", entry.uid(SITE), keeper="", note="", recorded=NOW)
    assert len(list(log.entries(SITE))) == 2


def test_first_and_latest_are_of_what_stands(log: Log) -> None:
    assert (log.first(SITE), log.latest(SITE)) == (None, None)
    found = [log.record(SITE, [done(name)])[0][0] for name in ("top-up", "feed", "wipe-down", "lamp-clean")]
    log.record("other-site", [done()])
    take_back(log, found[0])
    take_back(log, found[3])
    assert (log.first(SITE), log.latest(SITE)) == (found[1], found[2])
    take_back(log, found[2])
    assert log.latest(SITE) == found[1]


def test_a_clock_that_was_set_back_changes_neither_order_nor_what_counts(log: Log) -> None:
    log.record(SITE, [done("feed", recorded=NOW)])
    log.record(SITE, [done("top-up", recorded=NOW - dt.timedelta(days=4000))])
    assert [e.name for e in log.entries(SITE)] == ["feed", "top-up"]
    latest = log.latest(SITE)
    assert latest is not None
    assert latest.name == "top-up"
    assert log.record(SITE, [done("feed", recorded=NOW - dt.timedelta(days=9))])[0][1] is False


# --- asking ---


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        ({}, [1, 2, 3, 4, 5, 6]),
        ({"since": DAY}, [2, 3, 4, 6]),
        ({"until": YESTERDAY}, [1, 5]),
        ({"since": YESTERDAY, "until": YESTERDAY}, [1, 5]),
        ({"enclosure": "rush"}, [3]),
        ({"names": ["feed", "ph"]}, [1, 4, 5]),
        ({"names": []}, []),
        ({"keeper": "Sam"}, [3, 5]),
        ({"kind": "reading"}, [4]),
        ({"kind": "void"}, [5]),
        ({"voided": False}, [2, 3, 4, 6]),
        ({"last": 2}, [5, 6]),
        ({"last": 2, "voided": False}, [4, 6]),
        ({"last": 0}, []),
        ({"after": 3}, [4, 5, 6]),
        ({"after": 3, "voided": False}, [4, 6]),
        ({"after": 6}, []),
        ({"last": 99, "kind": "done", "since": DAY}, [2, 3, 6]),
    ],
)
def test_filters(log: Log, wanted: dict[str, object], numbers: list[int]) -> None:
    [(feed, _)] = log.record(SITE, [done("feed", day=YESTERDAY, keeper="Noor")])
    log.record(SITE, [done("top-up"), done("top-up", enclosure="rush", keeper="Sam"), reading("ph", 7.4)])
    log.void(SITE, feed.uid(SITE), keeper="Sam", note="", recorded=NOW)
    log.record(SITE, [done("wipe-down")])
    log.record("other-site", [done("feed")])
    assert [e.number for e in log.entries(SITE, **wanted)] == numbers  # type: ignore[arg-type]


@contextmanager
def cursors() -> Iterator[list[Any]]:
    """Note the driver's cursor of each statement."""
    noted: list[Any] = []

    def note(_connection: sa.Connection, cursor: Any, *_: object) -> None:
        noted.append(cursor)

    sa.event.listen(sa.Engine, "after_cursor_execute", note)
    try:
        yield noted
    finally:
        sa.event.remove(sa.Engine, "after_cursor_execute", note)


def test_entries_are_streamed(log: Log) -> None:
    """Whoever has read one of 10,000 entries has not fetched the last ones: a million take no memory."""
    log.join(SITE, (done("feed", turn=n) for n in range(10_000)))
    with cursors() as noted:
        reader = log.entries(SITE)
        assert next(reader).turn == 0
    # psycopg's other cursors have the whole answer in memory before the first row is given.
    assert isinstance(noted[-1], sqlite3.Cursor | psycopg.ServerCursor)
    there = [column[0] for column in noted[-1].description].index("turn")
    assert noted[-1].fetchone()[there] <= 1000
    reader.close()  # type: ignore[attr-defined]
    assert [entry.turn for entry in log.entries(SITE)] == list(range(10_000))


def test_a_reader_that_stops_early_leaves_nothing_open(log: Log) -> None:
    log.join(SITE, (done("feed", turn=n) for n in range(3000)))
    reader = log.entries(SITE)
    assert next(reader).turn == 0
    reader.close()  # type: ignore[attr-defined]
    assert log.record(SITE, [done("top-up")])[0][1]


def test_a_history_is_read_as_of_one_moment(log: Log, url: str) -> None:
    """What somebody records between two of its questions is in no answer."""
    log.record(SITE, [done("feed", day=YESTERDAY)])
    looks = Looks(all_done=YESTERDAY, readings={"ph": YESTERDAY})
    with log.reading() as connection:
        assert connection is not None
        assert connection.execute(sa.select(sa.func.count()).select_from(table)).scalar() == 1
        with open_log(url) as other:
            other.record(SITE, [done("feed"), reading("ph", 7.4)])
        found = recent.history(connection, SITE, DAY, looks, enclosures=None, begun=None)
    assert found.last == {("sedge", "feed", ""): YESTERDAY}
    assert [e.day for e in found.done("sedge")] == [YESTERDAY]
    assert found.measured("sedge") == ()
    assert log.history(SITE, DAY, looks).last == {("sedge", "feed", ""): DAY}


def test_history(log: Log) -> None:
    def ago(days: int) -> dt.date:
        return DAY - dt.timedelta(days)

    log.record(
        SITE,
        [
            *(done("water-change", day=ago(days)) for days in (200, 100, 40, 12)),
            *(
                done("vet-check", of=of, day=ago(days))
                for of, days in (("fern", 300), ("moss", 290), ("fern", 30))
            ),
            *(done("feed", enclosure="rush", day=ago(days)) for days in (61, 60, 2, 0)),
            *(reading("nitrate", 20.0 + days, day=ago(days)) for days in (130, 120, 5)),
            *(reading("weight", 480.0, of="fern", day=ago(days)) for days in (120, 5)),
            *(reading("ph", 7.4, day=ago(days)) for days in (5,)),
            done("feed", enclosure="rush", day=DAY + dt.timedelta(1)),
            done("never-stood", day=ago(3)),
        ],
    )
    for name, day in (("water-change", ago(12)), ("never-stood", ago(3)), ("nitrate", ago(5))):
        for entry in log.entries(SITE, names=[name], since=day, until=day):
            take_back(log, entry)

    looks = Looks(
        done={"water-change": ago(150)}, readings={"nitrate": ago(120), "weight": ago(60)}, all_done=ago(60)
    )
    found = log.history(SITE, DAY, looks, begun=ago(300))
    assert found.begun == ago(300)
    assert found.last == {
        ("sedge", "water-change", ""): ago(40),
        ("sedge", "vet-check", "fern"): ago(30),
        ("sedge", "vet-check", "moss"): ago(290),
        ("rush", "feed", ""): DAY,
    }
    assert [(e.name, e.of, e.day) for e in found.done("sedge")] == [
        ("water-change", "", ago(100)),
        ("water-change", "", ago(40)),
        ("vet-check", "fern", ago(30)),
    ]
    assert [e.day for e in found.done("rush")] == [ago(60), ago(2), DAY]
    assert [(e.name, e.value, e.day) for e in found.measured("sedge")] == [
        ("nitrate", 140.0, ago(120)),
        ("weight", 480.0, ago(5)),
    ]
    # Of one enclosure it tells the same, and nothing of the others.
    of_rush = log.history(SITE, DAY, looks, ["rush"], begun=ago(300))
    assert told(of_rush, "rush", "sedge") == {
        "begun": ago(300),
        "last": {("rush", "feed", ""): DAY},
        "done": {"rush": tuple(found.done("rush")), "sedge": ()},
        "readings": {"rush": (), "sedge": ()},
    }
    assert log.history(SITE, DAY, looks, []).last == {}
    # A plan of an earlier day sees what was there then.
    assert log.history(SITE, ago(61), Looks()).last == {
        ("sedge", "water-change", ""): ago(100),
        ("sedge", "vet-check", "fern"): ago(300),
        ("sedge", "vet-check", "moss"): ago(290),
        ("rush", "feed", ""): ago(61),
    }


# --- export and import ---


def recorded(log: Log) -> list[Entry]:
    [(entry, _)] = log.record(SITE, [done("feed")])
    log.record(SITE, [reading("nitrate", 35.0), reading("nitrate", 30.0), done("top-up", note='"a", b\n')])
    take_back(log, entry)
    log.record(SITE, [done("feed"), done("top-up")], again=True)
    return list(log.entries(SITE))


def test_an_export_comes_back_as_it_was(log: Log, tmp_path_factory: pytest.TempPathFactory) -> None:
    exported = recorded(log)
    with open_log(f"sqlite:///{tmp_path_factory.mktemp('other')}/log.db") as other:
        assert other.join(SITE, iter(exported)) == (7, 0)
        assert list(other.entries(SITE)) == exported
        assert other.join(SITE, exported) == (0, 7)
    assert log.join(SITE, exported) == (0, 7)
    assert list(log.entries(SITE)) == exported


def test_the_logs_of_two_machines_become_one(log: Log, tmp_path_factory: pytest.TempPathFactory) -> None:
    """What both recorded counts once; two values of one day both stay, whichever machine they are from."""
    log.record(SITE, [done("feed", keeper="Noor"), reading("nitrate", 30.0), reading("ph", 7.4)])
    with open_log(f"sqlite:///{tmp_path_factory.mktemp('other')}/log.db") as other:
        other.record(SITE, [done("feed", keeper="Sam"), reading("nitrate", 35.0), reading("ph", 7.4)])
        wrong = next(other.entries(SITE, names=["nitrate"]))
        take_back(other, wrong)
        other.record(SITE, [reading("nitrate", 35.0)])
        theirs = list(other.entries(SITE))
    assert log.join(SITE, theirs) == (3, 2)
    both = [(e.name, e.kind, e.value, e.turn, e.voided, e.keeper) for e in log.entries(SITE)]
    assert both == [
        ("feed", "done", None, 0, False, "Noor"),
        ("nitrate", "reading", 30.0, 0, False, ""),
        ("ph", "reading", 7.4, 0, False, ""),
        ("nitrate", "reading", 35.0, 1, True, ""),
        ("nitrate", "void", None, 0, False, "Noor"),
        ("nitrate", "reading", 35.0, 2, False, ""),
    ]
    assert log.join(SITE, theirs) == (0, 5)


def test_an_export_that_somebody_sorted_comes_back(log: Log) -> None:
    exported = recorded(log)
    assert log.join(
        "copy", [replace(e, voids=done("feed").uid("copy")) if e.voids else e for e in exported[::-1]]
    ) == (7, 0)
    assert {(e.name, e.turn) for e in log.entries("copy") if e.voided} == {("feed", 0)}


def test_an_import_that_takes_back_what_is_nowhere_leaves_the_log_as_it_was(log: Log) -> None:
    lost = Entry(
        kind="void", enclosure="sedge", name="feed", day=DAY, recorded=NOW, voids=done("feed").uid(SITE)
    )
    with pytest.raises(UsageError) as raised:
        log.join(SITE, [done("top-up"), lost])
    assert str(raised.value) == (
        'an entry of 2026-12-01 for "feed" takes back one that is neither in the import nor in the log; '
        "import a whole export of this site"
    )
    assert list(log.entries(SITE)) == []


def test_an_import_cannot_take_back_a_taking_back(log: Log) -> None:
    [(entry, _)] = log.record(SITE, [done("feed")])
    taking, _ = take_back(log, entry)
    with pytest.raises(UsageError, match="import a whole export of this site"):
        log.join(SITE, [replace(taking, voids=taking.uid(SITE))])
    assert len(list(log.entries(SITE))) == 2


def test_an_import_that_breaks_off_leaves_the_log_as_it_was(log: Log) -> None:
    def broken() -> Iterator[Entry]:
        yield from (done("feed", turn=n) for n in range(1200))
        raise UsageError("line 1201 is no entry")

    with pytest.raises(UsageError, match="line 1201"):
        log.join(SITE, broken())
    assert list(log.entries(SITE)) == []


def test_a_gap_in_the_turns_is_no_obstacle(log: Log) -> None:
    log.join(SITE, [done("feed", turn=3)])
    assert log.record(SITE, [done("feed")], again=True)[0][0].turn == 4


# --- texts ---

TEXTS = [
    "'; DROP TABLE entry; --",
    'Robert"); DELETE FROM entry WHERE ("1"="1',
    "%s %(name)s :name ? ?1 $1 {0} {} \\",
    "line\nline\r\n\ttab",
    "🐢 Schildkröte черепаха カメ e\u0301 \u202e \ufeff",
    " outer spaces ",
    "",
]


@pytest.mark.parametrize("text", TEXTS)
def test_texts_are_stored_as_they_are_and_never_obeyed(log: Log, text: str) -> None:
    log.record(SITE, [done("feed")])
    entry = done(text, enclosure=text, of=text, keeper=text, title=text, note=text, given=text)
    log.record(text, [entry])
    assert list(log.entries(text, enclosure=text, names=[text], keeper=text)) == [replace(entry, number=2)]
    assert log.history(text, DAY, Looks(all_done=DAY), [text]).last == {(text, text, text): DAY}
    log.void(text, entry.uid(text), keeper=text, note=text, recorded=NOW)
    assert log.latest(text) is None
    assert len(list(log.entries(SITE))) == 1


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        (done(note="x" * 10_001), "the note has 10,001 characters; write at most 10,000"),
        (done(keeper="x" * 501), "the keeper has 501 characters; write at most 500"),
        (done("x" * 201), "the name has 201 characters; write at most 200"),
        (done(note="a\0b"), "the note holds U+0000, which is no text; leave it out"),
        (done(note="a\ud800b"), "the note holds U+D800, which is no text; leave it out"),
        (reading("ph", float("nan")), "found nan as the value of ph; write a number"),
        (reading("ph", float("inf")), "found inf as the value of ph; write a number"),
        (done(minutes=-1), "found minutes = -1; write a number from 0 to 100000"),
        (done(turn=10**9), "found turn = 1000000000; write a number from 0 to 1000000"),
    ],
)
def test_what_not_every_database_keeps_is_refused(log: Log, entry: Entry, message: str) -> None:
    for attempt in (log.record, log.join):
        with pytest.raises(UsageError) as raised:
            attempt(SITE, [entry])
        assert str(raised.value) == message
    assert list(log.entries(SITE)) == []


def test_the_longest_texts_and_the_rarest_numbers_are_kept(log: Log) -> None:
    wide = "\U0001f422" * 200
    entry = reading(
        wide, 1e-308, enclosure=wide, of=wide, note="\U0001f422" * 10_000, keeper="k" * 500, minutes=100_000
    )
    days = [dt.date.min, dt.date.max]
    entries = [
        replace(entry, day=day, recorded=NOW.replace(year=1), time=dt.time(23, 59, 59, 999_999))
        for day in days
    ]
    log.record(wide, entries)
    assert [replace(e, number=0) for e in log.entries(wide)] == entries


def test_a_filter_that_is_no_text_is_refused(log: Log) -> None:
    for wanted in ({"keeper": "a\0"}, {"names": ["\ud800"]}, {"enclosure": "x" * 501}):
        with pytest.raises(UsageError):
            list(log.entries(SITE, **wanted))  # type: ignore[arg-type]


def test_a_time_with_a_zone_is_a_slip_of_the_caller(log: Log) -> None:
    with pytest.raises(ValueError, match="without zone"):
        log.record(SITE, [done(recorded=NOW.replace(tzinfo=dt.UTC))])


def test_an_entry_that_takes_back_is_not_recorded_by_hand(log: Log) -> None:
    with pytest.raises(ValueError, match="void"):
        log.record(SITE, [replace(done(), kind="void", voids="x")])
