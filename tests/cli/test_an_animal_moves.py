"""An animal is moved to another enclosure in the description: what was measured of it goes along, and what is unclear is asked."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app

HEAD = '[site]\nname = "Fen Lane"\ntime_zone = "Europe/Dublin"\n'
FERN = '[[enclosure.resident]]\nname = "Fern"\nspecies = "painted turtle"\ncarapace = "12 cm"\n'
SEDGE, REED = (
    f'[[enclosure]]\nname = "{name}"\nset_up = 2026-06-01\ncycled = true\n' for name in ("Sedge", "Reed")
)


@pytest.fixture
def fen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Stand in a folder, at a terminal of 80 columns; return what writes the description there."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)

    def describe(text: str) -> None:
        (tmp_path / "enclosures.toml").write_text(HEAD + text, "utf-8")

    return describe


def ran(line: str) -> str:
    """Return what stands on the screen after a line, which begins with the day of today."""
    today, _, typed = line.partition(" ")
    as_of = [] if typed.startswith("history") else ["--today", today]
    done = CliRunner().invoke(app, [*shlex.split(typed), *as_of])
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    return f"{today} $ pondround {typed}\n{done.output}"


def test_a_move_keeps_weights_and_the_alarm(
    fen: Callable[[str], None], golden: Callable[[str, str], None]
) -> None:
    fen(SEDGE + FERN + REED)
    said = [
        ran("2026-10-01 reading sedge weight=300g"),
        ran("2026-11-01 reading sedge weight=298g length='12.2 cm'"),
    ]
    fen(SEDGE + REED + FERN)
    said += [
        ran("2026-11-20 reading reed weight=900g"),
        ran("2026-11-18 reading reed weight=263g"),
        ran("2026-11-20 reading reed weight=262g"),
        ran("2026-11-20 jobs --job vet-check --days 1"),
        ran("2026-11-20 history"),
    ]
    golden("an-animal-moves.txt", "\n".join(said))


def test_what_is_not_clear_is_asked_in_the_review(fen: Callable[[str], None]) -> None:
    fen(SEDGE + FERN + REED)
    ran("2026-10-01 reading sedge weight=300g")
    fen(SEDGE + REED + FERN)
    ran("2026-10-02 reading reed weight=301g")
    fen(SEDGE + FERN + REED)
    ran("2026-11-01 reading sedge weight=302g")
    asked = (
        '  look  Weights or lengths of "fern", recorded in Reed (2 October 2026), may be\n'
        "        of Fern before it moved here, or of another animal of that name, and\n"
        '        count for neither: write moved_from = ["reed"] under Fern if it lived\n'
        "        there, moved_from = [] if it did not. [your own entry in the description\n"
        "        (keeper's value)]\n"
    )
    assert asked in ran("2026-11-02 check --enclosure sedge --brief")
    assert "may be" not in ran("2026-11-02 check --enclosure reed --brief")
    for answer in ('["Reed"]', "[]"):
        fen(SEDGE + FERN + f"moved_from = {answer}\n" + REED)
        assert "may be" not in ran("2026-11-02 check --enclosure sedge --brief")


def test_two_of_one_name_are_told_apart_and_keep_what_was_theirs(fen: Callable[[str], None]) -> None:
    """A log of before: ids of residents were unique in an enclosure only, and the identities of entries stay."""
    fen(SEDGE + FERN + REED)
    ran("2026-10-01 reading sedge weight=300g")
    fen(SEDGE + REED + FERN)
    ran("2026-10-02 reading reed weight=90g --sure")
    before = ran("2026-11-01 history --format json")
    fen(SEDGE + FERN + REED + FERN)
    assert ran("2026-11-01 check").endswith(
        "enclosures.toml:17: enclosure[1].resident[0].name\n"
        '    "Fern" has the id "fern", which a resident of "Sedge" has already: an animal\n'
        "    keeps its record by its id, wherever it lives\n"
        '    write id = "fern-reed"; what was recorded of it in Reed stays its own\n'
        "1 problem.\n"
    )
    fen(SEDGE + FERN + REED + FERN + 'id = "fern-reed"\n')
    assert ran("2026-11-01 history --format json") == before
    assert ran("2026-11-01 reading reed weight=80g --sure").splitlines()[1:3] == [
        "Reed: weight of Fern: 80 g on 1 November 2026.",
        "  look  Reed: Weigh Fern again by 4 November 2026: one weighing may err. If it",
    ]
    assert (
        ran("2026-11-01 reading sedge weight=299g").splitlines()[1]
        == "Sedge: weight of Fern: 299 g on 1 November 2026."
    )
