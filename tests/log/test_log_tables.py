"""The tables: made by the migrations as the code describes them, only ever added to, safe to open by many at once."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import ScriptDirectory
from support.logged import DAY, NOW, SITE, done, reading, take_back

import scheduler.log
from scheduler.errors import LogError
from scheduler.history import Looks
from scheduler.log import open_log
from scheduler.log.engine import make_engine
from scheduler.log.links import Link, change_links, links, stand
from scheduler.log.location import read_url
from scheduler.log.schema import FORMS, MIGRATIONS, VERSION_TABLE
from scheduler.log.tables import metadata


@pytest.fixture
def url(new_url: str) -> str:
    """Give the URL of a log that is not there yet."""
    return new_url


@pytest.fixture
def engine(url: str) -> Iterator[sa.Engine]:
    """Reach the tables beside the log."""
    made = make_engine(read_url(url), "create")
    yield made
    made.dispose()


def test_the_migrations_make_the_tables_that_the_code_describes(url: str, engine: sa.Engine) -> None:
    open_log(url)
    with engine.connect() as connection:
        options = {"compare_type": True, "version_table": VERSION_TABLE}
        assert compare_metadata(MigrationContext.configure(connection, opts=options), metadata) == []
        found = {i["name"]: i["column_names"] for i in sa.inspect(connection).get_indexes("entry")}
        assert found == {str(i.name): [c.name for c in i.columns] for i in metadata.tables["entry"].indexes}
    # Held against itself, the comparison would find a column that one of them lacks.
    with engine.begin() as connection:
        connection.execute(sa.text("ALTER TABLE entry ADD COLUMN more TEXT"))
        assert compare_metadata(MigrationContext.configure(connection, opts=options), metadata) != []


def test_the_forms_are_the_migrations_in_their_order() -> None:
    steps = [step.revision for step in ScriptDirectory(str(MIGRATIONS)).walk_revisions("base", "heads")]
    assert tuple(reversed(steps)) == FORMS


def test_a_log_of_a_newer_version_is_refused_and_left_alone(url: str, engine: sa.Engine) -> None:
    with open_log(url) as log:
        log.record(SITE, [done()])
    with engine.begin() as connection:
        connection.execute(sa.text(f"UPDATE {VERSION_TABLE} SET version_num = '9999'"))
    for create in (True, False):
        with pytest.raises(LogError) as raised:
            open_log(url, create=create)
        assert str(raised.value) == (
            f"the log {read_url(url)} was written by a newer version of pondround; update pondround"
        )
    with engine.connect() as connection:
        assert connection.execute(sa.text("SELECT count(*) FROM entry")).scalar() == 1
        assert connection.execute(sa.text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar() == "9999"


def test_a_log_that_is_up_to_date_is_opened_without_alembic(url: str) -> None:
    open_log(url)
    code = (
        f"import sys; from scheduler.log import open_log; open_log({url!r}); "
        "print('psycopg' in sys.modules, 'alembic' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout == f"{url.startswith('postgresql')} False\n"


def list_kinds(connection: sa.Connection) -> None:
    """Make the kinds of entries a constraint of their table again, as up to the form 0008."""
    steps = Operations(MigrationContext.configure(connection))
    with steps.batch_alter_table("entry", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.create_check_constraint("entry_kind", "kind IN ('done', 'reading', 'void')")


def list_kinds_of_links(connection: sa.Connection) -> None:
    """Make the kinds of links a constraint of their table again, as up to the form 0010."""
    steps = Operations(MigrationContext.configure(connection))
    with steps.batch_alter_table("link", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.create_check_constraint("link_kind", "kind IN ('site', 'enclosure', 'rounds', 'page')")


def first_form(engine: sa.Engine) -> None:
    """Make of a log one of the first form, as the version before left it."""
    with engine.begin() as connection:
        connection.execute(sa.text("DROP TABLE latest"))
        for table in ("rota", "link", "feed", "served", "to_do", "described", "revision", "reminder", "edit"):
            connection.execute(sa.text(f"DROP TABLE {table}"))
        list_kinds(connection)
        connection.execute(sa.text(f"UPDATE {VERSION_TABLE} SET version_num = '0001'"))


@pytest.mark.parametrize("create", [True, False], ids=["to write", "to read"])
def test_a_log_of_the_first_form_is_brought_up_to_date(url: str, engine: sa.Engine, create: bool) -> None:
    day = dt.timedelta(days=1)
    with open_log(url) as log:
        log.record(SITE, [done(day=DAY - day), done("feed"), done("feed", of="Fern"), reading("ph", 7.4)])
        [(entry, _), (alone, _)] = log.record(SITE, [done(), done("once")])
        take_back(log, entry)
        take_back(log, alone)
        before = log.history(SITE, DAY, Looks())
    assert sorted((name, of, day) for (_, name, of), day in before.last.items()) == [
        ("feed", "", DAY),
        ("feed", "Fern", DAY),
        (done().name, "", DAY - day),
    ]
    first_form(engine)
    with open_log(url, create=create) as log:
        assert log.history(SITE, DAY, Looks()).last == before.last
    with open_log(url) as log:
        # The kinds of entries were a constraint of the table.
        assert [
            new for _, new in log.record(SITE, [replace(done(), kind="skipped", given="2026-12-20")])
        ] == [True]
        numbers = [e.number for e in log.entries(SITE)]
    assert numbers == sorted(set(numbers))
    with engine.connect() as connection:
        assert connection.execute(sa.text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar() == FORMS[-1]
        if connection.dialect.name == "sqlite":
            made = connection.execute(sa.text("SELECT sql FROM sqlite_master WHERE name = 'entry'")).scalar()
            assert "AUTOINCREMENT" in made and "entry_kind" not in made


@pytest.mark.parametrize("create", [True, False], ids=["to write", "to read"])
def test_links_of_a_log_from_before_hold_and_their_pages_are_kept_nowhere(
    url: str, engine: sa.Engine, create: bool
) -> None:
    page = Link(name="sam", kind="page", of="sam", hash="a" * 64, calendar_hash="b" * 64, made=NOW)
    old = Link(name="old", kind="site", hash="c" * 64, made=NOW)
    with open_log(url) as log:
        change_links(log, SITE, [page, old], now=NOW)
        change_links(log, SITE, revoke=[links(log, SITE)[1].number], now=NOW)
        before, stood = links(log, SITE), stand(log, SITE)
    with engine.begin() as connection:
        for column in ("offline", "changes"):
            connection.execute(sa.text(f"ALTER TABLE link DROP COLUMN {column}"))
        for table in ("reminder", "edit"):
            connection.execute(sa.text(f"DROP TABLE {table}"))
        list_kinds(connection)
        list_kinds_of_links(connection)
        connection.execute(sa.text(f"UPDATE {VERSION_TABLE} SET version_num = '0006'"))
    with open_log(url, create=create) as log:
        assert links(log, SITE) == before
        assert [one.offline for one in before] == [False, False]
        assert stand(log, SITE) == stood


def test_a_link_of_any_kind_goes_into_a_log_from_before(url: str, engine: sa.Engine) -> None:
    site = Link(name="all", kind="site", hash="a" * 64, made=NOW)
    with open_log(url) as log:
        change_links(log, SITE, [site], now=NOW)
    with engine.begin() as connection:
        list_kinds_of_links(connection)
        connection.execute(sa.text(f"UPDATE {VERSION_TABLE} SET version_num = '0010'"))
    ada = Link(name="ada", kind="coordinator", of="ada", hash="b" * 64, calendar_hash="c" * 64, made=NOW)
    with open_log(url) as log:
        change_links(log, SITE, [ada], now=NOW)
        assert [(one.number, one.name, one.kind) for one in links(log, SITE)] == [
            (1, "all", "site"),
            (2, "ada", "coordinator"),
        ]


def test_sqlite_waits_for_the_disk_and_lets_readers_read(tmp_path: Path) -> None:
    """WAL, and FULL (2): a commit is on the disk before it is acknowledged (sqlite.org/pragma.html#pragma_synchronous)."""
    with open_log(f"sqlite:///{tmp_path}/log.db") as log:
        assert log._engine is not None
        with log._engine.connect() as connection:
            found = [
                connection.exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in ("journal_mode", "synchronous")
            ]
    assert found == ["wal", 2]


def test_only_the_log_loads_sqlalchemy() -> None:
    code = "import sys, scheduler.workflow, scheduler.cli.main; print('sqlalchemy' in sys.modules)"
    found = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert found.stdout == "False\n"


def test_no_entry_is_ever_changed_or_deleted(url: str) -> None:
    """Every statement is an insertion, a question, or about the transaction, but for the table that follows from entries."""
    said: list[str] = []

    def listen(_c: object, _d: object, statement: str, *_: object) -> None:
        said.append(statement)

    sa.event.listen(sa.Engine, "before_cursor_execute", listen)
    try:
        with open_log(url) as log:
            made = len(said)
            [(entry, _)] = log.record(SITE, [done(), reading("ph", 7.4)], again=True)[:1]
            take_back(log, entry)
            log.join(SITE, list(log.entries(SITE, last=2)))
            log.history(SITE, DAY, Looks(all_done=DAY))
            log.first(SITE), log.latest(SITE)
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", listen)
    words = {
        statement.split()[0] for statement in said[made:] if not statement.startswith("DELETE FROM latest ")
    }
    assert words <= {"INSERT", "SELECT", "WITH", "BEGIN"}
    assert "INSERT" in words
    source = "".join(file.read_text() for file in Path(scheduler.log.__file__).parent.glob("*.py"))
    changed = re.findall(r"sa\.(?:update|delete)\(\w*|\.update\(|\.delete\(", source)
    # Links, the shelf of feeds, the last good description and the record of collections are no entries.
    assert {*changed} == {
        "sa.delete(latest",
        "sa.update(link",
        "sa.delete(feed",
        "sa.delete(served",
        "sa.delete(to_do",
        "sa.delete(described",
        "sa.delete(revision",
        "sa.update(reminder",
        "sa.delete(reminder",
    }


def test_many_may_open_a_new_log_at_once(url: str) -> None:
    """Six processes find no log, and all record the same and something of their own."""
    code = (
        "import sys; from scheduler.log import open_log; from support.logged import *\n"
        "with open_log(sys.argv[1]) as log:\n"
        "    print(log.record(SITE, [done('shared'), done('own', enclosure=sys.argv[2])])[0][1])"
    )
    environment = {"PYTHONPATH": str(Path(__file__).parents[1])}
    started = [
        subprocess.Popen(
            [sys.executable, "-c", code, url, f"tank-{n}"],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for n in range(6)
    ]
    answers = [process.communicate(timeout=120) for process in started]
    assert [error for _, error in answers] == [""] * 6
    assert sorted(out for out, _ in answers) == ["False\n"] * 5 + ["True\n"]
    with open_log(url, create=False) as log:
        assert sorted(e.enclosure for e in log.entries(SITE)) == [
            "sedge",
            *sorted(f"tank-{n}" for n in range(6)),
        ]


def test_reading_makes_nothing(url: str, engine: sa.Engine, tmp_path: Path) -> None:
    with open_log(url, create=False) as log:
        assert list(log.entries(SITE)) == []
        assert log.history(SITE, DAY, Looks(all_done=DAY), begun=DAY).begun == DAY
        assert (log.first(SITE), log.latest(SITE)) == (None, None)
        with pytest.raises(ValueError, match="opened to be read"):
            log.record(SITE, [done()])
    assert list(tmp_path.iterdir()) == []
    with engine.connect() as connection:
        assert sa.inspect(connection).get_table_names() == []


def test_a_log_that_is_only_read_is_not_changed(tmp_path: Path) -> None:
    file = tmp_path / "log.db"
    with open_log(f"sqlite:///{file}") as log:
        log.record(SITE, [done(recorded=NOW)])
    before = file.read_bytes()
    with open_log(f"sqlite:///{file}", create=False) as log:
        assert len(list(log.entries(SITE))) == 1
        with pytest.raises(ValueError, match="opened to be read"):
            log.record(SITE, [done("feed")])
    assert file.read_bytes() == before
    assert [f.name for f in tmp_path.iterdir()] == ["log.db"]
