"""What every log does with entries, in SQLite and PostgreSQL: recorded once, given another note, taken back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

import pytest
from support.logged import DAY, NOW, SITE, done, reading, take_back

from scheduler.errors import UsageError
from scheduler.history import Entry
from scheduler.log import Log, open_log

YESTERDAY = DAY - dt.timedelta(1)


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
