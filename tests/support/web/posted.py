"""Many houses with the page of a keeper, and what is posted from it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator

import pytest

from scheduler.workflow.feeds.links import KEY_FILE, IssuedLink, hashed
from support.web.house import House, made
from support.web.http_client import (
    FEN,
    TODAY,
    Answer,
    ask,
    forms,
)
from support.web.serving import serving

HOUSES = 18
"""So many descriptions are alike; each test takes one in which nothing is recorded."""


SCRIPT, IMAGE, QUOTE = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(2)>",
    "\"'><svg/onload=alert(3)>",
)


HOSTILE = f"""
[site]
name = '''{SCRIPT}'''
time_zone = "Europe/Dublin"

[[keeper]]
name = '''{QUOTE}'''
id = "noor"

[[keeper]]
name = '''{IMAGE}'''
id = "sam"

[[enclosure]]
name = '''{IMAGE} &amp; {{{{ 7 * 7 }}}}'''
id = "sedge"
room = '''{QUOTE}'''
kind = "tank"
set_up = 2026-10-01
cycled = true

[[enclosure.extra_job]]
key = "pane"
title = '''{SCRIPT}'''
rule = "FREQ=DAILY"
note = '''</li></ol>{QUOTE}{SCRIPT}'''
"""


AWAY = FEN.replace('name = "Noor"', 'name = "Noor"\naway = ["2026-12-14/2026-12-14"]')


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, House]]:
    folder = tmp_path_factory.mktemp("houses")
    some = {f"fen-{n}": FEN.replace("Fen Lane", f"Fen {n}") for n in range(HOUSES)}
    texts = {**some, "hostile": HOSTILE, "away": AWAY}
    there = {name: made(folder / f"{name}.toml", text) for name, text in texts.items()}
    with serving(folder, today=TODAY) as served:
        yield {
            name: House(file, served, noor, sam, calendar)
            for name, (file, noor, sam, calendar) in there.items()
        }
    said = "\n".join(served.log_lines)
    assert "Traceback" not in said
    for house in there.values():
        assert all(opened.secret not in said for opened in house[1:])


@pytest.fixture(scope="module")
def unused(houses: dict[str, House]) -> list[House]:
    return [house for name, house in houses.items() if name.startswith("fen-")]


@pytest.fixture(scope="module")
def stills() -> dict[str, House]:
    return {}


@pytest.fixture
def still(request: pytest.FixtureRequest, stills: dict[str, House], unused: list[House]) -> House:
    """Return a site in which nothing is recorded whatever is sent; the same one for all rows of a table."""
    name = request.function.__name__
    if name not in stills:
        stills[name] = unused.pop()
    return stills[name]


@pytest.fixture
def house(unused: list[House]) -> House:
    return unused.pop()


def seal(house: House, whose: IssuedLink, day: str, seen: str) -> str:
    """Make a seal as the server does, which needs the key that lies beside the description."""
    key = (house.file.parent / KEY_FILE).read_bytes().strip()
    return hashed(key, f"form/{whose.secret}/{day}/{seen}")[:32]


def at_once(many: list[Callable[[], Answer]]) -> list[int]:
    """Do things at once, each in a thread; return the statuses."""
    gate, found = threading.Barrier(len(many)), []

    def run(what: Callable[[], Answer]) -> None:
        gate.wait()
        found.append(what().status)

    threads = [threading.Thread(target=run, args=(what,)) for what in many]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def reading(house: House, **fields: str) -> Answer:
    (form,) = forms(house.page(), "reading")
    return house.send(form, **{"enclosure": "sedge", **fields})


def followed(house: House, answer: Answer) -> str:
    """Return the page to which an answer leads."""
    assert answer.status == 303
    page = ask(house.url, answer["Location"].partition("#")[0])
    assert page.status == 200
    return page.text
