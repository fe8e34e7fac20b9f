"""`check --what-if` as a keeper meets it: both columns, which table is meant, and what is refused."""

import json
import re
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.sluice import MILLPOND, SITE, SLUICE, TODAY, check, check_json, file, run

__all__ = ["file"]


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
