"""What every log answers, in SQLite and PostgreSQL: filters, streams, and the history of one moment."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
import sqlalchemy as sa
from support.logged import DAY, NOW, SITE, done, reading, take_back, told

from scheduler.history import Looks
from scheduler.log import Log, open_log, recent
from scheduler.log.tables import entry as table

YESTERDAY = DAY - dt.timedelta(1)


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
