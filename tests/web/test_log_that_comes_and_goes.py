"""A log that is away for a while: pages say so, and come back with it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from support.servers import Server, programs_or_skip, running, server
from support.web.http_client import (
    TODAY,
    Answer,
    ask,
    page_path,
    post,
    tick_of,
    until,
)
from support.web.serving import serving
from support.web.watched import House, house, housed, links, said_nothing_of_secrets

from scheduler.log import open_log

__all__ = ["house", "server"]


def all_statuses(house: House, form_fields: dict[str, str], action: str) -> dict[str, tuple[int, str]]:
    answers = {
        "feed": house.get_feed(),
        "page": ask(house.url, page_path(house.sam)),
        "tick": post(house.url, action, form_fields),
        "health": ask(house.url, "/healthz"),
    }
    return {name: (answer.status, answer["Retry-After"]) for name, answer in answers.items()}


AWAY = dict.fromkeys(["feed", "page", "tick", "health"], (503, "5"))


BACK = {"feed": (200, ""), "page": (200, ""), "tick": (303, ""), "health": (200, "")}


def comes_and_goes(house: House, leave: list[object], come: list[object]) -> None:
    """See that a log that is away is told with 503, and that all is well when it is back."""
    before = house.get_feed()
    form = tick_of(ask(house.url, page_path(house.sam)).text, "pane")
    for number, (go, back) in enumerate(zip(leave, come, strict=True), start=1):
        go()  # type: ignore[operator]
        until(lambda: house.get_feed().status == 503)
        for _ in range(2):
            assert all_statuses(house, form.fields, form.action) == AWAY
            # What is unknown was so two seconds ago, or cannot be told from what is known elsewhere.
            assert ask(house.url, f"/feeds/{'C' * 27}.ics").status in (404, 503)
        back()  # type: ignore[operator]
        until(lambda: house.get_feed().status == 200, lambda: house.served.log_lines)
        if number == 1:
            assert house.get_feed(If_None_Match=before["ETag"]).status == 304
        until(lambda: all_statuses(house, form.fields, form.action) == BACK)
    said = house.served.log_lines[1:]
    told = [line for line in said if "cannot be" in line]
    assert len(told) == len(leave), said
    assert sum("within reach again" in line for line in said) == len(leave), said
    assert len(said) == 2 * len(leave), said


def test_a_sqlite_log_that_goes_away_and_comes_back(tmp_path: Path) -> None:
    """Rubbish in its place, a folder in its place, nothing in its place; then the file as it was."""
    file = tmp_path / "fen-lane.toml"
    with housed(file) as house:
        log, aside = file.with_suffix(".db"), tmp_path / "aside.db"

        def take_away() -> None:
            for end in ("", "-wal", "-shm"):
                if Path(f"{log}{end}").exists():
                    Path(f"{log}{end}").rename(f"{aside}{end}")

        def rubbish() -> None:
            take_away()
            log.write_bytes(b"no log at all, but long enough to be one. " * 1000)

        def folder() -> None:
            take_away()
            log.mkdir()

        def put_back() -> None:
            for end in ("", "-wal", "-shm"):
                there = Path(f"{log}{end}")
                if there.is_dir():
                    there.rmdir()
                there.unlink(missing_ok=True)
                if Path(f"{aside}{end}").exists():
                    Path(f"{aside}{end}").rename(there)

        comes_and_goes(house, [rubbish, folder, take_away], [put_back] * 3)
        assert [e.name for e in house.entries()] == ["pane"]


@pytest.mark.server
def test_a_postgresql_log_that_goes_away_and_comes_back(server: Server, tmp_path: Path) -> None:
    """`server` only stands for the mark: this one is stopped."""
    file = tmp_path / "fen-lane.toml"
    with running(programs_or_skip()) as mortal:
        url = mortal.new_schema()
        opened = links(file, url)
        with serving(tmp_path, file.name, today=TODAY, env={"PONDROUND_LOG": url}) as served:
            house = House(file, served, *opened)
            comes_and_goes(house, [mortal.stop] * 2, [mortal.start] * 2)
        with open_log(url, create=False) as log:
            assert [e.name for e in log.entries("fen-lane")] == ["pane"]
    said_nothing_of_secrets(served, *opened)


SHORT_WAIT = """
from scheduler.web import deadline
deadline.LONGEST_SECONDS = 3.0
"""


@pytest.mark.server
def test_a_postgresql_log_that_is_there_and_does_not_answer(server: Server, tmp_path: Path) -> None:
    """Its processes are halted: 503 and Retry-After for whoever comes, while they are; then it is well again.

    `server` only stands for the mark: this one is halted.
    """
    file = tmp_path / "fen-lane.toml"
    with running(programs_or_skip()) as slow:
        url = slow.new_schema()
        opened = links(file, url)
        env = {"PONDROUND_LOG": url}
        with serving(tmp_path, file.name, today=TODAY, before=SHORT_WAIT, env=env) as served:
            house = House(file, served, *opened)
            # What takes long is made meanwhile, and there the next time.
            until(lambda: house.get_feed().status == 200)
            pages: list[Answer] = []

            def is_shown() -> bool:
                pages.append(ask(house.url, page_path(house.sam)))
                return pages[-1].status == 200

            until(is_shown)
            form = tick_of(pages[-1].text, "pane")
            slow.halt()
            try:
                with ThreadPoolExecutor(8) as pool:
                    asked = [pool.submit(house.get_feed) for _ in range(7)]
                    asked.append(pool.submit(post, house.url, form.action, form.fields))
                    answers = [one.result() for one in asked]
            finally:
                slow.go_on()
            assert {(a.status, a["Retry-After"]) for a in answers} == {(503, "5")}
            until(lambda: house.get_feed().status == 200)
            # Whether the first one was recorded after all or not: sent again it is, and once.
            until(lambda: post(house.url, form.action, form.fields).status == 303)
        with open_log(url, create=False) as log:
            assert [e.name for e in log.entries("fen-lane")] == ["pane"]
    said_nothing_of_secrets(served, *opened)
