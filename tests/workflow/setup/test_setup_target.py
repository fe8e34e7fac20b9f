"""Which description a set-up would write, and where phones would reach this machine."""

from __future__ import annotations

import errno
import os
import socket
from pathlib import Path
from typing import ClassVar

import pytest

from scheduler.description.starter import starter_text
from scheduler.errors import UsageError, WriteError
from scheduler.web.reach import leads_elsewhere
from scheduler.workflow import write_starter
from scheduler.workflow.setup import network
from scheduler.workflow.setup.network import is_local, local_address
from scheduler.workflow.setup.preview import answer_problems, preview
from scheduler.workflow.setup.target import file_named, file_to_describe, usual_places
from scheduler.workflow.setup.zones import REGIONS, place_zone, zones_now

SITE = '[site]\nname = "Mine"\n'


def test_a_file_is_set_up_where_nothing_is_described(tmp_path: Path) -> None:
    new = tmp_path / "turtles.toml"
    assert file_to_describe([new]) == new
    assert file_to_describe([tmp_path]) == tmp_path / "enclosures.toml"
    # Other files of the folder are none.
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "x"\n', "utf-8")
    (tmp_path / "mine.species.toml").write_text("species", "utf-8")
    (tmp_path / "notes.txt").write_text(SITE, "utf-8")
    assert file_to_describe([tmp_path]) == tmp_path / "enclosures.toml"


def test_where_one_is_or_none_could_be_nothing_is_set_up(tmp_path: Path) -> None:
    new = tmp_path / "turtles.toml"
    assert file_to_describe([]) is None
    assert file_to_describe([new, tmp_path / "other.toml"]) is None
    assert file_to_describe([tmp_path / "cellar/turtles.toml"]) is None
    assert file_to_describe([tmp_path / "turtles.txt"]) is None
    assert file_to_describe([tmp_path / "mine.species.toml"]) is None
    new.symlink_to(tmp_path / "nowhere")
    assert file_to_describe([new]) is None
    new.unlink()
    for text in (SITE, "[[enclosure]]", "not = [toml", "\ud800"):
        new.write_bytes(text.encode("utf-8", "surrogatepass"))
        assert file_to_describe([new]) is None
        assert file_to_describe([tmp_path]) is None, text
    new.rename(tmp_path / "enclosures.toml").write_text("", "utf-8")
    assert file_to_describe([tmp_path]) is None


def test_without_a_word_it_is_the_usual_file_or_the_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert usual_places() == (Path(),)
    Path("enclosures.toml").touch()
    assert usual_places() == (Path("enclosures.toml"),)


def test_another_name_stays_in_the_folder(tmp_path: Path) -> None:
    assert file_named(tmp_path / "a.toml", "the turtles é.toml") == tmp_path / "the turtles é.toml"
    for name in ("", "..", "../b.toml", "/b.toml", "c:b.toml", "b\\c.toml", "b\n.toml", ".b.toml", "b"):
        with pytest.raises(UsageError, match="is no name for the file; write letters and digits"):
            file_named(tmp_path / "a.toml", name)


def test_a_new_file_has_the_rights_of_any_and_is_written_where_no_links_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    write_starter(tmp_path / "a.toml", "one")
    (tmp_path / "usual").touch()
    assert (tmp_path / "a.toml").stat().st_mode == (tmp_path / "usual").stat().st_mode
    monkeypatch.setattr(os, "link", refuse)
    write_starter(tmp_path / "b.toml", "two")
    with pytest.raises(WriteError, match="it exists already and stays as it is"):
        write_starter(tmp_path / "a.toml", "three")
    found = {file.name: file.read_text() for file in tmp_path.iterdir()}
    assert found == {"a.toml": "one", "b.toml": "two", "usual": ""}


# --- the network ---


@pytest.mark.parametrize(
    ("address", "local"),
    [
        # RFC 1918, RFC 6598, RFC 4193; of the net at large, of the machine itself, of the link alone, none.
        ("192.168.1.20", True), ("10.0.0.7", True), ("172.16.5.4", True), ("100.64.0.9", True), ("fd00::2", True),
        ("8.8.8.8", False), ("2606:4700::1", False), ("127.0.0.1", False), ("::1", False), ("0.0.0.0", False),
        ("169.254.7.7", False), ("fe80::1", False), ("224.0.0.1", False), ("", False), ("host", False),
    ],
)  # fmt: skip
def test_which_addresses_are_of_a_house(address: str, local: bool) -> None:
    assert is_local(address) is local


class Probe:
    """A socket of a machine that has an address of each family, or none."""

    asked: ClassVar[list[tuple[str, int]]] = []
    own: ClassVar[dict[int, str]] = {}

    def __init__(self, family: int, kind: int) -> None:
        assert kind == socket.SOCK_DGRAM
        self.family = family

    def __enter__(self) -> Probe:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def connect(self, far: tuple[str, int]) -> None:
        self.asked.append(far)
        if self.family not in self.own:
            raise OSError(101, "Network is unreachable")

    def getsockname(self) -> tuple[str, int]:
        return self.own[self.family], 40000


V4, V6 = socket.AF_INET, socket.AF_INET6


@pytest.mark.parametrize(
    ("own", "found"),
    [
        ({}, ""),
        ({V4: "192.168.1.20", V6: "fd00::2"}, "192.168.1.20"),
        ({V6: "fd00::2"}, "fd00::2"),
        ({V4: "203.1.113.9", V6: "fd00::2"}, "fd00::2"),
        ({V4: "203.1.113.9", V6: "2606:4700::2"}, ""),
        ({V4: "127.0.0.1"}, ""),
    ],
    ids=["none", "both", "the newer one", "of the net and of the house", "of the net alone", "the loopback"],
)
def test_the_address_of_the_machine(monkeypatch: pytest.MonkeyPatch, own: dict[int, str], found: str) -> None:
    monkeypatch.setattr(network.socket, "socket", Probe)
    monkeypatch.setattr(Probe, "own", own)
    monkeypatch.setattr(Probe, "asked", [])
    assert local_address() == found
    # RFC 5737 and RFC 3849: nobody has these.
    assert {far for far, _ in Probe.asked} <= {"203.0.113.1", "2001:db8::1"}


@pytest.mark.parametrize(
    ("address", "elsewhere"),
    [
        ("http://192.168.1.20:8737", True), ("https://turtles.example.org", True), ("http://[fd00::2]:8737", True),
        ("http://127.0.0.1:8737", False), ("http://[::1]:8737/x", False), ("http://localhost", False),
        ("http://127.9.9.9", False), ("http://0.0.0.0:8737", False), ("http://[::]", False), ("", False),
        ("http://[", False), ("http://LOCALHOST:1", False),
    ],
)  # fmt: skip
def test_which_addresses_a_code_may_carry(address: str, elsewhere: bool) -> None:
    assert leads_elsewhere(address) is elsewhere


# --- zones, and what follows ---


def test_zones_have_their_hour_beside_them(monkeypatch: pytest.MonkeyPatch) -> None:
    zones = zones_now()
    assert tuple(zones) == REGIONS and all(zones.values())
    names = dict(zones["America"])
    assert names["America/Argentina/Buenos_Aires"].startswith("Buenos Aires (Argentina), ")
    assert len({text for _, text in zones["Europe"]}) == len(zones["Europe"])
    for zone, own in (("Europe/Dublin", "Europe/Dublin"), ("UTC", ""), ("Etc/GMT+3", ""), ("EST", "")):
        monkeypatch.setenv("TZ", zone)
        monkeypatch.setattr(os, "readlink", lambda *_: "/usr/share/zoneinfo/Etc/UTC")
        assert place_zone() == own


TANK = {
    "time_zone": "Europe/Dublin",
    "length": "120 cm",
    "width": "50 cm",
    "height": "50 cm",
    "water_depth": "40 cm",
}
LATER = ("filter", "flow", "heater", "set_to", "lamp", "second_lamp", "species")


def test_the_review_waits_with_what_has_not_been_asked(tmp_path: Path) -> None:
    file = tmp_path / "new.toml"
    early, whole = preview(TANK, file, LATER), preview(TANK, file)
    assert early is not None and whole is not None
    told = {f.key for f in early.told("look")}
    assert told < {f.key for f in whole.told("look")}
    assert "basking-review" in {
        f.key for f in (preview({**TANK, "lamp": "T5 HO tube"}, file, ("species",)) or early).told("look")
    }
    assert "floor_load" in told and "filter-check" not in told and "uvi-reading" not in told
    assert early.figure("gross_volume") == pytest.approx(240)
    assert early.figure("ration") is None
    heated = preview({**TANK, "heater": "200 W", "set_to": "25 degC"}, file)
    assert heated is not None and "site.room_low" in heated.not_known


def test_what_is_wrong_has_no_review_and_is_told_as_check_tells_it(tmp_path: Path) -> None:
    file = tmp_path / "new.toml"
    wrong = {**TANK, "width": "130 cm"}
    assert preview(wrong, file) is None
    assert [key for key, _ in answer_problems(wrong, file)] == ["width"]
    assert answer_problems(TANK, file) == ()
    assert starter_text(TANK)
