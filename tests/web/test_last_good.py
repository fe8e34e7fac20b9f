"""A mistake in a description: all processes go on with the same one from before, also when they begin anew."""

from __future__ import annotations

import datetime as dt
import gzip
import http.client
import json
import os
import threading
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
import sqlalchemy as sa
from support.servers import server
from support.web.http_client import FEN, HANG_SECONDS, TODAY, ask, feed_path, link, page_path, write
from support.web.serving import Served, serving

from scheduler.errors import DescriptionError, LogError
from scheduler.log import open_log
from scheduler.workflow.feeds.links import key_of
from scheduler.workflow.live import freshness
from scheduler.workflow.live.description import LOG_ITSELF
from scheduler.workflow.live.site import LiveSite

__all__ = ["server"]

EDITED = FEN.replace("brush the pane", "polish the pane")
MISTAKES = {
    "a value": EDITED.replace('kind = "tub"', 'kind = "tubb"'),
    "no TOML": EDITED + "\n[[",
}


def one_process(served: Served, path: str) -> bytes:
    """Ask until it is seen that an edit was read, on one connection: of one process alone."""
    place = urlsplit(served.url)
    connection = http.client.HTTPConnection(place.hostname or "", place.port, timeout=HANG_SECONDS)
    try:
        connection.request("GET", path)
        return connection.getresponse().read()
    finally:
        connection.close()


def bytes_of(served: Served, path: str) -> set[bytes]:
    """Return what sixteen fetches give, whichever process answers."""
    return {ask(served.url, path).body for _ in range(16)}


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["sqlite", pytest.param("postgresql", marks=pytest.mark.server)])
@pytest.mark.parametrize("mistake", MISTAKES.values(), ids=MISTAKES)
def test_all_processes_go_on_with_the_same(
    tmp_path: Path, mistake: str, kind: str, request: pytest.FixtureRequest
) -> None:
    """One process has seen the last good edit, the other not; then both begin anew with the mistake still there."""
    url = None if kind == "sqlite" else request.getfixturevalue("server").new_schema()
    env = {} if url is None else {"PONDROUND_LOG": url}
    file = write(tmp_path / "fen-lane.toml")
    feed, page = link(file, "site", log=url), link(file, "page", "noor", log=url)
    path = feed_path(feed)
    with serving(tmp_path, file.name, today=TODAY, workers=2, env=env) as served:
        assert len(bytes_of(served, path)) == 1
        write(tmp_path / "new", EDITED).replace(file)
        assert b"polish the pane" in one_process(served, path)
        write(tmp_path / "new", mistake).replace(file)
        (kept,) = bytes_of(served, path)
        assert b"polish the pane" in kept
        assert "has a mistake" in ask(served.url, page_path(page)).text
    with serving(tmp_path, file.name, today=TODAY, workers=2, env=env) as served:
        assert bytes_of(served, path) == {kept}
        assert any("what was read before goes on" in line for line in served.log_lines)
        write(tmp_path / "new", FEN).replace(file)
        (mended,) = bytes_of(served, path)
        assert b"brush the pane" in mended and b"polish the pane" not in mended
        assert "has a mistake" not in ask(served.url, page_path(page)).text


def test_a_log_that_the_description_names_is_found_in_one_with_a_mistake(tmp_path: Path) -> None:
    named = FEN.replace(
        'time_zone = "Europe/Dublin"', 'time_zone = "Europe/Dublin"\nlog = "sqlite:///kept.db"'
    )
    file = write(tmp_path / "fen-lane.toml", named)
    feed = link(file, "site")
    with serving(tmp_path, file.name, today=TODAY) as served:
        kept = ask(served.url, feed_path(feed)).body
    for mistake in (named.replace('kind = "tub"', 'kind = "tubb"'), named + "\n[["):
        write(file, mistake)
        with serving(tmp_path, file.name, today=TODAY) as served:
            assert ask(served.url, feed_path(feed)).body == kept


@pytest.mark.server
def test_the_password_of_a_log_is_not_in_it(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """A description that names its log is kept there without the URL, and goes on with it after a mistake."""
    made = request.getfixturevalue("server")
    url = made.new_schema().replace("postgres@/", "postgres:rosebud@/")
    url = url.replace(str(made.home), quote(str(made.home), safe=""))
    named = FEN.replace('time_zone = "Europe/Dublin"', f'time_zone = "Europe/Dublin"\nlog = "{url}"')
    file = write(tmp_path / "fen-lane.toml", named)
    feed = link(file, "site")
    with serving(tmp_path, file.name, today=TODAY) as served:
        kept = ask(served.url, feed_path(feed)).body
    with open_log(url, create=False) as log, log.reading() as connection:
        assert connection is not None
        (body,) = connection.execute(sa.text("SELECT body FROM described")).scalars()
    told = json.loads(gzip.decompress(body))["text"]
    assert "rosebud" not in told and url not in told
    assert told == named.replace(url, LOG_ITSELF)
    for mistake in (named.replace('kind = "tub"', 'kind = "tubb"'), named + "\n[["):
        write(file, mistake)
        with serving(tmp_path, file.name, today=TODAY) as served:
            assert ask(served.url, feed_path(feed)).body == kept


# --- in one process ---


def live(file: Path, said: list[str]) -> LiveSite:
    return LiveSite(file, key_of(file, make=True), said.append, dt.date.fromisoformat(TODAY))


def test_a_first_description_with_a_mistake_is_refused(tmp_path: Path) -> None:
    """There is none from before: neither a log, nor one in the log."""
    file = write(tmp_path / "fen-lane.toml", MISTAKES["a value"])
    with pytest.raises(DescriptionError):
        live(file, [])
    assert not file.with_suffix(".db").exists()
    # Nor is one that nobody has; whoever takes the file away does not want it served.
    write(file, FEN)
    live(file, []).look()
    file.unlink()
    with pytest.raises(DescriptionError):
        live(file, [])


def test_a_description_that_becomes_a_pipe(tmp_path: Path) -> None:
    """Nobody writes into it: it is told and not waited for."""
    said: list[str] = []
    file = write(tmp_path / "fen-lane.toml")
    site = live(file, said)
    site.look()
    file.unlink()
    os.mkfifo(file)
    site.look(now=True)
    assert site.site.settings.name == "Fen Lane" and site.problem
    (line,) = said
    assert line.endswith(
        "is no file but a pipe or a device; that is no description; what was read before goes on"
    )
    # Also for whoever begins now, and for the species sheets beside it.
    assert live(file, said).site.settings.name == "Fen Lane"
    file.unlink()
    write(file)
    os.mkfifo(tmp_path / "mine.species.toml")
    site.look(now=True)
    assert "species sheet" in site.problem


def test_a_disk_that_does_not_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever waits for somebody who waits for it is told so, and does not wait for ever."""
    monkeypatch.setattr(freshness, "ANSWER_SECONDS", 0.1)
    monkeypatch.setattr(freshness, "FAILED_SECONDS", 0.0)
    said: list[str] = []
    file = write(tmp_path / "fen-lane.toml")
    site = live(file, said)
    site.look()
    waits, hung, stat = threading.Event(), threading.Event(), Path.stat

    def hanging(path: Path, **named: bool) -> os.stat_result:
        if path == file:
            waits.set()
            hung.wait(HANG_SECONDS)
        return stat(path, **named)

    monkeypatch.setattr(Path, "stat", hanging)
    first = threading.Thread(target=lambda: site.look(now=True))
    first.start()
    assert waits.wait(HANG_SECONDS)
    for _ in range(2):
        with pytest.raises(LogError, match="does not answer"):
            site.look(now=True)
    assert len(said) == 1 and said[0].startswith(
        "fen-lane.toml: the log, or the disk of the description, does not"
    )
    hung.set()
    first.join()
    site.look(now=True)
