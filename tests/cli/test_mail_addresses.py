"""Mail addresses stand in no output but `remind --dry-run`: not in feeds, JSON, pages, sheets or messages."""

from __future__ import annotations

import json
import shlex
import tomllib
from pathlib import Path

import jsonschema
import pytest
from support.reminding import ALARM, mailed
from support.rota.fen import FEN
from support.rota.shared_out import MONDAY, run, stand
from typer.testing import CliRunner

from scheduler.cli.main import app
from scheduler.description import load
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets
from scheduler.workflow import schema_text

SIGN = "example.org"

LINES = [
    *("check", "check --format json", "check --brief", "jobs --days 3", "jobs --days 3 --format json"),
    *("jobs --days 2 --keeper noor --explain", "outlook", "outlook --format json"),
    *("rota", "rota --keeper noor", "rota --format json", "rota --format csv", "rota --ill noor", "rota --publish"),
    *("export --to all", "export --to jobs --each-job --alarms", "export --to to-dos --as to-dos"),
    *("swap 2026-12-07 noor ben", "swap 2026-12-07 ben noor"),
    *("did sedge brush --by noor", 'reading sedge ph=7.4 --by noor --format json', "history", "history --format json"),
    *("history --format csv", "links --page noor", "links --rounds noor --format json", "links --site", "links"),
    *("rota --sitter ines --span 2026-12-10/2026-12-11 --to sitter", "undo", "remind --at 06:00"),
]  # fmt: skip


def test_no_output_holds_an_address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand(tmp_path, mailed(FEN), monkeypatch)
    for name in ("PONDROUND_SMTP", "PONDROUND_MAIL_FROM", "PONDROUND_KEY", "PONDROUND_URL"):
        monkeypatch.delenv(name, raising=False)
    done = 0
    for line in LINES:
        command, _, rest = line.partition(" ")
        today = [] if command in {"links", "history"} else ["--today", MONDAY]
        code, out, err = untimed(f"{command} enclosures.toml {rest}", *today)
        assert SIGN not in out + err, line
        done += code == 0
    assert done >= len(LINES) - 6
    files = [f for f in tmp_path.rglob("*") if f.is_file() and f.name not in {"enclosures.toml"}]
    assert {f.suffix for f in files} >= {".ics", ".db"}
    assert [f.name for f in files if SIGN.encode() in f.read_bytes()] == []


def untimed(line: str, *more: str) -> tuple[int, str, str]:
    """Run a line as `run` does, of commands that know no --today, too."""
    result = CliRunner().invoke(app, [*shlex.split(line), *more])
    assert result.exception is None or isinstance(result.exception, SystemExit), (line, result.exception)
    return result.exit_code, result.stdout, result.stderr


WRONG = [
    ('"noor@a.example, ben@b.example"', "found more than one mail address"),
    ('"noor@a.example;ben@b.example"', "found more than one mail address"),
    ('"noor@a.example\\nBcc: x@b.example"', "found a mail address with a line break or control character"),
    ('"noor@a.example\\r"', "found a mail address with a line break or control character"),
    ('"noor@a.example\\u0000"', "found a mail address with a line break or control character"),
    ('"noor@a.example\\u2028"', "found a mail address with a line break or control character"),
    ('"Noor <noor@a.example>"', "found a mail address with a name or quotes around it"),
    ("'\"noor\"@a.example'", "found a mail address with a name or quotes around it"),
    ('"nöor@a.example"', "found a mail address with letters beyond a to z"),
    ('"noor at a.example"', "found text that is no mail address"),
    ('" noor@a.example"', "found text that is no mail address"),
    ('"noor@a..example"', "found text that is no mail address"),
    ('"noor@-a.example"', "found text that is no mail address"),
    ('"@a.example"', "found text that is no mail address"),
    ('""', "found text that is no mail address"),
    (f'"{"n" * 65}@a.example"', "found a mail address of 75 characters"),
    ("7", "expected a mail address in quotes"),
    ('["noor@a.example"]', "expected a mail address in quotes"),
]


@pytest.mark.parametrize(("written", "said"), WRONG)
def test_a_wrong_address_is_described_and_not_repeated(written: str, said: str) -> None:
    text = ALARM.replace('"noor@example.org"', written)
    with pytest.raises(DescriptionError) as raised:
        load(text, load_sheets())
    [problem] = raised.value.problems
    assert (problem.where, problem.message) == ("keeper[0].email", said)
    assert problem.hint in {
        'write one address alone, as "noor@example.org"',
        'write email = "noor@example.org"',
    }


RIGHT = [
    "noor@example.org",
    "n.o+turtles@mail.example.org",
    "root@localhost",
    "o'neill@xn--bcher-kva.example",
]


@pytest.mark.parametrize("address", RIGHT)
def test_a_right_address_is_taken_as_it_is(address: str) -> None:
    site = load(ALARM.replace("noor@example.org", address), load_sheets())
    assert site.keepers[0].email == address
    data = tomllib.loads(ALARM.replace("noor@example.org", address))
    # JSON has no dates.
    jsonschema.validate(json.loads(json.dumps(data, default=str)), json.loads(schema_text()))


def test_who_asks_for_mails_has_an_address() -> None:
    without = ALARM.replace('email = "noor@example.org"\n', "")
    for text, said in [
        (without, [("keeper[0].remind", "remind asks for mails, and keeper[0].email is missing")]),
        (
            ALARM.replace('["changes"]', '["evening"]'),
            [("keeper[0].remind[0]", 'found "evening"; expected "morning" or "changes"')],
        ),
        (
            ALARM.replace('["changes"]', '["changes", "changes"]'),
            [("keeper[0].remind", '"changes" is named twice')],
        ),
        (
            ALARM.replace("[[keeper]]", '[site.times]\nremind = "18:30"\n[[keeper]]'),
            [
                (
                    "site.times.remind",
                    "mails of the day's rounds would go from 18:30 on, and the evening begins at 18:30",
                )
            ],
        ),
    ]:
        with pytest.raises(DescriptionError) as raised:
            load(text, load_sheets())
        assert [(p.where, p.message) for p in raised.value.problems] == said


def test_a_wrong_address_is_not_in_the_json_of_check(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand(tmp_path, ALARM.replace("noor@example.org", "noor@a.example,ben@b.example"), monkeypatch)
    code, out, err = run("check enclosures.toml --format json")
    assert (code, "a.example" in out + err) == (2, False)
    assert json.loads(out)["problems"][0]["path"] == "keeper[0].email"
