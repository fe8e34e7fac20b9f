"""`pondround check` and `jobs --explain` as a keeper meets them: exit codes, both formats, and what is refused."""

import datetime as dt
import json
import re
from itertools import pairwise

import pytest
from support.sluice import TODAY, check, check_json, file, run

__all__ = ["file"]


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
