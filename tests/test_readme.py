"""The README is true: its commands run, what it shows is what is printed, and what it lists is all there is."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from scheduler import care, workflow
from scheduler.care import Every
from scheduler.cli.main import app
from scheduler.description import load
from scheduler.description.site import ExtraJob, JobOverride
from scheduler.handbook import disinfectant
from scheduler.quantities import KINDS, parse
from scheduler.species import load_sheets

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)


def blocks(language: str) -> list[str]:
    return [text for name, text in BLOCKS if name == language]


def pondround_lines() -> list[str]:
    """Return each command line of a block that runs pondround, as it would be typed in the clone."""
    lines = "".join(blocks("sh") + blocks("crontab")).splitlines()
    return [line[line.index("pondround ") :] for line in lines if "pondround " in line]


@pytest.fixture
def clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder that holds the samples, on a terminal of 80 columns in Dublin."""
    shutil.copytree(ROOT / "sample_configs", tmp_path / "sample_configs")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TZ", "Europe/Dublin")
    return tmp_path


def run(line: str) -> str:
    name, *arguments = shlex.split(line)
    assert name == "pondround"
    result = CliRunner().invoke(app, arguments)
    assert result.exit_code == 0, f"{line}: {result.stderr}"
    return result.stdout


# --- what it shows ----------------------------------------------------------------------------------------------


def test_the_commands_run_in_the_order_of_the_text(clone):
    lines = pondround_lines()
    assert [shlex.split(line)[1] for line in lines] == ["export", "new", "check", "jobs", "export", "export"]
    for line in lines:
        run(line)
    for folder in ("calendars", "public/calendars"):
        assert list((clone / folder).glob("*.ics"))


def test_every_block_is_of_a_kind_that_is_checked():
    assert {name for name, _ in BLOCKS} == {"sh", "crontab", "toml", "note", "jobs"}


SHOWN = re.search(r"as `(pondround jobs [^`]+)` prints it", README)


def test_the_fortnight_is_what_the_command_prints(clone):
    assert SHOWN is not None
    (shown,) = blocks("jobs")
    assert run(SHOWN[1]).rstrip("\n") + "\n" == shown
    assert max(map(len, shown.splitlines())) == 80


def test_the_note_is_that_of_the_water_change_in_this_fortnight(clone):
    assert SHOWN is not None
    found = [json.loads(line) for line in run(f"{SHOWN[1]} --format json").splitlines()]
    (change,) = [entry for entry in found if entry["job"] == "water-change"]
    (shown,) = blocks("note")
    assert change["date"] == "2026-12-26" and "on 26 December" in README
    # The README breaks the note's lines; line by line of the note, the words are the same.
    unbroken = re.sub(r"\n {3}(?=\S)", " ", shown)
    assert unbroken == change["notes"] + "\n"


def test_the_descriptions_load():
    (description,) = blocks("toml")
    site = load(description, load_sheets(), (care.check,))
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
        name: {opt for parameter in command.params for opt in parameter.opts if opt.startswith("--")}
        - {"--help"}
        for name, command in commands.items()
    }


def test_the_table_of_commands_names_every_command_and_every_option():
    rows = re.findall(r"^\| `pondround (\w+)[^|]*\|[^|]*\|(.*)\|$", README, flags=re.MULTILINE)
    assert {name: set(re.findall(r"--[a-z-]+", listed)) for name, listed in rows} == options()


def test_no_option_is_named_that_does_not_exist():
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", README)) == set().union(*options().values())


def test_the_table_of_jobs_names_every_job_with_its_interval():
    table = README[README.index("| when | keys |") :].split("\n\n")[0]
    rows = [line.strip("| ").split(" | ") for line in table.splitlines()[2:]]
    when = {
        key: row[0] for row in rows for key in re.findall(r"[a-z]+(?:-[a-z]+)*", row[1]) if key in care.KEYS
    }
    assert set(when) == set(care.KEYS)
    for sample in ("one-tank", "household"):
        site = workflow.read_site(ROOT / "sample_configs" / f"{sample}.toml")
        for job in care.jobs(site):
            if isinstance(job.cadence, Every) and job.key in when and job.key not in job.enclosure.job:
                span = str(job.cadence.span)
                assert span in README, job.key
                # By the lamp's age, and by its timer, the row says two intervals in words.
                assert when[job.key] == f"every {span}" or job.key in (
                    "uv-lamp-order",
                    "uv-lamp-replace",
                    "lamp-timer",
                )


def test_the_units_that_it_names_are_read_as_that_kind():
    rows = re.findall(r"^\| (\w+) \| (`.*?) \|$", README, flags=re.MULTILINE)
    read = {kind: re.findall(r'`"([^"]+)"`', written) for kind, written in rows if kind in KINDS}
    assert set(read) == set(KINDS) - {"volume"}, "volumes are computed: no key of a description takes one"
    for kind, examples in read.items():
        assert examples
        for text in examples:
            parse(text, kind)
    for unit in ("mm", "m", "ft"):
        parse(f"10 {unit}", "length")
    for unit in ("kg", "oz"):
        parse(f"1 {unit}", "mass")


def test_the_keys_of_overrides_and_extra_jobs_are_those_of_the_format():
    override = re.search(r"^\| override \|(.*)$", README, flags=re.MULTILINE)
    extra = re.search(r"^\| extra job \|(.*)$", README, flags=re.MULTILINE)
    assert override and extra
    words = set(re.findall(r"`([a-z]+)`", override[1]))
    assert words == set(JobOverride.model_fields)
    words = set(re.findall(r"`([a-z]+)(?: = [^`]+)?`", extra[1]))
    assert words == set(ExtraJob.model_fields)


def test_the_keys_of_the_json_are_those_that_are_printed(clone):
    jobs_table, check_table = re.findall(
        r"^\| key \| value \|\n\| --- \| --- \|\n((?:\|.*\n)+)", README, re.MULTILINE
    )
    listed = [key for row in jobs_table.splitlines() for key in re.findall(r"`(\w+)`", row.split(" | ")[0])]
    first = json.loads(run("pondround jobs sample_configs/one-tank.toml --format json").splitlines()[0])
    assert list(first) == listed
    assert first["state"] == "due" and '`"due"`' in jobs_table

    listed = re.findall(r"`(\w+)`", check_table)
    figures: set[str] = set()
    for sample in ("one-tank", "household", "rescue"):
        found = json.loads(run(f"pondround check sample_configs/{sample}.toml --format json"))
        assert set(found) == {"problems", "enclosures"} <= set(listed)
        for enclosure in found["enclosures"]:
            assert set(enclosure) == {"id", "name", "figures", "findings"} <= set(listed)
            figures |= set(enclosure["figures"])
            for figure in enclosure["figures"].values():
                assert set(figure) == {"value", "unit", "source", "status"} <= set(listed)
    documented = re.search(r"Keys: (.*); only those", check_table)
    assert documented and set(re.findall(r"`(\w+)`", documented[1])) == figures


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
    (finding,) = enclosure["findings"]
    assert list(finding) == ["key", "verdict", "text", "source", "status"]
    assert (finding["key"], finding["verdict"]) == ("rain-barrel", "look")


def test_every_status_is_explained():
    from typing import get_args

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
