"""`pondround rota` a second time: the same where nothing changed, and little else where somebody is ill."""

from __future__ import annotations

import json
import subprocess
import sys
from os import environ  # noqa: TID251 - children get a seed for their hashes
from pathlib import Path
from typing import Any

import pytest
from support.commands import HANG_SECONDS
from support.rota.shared_out import ALDER, MONDAY, alder, due, found, ok, run, stand

__all__ = ["alder"]


# --- the same again ---


def test_published_twice_it_is_the_same_to_the_byte(alder: Path) -> None:
    for form in ("table", "csv", "json"):
        first = ok(f"rota --weeks 2 --publish --format {form}")
        again = [
            ok(f"rota --weeks 2 {publish} --format {form}") for publish in ("--publish", "", "--publish")
        ]
        assert len(set(again)) == 1
        if form == "table":
            assert again[0].endswith("Nothing differs from the rota published on 7 December 2026.\n")
            assert again[0].startswith(first)
        else:
            assert again[0] == first


@pytest.mark.parametrize("zone", ["Etc/GMT+12", "Etc/GMT-14"])
def test_the_day_of_publishing_is_that_of_the_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    """At every hour it is another day than in UTC in one of these zones; the log keeps UTC."""
    stand(tmp_path, ALDER.replace("Europe/Dublin", zone), monkeypatch)
    ok("rota --weeks 1 --publish")
    assert ok("rota --weeks 1").endswith("Nothing differs from the rota published on 7 December 2026.\n")


def test_seeds_of_hashes_change_nothing_and_data_stand_alone(alder: Path) -> None:
    """In processes of their own: a solver that greets would be seen on their standard output, whoever writes there."""
    made = []
    for seed in ("0", "1", "4711"):
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "scheduler",
                "rota",
                "--weeks",
                "2",
                "--format",
                "json",
                "--today",
                MONDAY,
            ],
            capture_output=True,
            timeout=HANG_SECONDS,
            check=False,
            env={**environ, "PYTHONHASHSEED": seed},
        )
        assert (done.returncode, done.stderr) == (0, b"")
        assert json.loads(done.stdout)["unfilled"] == []
        assert done.stdout.count(b"\n") == 1
        made.append(done.stdout)
    assert made[0] == made[1] == made[2]
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", "rota", "--weeks", "2", "--format", "csv", "--today", MONDAY],
        capture_output=True,
        timeout=HANG_SECONDS,
        check=True,
    )
    assert done.stderr == b""
    lines = done.stdout.split(b"\r\n")
    assert lines[0].startswith(b"date,weekday,keeper,") and lines[-1] == b""
    assert b"\n" not in b"".join(lines) and b"\r" not in b"".join(lines)


# --- little changes ---


def taken(made: dict[str, Any]) -> dict[tuple[str, ...], tuple[str, str]]:
    """Return day and keeper by enclosure, job, variant and due day."""
    return {
        (j["enclosure"], j["job"], j["variant"], j["due"]): (r["date"], r["keeper"])
        for r in made["rounds"]
        for j in r["jobs"]
    }


@pytest.mark.parametrize("keeper", ["Ben Ash", "Ines", "Noor"])
def test_somebody_ill_today_moves_little_else(alder: Path, keeper: str) -> None:
    """At most what the ill keeper had that day, and 5 % of all."""
    before = found("rota --weeks 4 --publish")
    for day in (MONDAY, "2026-12-09", "2026-12-11"):
        held = found("rota --weeks 3", today=day)
        made = found("rota --weeks 3", "--ill", keeper, today=day)
        was, now = taken(held), taken(made)
        own = {name for name, slot in was.items() if slot == (day, keeper)}
        moved = {name for name in was if now.get(name) != was[name]}
        assert own <= moved
        assert len(moved) <= len(own) + 0.05 * len(was)
        assert (day, keeper) not in now.values()
        # And what is told of it is just that.
        assert {(c["enclosure"], c["job"], c["variant"], c["due"]) for c in made["changes"]} >= moved
        for c in made["changes"]:
            assert c["before"] != c["now"]
    assert before["changes"] == []


def test_afresh_forgets_what_was_published(alder: Path) -> None:
    fresh = taken(found("rota --weeks 2"))
    code, _, _ = run("rota --weeks 2 --publish --ill ben=2026-12-07/2026-12-18")
    assert code in (0, 1)
    held = taken(found("rota --weeks 2"))
    assert held != fresh
    again = found("rota --weeks 2 --afresh")
    assert taken(again) == fresh
    assert {tuple(c["now"].values()) for c in again["changes"] if c["now"]} <= set(fresh.values())
    assert len(again["changes"]) == sum(fresh[name] != held.get(name) for name in fresh)


def test_nothing_is_written_without_publish(alder: Path) -> None:
    for line in ("rota", "rota --keeper noor", "rota --ill noor", "rota --sitter Pia --span 2026-12-09"):
        run(line)
    assert [path.name for path in alder.iterdir()] == ["enclosures.toml"]


def test_what_was_published_shows_in_jobs(alder: Path) -> None:
    made = found("rota --weeks 1 --publish")
    keepers = {(*name[:2], name[3]): keeper for name, (_, keeper) in taken(made).items()}
    ids = {"Ben Ash": "ben-ash", "Ines": "ines", "Noor": "noor", "Olu": "olu"}
    lines = due(MONDAY, 7)
    assert lines
    for line in lines:
        keeper = keepers[line["enclosure"], line["job"], line["date"]]
        assert line["keeper"] in (keeper, ids[keeper])
