"""The README and the guide are true: their commands run, and what they show is what is printed."""

from __future__ import annotations

import configparser
import datetime as dt
import json
import re
import shlex
from pathlib import Path

import pytest
from dateutil.rrule import rrulestr
from icalendar import Calendar
from support.readme import BLOCKS, FRONT, README, ROOT, blocks, clone, options, pondround_lines, run
from typer.testing import CliRunner

from scheduler import care, workflow
from scheduler.cli.main import app
from scheduler.description import load
from scheduler.handbook import nitrogen
from scheduler.readings import QUANTITIES
from scheduler.sheets.entries import COLUMNS, NAMED
from scheduler.species import load_sheets

__all__ = ["clone"]


def test_the_commands_run_in_the_order_of_the_text(clone):
    lines = pondround_lines()
    assert [shlex.split(line)[1] for line in lines] == [
        "export",
        "new",
        "check",
        "jobs",
        "export",
        "export",
        "remind",
    ]
    for line in lines:
        run(line)
    for folder in ("calendars", "public/calendars"):
        assert list((clone / folder).glob("*.ics"))


def test_the_commands_of_each_day_run_on_the_sample(clone):
    (daily,) = blocks("daily")
    lines = daily.splitlines()
    assert [line.split()[1] for line in lines] == ["jobs", "did", "reading", "rota", "check"]
    for line in lines:
        run(f"{line} --today 2026-12-19")


def test_the_front_page_is_short_and_names_every_page_of_the_guide(clone):
    assert len(FRONT.encode()) <= 8192
    named = re.findall(r"\]\(scheduler/guide/([\w-]+)\.md\)", FRONT)
    assert named == list(workflow.GUIDE_TOPICS)
    pages = {path.stem for path in (ROOT / "scheduler/guide").glob("*.md")}
    assert pages == set(named)
    for topic in named:
        assert run(f"pondround guide {topic}") == (ROOT / f"scheduler/guide/{topic}.md").read_text("utf-8")
    assert [line.split()[0] for line in run("pondround guide").splitlines()] == named


def test_a_page_that_is_not_there_is_told_with_the_nearest(clone):
    result = CliRunner().invoke(app, ["guide", "reviw"])
    assert result.exit_code == 2 and 'no page "reviw"; nearest: review' in result.stderr


def test_every_block_is_of_a_kind_that_is_checked():
    assert {name for name, _ in BLOCKS} == {
        "sh",
        "crontab",
        "toml",
        "note",
        "jobs",
        "calendar",
        "console",
        "record",
        "bent",
        "rota",
        "links",
        "nginx",
        "ini",
        "animals",
        "daily",
        "json",
        "python",
        "printed",
    }


SHOWN = re.search(r"as `(pondround jobs [^`]+)` prints it", README)


def test_the_fortnight_is_what_the_command_prints(clone):
    assert SHOWN is not None
    (shown,) = blocks("jobs")
    assert run(SHOWN[1]).rstrip("\n") + "\n" == shown
    assert max(map(len, shown.splitlines())) == 80


def test_the_note_is_that_of_the_water_change_in_this_fortnight(clone):
    assert SHOWN is not None
    found = [json.loads(line) for line in run(f"{SHOWN[1]} --format json").splitlines()]
    changes = [entry for entry in found if entry["job"] == "water-change"]
    (shown,) = blocks("note")
    assert [entry["date"] for entry in changes] == ["2026-12-19", "2026-12-26"]
    assert "on 19 and 26\nDecember" in README
    # The README breaks the note's lines; line by line of the note, the words are the same.
    unbroken = re.sub(r"\n {3}(?=\S)", " ", shown)
    assert [entry["notes"] + "\n" for entry in changes] == [unbroken] * 2


@pytest.mark.parametrize("shown", blocks("calendar"), ids=lambda text: text.splitlines()[0])
def test_a_calendar_is_shown_as_it_is_written(clone, shown):
    file, *excerpt = shown.splitlines()
    sample = {"harbour-row.ics": "one-tank", "pruitt-street.ics": "household"}[file]
    run(f"pondround export sample_configs/{sample}.toml --today 2026-12-14")
    contains_runs(occurrences(Path("calendars", file).read_bytes(), dt.date(2027, 2, 1)), excerpt)


def occurrences(feed: bytes, end: dt.date) -> list[str]:
    """Return day, hour and title of everything in a calendar before a day, in the order in which it comes."""
    found = []
    for event in Calendar.from_ical(feed).walk("VEVENT"):
        start = event["DTSTART"].dt
        days = [start]
        if "RRULE" in event:
            assert "EXDATE" not in event
            rule = rrulestr(event["RRULE"].to_ical().decode(), dtstart=start)
            days = rule.between(start, dt.datetime.combine(end, dt.time(), start.tzinfo), inc=True)
        hour = f"{start:%H:%M}" if isinstance(start, dt.datetime) else "     "
        found += [(f"{day:%Y-%m-%d}", hour, f"{day:%a %d %b}  {hour}  {event['SUMMARY']}") for day in days]
    return [line for _, _, line in sorted(found)]


@pytest.mark.parametrize("shown", blocks("console"), ids=lambda text: text.splitlines()[0][2:60])
def test_what_a_command_is_shown_to_print_is_an_excerpt_of_what_it_prints(clone, shown):
    is_excerpt(shown)


def is_excerpt(shown: str, end: str = "") -> None:
    # Runs of lines, in their order, with something left out at each `...` and nowhere else.
    command, *excerpt = shown.splitlines()
    assert command.startswith("$ pondround ")
    code = 1 if any(line.startswith("  act ") for line in excerpt) else 0
    printed = run(command[2:], code).removesuffix(end).splitlines()
    place = contains_runs(printed, excerpt)
    assert (place < len(printed)) == (excerpt[-1] == "...")


def contains_runs(printed: list[str], excerpt: list[str]) -> int:
    """See that the runs of an excerpt stand in what is printed, in their order; return where the last one ends."""
    runs = [part.strip("\n").splitlines() for part in "\n".join(["", *excerpt]).split("\n...")]
    place = 0
    for lines in filter(None, runs):
        places = [n for n in range(place, len(printed)) if printed[n : n + len(lines)] == lines]
        assert places, lines
        assert place == 0 or places[0] > place, f"nothing is left out before {lines[0]}"
        place = places[0] + len(lines)
    return place


def test_the_record_is_kept_as_shown(clone):
    """The commands follow each other: each finds what those before it recorded."""
    (session,) = blocks("record")
    parts = session.rstrip("\n").split("\n\n$ ")
    assert len(parts) == 6
    for part in [parts[0], *(f"$ {part}" for part in parts[1:])]:
        is_excerpt(part, end="\n")
    assert (clone / "sample_configs/one-tank.db").exists()


def test_the_plan_is_bent_as_shown(clone):
    (session,) = blocks("bent")
    parts = session.rstrip("\n").split("\n\n$ ")
    assert len(parts) == 5
    for part in [parts[0], *(f"$ {part}" for part in parts[1:])]:
        is_excerpt(part, end="\n")
    assert (clone / "sample_configs/household.db").exists()


def test_animals_move_as_shown(clone):
    (session,) = blocks("animals")
    parts = session.rstrip("\n").split("\n\n$ ")
    assert len(parts) == 4
    before = (clone / "sample_configs/household.toml").read_bytes()
    for part in [parts[0], *(f"$ {part}" for part in parts[1:])]:
        is_excerpt(part, end="\n")
    assert (clone / "sample_configs/household.toml").read_bytes() == before


def test_the_rota_is_shared_out_as_shown(clone):
    (session,) = blocks("rota")
    parts = session.rstrip("\n").split("\n\n$ ")
    assert len(parts) == 3
    for part in [parts[0], *(f"$ {part}" for part in parts[1:])]:
        is_excerpt(part, end="\n")
    assert (clone / "sample_configs/household.db").exists()


def test_links_are_made_as_shown(clone):
    # That of a coordinator last: the other page lists what was made on it.
    sessions = sorted(blocks("links"), key=lambda session: "--coordinator" in session)
    assert len(sessions) == 2
    for part in [part for session in sessions for part in session.rstrip("\n").split("\n\n$ ")]:
        command, _, shown = part.removeprefix("$ ").partition("\n")
        printed = re.sub(r"(?<=/)[\w-]{27}(?=\n|\.ics\n|/site\n)", "SECRET", run(command))
        dated = re.sub(r"\d{4}-\d\d-\d\d", "2026-11-26", printed)
        assert dated.rstrip("\n") == shown


def test_the_library_lists_what_is_shown_and_what_the_command_lists(clone, capsys):
    (program,), (shown,) = blocks("python"), blocks("printed")
    exec(compile(program, "library.md", "exec"), {})
    assert capsys.readouterr().out == shown
    listed = run("pondround jobs sample_configs/one-tank.toml --today 2026-12-19 --days 3 --format json")
    entries = [json.loads(line) for line in listed.splitlines()]
    assert [line[17:] for line in shown.splitlines()] == [
        f"Tejo {entry['title']} {entry['minutes']} min" for entry in entries
    ]


def test_the_unit_starts_what_there_is():
    (shown,) = blocks("ini")
    unit = configparser.ConfigParser(strict=True, interpolation=None)
    unit.optionxform = str  # type: ignore[assignment,method-assign]
    unit.read_string(shown)
    program, command, file, *more = unit["Service"]["ExecStart"].split()
    assert (Path(program).name, command, Path(file).suffix) == ("pondround", "serve", ".toml")
    assert {word for word in more if word.startswith("--")} <= options()["serve"]
    assert unit["Service"]["Environment"].startswith("PONDROUND_URL=https://")
    assert unit["Service"]["WorkingDirectory"] == unit["Service"]["ReadWritePaths"] == str(Path(file).parent)


def test_the_readings_are_those_that_can_be_recorded():
    table = README[README.index("| reading | unit | what follows |") :].split("\n\n")[0]
    rows = [line.strip("| ").split(" | ")[:2] for line in table.splitlines()[2:]]
    assert {name.strip("`"): unit for name, unit in rows} == {
        **{q.name: q.unit for q in QUANTITIES.values() if not q.is_sign},
        "sign.NAME": "yes or no",
    }


def test_the_json_of_what_is_recorded_is_as_listed(clone):
    def listed(start: str) -> set[str]:
        paragraph = README[README.index(start) :].split("\n\n")[0]
        return set(re.findall(r"`([a-z]+)`", paragraph)) - {
            "did",
            "reading",
            "undo",
            "history",
            "postpone",
            "skip",
            "once",
        }

    tank = "sample_configs/one-tank.toml"
    found = json.loads(
        run(f"pondround reading {tank} 'ammonia=2 mg/L as N' --today 2026-12-19 --format json")
    )
    consequence, *_ = found["consequences"]
    keys = {*found, *consequence, *found["moved"][0]}
    # `reading` is the name of a command there, and of a key.
    assert listed("`pondround did`, `reading` and `undo` print") == keys - {"reading"}
    assert list(found["recorded"][0]) == [*COLUMNS, *NAMED]
    paragraph = README[README.index("`pondround history FILE --format json` prints") :].split("\n\n")[0]
    assert re.findall(r"`([a-z]+)`", paragraph) == list(COLUMNS)
    line = json.loads(run(f"pondround history {tank} --format json"))
    assert list(line) == [*COLUMNS, *NAMED]
    outlook = json.loads(run(f"pondround outlook {tank} --today 2026-12-19 --format json"))
    keys = {*outlook, *outlook["lines"][0], *outlook["buy"][0], "enclosure", "text"}
    assert listed("`pondround outlook FILE --format json` prints") == keys


def test_the_review_and_what_if_are_shown():
    commands = [text.splitlines()[0] for text in blocks("console")[2:]]
    assert [command.split()[2] for command in commands] == ["check", "check", "jobs", "check"]
    assert "--explain" in commands[2] and "--what-if" in commands[3]


@pytest.mark.parametrize(
    "change",
    re.findall(r"`([^`\s=]+=[^`=]*)`", README.split("A key is written as in the file")[1].split("\n\n")[0]),
)
def test_the_changes_that_it_names_are_read(clone, change):
    Path("changed.toml").write_text(blocks("toml")[0], "utf-8")
    arguments = ["check", "changed.toml", "--what-if", change.replace('"', ""), "--format", "json"]
    result = CliRunner().invoke(app, arguments)
    assert result.exit_code in (0, 1), result.stderr
    assert json.loads(result.stdout)["what_if"]["changes"] == [change.replace('"', "")]


def test_all_nitrogen_of_the_food_counts_unless_chosen_otherwise(clone):
    assert "growing fish excrete less than three fifths of it" in README
    # 0.092 g of ammonia nitrogen for each g of protein (Timmons & Ebeling), of 0.16 g of nitrogen in it.
    assert nitrogen.FISH_COEFFICIENT / nitrogen.N_IN_PROTEIN < 0.6
    command = "pondround check sample_configs/one-tank.toml --today 2026-12-14 --format json --what-if nitrogen=fish"
    found = json.loads(run(command))
    everything, fish = (
        some["enclosures"][0]["figures"]["feed_nitrogen"]["value"] for some in (found, found["what_if"])
    )
    assert fish / everything == pytest.approx(0.092 / 0.16, abs=1e-3)


def test_the_descriptions_load():
    site = load(blocks("toml")[0], load_sheets(), (care.check,))
    assert {job.key for job in care.jobs(site)} >= {
        "water-change",
        "rain-barrel",
    }


def test_the_files_that_it_links_to_exist():
    links = re.findall(r"\]\(([^)]+)\)", README)
    assert len(links) >= 4
    for link in links:
        assert (ROOT / link).exists(), link
