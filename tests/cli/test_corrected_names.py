"""A name is corrected in the description: nothing is lost without a word, and the line that is told mends it.

The conversations are whole: what is typed, what stands on the screen.
"""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app
from scheduler.workflow.live.site import LiveSite

TODAY = "2026-12-19"

HARBOUR = """
[site]
name = "Harbour Row"
time_zone = "Europe/Lisbon"
[[keeper]]
name = "Ives"
[[keeper]]
name = "Marisol"
[[enclosure]]
name = "Tejo"
set_up = 2026-10-03
cycled = true
[[enclosure.resident]]
name = "Amendoa"
[[enclosure]]
name = "Douro"
set_up = 2026-10-03
cycled = true
"""


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description with a record of all of it, and links of both keepers and an enclosure."""
    path = tmp_path / "enclosures.toml"
    path.write_text(HARBOUR, "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    ran("did tejo wipe-down --by ives --on 2026-12-17", TODAY)
    ran("did douro wipe-down --by marisol --on 2026-12-17", TODAY)
    ran("reading tejo weight=400g --by ives --on 2026-12-17", TODAY)
    ran("links enclosures.toml --rounds ives")
    ran("links enclosures.toml --page ives")
    ran("links enclosures.toml --enclosure tejo")
    return path


def ran(line: str, today: str = "") -> str:
    """Return what stands on the screen after a line."""
    done = CliRunner().invoke(app, [*shlex.split(line), *(["--today", today] if today else [])])
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    return done.output


def said(line: str, today: str = "") -> list[str]:
    """Return what is said of lost names."""
    done = CliRunner().invoke(app, [*shlex.split(line), *(["--today", today] if today else [])])
    return [text for text in done.stderr.splitlines() if "log" in text]


def lost(kind: str, id_: str, now: str) -> str:
    return (
        f'The log knows the {kind} "{id_}", which the description has no more. If that is {now} now, write '
        f'id = "{id_}" there, and its record and its links go on; if it is gone for good, write former = ["{id_}"] under [site].'
    )


CORRECTED = [
    # what is corrected, what is told, and where the line goes that is told
    ('name = "Tejo"', 'name = "Tagus"', lost("enclosure", "tejo", "Tagus"), 'id = "tejo"'),
    ('name = "Ives"', 'name = "Yves"', lost("keeper", "ives", "Yves"), 'id = "ives"'),
    (
        'name = "Amendoa"',
        'name = "Amêndoa Doce"',
        lost("animal", "amendoa", "Amêndoa Doce"),
        'id = "amendoa"',
    ),
    (
        'name = "Harbour Row"',
        'name = "Harbor Row"',
        'The log is of a site "harbour-row", and not of Harbor Row. If that is its name now, write id = "harbour-row" '
        "under [site], and what was recorded is there again.",
        'id = "harbour-row"',
    ),
]


@pytest.mark.parametrize(("was", "now", "told", "line"), CORRECTED, ids=[row[3] for row in CORRECTED])
def test_what_is_told_mends_it(file: Path, was: str, now: str, told: str, line: str) -> None:
    before = [ran("history"), ran("jobs --days 3", TODAY)]
    assert [said(words, TODAY) for words in ("check", "jobs")] == [[], []]
    assert [said(words) for words in ("history", "links enclosures.toml")] == [[], []]

    file.write_text(HARBOUR.replace(was, now), "utf-8")
    assert [said(words, TODAY) for words in ("check", "jobs", "jobs --format json")] == [[told]] * 3
    assert [said(words) for words in ("history", "history --format csv", "links enclosures.toml")] == [
        [told]
    ] * 3
    owner: list[str] = []
    LiveSite(file, b"k" * 32, owner.append)
    assert owner == [f"enclosures.toml: {told}"]

    file.write_text(HARBOUR.replace(was, f"{now}\n{line}"), "utf-8")
    assert said("jobs", TODAY) == said("history") == said("check", TODAY) == []
    old, new = was.split('"')[1], now.split('"')[1]
    after = [ran("history"), ran("jobs --days 3", TODAY)]
    # The names are new, and their columns as wide as they need; what is said is the same.
    assert [text.split() for text in after] == [text.replace(old, new).split() for text in before]


def test_the_nearest_new_name_comes_first(file: Path) -> None:
    more = HARBOUR + '[[enclosure]]\nname = "Mondego"\n[[enclosure]]\nname = "Tejo Velho"\n'
    file.write_text(more.replace('name = "Tejo"\n', 'name = "Tagus"\n'), "utf-8")
    assert said("jobs", TODAY) == [lost("enclosure", "tejo", "Tejo Velho or Mondego or Tagus")]


def test_it_is_told_still_when_something_is_recorded_under_the_new_name(file: Path) -> None:
    file.write_text(HARBOUR.replace('name = "Tejo"', 'name = "Tagus"'), "utf-8")
    ran("did tagus wipe-down --by ives", TODAY)
    assert said("jobs", TODAY) == [lost("enclosure", "tejo", "Tagus")]


def test_what_is_gone_for_good_is_told_by_the_review_alone_and_once_said_not_at_all(file: Path) -> None:
    gone = HARBOUR.replace('[[keeper]]\nname = "Ives"\n', "")
    file.write_text(gone, "utf-8")
    assert said("jobs", TODAY) == said("history") == []
    assert said("check", TODAY) == [
        'The log knows the keeper "ives", which the description has no more. If it is gone for good, write '
        'former = ["ives"] under [site].'
    ]
    file.write_text(gone.replace("[[keeper]]", 'former = ["Ives"]\n[[keeper]]', 1), "utf-8")
    assert said("check", TODAY) == []


def test_links_of_who_is_gone_are_shown_as_dead(file: Path) -> None:
    file.write_text(
        HARBOUR.replace('name = "Ives"', 'name = "Yves"').replace('name = "Tejo"', 'name = "Tagus"'), "utf-8"
    )
    rows = CliRunner().invoke(app, ["links", "enclosures.toml"]).stdout.splitlines()
    assert [" ".join(row.split()[:2]) + row[row.index("never") :] for row in rows[1:]] == [
        'rounds-ives roundsnever  (dead: no "ives" in the description)',
        'page-ives pagenever  (dead: no "ives" in the description)',
        'enclosure-tejo enclosurenever  (dead: no "tejo" in the description)',
    ]
    shown = CliRunner().invoke(app, ["links", "enclosures.toml", "--format", "json"]).stdout
    assert [json.loads(row)["dead"] for row in shown.splitlines()] == [True] * 3
    file.write_text(HARBOUR.replace('name = "Ives"', 'name = "Yves"\nid = "ives"'), "utf-8")
    shown = CliRunner().invoke(app, ["links", "enclosures.toml", "--format", "json"]).stdout
    assert [json.loads(row)["dead"] for row in shown.splitlines()] == [False] * 3


def test_the_owner_of_a_page_is_told_when_the_description_changes(file: Path) -> None:
    owner: list[str] = []
    site = LiveSite(file, b"k" * 32, owner.append)
    site.look(now=True)
    assert owner == []
    file.write_text(HARBOUR.replace('name = "Tejo"', 'name = "Tagus"'), "utf-8")
    site.look(now=True)
    site.look(now=True)
    assert owner == [f"enclosures.toml: {lost('enclosure', 'tejo', 'Tagus')}"]


def test_a_log_of_several_sites_names_no_other_one(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two sites of one log are two sites; only one of which the log knows nothing may be another by a new name."""
    other = file.with_name("other.toml")
    other.write_text(HARBOUR.replace("Harbour Row", "Quay Side"), "utf-8")
    monkeypatch.setenv("PONDROUND_LOG", "sqlite:///enclosures.db")
    (told,) = said("jobs other.toml", TODAY)
    assert told.startswith('The log is of a site "harbour-row", and not of Quay Side.')
    ran("did other.toml tejo wipe-down --by ives", TODAY)
    assert said("jobs other.toml", TODAY) == said("jobs", TODAY) == []
