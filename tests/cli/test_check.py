"""`pondround check` and `jobs --explain` as a keeper meets them: exit codes, both formats, what if, and what is refused."""

import datetime as dt
import json
import re
import subprocess
import sys
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.depth import examples
from typer.testing import CliRunner

from scheduler.cli.main import app

TODAY = ["--today", "2026-12-01"]

SITE = """
[site]
name = "Ferry Cottage"
time_zone = "Europe/Dublin"
room_low = "18 degC"
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
nitrate = "5 mg/L"
cold = "10 degC"
hot = "55 degC"
"""

SLUICE = """
[[enclosure]]
name = "Sluice"
length = "90 cm"
width = "45 cm"
height = "45 cm"
water_depth = "36 cm"
covered = true
set_up = 2026-06-01
cycled = true
[enclosure.filter]
flow = "1100 L/h"
[[enclosure.heater]]
power = "200 W"
set_to = "25 degC"
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "39 W"
installed = 2026-09-12
hours_a_day = 12
uvi = 2.7
uvi_at = "30 cm"
basking_distance = "30 cm"
[[enclosure.lamp]]
kind = "heat"
power = "60 W"
hours_a_day = 10
[[enclosure.resident]]
name = "Marigold"
species = "Trachemys scripta"
sex = "female"
carapace = "11 cm"
mass = "230 g"
arrived = 2026-06-20
[enclosure.feed]
grams = 2
protein = 0.4
meals_a_week = 5
"""

MILLPOND = """
[[enclosure]]
name = "Millpond"
length = "60 cm"
width = "30 cm"
water_depth = "20 cm"
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "enclosures.toml"
    path.write_text(SITE + SLUICE + MILLPOND, "utf-8")
    return path


def run(*args, columns=80):
    """Return exit code, standard output and standard error; a traceback is no answer."""
    done = CliRunner(env={"COLUMNS": str(columns)}).invoke(app, list(map(str, args)))
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise AssertionError(f"{args} ended in {done.exception!r}") from done.exception
    assert "Traceback" not in done.output
    return done.exit_code, done.stdout, done.stderr


def check(file, *args):
    return run("check", file, *TODAY, *args)


def check_json(file, *args):
    code, out, err = check(file, "--format", "json", *args)
    assert err == ""
    return code, json.loads(out)


# --- Exit codes and formats -----------------------------------------------------------------------------------------


def test_nothing_to_act_on_is_0(file):
    code, out, err = check(file, "--all")
    assert (code, err) == (0, "")
    assert re.search(r"^Sluice +\d+ to look at$", out, re.M)
    assert re.search(r"^Millpond +\d+ to look at$", out, re.M)


def test_something_to_act_on_is_1_and_says_where(file):
    file.write_text(file.read_text("utf-8").replace("200 W", "25 W"), "utf-8")
    code, out, err = check(file, "--all")
    assert (code, err) == (1, "Something to act on in 1 of 2: Sluice.\n")
    assert "  act   In a room of 18 °C the water loses " in out
    code, found = check_json(file)
    assert code == 1
    acts = [(e["id"], f["key"]) for e in found["enclosures"] for f in e["findings"] if f["verdict"] == "act"]
    assert acts == [("sluice", "heater_power")]


def test_a_wrong_description_is_2_in_both_formats(file):
    file.write_text(file.read_text("utf-8").replace('"90 cm"', '"90 W"'), "utf-8")
    code, out, err = check(file)
    assert (code, out) == (2, "")
    assert f"{file}:" in err and "enclosure[0].length" in err
    code, found = check_json(file)
    assert code == 2
    assert found["enclosures"] == [] and "what_if" not in found
    assert [p["path"] for p in found["problems"]] == ["enclosure[0].length"]


def test_json_without_what_if_has_two_keys(file):
    code, found = check_json(file)
    assert (code, list(found), found["problems"]) == (0, ["problems", "enclosures"], [])
    assert [(e["id"], e["name"]) for e in found["enclosures"]] == [
        ("millpond", "Millpond"),
        ("sluice", "Sluice"),
    ]
    assert all(list(e) == ["id", "name", "figures", "findings"] for e in found["enclosures"])


def test_one_enclosure_alone(file):
    _, found = check_json(file, "--enclosure", "mill")
    assert [e["id"] for e in found["enclosures"]] == ["millpond"]
    code, out, err = check(file, "--enclosure", "nowhere")
    assert (code, out) == (2, "") and 'there is no enclosure "nowhere"' in err


def test_the_exit_code_is_of_the_enclosure_that_is_asked_for(file):
    file.write_text(file.read_text("utf-8").replace("200 W", "25 W"), "utf-8")
    assert [check(file, "--enclosure", name)[0] for name in ("millpond", "sluice")] == [0, 1]


def test_explain_says_how_each_number_came_about(file):
    _, plain, _ = check(file)
    _, told, _ = check(file, "--explain")
    assert "      90 cm x 45 cm x 36 cm of water = 146 L [" in told
    assert "90 cm x 45 cm x 36 cm of water" not in plain
    assert len(told.splitlines()) > len(plain.splitlines()) + 30


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("args", [[], ["--explain"], ["--what-if", "width=60 cm", "units=us"]])
def test_lines_keep_to_the_terminal(file, columns, args):
    _, out, _ = run("check", file, *TODAY, *args, columns=columns)
    assert out and max(map(len, out.splitlines())) <= columns


def test_what_is_said_beside_the_data_turns_no_line_around(file):
    text = file.read_text("utf-8").replace("200 W", "25 W").replace('"Sluice"', '"Slu\u202eice"')
    file.write_text(text, "utf-8")
    code, out, err = check(file)
    assert code == 1 and err
    assert "\u202e" not in out + err


# --- What if --------------------------------------------------------------------------------------------------------


def both(file, *changes, enclosure="sluice"):
    """Return the code and the figures as they are and as they would be; the description stays as it was."""
    before = file.read_bytes(), sorted(file.parent.iterdir())
    code, found = check_json(file, "--enclosure", enclosure, "--what-if", *changes)
    assert (file.read_bytes(), sorted(file.parent.iterdir())) == before
    assert list(found) == ["problems", "enclosures", "what_if"]
    assert list(found["what_if"]) == ["changes", "enclosures"]
    assert found["what_if"]["changes"] == list(changes)
    (now,), (then,) = found["enclosures"], found["what_if"]["enclosures"]
    assert now["id"] == enclosure and list(then) == list(now)
    acts = any(f["verdict"] == "act" for f in then["findings"])
    assert code == (1 if acts else 0), "the exit code is that of the changed description"
    return {k: v["value"] for k, v in now["figures"].items()}, {
        k: v["value"] for k, v in then["figures"].items()
    }


def test_a_bigger_tank(file):
    now, then = both(file, "length=120 cm", 'width="60 cm"')
    assert (now["water_area"], then["water_area"]) == (4050, 7200)
    assert then["gross_volume"] == pytest.approx(120 * 60 * 36 / 1000)
    assert then["nitrate_rise"] < now["nitrate_rise"]
    assert then["heat_loss"] > now["heat_loss"]


def test_another_lamp(file):
    now, then = both(
        file,
        "lamp[+].kind=T8 tube",
        "lamp[+].power=15 W",
        "lamp[+].hours_a_day=12",
        "lamp[+].installed=2026-11-20",
        "lamp[+].uvi=1.5",
        'lamp[+].uvi_at="20 cm"',
        "lamp[+].basking_distance=20 cm",
    )
    assert (now["uvi_at_basking"], then["uvi_at_basking"]) == (2.7, pytest.approx(4.2))
    assert then["lamp_energy"] - now["lamp_energy"] == pytest.approx(15 * 12 * 365.25 / 12 / 1000, abs=1e-3)
    # A T8 tube has half the life: 91 days in whole weeks from 20 November.
    assert (now["uv_lamp_replace_on"], then["uv_lamp_replace_on"]) == ("2027-09-11", "2027-02-19")


def test_one_more_animal(file):
    # Directive 2010/63/EU, table 10.1: 3500 cm2 for the first of 10 to 15 cm, 600 for each more.
    now, then = both(file, "resident[+].carapace=8 cm")
    assert (now["least_water_area"], then["least_water_area"]) == (3500, 4100)
    now, then = both(file, "resident.count=3")
    assert (now["least_water_area"], then["least_water_area"]) == (3500, 4700)


def test_without_the_filter(file):
    now, then = both(file, "filter=")
    assert "filter_turnover" in now and "filter_turnover" not in then


def test_a_colder_room_and_a_limit_of_ones_own(file):
    now, then = both(file, "room_low=12 degC", "nitrate_look=20 mg/L")
    assert then["heat_loss"] > now["heat_loss"]
    assert then["water_change_interval"] == now["water_change_interval"] == 7


def test_names_and_kinds_pick_a_table(file):
    now, then = both(file, "resident[marigold].count=2", "lamp[heat].power=100 W")
    assert then["least_water_area"] > now["least_water_area"]
    assert then["lamp_energy"] > now["lamp_energy"]


def test_three_times_the_food_comes_with_more_water_changed(file):
    now, then = both(file, "feed.grams=6")
    assert then["ration"] == pytest.approx(3 * now["ration"], abs=1e-3)
    # Weekly already: on the food alone no more often, and the review says what it comes to.
    assert then["water_change_interval"] == now["water_change_interval"] == 7
    assert then["nitrate_peak"] > now["nitrate_peak"]


def test_a_key_of_the_enclosure_without_a_name_goes_to_all(file):
    _, found = check_json(file, "--what-if", "water_depth=18 cm")
    volumes = [e["figures"]["gross_volume"]["value"] for e in found["what_if"]["enclosures"]]
    assert volumes == [pytest.approx(60 * 30 * 18 / 1000), pytest.approx(90 * 45 * 18 / 1000)]


def test_with_an_enclosure_named_the_others_stay_as_they_are(file):
    file.write_text(file.read_text("utf-8").replace('height = "45 cm"\n', ""), "utf-8")
    # 36 cm wide water of 90 cm depth would be refused in the small one: the change does not reach it.
    now, then = both(file, "width=80 cm")
    assert (now["water_area"], then["water_area"]) == (4050, 7200)


def test_the_table_shows_both_columns(file):
    code, out, _ = check(file, "--enclosure", "sluice", "--what-if", "width=60 cm", "filter=")
    # Without a filter nothing nitrifies: that is something to act on.
    assert code == 1
    lines = out.splitlines()
    assert lines[0] == "What if: width=60 cm, filter="
    (head,) = [n for n, line in enumerate(lines) if re.fullmatch(r" +as it is +what if", line)]
    rows = {line[2:40].strip(): line[40:].split("  ") for line in lines[head + 1 :] if line}
    assert [part.strip() for part in rows["water area"] if part.strip()] == ["4050 cm²", "5400 cm²"]
    assert [part.strip() for part in rows["filter turnover"] if part.strip()] == ["7.56 per hour", "-"]


def test_the_file_may_be_left_out(file, monkeypatch):
    monkeypatch.chdir(file.parent)
    code, out, _ = run("check", "--what-if", "width=40 cm", "length=100 cm", "--enclosure", "sluice", *TODAY)
    assert (code, out.splitlines()[0]) == (0, "What if: width=40 cm, length=100 cm")


WRONG = [
    (["widht=3"], 'there is no key "widht"; nearest: width'),
    (
        ["resident[Fern].count=3"],
        '"resident[Fern].count": none of resident is called "Fern"; there are Marigold',
    ),
    (["lamp.uvi=3"], "there are 2 of lamp; write lamp[0] to lamp[1], a name, or [+] for one more"),
    # A change of name would hide what is to be acted on: reviews are compared by it.
    (["name=Weir"], '"name": an enclosure keeps its name and id, by which it is compared'),
    (["enclosure[0].id=weir"], "an enclosure keeps its name and id"),
    (["enclosure[+].width=3 cm"], "nothing could be compared with one more enclosure"),
    (["width"], '"width" is no change; write it as width="60 cm"'),
    (["width=abc"], 'enclosure[1].width\n    found "abc", expected a length with its unit'),
    (
        ["width=80"],
        "enclosure[1].width\n    found 80, a bare number; expected a length with its unit, in quotes",
    ),
    (["lamp[0].kind=neon"], "enclosure[1].lamp[0].kind"),
    (["lamp[+].uvi=3"], "enclosure[1].lamp[2].kind"),
    (["site.name="], "site.name"),
    (["heater.set_to=200 degF", "filter.flow=3 W"], "enclosure[1].filter.flow"),
    (["resident.species=slyder"], 'nearest: "slider"'),
    (["job.water-chnge.every=3 days"], "water-chnge"),
    (["room_low=99 degC"], "site.room_low"),
    (["nitrate_look=200 mg/L"], "site.house_values.nitrate_look"),
    (["width=60 cm"] * 10_000, "10000 changes at once; write at most 100"),
    (["width=" + "9" * 5000 + " cm"], "is no change"),
    (["width=" + "[" * 400], "is nested too deeply"),
    (["width=" + "[" * 240 + "]" * 240], "is nested too deeply"),
    (["width=[[3]]"], "enclosure[1].width"),
    (["resident.count=" + "9" * 400], "enclosure[1].resident[0].count"),
    (["filter" + ".a" * 240 + "=3"], "is nested too deeply"),
    (["lamp[[[[=3"], "is no key"),
    (["lamp[].uvi=3"], "is no key"),
    (["lamp[" + "9" * 79 + "].uvi=3"], "there is no lamp["),
    (['width="60 cm"\n[site]\nname = "x"'], "a changed value stands on one line"),
    (["wid\x1b[31mth=3"], "is no key"),
    (["width=\x1b[31m60 cm"], "enclosure[1].width"),
    (["width=\udcff"], "enclosure[1].width"),
    (["\udcff=3"], "is no key"),
    (["\u202ewidth=3"], "is no key"),
]


@pytest.mark.parametrize(("changes", "said"), WRONG, ids=[ascii(row[0][0])[:40] for row in WRONG])
def test_a_wrong_change_is_2_with_what_to_write(tmp_path, changes, said):
    path = tmp_path / "enclosures.toml"
    path.write_text(SITE + MILLPOND + SLUICE, "utf-8")
    before = path.read_bytes()
    code, out, err = check(path, "--enclosure", "sluice", "--what-if", *changes)
    assert (code, out) == (2, ""), err
    assert said in err
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f\u202e]", err)
    assert path.read_bytes() == before
    code, out, err = check(path, "--enclosure", "sluice", "--format", "json", "--what-if", *changes)
    assert code == 2
    if out:
        found = json.loads(out)
        assert found["problems"] and found["enclosures"] == []


def test_changes_without_the_option_are_told(file):
    code, out, err = check(file, "width=3 cm")
    assert (code, out) == (2, "")
    assert '"width=3 cm": changed values follow --what-if' in err.replace("\n", " ")


def test_bytes_that_are_no_text_are_told(file):
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", "check", str(file), "--what-if", b"width=\xff\xfe"],
        capture_output=True,
        check=False,
        timeout=180,
    )
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"Traceback" not in done.stderr and b"enclosure[" in done.stderr


KEYS = [
    *(
        "width",
        "length",
        "water_depth",
        "covered",
        "set_up",
        "cycled",
        "name",
        "id",
        "filter",
        "filter.flow",
        "lamp",
    ),
    *(
        "lamp[0].uvi",
        "lamp[+].kind",
        "heater.power",
        "substrate.kind",
        "resident.count",
        "resident[+].carapace",
    ),
    *(
        "feed.grams",
        "job.water-change.every",
        "job.water-change.share",
        "extra_job[+].key",
        "enclosure[+].name",
    ),
    *(
        "site.room_low",
        "nitrate",
        "house_values.humidity",
        "units",
        "latitude",
        "start",
        "log",
        "keeper[+].name",
    ),
]
WORDS = [
    *(
        "60 cm",
        "5 in",
        "900 L/h",
        "1 W",
        "9 kW",
        "1 g",
        "1 day",
        "1000 days",
        "sand",
        "compact",
        "T8 tube",
        "us",
        "x",
    ),
    *(
        "true",
        "-1",
        "0",
        "-0",
        "0.5",
        "1_0",
        "1e999",
        "nan",
        "inf",
        "2026-12-01",
        "07:30:00",
        "{}",
        "[]",
        "[{}]",
    ),
    *('"', "'''", "#", "a=b", ""),
]
VALUES = st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(WORDS)


@settings(max_examples=examples(150), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.builds("{}={}".format, st.sampled_from(KEYS), VALUES), min_size=1, max_size=4))
def test_whatever_is_changed_is_reviewed_or_told(file, changes):
    before = file.read_bytes()
    code, out, err = check(file, "--format", "json", "--what-if", *changes)
    assert code in (0, 1, 2)
    if code < 2:
        json.loads(out, parse_constant=lambda c: pytest.fail(f"{c} is no JSON"))
    else:
        assert out or err
    assert file.read_bytes() == before


# --- Jobs -----------------------------------------------------------------------------------------------------------


def jobs(file, *args):
    return run("jobs", file, *TODAY, "--enclosure", "sluice", "--job", "water-change", *args)


def test_a_water_change_is_explained_line_by_line(file):
    code, out, err = jobs(file, "--explain", "--days", "30")
    assert (code, err) == (0, "")
    lines = [line for line in out.splitlines() if line.startswith("         - ")]
    # Litres, hot litres, milligrams, nitrogen, interval.
    for said in (
        "- gross volume: 90 cm x 45 cm x 36 cm of water = 146 L.",
        "- water change volume: ",
        "- hot water volume: ",
        "- chlorine to neutralise: ",
        "- feed nitrogen: 1.43 g a day x 0.4 protein x 0.16 = 0.091 g of",
        "- nitrate rise: ",
        "- water change interval: (40 - 5) mg/L x 0.5 / 2.",
        "- nitrate before a change: ",
    ):
        assert sum(said in line for line in lines) == 1, said
    assert max(map(len, out.splitlines())) <= 80
    _, plain, _ = jobs(file, "--days", "30")
    assert "water change" in plain and "gross volume" not in plain


def test_only_the_job_that_is_asked_for_is_shown(file):
    _, out, _ = jobs(file, "--format", "json", "--days", "60")
    found = [json.loads(line) for line in out.splitlines()]
    assert len(found) > 3 and {o["job"] for o in found} == {"water-change"}
    code, out, err = run("jobs", file, *TODAY, "--job", "water-chnge")
    assert (code, out) == (2, "") and 'there is no job "water-chnge"; nearest: water-change' in err


def test_json_notes_explain_only_when_asked(file):
    _, plain, _ = jobs(file, "--format", "json")
    _, told, _ = jobs(file, "--format", "json", "--explain")
    assert plain and "How it came about" not in plain
    assert all(
        "\n\nHow it came about:\n- gross volume: " in json.loads(line)["notes"] for line in told.splitlines()
    )


def test_the_planned_days_are_the_reviews_interval_apart(file):
    days = check_json(file, "--enclosure", "sluice")[1]["enclosures"][0]["figures"]["water_change_interval"][
        "value"
    ]
    _, out, _ = jobs(file, "--format", "json", "--days", "90")
    dates = [dt.date.fromisoformat(json.loads(line)["date"]) for line in out.splitlines()]
    gaps = {(b - a).days for a, b in pairwise(dates)}
    assert max(gaps) <= days < 14
