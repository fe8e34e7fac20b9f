"""Feeds of many processes and of many sites: every process answers alike, and no site costs another."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from support.servers import Server, server
from support.web.fed import House, is_continued, links
from support.web.http_client import FEN, TODAY, Answer, ask, feed_path, link, until, write
from support.web.serving import serving

__all__ = ["server"]


# --- many processes ---


def alike(houses: list[House], name: str) -> Answer:
    """Return what all processes answer, once they do so; each is asked several times, whichever worker answers."""
    answers: list[Answer] = []

    def are_alike() -> bool:
        answers[:] = [house.get(name) for house in houses for _ in range(4)]
        return len({(a.status, a["ETag"], a["Last-Modified"], a.body) for a in answers}) == 1

    until(are_alike, lambda: [(a.status, a["ETag"]) for a in answers])
    return answers[0]


@pytest.mark.parametrize("kind", ["sqlite", pytest.param("postgresql", marks=pytest.mark.server)])
def test_every_process_serves_the_same(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """Two workers of one server, and another server beside it, which share nothing but the log and the key."""
    url = None
    if kind == "postgresql":
        database: Server = request.getfixturevalue("server")
        url = database.new_schema()
    env = {} if url is None else {"PONDROUND_LOG": url}
    file = write(tmp_path / "fen-lane.toml")
    opened = links(file, log=url)
    with (
        serving(tmp_path, file.name, today=TODAY, workers=2, env=env) as one,
        serving(tmp_path, file.name, today=TODAY, env=env) as other,
    ):
        houses = [House(file, served, opened) for served in (one, other)]
        before = {name: alike(houses, name) for name in ("site", "sedge", "rounds", "noor-page")}
        assert {a.status for a in before.values()} == {200}
        houses[0].tick("pane")
        after = {name: alike(houses, name) for name in before}
        assert after["sedge"]["ETag"] != before["sedge"]["ETag"]
        for name, was in before.items():
            is_continued(was.body, after[name].body)
        # Who has ticked sees it at once in any process, and so does everybody else.
        for house in houses * 2:
            for page in ("noor-page", "sam-page"):
                assert 'name="key" value="pane"' not in house.page(page)
    assert one.log_lines[1:] == other.log_lines[1:] == []


# --- many sites ---


def test_a_folder_of_sites(tmp_path: Path) -> None:
    """Three descriptions, of which one is wrong; one that comes later, one that is mended, one that goes."""

    def named(name: str) -> str:
        return FEN.replace("Fen Lane", name)

    one, gone, broken = (tmp_path / f"{name}.toml" for name in ("mill", "quay", "weir"))
    for file, name in ((one, "Mill"), (gone, "Quay"), (broken, "Weir")):
        write(file, named(name))
    opened = {file.stem: link(file, "site") for file in (one, gone, broken)}
    write(broken, named("Weir").replace('"Europe/Dublin"', '"Europe/Dubline"'))

    with serving(tmp_path, today=TODAY) as served:

        def status(name: str) -> int:
            return ask(served.url, feed_path(opened[name])).status

        def is_served(name: str) -> None:
            until(lambda: status(name) == 200, lambda: (name, served.log_lines))

        assert [status(name) for name in opened] == [200, 200, 404]
        said = [line for line in served.log_lines if line.startswith("weir.toml: site.time_zone: ")]
        assert len(said) == 1 and said[0].endswith("it is not served until that is mended")

        write(broken, named("Weir"))
        is_served("weir")
        later = write(tmp_path / "ford.toml", named("Ford"))
        opened["ford"] = link(later, "site")
        is_served("ford")
        assert "Ford" in ask(served.url, feed_path(opened["ford"])).text
        gone.unlink()
        # It is noticed when something unknown is asked for, as a new link is.

        def is_told_gone() -> bool:
            ask(served.url, f"/feeds/{'A' * 27}.ics", fields={"X-Forwarded-For": "192.0.2.1"})
            return any("quay.toml: gone" in line for line in served.log_lines)

        until(is_told_gone, lambda: served.log_lines)
        assert status("quay") == 404
        assert [status(name) for name in ("mill", "weir", "ford")] == [200, 200, 200]
        assert json.loads(ask(served.url, "/healthz").body) == {
            "status": "ok",
            "descriptions_with_mistakes": 0,
        }
    assert served.process.returncode == 0


def test_a_file_that_cannot_be_served_costs_no_other(tmp_path: Path) -> None:
    """Whatever is wrong with it, at the start and later: it is told in a line, and the others go on."""
    mill = write(tmp_path / "mill.toml", FEN.replace("Fen Lane", "Mill"))
    head = '[site]\nname = "{}"\ntime_zone = "Europe/Dublin"\n'
    bad = {
        "a-share": FEN.replace("Fen Lane", "Share") + "[enclosure.job]\nwater-change = {share = 1e-17}\n",
        "b-log": head.format("Log") + 'log = "sqlite:///"\n[[enclosure]]\nname = "Reed"\n',
        "c-bytes": "\x00\x01",
        "d-deep": head.format("Deep") + "a = " + "[" * 9_000,
        "e-twin": FEN.replace("Fen Lane", "Mill").replace("[[keeper]]", f'log = "sqlite:///{mill.stem}.db"\n[[keeper]]', 1),
    }  # fmt: skip
    opened = link(mill, "site")
    for name, text in bad.items():
        write(tmp_path / f"{name}.toml", text)
    write(tmp_path / "z-twin.toml", bad.pop("e-twin"))
    (tmp_path / "e-twin.toml").unlink()
    (tmp_path / "f-folder.toml").mkdir()
    os.mkfifo(tmp_path / "g-pipe.toml")
    expected = [*(f"{name}.toml" for name in bad), "f-folder.toml", "g-pipe.toml", "z-twin.toml"]
    with serving(tmp_path, today=TODAY) as served:
        assert ask(served.url, feed_path(opened)).status == 200
        said = [line for line in served.log_lines if "it is not served until that is mended" in line]
        assert [line.partition(":")[0] for line in said] == expected

        def has_told(name: str) -> bool:
            """Look for what is new, from yet another address, and tell whether a file was heard of."""
            guesses.append(f"192.0.2.{len(guesses) % 250}")
            fields = {"X-Forwarded-For": guesses[-1]}
            assert ask(served.url, f"/feeds/{'A' * 27}.ics", fields=fields).status == 404
            assert ask(served.url, feed_path(opened)).status == 200
            return any(line.startswith(f"{name}: ") for line in served.log_lines)

        # Also what comes later, and what is looked for by others: once, however often the folder is looked through.
        guesses: list[str] = []
        names = [f"later-{number}.toml" for number in range(3)]
        for name in names:
            write(tmp_path / name, bad["d-deep"])
            until(lambda told=name: has_told(told), lambda: served.log_lines)  # type: ignore[misc]
        said = [line.partition(":")[0] for line in served.log_lines]
        assert [said.count(name) for name in (*expected, *names)] == [1] * (len(expected) + 3)
    assert "Traceback" not in "\n".join(served.log_lines)


def test_a_site_whose_log_is_away_holds_up_no_other(tmp_path: Path) -> None:
    well, ill = (write(tmp_path / f"{n}.toml", FEN.replace("Fen Lane", n)) for n in ("mill", "weir"))
    opened = {file.stem: link(file, "site") for file in (well, ill)}
    ill.with_suffix(".db").write_bytes(b"no log at all" * 1000)
    for left in ("-wal", "-shm"):
        Path(f"{ill.with_suffix('.db')}{left}").unlink(missing_ok=True)
    with serving(tmp_path, today=TODAY) as served:
        # The secret of neither is known to the process yet.
        assert ask(served.url, feed_path(opened["mill"])).status == 200
        answer = ask(served.url, feed_path(opened["weir"]))
        assert (answer.status, answer["Retry-After"]) == (503, "5")
        assert ask(served.url, "/healthz").status == 503
    assert [line.partition(": ")[0] for line in served.log_lines[1:]] == ["weir.toml"]
