"""A site whose feeds are served: its links by name, what is asked of them, and what may change between two answers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from scheduler.workflow.feeds.links import IssuedLink
from support.web.http_client import (
    TODAY,
    Answer,
    ask,
    entries,
    feed_path,
    link,
    page_path,
    post,
    tick_of,
    until,
    write,
)
from support.web.serving import Served, serving


@dataclass(frozen=True, slots=True)
class House:
    """A site that is served, and its links by name."""

    file: Path
    served: Served
    links: dict[str, IssuedLink]

    def get(self, name: str, method: str = "GET", **fields: str) -> Answer:
        """Ask for the feed of a link; a field of `if_none_match` is If-None-Match."""
        named = {key.replace("_", "-"): value for key, value in fields.items()}
        return ask(self.served.url, feed_path(self.links[name]), method, fields=named)

    def page(self, name: str = "noor-page") -> str:
        return ask(self.served.url, page_path(self.links[name])).text

    def tick(self, key: str) -> None:
        """Tick a job of the tank Sedge off on the page of whoever has it today."""
        for name in ("noor-page", "sam-page"):
            if f'name="key" value="{key}"' in (page := self.page(name)):
                form = tick_of(page, key)
                assert post(self.served.url, form.action, form.fields).status == 303
                return
        raise AssertionError(f"nobody has {key}")

    def until(self, name: str, is_so: Callable[[Answer], bool]) -> Answer:
        """Return the first answer of which something is so: a process may know of a change a glance later."""
        answers = [self.get(name)]

        def look() -> bool:
            answers.append(self.get(name))
            return is_so(answers[-1])

        until(look, lambda: f"{answers[-1].status} {answers[-1].text[-2000:]}")
        return answers[-1]


def links(file: Path, log: str | None = None) -> dict[str, IssuedLink]:
    wanted = {
        "site": ("site", "", ()),
        "sedge": ("enclosure", "Sedge", ()),
        "rounds": ("rounds", "Noor", ()),
        "noor-page": ("page", "Noor", ()),
        "sam-page": ("page", "Sam", ()),
        "alarms": ("enclosure", "Sedge", ("alarms",)),
        "at-hours": ("site", "", ("at-hours",)),
        "each-job": ("rounds", "Noor", ("all-day", "each-job")),
    }
    return {
        name: link(file, kind, of, forms, log=log, name=name) for name, (kind, of, forms) in wanted.items()
    }


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A site in which nothing changes."""
    file = write(tmp_path_factory.mktemp("fen") / "fen-lane.toml")
    opened = links(file)
    with serving(file.parent, file.name, today=TODAY) as served:
        yield House(file, served, opened)


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[House]:
    """A site of a test's own."""
    file = write(tmp_path / "fen-lane.toml")
    opened = links(file)
    with serving(tmp_path, file.name, today=TODAY) as served:
        yield House(file, served, opened)


def without_date(answer: Answer) -> list[tuple[str, str]]:
    return [(name, value) for name, value in answer.fields if name != "date"]


def is_continued(before: bytes, after: bytes) -> set[str]:
    """See that what did not change has the same three lines, and what did a later revision; return the UIDs that are new or changed.

    RFC 5545, sections 3.8.7.2 (DTSTAMP), 3.8.7.3 (LAST-MODIFIED) and 3.8.7.4 (SEQUENCE, which only grows).
    """
    old, new = entries(before), entries(after)
    changed = set()
    for uid, entry in new.items():
        was = old.get(uid)
        if was is not None and was["whole"] == entry["whole"]:
            assert entry == was, uid
            continue
        changed.add(uid)
        if was is not None:
            assert int(entry["SEQUENCE"]) > int(was["SEQUENCE"]), uid
            for name in ("DTSTAMP", "LAST-MODIFIED"):
                assert entry[name] > was[name], (uid, name)
    return changed
