"""Published rotas and the work of each keeper, the same for SQLite and PostgreSQL: the newest holds, none is lost."""

from __future__ import annotations

import base64
import datetime as dt
import itertools
import zlib
from collections import Counter
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.logged import DAY, NOW, SITE, done, reading, take_back

from scheduler.errors import LogError
from scheduler.log import Log, Published, open_log
from scheduler.log.engine import make_engine
from scheduler.log.location import read_url
from scheduler.log.tables import rota as table
from scheduler.rota import Assigned

STEP = dt.timedelta(days=1)
LAST = DAY + 13 * STEP


def task(job: str = "feed", keeper: str = "noor", late: int = 0, **more: str) -> Assigned:
    """Return a task that falls due on DAY and is done `late` days after."""
    return Assigned(
        more.get("enclosure", "sedge"), job, more.get("variant", ""), DAY, DAY + late * STEP, keeper
    )


def rota(*tasks: Assigned, recorded: dt.datetime = NOW) -> Published:
    return Published(DAY, LAST, recorded, tasks)


# --- rotas ---


def test_without_a_rota_there_is_none(log: Log) -> None:
    assert log.published(SITE) is None
    log.record(SITE, [done()])
    assert log.published(SITE) is None


def test_a_rota_comes_back_as_it_was_published(log: Log, url: str) -> None:
    made = rota(
        task(), task("wipe-down", "ines-roe", 2, variant="merc"), task("feed", "noor", -1, enclosure="reed")
    )
    log.publish(SITE, made)
    assert log.published(SITE) == made
    with open_log(url, create=False) as again:
        assert again.published(SITE) == made


def test_the_newest_holds_whatever_its_clock_says(log: Log) -> None:
    log.publish(SITE, rota(task(keeper="noor")))
    earlier = rota(task(keeper="sam"), recorded=NOW.replace(year=1999))
    log.publish(SITE, earlier)
    assert log.published(SITE) == earlier
    empty = rota()
    log.publish(SITE, empty)
    assert log.published(SITE) == empty


def test_sites_keep_apart(log: Log) -> None:
    for site in ("fen", "fen-lane", "fen-lane-2", "FEN-LANE"):
        log.publish(site, rota(task(keeper=site)))
    for site in ("fen", "fen-lane", "fen-lane-2", "FEN-LANE"):
        found = log.published(site)
        assert found is not None
        assert [a.keeper for a in found.assigned] == [site]
    assert log.published("fen-") is None


DAYS = [
    (dt.date.min, dt.date.max),
    (DAY, DAY),
    (DAY, DAY - STEP),
    (dt.date(1950, 1, 1), dt.date(2199, 12, 31)),
]


@pytest.mark.parametrize(("first", "last"), DAYS)
def test_days_and_the_time_of_publishing_are_kept(log: Log, first: dt.date, last: dt.date) -> None:
    made = Published(first, last, NOW, (Assigned("sedge", "feed", "", last, first, "noor"),))
    log.publish(SITE, made)
    assert log.published(SITE) == made


TEXTS = [
    "'; DROP TABLE rota; --",
    'Robert"); DELETE FROM rota WHERE ("1"="1',
    "%s %(name)s :name ? ?1 $1 {0} {} \\",
    "line\nline\r\n\ttab \x1f",
    "🐢 Schildkröte черепаха カメ e\u0301 \u202e \ufeff",
    ' outer spaces and "quotes" ',
    "[]",
    "",
]


@pytest.mark.parametrize("text", TEXTS)
def test_texts_are_stored_as_they_are_and_never_obeyed(log: Log, text: str) -> None:
    log.publish(SITE, rota(task()))
    made = rota(Assigned(text, text, text, DAY, DAY, text))
    log.publish(text, made)
    assert log.published(text) == made
    assert log.published(SITE) == rota(task())


def test_a_large_rota_is_one_row(log: Log) -> None:
    """300 enclosures and 26 weeks: more than any rota that is made."""
    many = tuple(
        Assigned(
            f"tank-{n % 300}",
            "daily-look",
            "",
            DAY + n // 300 * STEP,
            DAY + n // 300 * STEP,
            f"keeper-{n % 80}",
        )
        for n in range(300 * 7 * 26)
    )
    log.publish(SITE, rota(*many))
    assert log.published(SITE) == rota(*many)


def bodies(url: str) -> list[tuple[object, ...]]:
    engine = make_engine(read_url(url), "read")
    try:
        with engine.connect() as connection:
            return [tuple(row) for row in connection.execute(sa.select(table).order_by(table.c.number))]
    finally:
        engine.dispose()


def test_what_was_published_before_stays_in_the_log(log: Log, url: str) -> None:
    log.publish(SITE, rota(task(keeper="noor")))
    log.publish("other", rota(task(keeper="ada")))
    before = bodies(url)
    log.publish(SITE, rota(task(keeper="sam")))
    log.record(SITE, [done()])
    after = bodies(url)
    assert after[:2] == before
    assert [row[1] for row in after] == [SITE, "other", SITE]
    assert len({row[0] for row in after}) == 3


def test_no_rota_is_ever_changed_or_deleted(url: str) -> None:
    """Every statement is an insertion, a question, or about the transaction."""
    said: list[str] = []

    def listen(_c: object, _d: object, statement: str, *_: object) -> None:
        said.append(statement)

    with open_log(url) as log:
        sa.event.listen(sa.Engine, "before_cursor_execute", listen)
        try:
            for _ in range(2):
                log.publish(SITE, rota(task()))
            log.published(SITE)
            log.worked(SITE, DAY, LAST)
        finally:
            sa.event.remove(sa.Engine, "before_cursor_execute", listen)
    words = [statement.split(maxsplit=1)[0] for statement in said]
    assert set(words) <= {"INSERT", "SELECT", "BEGIN", "WITH"}
    assert words.count("INSERT") == 2


def test_a_log_that_is_only_read_takes_no_rota(url: str, log: Log) -> None:
    log.publish(SITE, rota(task()))
    before = bodies(url)
    with open_log(url, create=False) as read:
        with pytest.raises(ValueError, match="opened to be read"):
            read.publish(SITE, rota(task(keeper="sam")))
        assert read.published(SITE) == rota(task())
    assert bodies(url) == before


def test_where_there_is_no_log_there_is_no_rota(new_url: str, tmp_path: Path) -> None:
    with open_log(new_url, create=False) as log:
        assert log.published(SITE) is None
        assert log.worked(SITE, DAY, LAST) == ([], [])
        with pytest.raises(ValueError, match="opened to be read"):
            log.publish(SITE, rota())
    assert list(tmp_path.iterdir()) == []


ROW = '["sedge","feed","","2026-12-01","2026-12-01","noor"]'
DAMAGED = [
    "", "{", "null", "5", "true", '"feed"', "[5]", "[null]", "[[]]", '[["sedge"]]', '{"a": 1}', '{"abcdef": 1}',
    f"[{ROW}", f"[{ROW},", f"[{ROW}]]", f"[{ROW},[]]", f"{ROW}",
    f"[{ROW.replace('2026-12-01', '2026-13-01', 1)}]",
    f"[{ROW.replace('2026-12-01', '', 1)}]",
    f"[{ROW[:-1]},1]]",
    f"[{ROW.replace('noor', 'x', 1)[:-4]}5]]",
    f'[{ROW.replace(chr(34) + "noor" + chr(34), "null")}]',
    f'[{ROW.replace(chr(34) + "feed" + chr(34), "7")}]',
    f'[{ROW.replace(chr(34) + "sedge" + chr(34), "[]")}]',
    f'[{ROW.replace(chr(34) + "2026-12-01" + chr(34), "20261201")}]',
    "[" * 100_000,
    "zlib:", "zlib:!", "zlib:AAAA", "zlib:eJyLBgA", "zlib:eJyLjQUAAVUAuQ==",
    "zlib:" + base64.b64encode(zlib.compress(b"[[5]]")).decode(),
    "zlib:" + base64.b64encode(zlib.compress(b"\xff")).decode(),
    "zlib:" + base64.b64encode(zlib.compress(b"[]")[:-3]).decode(),
    "zlib:" + base64.b64encode(zlib.compress(b" " * 110_000_000, 9)).decode(),
]  # fmt: skip


@pytest.mark.parametrize("body", DAMAGED, ids=[body[:60] or "empty" for body in DAMAGED])
def test_a_rota_that_is_none_is_told_and_left_alone(log: Log, url: str, body: str) -> None:
    log.publish(SITE, rota(task()))
    engine = make_engine(read_url(url), "write")
    with engine.begin() as connection:
        connection.execute(sa.update(table).values(body=body))
    engine.dispose()
    before = bodies(url)
    with pytest.raises(LogError) as raised:
        log.published(SITE)
    assert "it is damaged; keep it aside and put the copy of your backup in its place" in str(raised.value)
    assert "Traceback" not in str(raised.value) and str(raised.value).count("\n") == 0
    assert bodies(url) == before
    # Entries are not touched by it, and a new rota holds again.
    log.record(SITE, [done()])
    assert [e.name for e in log.entries(SITE)] == [done().name]
    log.publish(SITE, rota(task(keeper="sam")))
    assert log.published(SITE) == rota(task(keeper="sam"))


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("first", "soon"),
        ("last", 5),
        ("recorded", "2026"),
        ("body", b"\xff\xfe[]"),
        ("first", ""),
        ("body", 5),
    ],
)
def test_a_column_of_another_kind(tmp_path: Path, column: str, value: object) -> None:
    """SQLite keeps any kind of value in any column (sqlite.org/flextypegood.html); a failing disk may too."""
    url = f"sqlite:///{tmp_path}/log.db"
    with open_log(url) as log:
        log.publish(SITE, rota(task()))
        engine = make_engine(read_url(url), "write")
        with engine.begin() as connection:
            connection.exec_driver_sql(f'UPDATE rota SET "{column}" = ?', (value,))
        engine.dispose()
        with pytest.raises(LogError, match="it is damaged"):
            log.published(SITE)


NAMES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
SOME_DAYS = st.dates(dt.date(1950, 1, 1), dt.date(2199, 12, 31))
TASKS = st.builds(Assigned, NAMES, NAMES, NAMES, SOME_DAYS, SOME_DAYS, NAMES)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=examples(25))
@given(tasks=st.lists(TASKS, max_size=8), first=SOME_DAYS, last=SOME_DAYS)
def test_any_rota_comes_back(log: Log, tasks: list[Assigned], first: dt.date, last: dt.date) -> None:
    made = Published(first, last, NOW, tuple(tasks))
    log.publish(SITE, made)
    assert log.published(SITE) == made


# --- what keepers did ---


def by_day(log: Log, until: dt.date = LAST) -> list[tuple[dt.date | None, str, int]]:
    return [(w.day, w.keeper, w.minutes) for w in log.worked(SITE, DAY, until)[0]]


def of_late(log: Log, since: dt.date, until: dt.date = LAST) -> list[tuple[str, str, str, int, int]]:
    return [(w.keeper, w.enclosure, w.job, w.minutes, w.times) for w in log.worked(SITE, since, until)[1]]


def test_what_counts_as_work(log: Log) -> None:
    """Done, by somebody, at this site, not taken back, up to the day."""
    old = DAY - 400 * STEP
    log.record(
        SITE,
        [
            done("feed", keeper="noor", minutes=10),
            done("feed", enclosure="reed", keeper="noor", minutes=7),
            done("media-rinse", keeper="noor", minutes=30, value=1.0),
            done("feed", keeper="sam", minutes=4, day=DAY + STEP),
            done("feed", keeper="sam", minutes=5, day=old),
            done("wipe-down", minutes=60),
            done("top-up", keeper="noor", minutes=60, day=LAST + STEP),
            reading("ph", 7.4, keeper="noor", minutes=60),
        ],
    )
    log.record("other", [done("feed", keeper="noor", minutes=60)])
    [(wrong, _)] = log.record(SITE, [done("lamp-clean", keeper="noor", minutes=60)])
    take_back(log, wrong)
    assert by_day(log) == [(old, "sam", 5), (DAY, "noor", 47), (DAY + STEP, "sam", 4)]
    assert of_late(log, DAY) == [
        ("noor", "reed", "feed", 7, 1),
        ("noor", "sedge", "feed", 10, 1),
        ("noor", "sedge", "media-rinse", 30, 1),
        ("sam", "sedge", "feed", 4, 1),
    ]


def test_what_is_taken_back_and_recorded_anew_counts_once(log: Log) -> None:
    [(entry, _)] = log.record(SITE, [done("feed", keeper="noor", minutes=10)])
    take_back(log, entry)
    assert by_day(log) == []
    log.record(SITE, [done("feed", keeper="sam", minutes=10)])
    assert by_day(log) == [(DAY, "sam", 10)]
    assert of_late(log, DAY) == [("sam", "sedge", "feed", 10, 1)]


def test_the_days_are_both_included(log: Log) -> None:
    log.record(SITE, [done("feed", keeper="noor", minutes=1, day=DAY + n * STEP) for n in range(5)])
    assert [day for day, _, _ in by_day(log, DAY + 3 * STEP)] == [DAY + n * STEP for n in range(4)]
    assert of_late(log, DAY + STEP, DAY + 3 * STEP) == [("noor", "sedge", "feed", 3, 3)]
    assert of_late(log, DAY + 5 * STEP) == []


def test_again_and_variants_add_up(log: Log) -> None:
    log.record(SITE, [done("feed", keeper="noor", minutes=10)])
    log.record(SITE, [done("feed", keeper="noor", minutes=10)], again=True)
    log.record(SITE, [done("feed", of="big", keeper="noor", minutes=5)])
    assert by_day(log) == [(DAY, "noor", 25)]
    assert of_late(log, DAY) == [("noor", "sedge", "feed", 25, 3)]


WORK = st.tuples(
    st.sampled_from(["feed", "top-up"]),
    st.sampled_from(["sedge", "reed"]),
    st.integers(0, 5),
    st.sampled_from(["noor", "sam", ""]),
    st.integers(0, 90),
    st.booleans(),
)
SITES = (f"site-{n}" for n in itertools.count())


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=examples(15))
@given(some=st.lists(WORK, max_size=20))
def test_sums_are_those_of_the_entries(log: Log, some: list[tuple[str, str, int, str, int, bool]]) -> None:
    """Added up here from what the log gives back one by one."""
    site = next(SITES)
    for name, enclosure, late, keeper, minutes, wrong in some:
        entry = done(name, enclosure=enclosure, day=DAY + late * STEP, keeper=keeper, minutes=minutes)
        [(kept, new)] = log.record(site, [entry])
        if new and wrong:
            log.void(site, kept.uid(site), keeper="sam", note="", recorded=NOW)
    since, until = DAY + STEP, DAY + 4 * STEP
    by_days: Counter[tuple[dt.date, str]] = Counter()
    late: Counter[tuple[str, str, str]] = Counter()
    times: Counter[tuple[str, str, str]] = Counter()
    for entry in log.entries(site, kind="done", voided=False, until=until):
        if entry.keeper:
            by_days[entry.day, entry.keeper] += entry.minutes
            if entry.day >= since:
                late[entry.keeper, entry.enclosure, entry.name] += entry.minutes
                times[entry.keeper, entry.enclosure, entry.name] += 1
    days, jobs = log.worked(site, since, until)
    assert [(w.day, w.keeper, w.minutes) for w in days] == [(*k, v) for k, v in sorted(by_days.items())]
    assert [(w.keeper, w.enclosure, w.job, w.minutes, w.times) for w in jobs] == [
        (*k, late[k], times[k]) for k in sorted(times)
    ]


def test_a_day_that_is_none(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/log.db"
    with open_log(url) as log:
        log.record(SITE, [done("feed", keeper="noor", minutes=10)])
        engine = make_engine(read_url(url), "write")
        with engine.begin() as connection:
            connection.exec_driver_sql("UPDATE entry SET day = '2026-0x-01'")
        engine.dispose()
        with pytest.raises(LogError, match="it is damaged"):
            log.worked(SITE, DAY, LAST)
