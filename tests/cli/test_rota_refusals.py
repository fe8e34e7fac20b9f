"""What `pondround rota` refuses, and how it says so."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from support.rota.shared_out import COMB, alder, run, stand

__all__ = ["alder"]


REFUSED = [
    ("--ill zoe", 'there is no keeper "zoe"; there are: Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu'),
    ("--ill nor", 'there is no keeper "nor"; nearest: Noor'),
    ("--ill ''", '"" may mean any keeper of Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu; write more of it'),
    ("--ill noor=soon", '"soon" is not a date; write it as 2026-12-01'),
    ("--ill noor=2026-02-30", '"2026-02-30" is not a date; write it as 2026-12-01'),
    ("--ill noor=2026-12-09/2026-12-08", '"2026-12-09/2026-12-08" ends before it begins; write the earlier day first'),
    ("--ill noor=1066-12-09", '"1066-12-09" is not believable; expected 1950-01-01 to 2199-12-31'),
    ("--from 2026-12-06", "--from 2026-12-06 is over; a rota begins on 2026-12-07 or later"),
    ("--from now", '"now" is not a date; write it as 2026-12-01'),
    ("--keeper zoe", 'there is no keeper "zoe"; there are: Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu'),
    ("--sitter Pia", "in the 4 weeks from 2026-12-07 there is no day on which all keepers are away; "
     "write the days: --span 2026-12-20/2026-12-28"),
    ("--sitter Pia --span 2026-12-06/2026-12-09", "the span begins on 2026-12-06, before 2026-12-07"),
    ("--sitter Pia --span 2026-12-09/2027-04-08", "the span is longer than 120 days; write [[keeper]] for whoever cares that long"),
    ("--sitter Pia --span 2026-12-09/2026-12-08", '"2026-12-09/2026-12-08" ends before it begins; write the earlier day first'),
    ("--sitter Pia --span all", '"all" is not a date; write it as 2026-12-01'),
    ("--sitter Pia --span 2026-12-09 --format csv", "--sitter prints a table or JSON"),
]  # fmt: skip


@pytest.mark.parametrize(("options", "said"), REFUSED, ids=[row[0] for row in REFUSED])
def test_what_is_refused_says_why(alder: Path, options: str, said: str) -> None:
    publish = "" if "--sitter" in options else "--publish"
    assert run(f"rota {options} {publish}") == (2, "", said + "\n")
    assert [path.name for path in alder.iterdir()] == ["enclosures.toml"]


@pytest.mark.parametrize(
    "options", ["--weeks 0", "--weeks 27", "--weeks some", "--seconds 0", "--format odt"]
)
def test_options_that_are_none(alder: Path, options: str) -> None:
    code, out, err = run(f"rota {options}")
    assert (code, out) == (2, "")
    assert f"Invalid value for '{options.split(maxsplit=1)[0]}'" in err


@pytest.mark.parametrize("name", ["", " ", "a\nb", "a\x1b[2J", "x" * 5000])
def test_a_sitters_name_that_is_none(alder: Path, name: str) -> None:
    code, out, err = run("rota --span 2026-12-09 --to out --sitter", name)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and "\x1b" not in err and "\u202e" not in err
    assert not Path("out").exists()


def test_what_turns_a_line_around_is_left_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """U+202E is no control character, and a terminal would write the rest of the line backwards (Unicode TR 36, 2.5)."""
    turned = "No\u202eor"
    text = f'[site]\nname = "Odd"\n[[keeper]]\nname = "{turned}"\nid = "odd"\n' + COMB.replace(
        "Sedge", turned
    )
    stand(tmp_path, text.replace("comb the moss", turned), monkeypatch)
    for line in (
        "rota --weeks 1 --publish",
        "rota --weeks 1 --keeper odd",
        "rota --weeks 1 --ill odd=2026-12-09",
        f"rota --sitter {turned}x --span 2026-12-09",
        f"swap enclosures.toml 2026-12-09 odd {turned}",
    ):
        _, out, err = run(line)
        assert out + err
        assert "\u202e" not in out + err, line


@pytest.mark.parametrize(
    "options",
    [
        "--span 2026-12-09",
        "--to out",
        "--sitter Pia --span 2026-12-09 --publish",
        "--sitter Pia --span 2026-12-09 --keeper noor",
    ],
)
def test_options_that_do_not_go_together_are_told(alder: Path, options: str) -> None:
    """Nothing that was asked for is passed over in silence."""
    code, out, err = run(f"rota --weeks 1 {options}")
    assert (code, out) == (2, "")
    assert err.startswith("--")


@pytest.mark.parametrize("form", ["csv", "json"])
def test_one_keepers_rounds_as_data(alder: Path, form: str) -> None:
    code, out, err = run(f"rota --weeks 1 --keeper noor --format {form}")
    if code == 2:
        assert (out, err.startswith("--keeper")) == ("", True)
        return
    assert "Noor" in out and "Ben Ash,Sedge" not in out
    if form == "json":
        assert {one["keeper"] for one in json.loads(out)["rounds"]} == {"Noor"}
    else:
        assert {row["keeper"] for row in csv.DictReader(io.StringIO(out, newline=""))} == {"Noor"}
