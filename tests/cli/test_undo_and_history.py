"""`undo` and `history`: what is taken back stays on record, and what is exported and brought back."""

from __future__ import annotations

import csv
import io
import json

import pytest
from support.typed import TODAY, entries, fen, ok, refused, run

__all__ = ["fen"]


def test_undo_goes_back_one_by_one_and_history_keeps_all(fen):
    ok(f"did fen.toml Sedge feed wipe-down --by noor --note rainy {TODAY}")
    ok(f"undo fen.toml --by ben {TODAY}")
    ok(f"undo fen.toml --entry 1 {TODAY}")
    assert refused(f"undo fen.toml {TODAY}") == "there is nothing to take back: nothing is recorded yet"
    assert refused(f"undo fen.toml --entry 99 {TODAY}").startswith("the log has no entry 99")
    assert "already" in ok(f"undo fen.toml --entry 1 {TODAY}")
    assert ok("history fen.toml") == ""
    assert [(e["kind"], e["name"], e["voided"]) for e in entries()] == [
        ("done", "feed", True), ("done", "wipe-down", True), ("void", "wipe-down", False), ("void", "feed", False),
    ]  # fmt: skip
    ok(f"did fen.toml Sedge feed {TODAY}")
    assert len(ok("history fen.toml").splitlines()) == 1


NASTY = ["'; DROP TABLE entry; --", '=cmd|"/c calc"!A1', "{0.__class__} %s %(x)s", "[red]bold[/red]", "\x1b[2J\x1b[31m", "two\nlines", "\u202eback", "🐢", "+1", "@x", "'quoted", "a,b;c"]  # fmt: skip


def test_texts_have_no_effect_and_come_back_as_they_were(fen):
    for n, note in enumerate(NASTY, start=1):
        ok(f"did fen.toml Sedge feed --again {TODAY}", "--note", note)
        assert len(entries()) == n
    assert [e["note"] for e in entries()] == NASTY
    table = ok("history fen.toml")
    assert "\x1b" not in table and "\u202e" not in table
    (fen / "export.csv").write_text(ok("history fen.toml --format csv"), "utf-8", newline="")
    rows = list(csv.DictReader(io.StringIO((fen / "export.csv").read_text("utf-8"), newline="")))
    assert not any(row["note"].startswith(("=", "+", "-", "@")) for row in rows)
    for form in ("csv", "json"):
        (fen / f"export.{form}").write_text(ok(f"history fen.toml --format {form}"), "utf-8", newline="")
        before = (fen / f"export.{form}").read_bytes()
        (fen / "fen.db").rename(fen / f"old-{form}.db")
        assert (
            ok(f"history fen.toml --import export.{form}") == f"{len(NASTY)} entries added, 0 known already\n"
        )
        assert (
            ok(f"history fen.toml --import export.{form}") == f"0 entries added, {len(NASTY)} known already\n"
        )
        assert ok(f"history fen.toml --format {form}").encode() == before


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda t: t.replace("2026-12-19", "2026-02-30", 1), "line 2: "),
        (
            lambda t: t.replace(",feed,", ",fee,", 1),
            "does not fit the entry; it was changed, or is of another site",
        ),
        (lambda t: t.replace("uid,", "", 1), "the columns are not those of an export (missing uid)"),
        (lambda t: t.replace("done", "dine"), 'kind: found "dine", expected one of done, reading, void'),
        (lambda t: "no export at all", "the columns are not those of an export"),
        (lambda t: "{not json", "expected one JSON object a line"),
        (lambda t: '{"uid": 1}', "the keys are not those of an export: missing "),
    ],
)
def test_an_import_that_is_wrong_is_told_by_its_lines_and_nothing_is_taken(fen, change, said):
    ok(f"did fen.toml Sedge feed {TODAY}")
    (fen / "bad.csv").write_text(change(ok("history fen.toml --format csv")), "utf-8", newline="")
    (fen / "fen.db").unlink()
    text = refused("history fen.toml --import bad.csv")
    assert said in text and text.endswith('nothing was taken in from "bad.csv"')
    assert not (fen / "fen.db").exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"enclosure": "\ud800"}, 'line 1: enclosure: found "\\ud800", expected text'),
        ({"name": "a\ud800"}, 'line 1: name: found "a\\ud800", expected text'),
        ({"note": "\udfff"}, 'line 1: note: found "\\udfff", expected text'),
        ({"keeper": "a\0b"}, 'line 1: keeper: found "a\\u0000b", expected text'),
        ({"value": 10**400}, "line 1: value: found "),
        ({"value": float("nan")}, "line 1: value: found nan, expected a number, or nothing"),
        ({"value": float("inf")}, "line 1: value: found inf, expected a number, or nothing"),
        ({"uid": "\ud800"}, 'line 1: uid: found "\\ud800", expected a uid'),
        ({"\ud800": 1}, "line 1: the keys are not those of an export: unknown"),
    ],
)
def test_what_json_can_say_and_no_log_can_keep_is_told(fen, change, said):
    """Half of a character (RFC 8259, section 8.2), and numbers beyond those of IEEE 754 (section 6)."""
    ok(f"did fen.toml Sedge feed {TODAY}")
    record = json.loads(ok("history fen.toml --format json"))
    (fen / "bad.json").write_text(json.dumps({**record, **change}), "utf-8")
    (fen / "fen.db").unlink()
    text = refused("history fen.toml --import bad.json")
    assert said in text and text.endswith('nothing was taken in from "bad.json"')
    assert not (fen / "fen.db").exists()


def test_history_filters(fen):
    ok(f"did fen.toml Sedge feed wipe-down --on 2026-12-17 --by noor {TODAY}")
    ok(f"did fen.toml Reed wipe-down --by ben {TODAY}")
    ok(f"reading fen.toml Sedge ph=7.4 {TODAY}")
    for words, expected in (
        ("--enclosure reed", 1), ("--job wipe", 2), ("--job ph", 1), ("--by noor", 2), ("--since 2026-12-18", 2),
        ("--until 2026-12-18", 2), ("--last 3", 3), ("--enclosure sedge --job feed --by ben", 0),
    ):  # fmt: skip
        assert len(ok(f"history fen.toml {words}").splitlines()) == expected, words
    assert "nearest: wipe-down" in refused("history fen.toml --job wipe-dwon")


def test_reading_alone_makes_no_file(fen):
    for command in ("jobs", "check", "history", "outlook", "export --to out"):
        words = command.split()
        run(words[0], "fen.toml", *words[1:])
    assert not list(fen.glob("*.db*"))
    assert run("history", "fen.toml") == (
        0,
        "",
        "nothing is recorded yet; `pondround did` records what was done\n",
    )


def test_entries_of_later_days_wait_for_their_day(fen):
    """The clock was set back, or a day is looked at again: the plan is that of the day, and nothing is lost."""
    ok(f"did fen.toml Sedge water-change {TODAY}")
    ok("did fen.toml Sedge water-change --today 2026-12-26")
    assert "2 January 2027" in ok(
        "jobs fen.toml --enclosure Sedge --job water-change --days 20", "--today", "2026-12-19"
    )
    assert len(entries()) == 2
