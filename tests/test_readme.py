"""The README and the guide are true: their commands run, what they show is what is printed, and what they list is all there is."""

from __future__ import annotations

import configparser
import datetime as dt
import json
import re
import shlex
import shutil
import tomllib
from pathlib import Path
from typing import get_args

import pytest
import typer
from dateutil.rrule import rrulestr
from icalendar import Calendar
from typer.testing import CliRunner

from scheduler import care, plan, workflow
from scheduler.care.engine.figure import FIGURES
from scheduler.care.house import House
from scheduler.cli.main import app
from scheduler.description import load
from scheduler.description.site import (
    ExtraJob,
    HouseValues,
    JobOverride,
)
from scheduler.handbook import disinfectant, nitrogen
from scheduler.quantities import KINDS, parse
from scheduler.readings import QUANTITIES
from scheduler.sheets.entries import COLUMNS, NAMED
from scheduler.species import load_sheets

ROOT = Path(__file__).parents[1]
FRONT = (ROOT / "README.md").read_text("utf-8")
README = "\n".join([FRONT, *(workflow.guide_page(topic) for topic in workflow.GUIDE_TOPICS)])
"""The README, and after it the pages of the guide, in the order in which it names them."""

BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)


def blocks(language: str) -> list[str]:
    return [text for name, text in BLOCKS if name == language]


def pondround_lines() -> list[str]:
    """Return each command line of a block that runs pondround, as it would be typed in the clone."""
    lines = "".join(blocks("sh") + blocks("crontab")).splitlines()
    return [line[line.index("pondround ") :].partition(" > ")[0] for line in lines if "pondround " in line]


@pytest.fixture
def clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the samples, on a terminal of 80 columns in Dublin."""
    shutil.copytree(ROOT / "sample_configs", tmp_path / "sample_configs")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setenv("TZ", "Europe/Dublin")
    return tmp_path


def run(line: str, code: int = 0) -> str:
    name, *arguments = shlex.split(line)
    assert name == "pondround"
    result = CliRunner().invoke(app, arguments)
    assert result.exit_code == code, f"{line}: {result.stderr}"
    return result.stdout


# --- what it shows ----------------------------------------------------------------------------------------------


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
    (session,) = blocks("links")
    for part in session.rstrip("\n").split("\n\n$ "):
        command, _, shown = part.removeprefix("$ ").partition("\n")
        printed = re.sub(r"(?<=/)[\w-]{27}(?=\n|\.ics\n)", "SECRET", run(command))
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


# --- what it lists ----------------------------------------------------------------------------------------------


def options() -> dict[str, set[str]]:
    """Return the options of each command, without --help."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    return {
        name: {
            opt
            for parameter in command.params
            for opt in (*parameter.opts, *parameter.secondary_opts)
            if opt.startswith("--")
        }
        - {"--help"}
        for name, command in commands.items()
    }


def test_no_option_is_named_that_does_not_exist():
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", README)) == set().union(*options().values())


def test_the_units_that_it_names_are_read_as_that_kind():
    rows = re.findall(r"^\| (\w+) \| (`.*?) \|$", README, flags=re.MULTILINE)
    read = {kind: re.findall(r'`"([^"]+)"`', written) for kind, written in rows if kind in KINDS}
    assert set(read) == set(KINDS)
    for kind, examples in read.items():
        assert examples
        for text in examples:
            parse(text, kind)
    also = {kind: re.search(r"; also (.*)", written) for kind, written in rows if kind in KINDS}
    named = {kind: found[1].split(", ") for kind, found in also.items() if found}
    assert set(named) == {"length", "area", "volume", "mass"}
    for kind, units in named.items():
        for unit in units:
            parse(f"10 {unit}", kind)


def test_the_house_values_are_shown_as_they_are():
    _, shown = blocks("toml")
    named = tomllib.loads(shown)["site"]["house_values"]
    assert list(named) == list(HouseValues.model_fields)
    site = load(blocks("toml")[0] + "\n" + shown, load_sheets(), (care.check,))
    ours, theirs = vars(House(HouseValues())), vars(House(site.settings.house_values))
    assert {k: v for k, v in ours.items() if not k.startswith("_")} == {
        k: pytest.approx(v) for k, v in theirs.items() if not k.startswith("_")
    }
    assert (ours["_own"], theirs["_own"]) == (set(), set(named))


def test_the_keys_of_overrides_and_extra_jobs_are_those_of_the_format():
    override = re.search(r"^\| override \|(.*)$", README, flags=re.MULTILINE)
    extra = re.search(r"^\| extra job \|(.*)$", README, flags=re.MULTILINE)
    assert override and extra
    words = set(re.findall(r"`([a-z]+)`", override[1]))
    assert words == set(JobOverride.model_fields)
    words = set(re.findall(r"`([a-z]+)(?: = [^`]+)?`", extra[1]))
    assert words == set(ExtraJob.model_fields)


def test_the_keys_of_the_json_are_those_that_are_printed(clone):
    jobs_table, check_table, rota_table = re.findall(
        r"^\| key \| value \|\n\| --- \| --- \|\n((?:\|.*\n)+)", README, re.MULTILINE
    )
    listed = [key for row in jobs_table.splitlines() for key in re.findall(r"`(\w+)`", row.split(" | ")[0])]
    first = json.loads(run("pondround jobs sample_configs/one-tank.toml --format json").splitlines()[0])
    assert list(first) == listed
    for state in get_args(plan.State):
        assert f'`"{state}"`' in jobs_table

    listed = re.findall(r"`(\w+)`", check_table)
    for sample in ("one-tank", "household"):
        found = json.loads(
            run(f"pondround check sample_configs/{sample}.toml --today 2026-12-14 --format json")
        )
        assert set(found) == {"problems", "enclosures"} <= set(listed)
        for enclosure in found["enclosures"]:
            assert set(enclosure) == {"id", "name", "figures", "findings"} <= set(listed)
            for figure in enclosure["figures"].values():
                assert set(figure) == {"value", "unit", "source", "status"} <= set(listed)
            for finding in enclosure["findings"]:
                assert set(finding) == {"key", "verdict", "text", "source", "status"} <= set(listed)
                assert f'`"{finding["verdict"]}"`' in check_table
                assert finding["key"] in FIGURES or finding["key"] in care.KEYS
    command = (
        "pondround check sample_configs/one-tank.toml --today 2026-12-14 --format json --what-if feed.grams=2"
    )
    changed = json.loads(run(command))["what_if"]
    assert set(changed) == {"changes", "enclosures"} <= set(listed)
    assert set(changed["enclosures"][0]) == {"id", "name", "figures", "findings"}

    listed = re.findall(r"`(\w+)`", rota_table)
    rota = "pondround rota sample_configs/household.toml --today 2026-12-14 --weeks 1 --format json"
    run(f"{rota} --publish")
    found = json.loads(run(f"{rota} --ill Ives=2026-12-16"))
    keys = {
        *found,
        *found["rounds"][0],
        *found["rounds"][0]["jobs"][0],
        *found["fairness"],
        *found["changes"][0],
    }
    # `why` and `mend` are of what nobody takes: nothing here.
    assert set(listed) == keys | {"why", "mend"}


FULL = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
latitude = 53.3
room_low = "16 degC"
room_high = "27 degC"
[site.tap_water]
disinfectant = "chloramine"
ph = 7.6
cold = "10 degC"
hot = "55 degC"
[[enclosure]]
name = "Sedge"
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
covered = true
set_up = 2026-11-20
filter = {kind = "canister", flow = "1400 L/h"}
heater = [{power = "200 W", set_to = "24 degC"}]
lamp = [{kind = "T5 HO tube", power = "39 W", installed = 2026-11-20, hours_a_day = 12, uvi = 2.7, uvi_at = "30 cm", basking_distance = "32 cm"}]
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm"}]
feed = {grams = 3, protein = 0.4, meals_a_week = 3, pack = "250 g", opened = 2026-11-20}
conditioner = {treats = "1000 L", opened = 2026-11-20}
"""


def test_a_description_that_says_enough_has_all_figures(clone):
    Path("full.toml").write_text(FULL, "utf-8")
    result = CliRunner().invoke(app, ["check", "full.toml", "--today", "2026-12-14", "--format", "json"])
    (enclosure,) = json.loads(result.stdout)["enclosures"]
    told = {key: figure["unit"] for key, figure in enclosure["figures"].items()}
    # But for what only a filter asks for that starts without animals, and what is reckoned where nothing nitrifies.
    there = {key: unit for key, (_, unit) in FIGURES.items() if not key.startswith("ammonia_")}
    assert told == there and len(FIGURES) == len(there) + 4
    for key, unit in told.items():
        value = enclosure["figures"][key]["value"]
        assert dt.date.fromisoformat(value) if unit == "date" else isinstance(value, (int, float))


def test_something_to_act_on_ends_check_with_1(clone):
    assert "1: `check` found something to act on\n(with `--what-if`, in the changed description)" in README
    Path("full.toml").write_text(FULL, "utf-8")
    command = "pondround check full.toml --today 2026-12-14 --brief"
    run(command)
    # Not even once around the filter in an hour.
    assert "  act   The filter's" in run(f"{command} --what-if 'filter.flow=150 L/h'", 1)
    weak = FULL.replace("1400 L/h", "150 L/h")
    Path("full.toml").write_text(weak, "utf-8")
    assert "  act   The filter's" in run(command, 1)
    run(f"{command} --what-if 'filter.flow=1400 L/h'")


def test_a_wrong_description_prints_the_check_object_and_ends_with_2(clone):
    Path("wrong.toml").write_text(
        '[site]\nname = "Home"\n\n[[enclosure]]\nname = "Tank"\nwidth = 5\n', "utf-8"
    )
    for command in ("check", "jobs"):
        result = CliRunner().invoke(app, [command, "wrong.toml", "--format", "json"])
        assert result.exit_code == 2
        (problem,) = json.loads(result.stdout)["problems"]
        assert list(problem) == ["path", "message", "hint"]
        assert problem["path"] == "enclosure[0].width"
        assert json.loads(result.stdout)["enclosures"] == []


def test_a_rule_that_programs_read_differently_is_told_by_check(clone):
    text = blocks("toml")[0].replace("FREQ=MONTHLY;BYDAY=1SA", "FREQ=MONTHLY;BYDAY=SA;BYSETPOS=1")
    Path("rule.toml").write_text(text, "utf-8")
    (enclosure,) = json.loads(run("pondround check rule.toml --format json"))["enclosures"]
    (finding,) = [f for f in enclosure["findings"] if f["key"] == "rain-barrel"]
    assert list(finding) == ["key", "verdict", "text", "source", "status"]
    assert finding["verdict"] == "look" and "exported as single dates" in finding["text"]


def test_every_status_is_explained():
    from scheduler.sources import Status

    table = README[README.index("| status | means |") :].split("\n\n")[0]
    assert [line.strip("| ").split(" | ")[0] for line in table.splitlines()[2:]] == list(get_args(Status))


def test_the_species_that_ship_are_named():
    sentence = README[README.index("Sheets ship for") :].split(". ")[0].replace("\n", " ").lower()
    for sheet in load_sheets().values():
        assert any(name in sentence for name in sheet.names), sheet.species


def test_unknown_tap_water_counts_as_the_legal_ceiling():
    assert "unknown counts as chloramine at the US legal ceiling" in README
    assert disinfectant.level_mg_l("unknown", None) == 4.0  # 40 CFR 141.65
