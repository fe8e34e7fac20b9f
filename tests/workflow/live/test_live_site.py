"""A site as it is served, in one process: many threads at once, and what is made only once."""

from __future__ import annotations

import datetime as dt
import threading
from pathlib import Path

import pytest

from scheduler.errors import LogError
from scheduler.log import Log
from scheduler.log import links as log_links
from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import (
    KEY_FILE,
    IssuedLink,
    LinkRequest,
    calendar_secret,
    hashed,
    key_of,
    make_link,
)
from scheduler.workflow.live import feed_cache, freshness
from scheduler.workflow.live import site as live_site
from scheduler.workflow.live.link_table import LinkTarget
from scheduler.workflow.live.site import LiveSite

TODAY = dt.date(2026, 12, 14)

FEN = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[enclosure]]
name = "Sedge"
set_up = 2026-10-01
cycled = true
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "fen-lane.toml"
    path.write_text(FEN)
    return path


def opened(file: Path, **wanted: object) -> IssuedLink:
    return make_link(file, read_site(file), LinkRequest(**wanted))  # type: ignore[arg-type]


def live(file: Path, said: list[str] | None = None) -> LiveSite:
    return LiveSite(file, key_of(file, make=True), (said if said is not None else []).append, TODAY)


def found(site: LiveSite, secret: str) -> LinkTarget:
    site.look(now=True)
    there = site.find(secret)
    assert there is not None
    return there


def test_an_edit_shows_no_half_of_itself(file: Path) -> None:
    """While the description is read again others go on with what was before: nobody finds the site without a feed."""
    link, page = opened(file, kind="site"), opened(file, kind="page", of="Noor")
    site = live(file)
    feed, wrong = found(site, link.secret), []
    ended = threading.Event()

    def asks() -> None:
        while not ended.is_set():
            try:
                assert site.find(page.secret), "the page is gone"
                assert site.tended().site.settings.name.startswith("Fen Lane")
                assert site.feed(feed), "the feed is gone"
            except Exception as error:
                wrong.append(error)
                return

    threads = [threading.Thread(target=asks) for _ in range(3)]
    for thread in threads:
        thread.start()
    for number in range(25):
        new = file.with_suffix(".new")
        new.write_text(
            FEN + f'[[enclosure.extra_job]]\nkey = "pane"\ntitle = "pane {number}"\nevery = "7 days"\n'
        )
        new.replace(file)
        site.look(now=True)
    ended.set()
    for thread in threads:
        thread.join()
    assert wrong == []
    last = site.feed(feed)
    assert last is not None and b"pane 24" in last.body()


def test_while_an_edit_is_read_the_plan_before_it_holds(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What other threads see in the middle of it: the log is asked after the description was read."""
    site, seen, stand = live(file), [], log_links.stand
    site.look(now=True)
    before = (site.state, site.stand)

    def spying(log: Log, name: str) -> log_links.LogState:
        seen.append((site.state, site.stand))
        return stand(log, name)

    monkeypatch.setattr(log_links, "stand", spying)
    file.write_text(FEN.replace("Sedge", "Rush"))
    site.look(now=True)
    assert seen == [before]
    assert "" != site.state != before[0]


def test_one_makes_a_feed_and_others_take_it(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = opened(file, kind="site")
    made = []
    compose = feed_cache.compose
    monkeypatch.setattr(feed_cache, "compose", lambda *a, **k: made.append(1) or compose(*a, **k))
    one, other = live(file), live(file)
    kept = one.feed(found(one, link.secret))
    answers = []
    threads = [
        threading.Thread(target=lambda s=site: answers.append(s.feed(found(s, link.secret))))  # type: ignore[misc]
        for site in [one, other] * 5
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [kept] * 10
    assert len(made) == 1


def test_a_log_that_is_away_is_told_once(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However often it is asked; here each time, without the second in between."""
    monkeypatch.setattr(freshness, "FAILED_SECONDS", 0.0)
    link = opened(file, kind="site")
    said: list[str] = []
    site = live(file, said)
    feed = found(site, link.secret)
    assert site.feed(feed)
    log = file.with_suffix(".db")
    log.rename(file.with_suffix(".aside"))
    for _ in range(3):
        with pytest.raises(LogError, match="cannot be"):
            site.look(now=True)
    assert len(said) == 1 and said[0].startswith("fen-lane.toml: the log ")
    file.with_suffix(".aside").rename(log)
    site.look(now=True)
    assert said[1:] == ["fen-lane.toml: the log is within reach again"]


def test_only_keyed_hashes_are_kept(file: Path) -> None:
    """Neither a secret nor a hash that could be made without the key; the key is its owner's alone."""
    some = [opened(file, kind="site"), opened(file, kind="page", of="Noor")]
    secrets = [one.secret for one in some] + [some[1].calendar]
    assert some[1].calendar == calendar_secret(some[1].secret)
    kept = b"".join(path.read_bytes() for path in file.parent.iterdir() if path.name.startswith("fen-lane"))
    for secret in secrets:
        assert len(secret) == 27  # 20 bytes, of which 16 are asked for (RFC 4648, section 5)
        assert secret.encode() not in kept
        assert hashed(key_of(file, make=False), secret).encode() in kept
        assert hashed(b"another key" * 4, secret).encode() not in kept
    assert (file.parent / KEY_FILE).stat().st_mode & 0o077 == 0


def test_a_plan_that_cannot_be_made_is_told_once(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever nobody has thought of: it is the matter of that site alone, and no traceback for each who asks."""
    link = opened(file, kind="site")
    said: list[str] = []
    site = live(file, said)
    feed = found(site, link.secret)

    def failing(*given: object, **named: object) -> None:
        raise ZeroDivisionError("float division by zero")

    with monkeypatch.context() as patch:
        patch.setattr(feed_cache, "compose", failing)
        for _ in range(2):
            with pytest.raises(live_site.BrokenError):
                site.feed(feed)
    assert said == ['fen-lane.toml: its plan cannot be made: ZeroDivisionError: "float division by zero"']
    assert site.feed(feed) is not None
    monkeypatch.setattr(log_links, "stand", failing)
    with pytest.raises(LogError, match="cannot be looked at: ZeroDivisionError"):
        site.look(now=True)
