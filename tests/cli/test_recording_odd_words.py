"""Names and notes that would do harm have no effect, and whatever is typed there is an answer."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.weir import entries, ok, run, weir

__all__ = ["weir"]


# --- names and notes that would do harm ---

NASTY = [
    "'; DROP TABLE entry; --", 'a" OR 1=1 --', "%s %(x)d %n {0.__class__}", "[red]x[/red] [link=file:///]y[/link]",
    "<script>alert(1)</script>", "=1+1", "$(touch hit) `touch hit` | touch hit", "\u202egnp.exe\u202c", "🐢👩\u200d🔬", "x" * 76,
    "\\", "--", "../../up", "NULL", "🦄" * 20,
]  # fmt: skip


def named(text: str) -> str:
    """Return a description in which everything that has a name bears this one."""
    name = json.dumps(text, ensure_ascii=False)
    return f"""
[site]
name = {name}
time_zone = "Europe/Dublin"
[[keeper]]
name = {name}
[[keeper]]
name = "Noor"
[[enclosure]]
name = {name}
id = "tank"
room = {name}
set_up = 2026-10-03
resident = [{{name = {name}, species = "painted turtle"}}]
[[enclosure.extra_job]]
key = "own"
title = {name}
note = {name}
every = "7 days"
"""


@pytest.mark.parametrize("text", NASTY, ids=range(len(NASTY)))
def test_names_are_kept_as_they_are_and_printed_without_effect(weir: Path, text: str) -> None:
    (weir / "enclosures.toml").write_text(named(text), "utf-8")
    said = ok("did own --by", text, "--note", text)
    said += ok("reading 'weight=300 g' ph=7.4", "--by", text, "--note", text)
    said += ok("undo", "--by", text, "--note", text)
    for line in ("history --all", "jobs --days 8", "check", "outlook", "export"):
        said += run(line)[1]
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", said)
    plain = re.sub("[\u202a-\u202e]", "", text)
    assert plain in re.sub(r"\n +", "", said) or plain in said
    found = entries()
    assert [entry["note"] for entry in found] == [text] * 4
    assert [entry["title"] for entry in found] == [text, "weight", "pH", "pH"]
    assert [entry["kind"] for entry in found] == ["done", "reading", "reading", "void"]
    assert {entry["keeper"] for entry in found} != {""}
    assert sorted(path.name for path in weir.iterdir()) == ["calendars", "enclosures.db", "enclosures.toml"]


@pytest.mark.parametrize("note", ["\x1b[2J\x1b]0;x\x07", "two\nlines\r\n\tthree", "\x00".join("a") + "\x9b31m", "\ufeff\u2028x"])  # fmt: skip
def test_a_note_with_controls_is_kept_and_printed_without_them(weir: Path, note: str) -> None:
    ok("did sedge feed --note", note)
    assert entries()[0]["note"] == note
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028]", ok("history"))


@pytest.mark.parametrize(
    ("note", "said"),
    [
        (os.fsdecode(b"caf\xe9"), "the note holds U+DCE9, which is no text; leave it out"),
        ("x" * 10_001, "the note has 10,001 characters; write at most 10,000"),
    ],
)
def test_a_note_that_cannot_be_kept(weir: Path, note: str, said: str) -> None:
    code, out, err = run("did sedge feed --note", note)
    assert (code, out) == (2, "")
    assert err == f"{said}\n"
    assert run("history")[1] == ""


# --- anything at all ---

anything = st.lists(
    st.sampled_from([
        "Sedge", "Reed", "feed", "water-change", "uv-lamp-replace/", "ph=7", "nitrate=35 mg/L", "weight.fern=1e3 g", "=", ".=1", "ph=", "--on",
        "2026-12-01", "0000-00-00", "--by", "noor", "--at", "7:00", "--share", "nan%", "--half", "--entry", "999999999999999999999", "--of", "--note",
        "--again", "--sure", "--format", "json", "-", "--", "", "a/b.toml", ".", "..", "x" * 300, "x" * 5000 + "/y", "enclosures.db", "enclosures.toml",
    ])
    | st.text(st.characters(exclude_characters="\0"), max_size=10),
    max_size=7,
)  # fmt: skip


@settings(max_examples=examples(60), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(command=st.sampled_from(["did", "reading", "undo"]), words=anything)
@example(command="did", words=["x" * 300, "feed"])
@example(command="reading", words=["x" * 5000, "ph=7"])
@example(command="undo", words=["--entry", "9" * 400])
@example(command="undo", words=["x" * 300])
def test_whatever_is_typed_there_is_an_answer(weir: Path, command: str, words: list[str]) -> None:
    code, out, _ = run(command, *words, today=None)
    assert code in (0, 1, 2)
    assert code == 0 or out == ""
