"""What tests of several folders share: golden files, and calendar readers of another origin."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from os import environ  # noqa: TID251 - tests are told where the readers are
from pathlib import Path

import pytest
from hypothesis import settings

# Examples are drawn anew at each run by hand; where a change is judged the same ones are drawn every time, so that a
# verdict does not hang on luck. More of them: pytest --hypothesis-profile=long
settings.register_profile("by-hand", deadline=None)
settings.register_profile("judged", deadline=None, derandomize=True)
settings.register_profile("long", deadline=None, max_examples=1000)
settings.load_profile("judged" if environ.get("CI") else "by-hand")

HERE = Path(__file__).parent


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden", action="store_true", help="write the golden files anew; read the difference in git"
    )


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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    # The mark and the fixture go together: `-m "not reader"` must leave out all that needs the readers.
    for item in items:
        marked = item.get_closest_marker("reader") is not None
        if marked != ("readers" in getattr(item, "fixturenames", ())):
            raise pytest.UsageError(f"{item.nodeid}: the mark `reader` and the fixture `readers` go together")
