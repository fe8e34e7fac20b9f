"""`reading` as a keeper types it: what it means, units, what a kit reads as, and what looks mistyped."""

from __future__ import annotations

import os
import pty
import subprocess
import sys

import pytest
from support.typed import SITE, TODAY, entries, fen, ok, refused, run

__all__ = ["fen"]


def test_a_reading_says_what_it_means_and_what_moves_and_undo_takes_it_back(fen, golden):
    said = ok(f"reading fen.toml Sedge nitrite=0.6_mg/L {TODAY}".replace("_", " ").replace(" mg/L", "mg/L"))
    jobs = f"jobs fen.toml --enclosure Sedge --days 5 {TODAY}"
    said += "\n" + ok(jobs)
    said += "\n" + ok(f"undo fen.toml {TODAY}")
    assert "extra" not in ok(jobs) and "follow-up" not in ok(jobs)
    golden("reading-nitrite.txt", said)


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        ("nitrate=35 mg/L", 35.0), ("no3=35ppm", 35.0), ("nitrate=8 mg/L as N", 35.41), ("nitrite=1 mg/L as NO2", 0.3045),
        ("ammonia=1 mg/L as NH4", 0.7765), ("ph=7.4", 7.4), ("temp=77 degF", 25.0), ("weight.fern=300 g", 300.0),
        ("weight.Fern=0.66 lb", 299.37), ("length.moss=5 in", 12.7), ("uvi.t5=2.6", 2.6), ("basking=32 degC", 32.0),
    ],
)  # fmt: skip
def test_readings_have_units_and_a_kit_reads_as_something(fen, value, kept):
    # Molar masses of IUPAC: NO3 is 4.4268 times its nitrogen, NO2 3.2845, NH4 1.2878.
    ok(f"reading fen.toml Sedge --sure {TODAY}", value)
    (entry,) = entries()
    assert entry["value"] == pytest.approx(kept, rel=1e-3)
    assert entry["given"] == value.split("=")[1]


def test_what_the_kit_reads_as_is_said_when_nobody_said_it(fen):
    _, _, err = run("reading", "fen.toml", "Sedge", "nitrate=35 mg/L", *TODAY.split())
    assert "nitrate was taken as mg/L of NO3" in err
    text = SITE.replace("[[keeper]]", '[site.test_kit]\nnitrate = "N"\n[[keeper]]', 1)
    (fen / "fen.toml").write_text(text, "utf-8")
    code, _, err = run("reading", "fen.toml", "Sedge", "nitrate=9 mg/L", "--by", "noor", *TODAY.split())
    assert (code, err) == (0, "")
    assert entries()[-1]["value"] == pytest.approx(39.84, rel=1e-3)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (["nitrate=35"], ['found "35" without a unit']),
        (["ph=17"], ["which cannot be"]),
        (["nitrates=35 mg/L"], ['nothing is measured as "nitrates"; nearest: nitrate']),
        (["weight=300 g"], ["say whose weight it is, weight.NAME=...; in Sedge live: Fern, Moss"]),
        (["ph=17", "colour=red", "nitrate=3 kg"], ["cannot be", '"colour"', "a mass"]),
        (["ph.Fern=7"], ['ph is of the enclosure, not of "Fern"']),
        (["nitrate"], ["has no value; write nitrate="]),
        ([], ["write what was measured"]),
    ],
)
def test_all_mistakes_of_a_line_are_told_and_nothing_is_recorded(fen, values, said):
    text = refused(f"reading fen.toml Sedge {TODAY}", *values)
    assert len(text.splitlines()) >= len(said)
    assert all(word in text for word in said)
    assert not (fen / "fen.db").exists()


def test_a_value_that_looks_mistyped_wants_to_be_sure(fen):
    said = refused(f"reading fen.toml Sedge weight.fern=3000 {TODAY}".replace("3000", "30kg"))
    assert said.endswith("nothing was recorded; if it is right add --sure")
    ok(f"reading fen.toml Sedge weight.fern=300g {TODAY}")
    assert "is far from the last reading of 300 g" in refused(
        f"reading fen.toml Sedge weight.fern=150g {TODAY}"
    )
    ok(f"reading fen.toml Sedge weight.fern=150g --sure {TODAY}")


def test_on_a_terminal_it_asks(fen):
    for answer, count in ((b"n\n", 0), (b"y\n", 1)):
        main, side = pty.openpty()
        child = subprocess.Popen(
            [sys.executable, "-m", "scheduler", "reading", "fen.toml", "Sedge", "ph=4.2", *TODAY.split()],
            stdin=side, stdout=side, stderr=side, cwd=fen,
        )  # fmt: skip
        os.close(side)
        seen = b""
        while b"Is it right?" not in seen:
            seen += os.read(main, 1000)
        os.write(main, answer)
        child.wait(timeout=180)
        os.close(main)
        assert len(entries()) == count
        assert child.returncode == (0 if count else 2)
