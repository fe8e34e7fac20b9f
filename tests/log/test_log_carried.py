"""What every log writes and reads again, in SQLite and PostgreSQL: exports, two machines' logs made one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from support.logged import DAY, NOW, SITE, done, reading, take_back

from scheduler.errors import UsageError
from scheduler.history import Entry
from scheduler.log import Log, open_log


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
