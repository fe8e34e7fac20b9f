"""What tests of several folders share: what a plain run leaves out, golden files, calendar readers of another origin."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from os import environ  # noqa: TID251 - tests are told where the readers are
from pathlib import Path
from typing import Any

import pytest
import typer.testing
from hypothesis import settings
from support import depth
from support.new_logs import copying

from scheduler.log import store
from scheduler.log.location import LogLocation

# Examples are drawn anew at each run by hand; where a change is judged the same ones are drawn every time, so that a
# verdict does not hang on luck. More of them: pytest --hypothesis-profile=long
settings.register_profile("long", deadline=None, max_examples=1000)

# Where the machine keeps no compiled modules, each of the programs that tests start would compile all of them anew: some
# hundreds of times. They are kept in a folder of this run; its workers find it in the environment.
if sys.dont_write_bytecode and "PYTHONPYCACHEPREFIX" not in environ:
    _compiled = tempfile.TemporaryDirectory(prefix="pondround-tests-")
    environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix = _compiled.name
    environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False

# Typer builds its tree of commands anew for each line that is typed, which takes twenty times as long as reading the line.
typer.testing._get_command = cache(typer.testing._get_command)

HERE = Path(__file__).parent

LEFT_OUT = ("slow", "reader", "server", "browser")
"""Marks of the tests that a plain run leaves out, so that it takes minutes and needs no other programs."""

left_out = pytest.StashKey[Counter[str]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden", action="store_true", help="write the golden files anew; read the difference in git"
    )
    parser.addoption(
        "--all",
        action="store_true",
        help=f"also run the tests marked {', '.join(LEFT_OUT)} (see DEVELOPERS.md)",
    )


@pytest.fixture(scope="session")
def copied_log(tmp_path_factory: pytest.TempPathFactory) -> Callable[[LogLocation], None]:
    return copying(tmp_path_factory.mktemp("log"))


@pytest.fixture(autouse=True)
def _new_logs_are_copies(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, copied_log: Callable[[LogLocation], None]
) -> None:
    """Copy a new log instead of making its tables, but where logs themselves are tested."""
    if request.path.parent.name != "log":
        monkeypatch.setattr(store, "bring_up_to_date", copied_log)


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with a file of the folder `golden` beside the test, or with that of a whole path: golden("one-tank.txt", text)."""
    folder, update = request.path.parent / "golden", request.config.getoption("--update-golden")

    def compare(name: str, text: str) -> None:
        file = folder / name
        if update:
            file.parent.mkdir(exist_ok=True)
            file.write_bytes(text.encode())
        # Bytes, since reading as text would hide a wrong line break.
        expected = file.read_bytes().decode() if file.exists() else ""
        assert text == expected, (
            f"the text is not as in {file.relative_to(HERE.parent)}; if it should be, run pytest --update-golden"
        )

    return compare


@dataclass(frozen=True, slots=True)
class Readers:
    """Two calendar readers of another origin. Both list occurrences as dicts: file, uid, start, tzid, utc, summary."""

    home: Path

    def ical_js(self, files: Iterable[Path], first: str, end: str) -> list[dict[str, str]]:
        return self._run(["node", str(HERE / "readers/expand.mjs")], files, first, end)

    def recurring_ical_events(self, files: Iterable[Path], first: str, end: str) -> list[dict[str, str]]:
        return self._run(
            [str(self.home / "venv/bin/python"), str(HERE / "readers/expand.py")], files, first, end
        )

    def _run(self, program: list[str], files: Iterable[Path], first: str, end: str) -> list[dict[str, str]]:
        """List what starts from the instant `first` on and before the instant `end` (2026-12-01T00:00:00Z)."""
        done = subprocess.run(
            [*program, first, end, *map(str, files)],
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=300,
            check=False,
            env={**environ, "PONDROUND_READERS": str(self.home), "PYTHONUTF8": "1"},
        )
        assert done.returncode == 0, f"{program[-1]} failed: {done.stderr[-2000:]}"
        return [json.loads(line) for line in done.stdout.splitlines()]


@pytest.fixture(scope="session")
def readers() -> Readers:
    """Find what tests/readers/setup.sh made. Without it tests are skipped, or fail where PONDROUND_NEED_READERS=1."""
    home = Path(environ.get("PONDROUND_READERS") or HERE.parent / ".readers").absolute()
    if not (home / "done").exists():
        lack = f"no readers in {home}: run tests/readers/setup.sh"
        if environ.get("PONDROUND_NEED_READERS") == "1":
            pytest.fail(lack)
        pytest.skip(lack)
    return Readers(home)


def is_plain(config: pytest.Config) -> bool:
    """Tell whether a run is asked for no more than the usual: then a test is left out for its mark, and few examples are drawn."""
    return not (config.getoption("--all") or config.getoption("-m") or files_named(config))


def files_named(config: pytest.Config) -> set[Path]:
    """Return the files that were asked for by name, or by that of a test: whoever names one wants all that is in it."""
    named = (argument.split("::")[0] for argument in config.args)
    return {(config.invocation_params.dir / name).resolve() for name in named if name.endswith(".py")}


def pytest_configure(config: pytest.Config) -> None:
    depth.whole = not is_plain(config)
    judged = environ.get("CI") is not None
    settings.register_profile("by-hand", deadline=None, derandomize=judged, max_examples=depth.examples(100))
    if not config.getoption("--hypothesis-profile"):
        settings.load_profile("by-hand")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    # The mark and the fixture go together: `-m "not reader"` must leave out all that needs the readers.
    for item in items:
        marked = item.get_closest_marker("reader") is not None
        if marked != ("readers" in getattr(item, "fixturenames", ())):
            raise pytest.UsageError(f"{item.nodeid}: the mark `reader` and the fixture `readers` go together")
    if config.getoption("--all") or config.getoption("-m"):
        return
    named = files_named(config)
    kept, dropped = [], []
    for item in items:
        marks = {mark.name for mark in item.iter_markers()}.intersection(LEFT_OUT)
        if marks and item.path not in named:
            dropped.append(item)
            config.stash.setdefault(left_out, Counter()).update(marks)
        else:
            kept.append(item)
    if dropped:
        config.hook.pytest_deselected(items=dropped)
        items[:] = kept


def pytest_sessionfinish(session: pytest.Session) -> None:
    # What a worker left out is told by whoever started it.
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["left_out"] = dict(session.config.stash.get(left_out, {}))


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    # All workers collect the same tests; one that crashed says nothing.
    node.config.stash[left_out] = Counter(getattr(node, "workeroutput", {}).get("left_out", {})) or (
        node.config.stash.get(left_out, Counter())
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if counts := config.stash.get(left_out, None):
        many = ", ".join(f"{counts[mark]} {mark}" for mark in LEFT_OUT if counts[mark])
        terminalreporter.write_line(
            f"not run, by mark: {many}. All of them: pytest -n auto --all; one mark: pytest -n auto -m {next(iter(counts))}"
        )
