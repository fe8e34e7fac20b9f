"""The last step of the set-up: whether phones in the house reach it, and what they then get."""

from __future__ import annotations

import socket
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from support.web.http_client import Answer, ask
from support.web.serving import serving
from support.web.setting_up import NOWHERE, Visitor, reachable, setting_up

from scheduler.workflow.setup.network import local_address


def finish(visitor: Visitor, go: str) -> Answer:
    visitor.walk().send(go)
    return visitor.page


def test_without_a_network_no_code_is_shown(tmp_path: Path) -> None:
    with setting_up(tmp_path, before=NOWHERE) as (_, visitor):
        visitor.walk()
        assert "This machine has no address in a local network" in visitor.page.text
        assert 'value="yes"' not in visitor.page.text
        # Whoever sends it all the same is answered as if there were nobody to let in.
        page = visitor.send("yes").page.text
    assert "<svg" not in page and "No code is shown" in page
    assert '<a class="line-link" href="/guide/set-up#ways-to-publish">' in page


def test_no_gives_the_file_and_the_ways_to_publish_it(tmp_path: Path) -> None:
    with setting_up(tmp_path) as (served, visitor):
        page = finish(visitor, "no").text
        assert "<svg" not in page and "No code is shown" in page
        assert ">The guide: ways to publish</a>" in page
        (feed,) = {part.partition('"')[0] for part in page.split('href="')[1:] if part.startswith("/feeds/")}
        assert 'download="mill-lane.ics"' in page
        assert ask(visitor.url, feed).body.startswith(b"BEGIN:VCALENDAR\r\n")
        # It is over: the same address is nothing any more.
        assert ask(visitor.url, urlsplit(served.url).path).status == 404
        assert ask(visitor.url, urlsplit(served.url).path + "/phones").status == 404
        # The calendar's own page shows no code for this machine either.
        calendar = ask(visitor.url, visitor.path.replace("/phones", "/calendar")).text
        assert "<svg" not in calendar and "this address leads other devices to themselves" in calendar
        if address := local_address():
            with pytest.raises(OSError):
                ask(f"http://{address}:{urlsplit(served.url).port}", "/healthz", seconds=5)


def test_yes_listens_at_the_address_that_is_named(tmp_path: Path) -> None:
    address = reachable()
    with setting_up(tmp_path) as (served, visitor):
        visitor.walk()
        assert f'<b class="net">{address}</b>' in visitor.page.text
        assert "without encryption" in visitor.page.text and "firewall" in visitor.page.text
        page = visitor.send("yes").page.text
        port = urlsplit(served.url).port
        theirs = f"http://{address}:{port}"
        assert page.count("<svg") == 2 and f"{theirs}/feeds/" in page and f"{theirs}/round/" in page
        assert (
            "over https alone" in page and "/guide/set-up#phones-that-take-calendars-only-over-https" in page
        )
        assert f"pondround serve enclosures.toml --host {address} --port {port}" in page
        assert "127.0.0.1" not in page
        sheet = page.partition(f"{theirs}/round/")[2].partition("<")[0]
        assert ask(theirs, f"/round/{sheet}").status == 200
        # The loopback goes on, and what is told there carries the address of the network from now on.
        calendar = ask(visitor.url, visitor.path.replace("/phones", "/calendar")).text
        assert f"{theirs}/feeds/" in calendar and "<svg" in calendar
        assert served.log_lines[-1] == f"Listening on {theirs} too, as the set-up was told."
        # Both are closed at the end.
        assert served.stop() == 0
        with pytest.raises(OSError):
            ask(theirs, "/healthz", seconds=5)


def test_an_address_that_was_told_is_not_asked_about(tmp_path: Path) -> None:
    with setting_up(tmp_path, url="https://turtles.example.org") as (_, visitor):
        visitor.walk()
        assert "https://turtles.example.org" in visitor.page.text and 'value="yes"' not in visitor.page.text
        page = visitor.send("yes").page.text
    assert page.count("<svg") == 2 and "https://turtles.example.org/feeds/" in page
    assert "not encrypted" not in page and "127.0.0.1" not in page


def test_who_listens_everywhere_is_asked_about_links_alone(tmp_path: Path) -> None:
    address = reachable()
    with setting_up(tmp_path, host="0.0.0.0") as (served, visitor):
        visitor.walk()
        assert "This program listens at every address of this machine" in visitor.page.text
        page = visitor.send("yes").page.text
        assert f"http://{address}:{urlsplit(served.url).port}/feeds/" in page


def test_a_port_that_is_taken_there_is_told_and_asked_again(tmp_path: Path) -> None:
    address = reachable()
    with setting_up(tmp_path) as (served, visitor), socket.socket() as other:
        other.bind((address, urlsplit(served.url).port or 0))
        other.listen(1)
        page = finish(visitor, "yes")
        assert (visitor.step, page.status) == ("phones", 503)
        assert "cannot be listened to: Address already in use" in page.text
        assert "The description is written all the same" in page.text
        assert "No code is shown" in visitor.send("no").page.text


def test_where_there_is_a_description_nothing_is_set_up(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(
        '[site]\nname = "Mine"\ntime_zone = "Europe/Dublin"\n[[enclosure]]\nname = "Reed"\n', "utf-8"
    )
    for places in ((), ("mine.toml",)):
        with serving(tmp_path, *(places or ("--workers", "1"))) as served:
            assert "/set-up/" not in served.url
            assert ask(served.url, "/set-up/" + "A" * 27).status == 404
