"""What the tests of the pages share: one server for many descriptions, one browser, and a checker of accessibility."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from os import environ  # noqa: TID251 - tests are told what has to be there
from pathlib import Path

import pytest
from support.web.browsing import CHROMIUM, DRIVER, PHONE, Browser, browsing
from support.web.places import SPECIAL, TODAY, Place, fen, write
from support.web.serving import Served, serving

HERE = Path(__file__).parent

ALIKE = 32
"""So many descriptions are alike; each test takes one that no other has recorded in."""


def _lacks(what: str, variable: str) -> None:
    if environ.get(variable) == "1":
        pytest.fail(what)
    pytest.skip(what)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Start the browser. Where there is none tests are skipped, or fail where PONDROUND_NEED_BROWSER=1."""
    if shutil.which(CHROMIUM) is None or shutil.which(DRIVER) is None:
        _lacks("no Chromium: install the packages chromium and chromium-driver", "PONDROUND_NEED_BROWSER")
    with browsing() as browser:
        yield browser


@pytest.fixture
def browser(chromium: Browser) -> Browser:
    """Return the browser as a phone without scripts, wherever the last test left it."""
    chromium.open("about:blank")
    chromium.look(PHONE)
    chromium.scripts(on=False)
    return chromium


@pytest.fixture(scope="session")
def axe() -> str:
    """Return the program that tests/readers/setup.sh installed: axe-core, which looks for what hinders people in a page."""
    home = Path(environ.get("PONDROUND_READERS") or HERE.parent.parent / ".readers").absolute()
    file = home / "axe/node_modules/axe-core/axe.min.js"
    if not file.exists():
        _lacks(f"no axe-core in {home}: run tests/readers/setup.sh", "PONDROUND_NEED_READERS")
    return file.read_text("utf-8")


@pytest.fixture(scope="session")
def served(
    chromium: Browser, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Served, dict[str, Place]]]:
    """Serve all descriptions of `places` on one Monday."""
    folder = tmp_path_factory.mktemp("served")
    with pytest.MonkeyPatch.context() as patch:
        # A log or a key of the machine on which the tests run is none of theirs.
        for name in ("PONDROUND_LOG", "PONDROUND_KEY"):
            patch.delenv(name, raising=False)
        places = {
            name: write(folder / f"{name}.toml", text, keepers) for name, (text, keepers) in SPECIAL.items()
        }
        for number in range(ALIKE):
            name = f"fen-{number}"
            places[name] = write(folder / f"{name}.toml", fen(f"Fen House {number + 1}"), ("Noor", "Ben"))
    with serving(folder, today=TODAY) as server:
        yield server, {name: place.at(server) for name, place in places.items()}


@pytest.fixture(scope="session")
def _unused(served: tuple[Served, dict[str, Place]]) -> list[Place]:
    return [place for name, place in served[1].items() if name.startswith("fen-")]


@pytest.fixture
def take(_unused: list[Place]) -> Callable[[], Place]:
    """Return what hands out a tank that Noor and Ben share, with nothing recorded."""
    return _unused.pop


@pytest.fixture
def place(take: Callable[[], Place]) -> Place:
    """Return a tank that Noor and Ben share, with nothing recorded."""
    return take()


@pytest.fixture
def still(special: dict[str, Place]) -> Place:
    """Return such a tank for those who record nothing either."""
    return special["still"]


@pytest.fixture
def special(served: tuple[Served, dict[str, Place]]) -> dict[str, Place]:
    """Return the descriptions of `places` by their names."""
    return served[1]
