"""What cannot be recorded is told and not kept; what is in doubt is asked on a terminal."""

from __future__ import annotations

import os
import pty
import select
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from support.weir import TODAY, UNNAMED, WEIR, entries, ok, run, weir

from scheduler.workflow.record import standing

__all__ = ["weir"]


# --- what cannot be ---

REFUSED = [
    ("did sedge wipe-down --on 2026-12-20", "2026-12-20 lies in the future: today is 2026-12-19. Record what was done when it is done; if the clock is wrong, mend it"),
    ("reading sedge ph=7 --on 2026-12-20", "2026-12-20 lies in the future: today is 2026-12-19. Record what was done when it is done; if the clock is wrong, mend it"),
    ("reading sedge ph=7 --on 2026-10-02", "Sedge was set up on 2026-10-03, after 2026-10-02: mend --on, or set_up in the description"),
    ("did sedge wipe-down --on 19.12.2026", '"19.12.2026" is not a date; write 2026-12-19'),
    ("did sedge wipe-down --at 24:00", '"24:00" is no hour of the day; write it as 18:30'),
    ("did sedge water-change --share 0", '"0" is no share of the water; write 0.3 or 30%'),
    ("did sedge water-change --share 101%", '"101%" is no share of the water; write 0.3 or 30%'),
    ("did sedge water-change wipe-down --share 30%", "--share says how much of the water was changed; it goes with water-change alone"),
    ("reading ph=7", "name the enclosure: Reed, Sedge"),
    ("reading sedge reed ph=7", 'readings are of one enclosure at a time, found "sedge" and "reed"; a reading is written NAME=VALUE'),
    ("reading sedge ph=7 --of fern", "--of says whose weight or length it is, or which UV lamp was measured; there is no such reading here"),
    ("reading sedge 'weight=3 g'", "say whose weight it is, weight.NAME=...; in Sedge live: Fern, Moss"),
    ("reading sedge weight.zed='3 g'", 'there is no resident in Sedge "zed"; there are: Fern, Moss, fern, moss'),
    ("reading sedge uvi.heat=3", 'there is no UV lamp in Sedge "heat"; there are: mercury-vapour-2026-11-01, t5-ho-tube-2026-10-03'),
    ("reading reed 'weight=3 g'", "say whose weight it is, weight.NAME=...; in Reed live: nobody"),
    ("reading sedge nitrate", '"nitrate" has no value; write nitrate="35 mg/L as NO3", in one piece'),
    ("reading sedge nitrate 35", '"nitrate" has no value; write nitrate="35 mg/L as NO3", in one piece'),
    ("reading sedge", 'write what was measured: nitrate="35 mg/L" ph=7.4'),
    ("reading sedge ph=9.9 uvi.t5=20", "pH: pH 9.9 is unlikely; expected pH 5 to pH 9.5\nUV Index: UVI 20 is unlikely; expected UVI 0 to UVI 12\nnothing was recorded; if they are right add --sure"),
    ("undo --by zed", 'there is no keeper "zed"; there are: Ines Roe, Noor, ines-roe, noor'),
]  # fmt: skip


@pytest.mark.parametrize(("line", "said"), REFUSED)
def test_what_cannot_be_is_told_and_not_kept(weir: Path, line: str, said: str) -> None:
    if line.startswith("undo"):
        ok("did sedge wipe-down")
    before = sorted(weir.iterdir())
    assert run(line) == (2, "", f"{said}\n")
    assert sorted(weir.iterdir()) == before
    assert len(entries() if before[1:] else []) == len(before[1:])


def test_before_set_up_only_what_prepares_it(weir: Path) -> None:
    ok("did sedge fit-out --on 2026-10-01")
    assert run("did sedge daily-look --on 2026-10-01")[0] == 2
    assert [entry["name"] for entry in entries()] == ["fit-out"]


def test_doubts_are_in_the_units_of_the_site(weir: Path) -> None:
    (weir / "enclosures.toml").write_text(WEIR.replace("[site]", '[site]\nunits = "us"', 1), "utf-8")
    assert ok("reading sedge 'temp=77 degF' 'weight.moss=0.5 lb'") == (
        "Sedge: water temperature: 77 °F on 19 December 2026.\n"
        "Sedge: weight of Moss: 227 g (8 oz) on 19 December 2026.\n"
        "  Nothing follows from it.\n"
    )
    code, _, err = run("reading sedge 'temp=50 degF'", today="2026-12-22")
    assert (code, err) == (
        2,
        "water temperature: 50 °F is far from the last reading of 77 °F, 3 days apart\n"
        "nothing was recorded; if it is right add --sure\n",
    )


def test_a_failure_after_recording_says_that_it_was_recorded(weir: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    from scheduler.errors import LogError

    def gone(*_: object) -> None:
        raise LogError("the log is gone")

    with monkeypatch.context() as patch:
        patch.setattr(standing, "history_in", gone)
        assert run("did sedge wipe-down") == (
            1,
            "",
            "it was recorded, but what follows from it cannot be said: the log is gone\n",
        )
    assert [entry["name"] for entry in entries()] == ["wipe-down"]


# --- asked on a terminal ---


def on_a_terminal(folder: Path, line: str, answers: list[bytes]) -> tuple[int, str, str]:
    """Run a line with standard input and standard error on a terminal; return code, standard output, what was seen."""
    here, there = pty.openpty()
    child = subprocess.Popen(
        [sys.executable, "-m", "scheduler", *shlex.split(line), "--today", TODAY],
        stdin=there, stdout=subprocess.PIPE, stderr=there, cwd=folder, text=False,
        env={**os.environ, "COLUMNS": "80"},  # noqa: TID251 - of the test, with the width
    )  # fmt: skip
    seen = b""
    for number, answer in enumerate(answers, start=1):
        while seen.count(b"[y/N] ") < number:
            assert select.select([here], [], [], 180)[0], f"it does not ask: {seen!r}"
            seen += os.read(here, 1000)
        os.write(here, answer)
    out = child.communicate(timeout=180)[0].decode()
    # The other end stays open here until all is read: with the last one that is closed, what was written goes on some systems.
    while select.select([here], [], [], 0.2)[0]:
        seen += os.read(here, 1000)
    os.close(here)
    os.close(there)
    return child.returncode, out, seen.decode().replace("\r\n", "\n")


PH = "pH: pH 9.9 is unlikely; expected pH 5 to pH 9.5. Is it right? [y/N] "

UVI = "UV Index: UVI 20 is unlikely; expected UVI 0 to UVI 12. Is it right? [y/N] "


@pytest.mark.parametrize(
    ("answers", "code", "seen", "count"),
    [
        ([b"y\n", b"y\n"], 0, f"{PH}y\n{UVI}y\n{UNNAMED}", 2),
        ([b"y\n", b"n\n"], 2, f"{PH}y\n{UVI}n\nnothing was recorded\n", 0),
        ([b"\n"], 2, f"{PH}\nnothing was recorded\n", 0),
        # the end of input
        ([b"\x04"], 2, f"{PH}\nnothing was recorded\n", 0),
    ],
    ids=["yes", "no", "enter", "end"],
)
def test_on_a_terminal_each_doubt_is_asked(
    weir: Path, answers: list[bytes], code: int, seen: str, count: int
) -> None:
    found = on_a_terminal(weir, "reading sedge ph=9.9 uvi.t5=20", answers)
    assert (found[0], found[2].replace("^D\x08\x08", "")) == (code, seen)
    recorded = (
        "Sedge: pH 9.9 on 19 December 2026.\n"
        "Sedge: UV Index of the T5 HO tube lamp: UVI 20 on 19 December 2026.\n"
        "  act   Sedge: Measure again now, with a fresh sample and another kit where\n"
        "        there is one. Test ammonia with it, and the pH of the tap. At this pH\n"
        # Emerson et al. 1975: pKa 9.277 at 24 degC.
        "        and 24 °C 81 % of all ammonia is of the kind that harms. Look for what\n"
        "        lifts the pH: limestone, shells, concrete, a new product, soap. Take it\n"
        "        out; no acid into the water. Where the tap's pH is lower, change 25 % of\n"
        "        the water today, and measure again. Call a vet who knows reptiles where\n"
        "        an animal is listless, or skin or eyes are red. The water had pH 9.9 on\n"
        "        19 December 2026. It is acted on from 9 up. [pH from 6 down, from 9 up,\n"
        "        or changed by 1: acted on; no published limits for turtles were found\n"
        "        (house value)]\n"
        "  act   Sedge: Switch the lamp off now; unplugged and cold hang it higher, until\n"
        "        a meter at the basking place shows UVI 7 or less, and read it again\n"
        "        before an animal goes under it. UVI 20 under the T5 HO tube lamp on 19\n"
        "        December 2026. UVI 7 is the most for Chrysemys picta, at any hour. [UVI\n"
        "        7 at most at any basking place (house value)]\n"
        "    Sedge: UVI reading: 21 December 2026 -> Saturday 16 January 2027\n"
    )
    assert found[1] == (recorded if count else "")
    assert len(list(weir.glob("*.db"))) == (count > 0)
    assert count == 0 or len(entries()) == count
