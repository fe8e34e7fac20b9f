"""A link that has ended opens nothing from the next request on: in every process, whoever else asks meanwhile."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import pytest
from support.web.http_client import FEN, TODAY, Form, ask, feed_path, link, page_path, post, tick_of, write
from support.web.serving import Served, serving

from scheduler.log import open_log
from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink, renew_link, revoke_link
from scheduler.workflow.live.sites import Sites

FIRST, _, SAM = FEN.partition('[[keeper]]\nname = "Sam"\n')
WITHOUT_SAM = FIRST + SAM
WITHOUT_RUSH = FEN.partition('[[enclosure]]\nname = "Rush"')[0]

TIMES = 12
"""So often an ended link is asked for; with two workers it is unlikely that either of them was never asked."""


@contextmanager
def polled(served: Served, *paths: str) -> Iterator[None]:
    """Have others ask all the time, so that everything is at hand everywhere."""
    ended = threading.Event()

    def poll(path: str) -> None:
        while not ended.is_set():
            ask(served.url, path)

    threads = [threading.Thread(target=poll, args=(path,)) for path in paths]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        ended.set()
        for thread in threads:
            thread.join()


_addresses = count(1)


def somewhere() -> dict[str, str]:
    """Return an address from which nobody asked before: what opens nothing counts as a guess."""
    number = next(_addresses)
    return {"X-Forwarded-For": f"10.0.{number // 250}.{number % 250}"}


def statuses(served: Served, path: str) -> list[int]:
    """Ask for something again and again, each time just after somebody asked how the server is."""
    found = []
    for _ in range(TIMES):
        ask(served.url, "/healthz")
        found.append(ask(served.url, path, fields=somewhere()).status)
    return found


def sent(served: Served, form: Form) -> list[int]:
    found = []
    for _ in range(TIMES):
        ask(served.url, "/healthz")
        found.append(post(served.url, form.action, form.fields, somewhere()).status)
    return found


def recorded(file: Path) -> list[str]:
    with open_log(f"sqlite:///{file.with_suffix('.db')}", create=False) as log:
        return [entry.name for entry in log.entries(read_site(file).settings.id)]


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_a_link_that_was_revoked_or_renewed(tmp_path: Path, workers: int) -> None:
    file = write(tmp_path / "fen-lane.toml")
    site, sam, noor, tank = (
        link(file, "site"),
        link(file, "page", "sam", name="sam"),
        link(file, "page", "noor", name="noor"),
        link(file, "enclosure", "sedge", name="tank"),
    )
    with serving(tmp_path, file.name, today=TODAY, workers=workers) as served:
        for opened in (page_path(sam), page_path(noor), feed_path(tank), feed_path(sam)):
            assert set(statuses(served, opened)) == {200}
        tick = tick_of(ask(served.url, page_path(sam)).text, "pane")
        with polled(served, feed_path(site), "/healthz"):
            described = read_site(file)
            revoke_link(file, described, "sam")
            assert set(statuses(served, page_path(sam))) == {404}
            assert set(statuses(served, feed_path(sam))) == {404}
            assert set(sent(served, tick)) == {404}
            # What was typed is not lost with the link; a link that never was is told the same.
            for action in (tick.action, f"/round/{'A' * 27}/done"):
                told = post(served.url, action, {**tick.fields, "note": "left <b>eye</b>"}, somewhere())
                assert (
                    told.status == 404
                    and "<li>Note: <bdi>left &lt;b&gt;eye&lt;/b&gt;</bdi></li>" in told.text
                )
            renew_link(file, described, "noor")
            assert set(statuses(served, page_path(noor))) == {404}
            revoke_link(file, described, "tank")
            assert set(statuses(served, feed_path(tank))) == {404}
    assert recorded(file) == []


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_a_keeper_or_an_enclosure_that_is_gone(tmp_path: Path, workers: int) -> None:
    file = write(tmp_path / "fen-lane.toml")
    site, sam, rush = link(file, "site"), link(file, "page", "sam"), link(file, "enclosure", "rush")
    with serving(tmp_path, file.name, today=TODAY, workers=workers) as served:
        for opened in (page_path(sam), feed_path(sam), feed_path(rush)):
            assert set(statuses(served, opened)) == {200}
        tick = tick_of(ask(served.url, page_path(sam)).text, "pane")
        with polled(served, feed_path(site), "/healthz"):
            write(tmp_path / "new", WITHOUT_SAM).replace(file)
            assert set(statuses(served, page_path(sam))) == {404}
            assert set(sent(served, tick)) == {404}
            assert set(statuses(served, feed_path(sam))) == {404}
            write(tmp_path / "new", WITHOUT_RUSH).replace(file)
            assert set(statuses(served, feed_path(rush))) == {404}
    assert recorded(file) == []


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_a_link_of_a_site_whose_id_changed(tmp_path: Path, workers: int) -> None:
    """The links belong to the site that was: the new one's feed is for those who are given a link of it."""
    file = write(tmp_path / "fen-lane.toml")
    site, sam = link(file, "site"), link(file, "page", "sam")
    with serving(tmp_path, file.name, today=TODAY, workers=workers) as served:
        assert set(statuses(served, feed_path(site))) == {200}
        tick = tick_of(ask(served.url, page_path(sam)).text, "pane")
        with polled(served, feed_path(site), "/healthz"):
            write(tmp_path / "new", FEN.replace("Fen Lane", "Mill Lane")).replace(file)
            assert set(statuses(served, feed_path(site))) == {404}
            assert set(sent(served, tick)) == {404}
    assert recorded(file) == []


def test_what_others_look_at_does_not_keep_a_link_alive(tmp_path: Path) -> None:
    """Two processes, each of which has seen the link, and looked at the site a moment ago."""
    file = write(tmp_path / "fen-lane.toml")
    sam: IssuedLink = link(file, "page", "sam", name="sam")
    processes = [Sites([file], lambda _: None, dt.date.fromisoformat(TODAY)) for _ in range(2)]
    for sites in processes:
        assert sites.find(sam.secret) is not None
    revoke_link(file, read_site(file), "sam")
    for sites in processes:
        assert sites.find(sam.secret) is None
        assert sites.site_of(sam.secret) is None
