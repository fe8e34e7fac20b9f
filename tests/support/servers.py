"""A PostgreSQL server of the tests' own, and a log in each database. A conftest imports the fixtures that it wants."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest

from scheduler.log import open_log

TEMPLATE = "empty_log"


@dataclass(frozen=True, slots=True)
class Server:
    """A running server. Whoever comes through its socket is let in; on the loopback a password is asked for."""

    bin: Path
    home: Path
    port: int

    def url(self, schema: str = "public") -> str:
        return (
            f"postgresql+psycopg://postgres@/postgres?host={self.home}&port={self.port}"
            f"&options=-csearch_path%3D{schema}"
        )

    def new_schema(self) -> str:
        """Make an empty schema and return the URL of a log in it; a database for each test would cost 7 MB of disk."""
        name = f"log_{uuid.uuid4().hex[:12]}"
        self.sql(f"CREATE SCHEMA {name}")
        return self.url(name)

    def new_database(self) -> tuple[str, str]:
        """Make a database with an empty log in it, a copy of one that was made before; return its name and the log's URL."""
        name = f"log_{uuid.uuid4().hex[:12]}"
        if not self.sql(f"SELECT 1 FROM pg_database WHERE datname = '{TEMPLATE}'"):
            self.sql(f"CREATE DATABASE {TEMPLATE}")
            with open_log(self.database_url(TEMPLATE)):
                pass
        self.sql(f"CREATE DATABASE {name} TEMPLATE {TEMPLATE}")
        return name, self.database_url(name)

    def database_url(self, name: str) -> str:
        return f"postgresql+psycopg://postgres@/{name}?host={self.home}&port={self.port}"

    def sql(self, statement: str) -> list[tuple[object, ...]]:
        where = f"host={self.home} port={self.port} user=postgres dbname=postgres"
        with psycopg.connect(where, autocommit=True) as connection:
            found = connection.execute(statement.encode())
            return found.fetchall() if found.description else []

    def start(self) -> None:
        # Nothing has to outlive the machine here, and the tests make many databases.
        # Nor is it full where many come at once, before the system has ended those who went.
        options = (
            f"-c listen_addresses=127.0.0.1 -c port={self.port} -c unix_socket_directories={self.home}"
            " -c fsync=off -c max_connections=300"
        )
        self.control("start", "-w", "-l", str(self.home / "log"), "-o", options)

    def stop(self) -> None:
        self.control("stop", "-w", "-m", "immediate")

    def halt(self) -> None:
        """Halt all its processes: connections stay, and nobody answers."""
        self._signal(signal.SIGSTOP)

    def go_on(self) -> None:
        """Let them go on."""
        self._signal(signal.SIGCONT)

    def _signal(self, number: signal.Signals) -> None:
        first = int((self.home / "data/postmaster.pid").read_text().split()[0])
        children = Path(f"/proc/{first}/task/{first}/children").read_text().split()
        for process in (first, *map(int, children)):
            os.kill(process, number)

    def control(self, *command: str) -> None:
        run_as_other(str(self.bin / "pg_ctl"), "-D", str(self.home / "data"), *command)


def run_as_other(*command: str) -> None:
    """Run a program that refuses to be run by root."""
    other = {"user": "postgres", "group": "postgres", "extra_groups": []} if os.getuid() == 0 else {}
    done = subprocess.run(command, cwd="/", capture_output=True, text=True, timeout=120, check=False, **other)  # type: ignore[call-overload]
    assert done.returncode == 0, f"{command}: {done.stdout[-1000:]} {done.stderr[-1000:]}"


def programs() -> Path | None:
    """Return the folder of the newest server programs."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda p: int(p.parts[-3]))
    there = str(found[-1]) if found else shutil.which("postgres")
    return Path(there).parent if there else None


@contextmanager
def running(bin: Path) -> Iterator[Server]:
    """Make a server in a folder of its own, and take both away."""
    # A short name: the path of a socket is limited to about 100 characters.
    with tempfile.TemporaryDirectory(prefix="pg-", dir="/tmp") as folder:
        home = Path(folder)
        if os.getuid() == 0:
            shutil.chown(home, "postgres", "postgres")
        run_as_other(
            *(str(bin / "initdb"), "-D", str(home / "data"), "-U", "postgres", "--no-sync", "-E", "UTF8"),
            *("--locale=C.UTF-8", "--auth-local=trust", "--auth-host=scram-sha-256"),
        )
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        server = Server(bin, home, port)
        server.start()
        try:
            yield server
        finally:
            if (home / "data/postmaster.pid").exists():
                server.stop()


def programs_or_skip() -> Path:
    """Return the server programs; without them skip the test, or fail where PONDROUND_NEED_SERVERS=1."""
    bin = programs()
    if bin is None:
        lack = "no PostgreSQL: install the package postgresql"
        if os.environ.get("PONDROUND_NEED_SERVERS") == "1":  # noqa: TID251 - tests are told what has to be there
            pytest.fail(lack)
        pytest.skip(lack)
    return bin


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    with running(programs_or_skip()) as made:
        yield made


SQLITE = "sqlite"
POSTGRESQL = pytest.param("postgresql", marks=pytest.mark.server)


def new_log(kind: str, request: pytest.FixtureRequest) -> str:
    """Return the URL of a log that is not there yet, in the database of this kind."""
    if kind == SQLITE:
        return f"sqlite:///{request.getfixturevalue('tmp_path')}/{uuid.uuid4().hex[:8]}.db"
    made: Server = request.getfixturevalue("server")
    return made.new_schema()


@pytest.fixture(scope="session")
def empty_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a SQLite log without entries once: its tables take as long as a sync."""
    file = tmp_path_factory.mktemp("log") / "empty.db"
    with open_log(f"sqlite:///{file}"):
        return file


@pytest.fixture(params=[SQLITE, POSTGRESQL])
def new_url(request: pytest.FixtureRequest) -> str:
    return new_log(request.param, request)


@pytest.fixture(params=[SQLITE, POSTGRESQL])
def url(request: pytest.FixtureRequest, empty_log: Path) -> Iterator[str]:
    """Give the URL of a log whose tables are made, and which has no entries."""
    if request.param == SQLITE:
        file = request.getfixturevalue("tmp_path") / "log.db"
        shutil.copy(empty_log, file)
        yield f"sqlite:///{file}"
        return
    made: Server = request.getfixturevalue("server")
    name, where = made.new_database()
    yield where
    # A database takes 7 MB of disk.
    made.sql(f"DROP DATABASE {name} WITH (FORCE)")
