"""What the README and the guide list is all there is: options, units, house values, keys, species."""

from __future__ import annotations

import datetime as dt
import json
import re
import tomllib
from pathlib import Path
from typing import get_args

import pytest
from support.readme import README, blocks, clone, options, run
from typer.testing import CliRunner

from scheduler import care, plan
from scheduler.care.engine.figure import FIGURES
from scheduler.care.house import House
from scheduler.cli.main import app
from scheduler.description import load
from scheduler.description.site import ExtraJob, HouseValues, JobOverride
from scheduler.handbook import disinfectant
from scheduler.quantities import KINDS, parse
from scheduler.species import load_sheets

__all__ = ["clone"]


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
