"""What texts and numbers every log keeps, in SQLite and PostgreSQL: as they are, and never obeyed."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from support.logged import DAY, NOW, SITE, done, reading

from scheduler.errors import UsageError
from scheduler.history import Entry, Looks
from scheduler.log import Log

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
