"""`pondround links`: links made, listed, renewed, revoked; what is kept of a secret; codes that a scanner reads."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import re
import shutil
import sqlite3
import stat
import subprocess
from os import environ  # noqa: TID251 - whether a scanner has to be there
from pathlib import Path

import pytest
from support import conversations
from typer.testing import CliRunner

from scheduler.cli.main import app
from scheduler.workflow.feeds.links import calendar_secret, hashed

ALDER = """
[site]
name = "Alder Row"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[keeper]]
name = "Ben Ash"
[[enclosure]]
name = "Sedge tank"
"""

SECRET = re.compile(r"[A-Za-z0-9_-]{27}")


@pytest.fixture
def alder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    file = tmp_path / "alder.toml"
    file.write_text(ALDER, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    for name in ("PONDROUND_KEY", "PONDROUND_URL", "PONDROUND_LOG"):
        monkeypatch.delenv(name, raising=False)
    return file


def run(*words: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, ["links", "alder.toml", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def ok(*words: str) -> str:
    code, out, err = run(*words)
    assert code == 0, err
    return out


def made(*words: str) -> dict[str, str]:
    return json.loads(ok(*words, "--format", "json"))  # type: ignore[no-any-return]


def kept(folder: Path) -> list[dict[str, object]]:
    with sqlite3.connect(folder / "alder.db") as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute("SELECT * FROM link ORDER BY number")]


# --- made and listed ---


def test_links_as_they_read(alder: Path) -> None:
    assert run() == (
        0,
        "",
        "There are no links yet; --page KEEPER, --coordinator KEEPER, --rounds KEEPER, --enclosure NAME or "
        "--site make one.\n",
    )
    page = ok("--page", "noor")
    assert SECRET.sub(
        "S", page
    ) == "page      http://S:8737/round/S\ncalendar  http://S:8737/feeds/S.ics\n".replace(
        "http://S:8737", "http://127.0.0.1:8737"
    )
    for words in (
        ["--site"],
        ["--site", "--at-hours"],
        ["--enclosure", "sedge", "--alarms", "--all-day"],
        ["--rounds", "Ben", "--each-job"],
        ["--rounds", "Ben"],
    ):
        assert ok(*words).startswith("calendar  http://127.0.0.1:8737/feeds/")
    ok("--rounds", "Ben", "--name", "Ben's telephone")
    assert re.sub(r"\d{4}-\d\d-\d\d", "DATE", ok()) == (
        "link                  opens      made        last used, UTC\n"
        "page-noor             page       DATE  never\n"
        "site                  site       DATE  never\n"
        "site-2                site       DATE  never  (at-hours)\n"
        "enclosure-sedge-tank  enclosure  DATE  never  (all-day, alarms)\n"
        "rounds-ben-ash        rounds     DATE  never  (each-job)\n"
        "rounds-ben-ash-2      rounds     DATE  never\n"
        "Ben's telephone       rounds     DATE  never\n"
    )
    listed = [json.loads(line) for line in ok("--format", "json").splitlines()]
    assert [(one["kind"], one["of"], one["forms"], one["fetched"]) for one in listed] == [
        ("page", "noor", [], None),
        ("site", None, [], None),
        ("site", None, ["at-hours"], None),
        ("enclosure", "sedge-tank", ["all-day", "alarms"], None),
        *[("rounds", "ben-ash", forms, None) for forms in (["each-job"], [], [])],
    ]
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", one["made"]) for one in listed)


def test_the_pages_of_a_coordinator(alder: Path) -> None:
    assert SECRET.sub("S", ok("--coordinator", "noor").replace("http://127.0.0.1:8737", "")) == (
        "site      /round/S/site\ncalendar  /feeds/S.ics\n"
    )
    assert [(one["kind"], one["of_"]) for one in kept(alder.parent)] == [("coordinator", "noor")]
    address = made("--renew", "coordinator-noor")["site"]
    # Whoever has a calendar would have the pages.
    for led in (address, address.removesuffix("/site"), f"noor={address}"):
        code, _, err = conversations.run(f"export alder.toml --to out --link {led}", today="2026-12-07")
        assert (code, "of the pages of a coordinator, coordinator-noor" in err) == (2, True)


def test_addresses_begin_with_the_url_that_is_given(alder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert made("--site", "--url", "https://turtles.example.org/")["calendar"].startswith(
        "https://turtles.example.org/feeds/"
    )
    monkeypatch.setenv("PONDROUND_URL", "https://other.example.org")
    page = made("--page", "Noor")
    assert page["page"].startswith("https://other.example.org/round/")
    # One big calendar program takes at most 256 characters.
    assert max(map(len, page.values())) < 100


# --- what is kept ---


def test_of_a_secret_only_a_keyed_hash_is_kept(alder: Path) -> None:
    page = made("--page", "Noor")
    secret = page["page"].rpartition("/")[2]
    calendar = page["calendar"].rpartition("/")[2].removesuffix(".ics")
    assert SECRET.fullmatch(secret) and SECRET.fullmatch(calendar)
    assert len(base64.urlsafe_b64decode(secret + "=")) * 8 == 160
    key_file = alder.with_name("pondround.key")
    assert stat.S_IMODE(key_file.stat().st_mode) == 0o600
    key = key_file.read_bytes().strip()
    [row] = kept(alder.parent)
    # By the standard library, as RFC 2104 has it.
    assert row["hash"] == hmac.new(key, secret.encode(), hashlib.sha256).hexdigest()
    assert row["calendar_hash"] == hmac.new(key, calendar.encode(), hashlib.sha256).hexdigest()
    for file in alder.parent.iterdir():
        assert secret.encode() not in file.read_bytes()
        assert calendar.encode() not in file.read_bytes()


def test_hmac_is_that_of_the_rfc() -> None:
    """RFC 4231, section 4.3, test case 2."""
    assert hashed(b"Jefe", "what do ya want for nothing?") == (
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    )


def test_no_two_secrets_are_alike_and_a_calendar_does_not_tell_its_page(alder: Path) -> None:
    secrets = [made("--page", "Noor")["page"].rpartition("/")[2] for _ in range(8)]
    assert len(set(secrets)) == 8
    calendars = [calendar_secret(secret) for secret in secrets]
    assert len({*secrets, *calendars, *map(calendar_secret, calendars)}) == 24


@pytest.mark.parametrize(
    ("value", "words"),
    [("short", "PONDROUND_KEY is too short for a key"), ("k" * 32, None)],
    ids=["too short", "long enough"],
)
def test_the_key_may_come_from_the_environment(
    alder: Path, monkeypatch: pytest.MonkeyPatch, value: str, words: str | None
) -> None:
    monkeypatch.setenv("PONDROUND_KEY", value)
    code, _, err = run("--site")
    assert not alder.with_name("pondround.key").exists()
    assert (code, words is None or words in err) == ((0, True) if words is None else (2, True))


def test_a_damaged_key_is_told(alder: Path) -> None:
    alder.with_name("pondround.key").write_text("\n")
    code, out, err = run("--site")
    assert (code, out) == (2, "")
    assert "holds no key" in err


# --- renewed and revoked ---


def test_a_renewed_link_has_another_secret_and_the_old_row_ends(alder: Path) -> None:
    old, new = made("--page", "Noor", "--name", "N"), made("--renew", "N")
    assert old["page"] != new["page"] and old["calendar"] != new["calendar"]
    assert (new["name"], new["kind"], new["of"]) == ("N", "page", "noor")
    first, second = kept(alder.parent)
    assert first["revoked"] is not None and second["revoked"] is None
    assert len(ok().splitlines()) == 2


def test_a_revoked_link_is_gone(alder: Path) -> None:
    made("--site")
    assert run("--revoke", "site") == (0, "", "site opens nothing any more.\n")
    assert run()[1] == ""
    assert run("--revoke", "site")[0] == 2
    # Its name is free again.
    assert made("--site")["name"] == "site"


# --- pages that are kept for use without a network ---


def offline(folder: Path) -> list[tuple[object, object]]:
    return [(row["name"], row["offline"]) for row in kept(folder) if row["revoked"] is None]


def test_a_page_is_made_and_listed_as_one_that_may_be_kept(alder: Path) -> None:
    code, out, err = run("--page", "Noor", "--offline")
    assert (code, out.count("\n")) == (0, 2)
    assert err.splitlines()[-1] == (
        "page-noor may be kept on the phones that open it, and used there without a network. It needs https."
    )
    assert made("--page", "Ben", "--offline")["offline"]
    assert "offline" not in made("--page", "Noor")
    assert re.sub(r"\d{4}-\d\d-\d\d", "DATE", ok()) == (
        "link          opens      made        last used, UTC\n"
        "page-noor     page       DATE  never  (offline)\n"
        "page-ben-ash  page       DATE  never  (offline)\n"
        "page-noor-2   page       DATE  never\n"
    )
    listed = [json.loads(line) for line in ok("--format", "json").splitlines()]
    assert [one["offline"] for one in listed] == [True, True, False]


def test_a_link_is_changed_and_keeps_its_secret_and_a_renewed_one_stays_as_it_was(alder: Path) -> None:
    made("--page", "Noor")
    before = kept(alder.parent)[0]
    assert run("--change", "page-noor", "--offline") == (
        0,
        "",
        "page-noor may be kept on the phones that open it, and used there without a network. It needs https.\n",
    )
    after = kept(alder.parent)[0]
    assert {key for key in before if before[key] != after[key]} == {"offline", "changes"}
    made("--renew", "page-noor")
    assert offline(alder.parent) == [("page-noor", 1)]
    made("--renew", "page-noor", "--no-offline")
    assert offline(alder.parent) == [("page-noor", 0)]
    made("--renew", "page-noor", "--offline")
    assert run("--change", "page-noor", "--no-offline")[2] == (
        "page-noor is kept on no phone any more, from when it is opened next.\n"
    )
    assert offline(alder.parent) == [("page-noor", 0)]


# --- refused ---


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--page", "Zoe"], 'no keeper "Zoe"; there are: Ben Ash, Noor, ben-ash, noor'),
        (["--page", "-"], "say whose page: Ben Ash, Noor"),
        (["--enclosure", "Reed"], "no enclosure \"Reed\"; there are: Sedge tank, sedge-tank"),
        (["--site", "--page", "Noor"], "one link at a time"),
        (["--renew", "x"], "there is no link \"x\"; there are none"),
        (["--site", "--page", "Noor", "--change", "x"], "--revoke or --change"),
        (["--site", "--offline"], "--offline is for the page of a round, made with --page"),
        (["--rounds", "Noor", "--offline"], "--offline is for the page of a round"),
        (["--coordinator", "Noor", "--offline"], "a coordinator's pages need the network"),
        (["--coordinator", "Zoe"], 'no keeper "Zoe"; there are: Ben Ash, Noor, ben-ash, noor'),
        (["--coordinator", "-"], 'no keeper "-"'),
        (["--offline"], "say which link: --page KEEPER makes one, --change LINK changes one"),
        (["--revoke", "x", "--no-offline"], "say which link"),
        (["--change", "x"], "say what to change: --offline or --no-offline"),
        (["--change", "x", "--offline"], 'there is no link "x"; there are none'),
        (["--site", "--url", "ftp://x"], "--url is no web address"),
        (["--site", "--url", "https://x/\r\nSet-Cookie: a"], "--url is no web address"),
        (["--site", "--name", "n" * 501], "name"),
        (["--site", "--name", "a\x1b[31m"], "is no name of a link"),
        (["--site", "--name", "two\nlines"], "is no name of a link"),
        (["--site", "--svg", "nowhere/code.svg"], "nowhere/code.svg cannot be written: No such file or directory"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_in_a_line(alder: Path, words: list[str], said: str) -> None:
    code, _, err = run(*words)
    assert code in (1, 2)
    assert said in err
    assert "Traceback" not in err


def test_two_links_never_have_one_name(alder: Path) -> None:
    made("--site", "--name", "All")
    code, _, err = run("--page", "Noor", "--name", "All")
    assert (code, err) == (
        2,
        'there is a link "All" already; --renew gives it a new secret, --name another name\n',
    )


# --- codes ---


def scanned(picture: Path) -> str:
    """Return what a scanner of another origin reads (zbar)."""
    program = shutil.which("zbarimg")
    if program is None:
        assert not environ.get("PONDROUND_NEED_SERVERS"), "there is no zbarimg"
        pytest.skip("there is no zbarimg")
    return subprocess.run(
        [program, "--raw", "-q", picture], check=True, capture_output=True, text=True
    ).stdout.strip()


def test_the_code_on_the_terminal_is_read_by_a_scanner(alder: Path) -> None:
    out = ok("--page", "Noor", "--qr", "--url", "https://turtles.example.org")
    address = out.split()[1]
    bare = re.sub(r"\x1b\[[\d;]*m", "", out.partition(".ics\n")[2])
    rows: list[list[int]] = []
    for line in bare.rstrip("\n").splitlines():
        halves = [{"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}[c] for c in line]
        rows += [[half[0] for half in halves], [half[1] for half in halves]]
    wide = max(map(len, rows))
    assert wide <= 80
    # Blocks are lit on a dark terminal, that is, light; each module is drawn 8 pixels wide.
    pixels = [
        [1 - value for value in [*row, *[0] * (wide - len(row))] for _ in range(8)]
        for row in rows
        for _ in range(8)
    ]
    picture = alder.with_name("code.pbm")
    picture.write_text(
        f"P1\n{len(pixels[0])} {len(pixels)}\n" + "\n".join(" ".join(map(str, row)) for row in pixels)
    )
    assert scanned(picture) == address


def test_the_code_as_a_file_is_an_svg(alder: Path) -> None:
    ok("--site", "--svg", "code.svg")
    text = alder.with_name("code.svg").read_text("utf-8")
    assert text.startswith("<?xml") and "<script" not in text and "Code to scan" in text
