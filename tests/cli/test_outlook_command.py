"""`pondround outlook` as a keeper meets it: both formats, narrowed, over other spans, and what is refused."""

import json
import tomllib
from pathlib import Path

import pytest
from support.samples import EVERY_SAMPLE
from typer.testing import CliRunner

from scheduler.cli.main import app

SAMPLES = Path(__file__).parents[2] / "sample_configs"
TODAY = ["--today", "2026-12-01"]
STATUSES = {"published", "from memory", "computed", "house value", "common practice", "keeper's value"}


def run(*args, columns=80):
    """Return exit code, standard output and standard error; a traceback is no answer."""
    done = CliRunner(env={"COLUMNS": str(columns)}).invoke(app, list(map(str, args)))
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise AssertionError(f"{args} ended in {done.exception!r}") from done.exception
    assert "Traceback" not in done.output
    return done.exit_code, done.stdout, done.stderr


def look(file, *args):
    code, out, err = run("outlook", file, *TODAY, "--format", "json", *args)
    assert (code, err) == (0, "")
    return json.loads(out)


def test_the_table_is_printed_at_the_width_of_the_terminal():
    code, out, err = run("outlook", SAMPLES / "one-tank.toml", *TODAY)
    assert (code, err) == (0, "")
    assert out.startswith("Harbour Row, 1 December 2026 to 30 November 2027\n")
    assert out.endswith("\nCosts: 88.65 EUR.\n")
    assert max(map(len, out.splitlines())) == 80
    assert max(map(len, run("outlook", SAMPLES / "one-tank.toml", *TODAY, columns=60)[1].splitlines())) == 60


@pytest.mark.parametrize("sample", EVERY_SAMPLE)
def test_the_object_has_the_documented_keys(sample):
    found = look(SAMPLES / f"{sample}.toml")
    assert list(found) == ["from", "to", "lines", "buy", "unknown", "costs", "minutes"]
    ids = {e.get("id") or e["name"].lower() for e in tomllib.loads((SAMPLES / f"{sample}.toml").read_text("utf-8"))["enclosure"]}  # fmt: skip
    for line in found["lines"]:
        assert list(line) == [
            "date", "enclosure", "kind", "job", "text", "quantity", "unit", "cost", "currency", "source", "status",
        ]  # fmt: skip
        assert line["kind"] in {"lamp", "supply", "vet", "space", "season", "service", "arrival"}
        assert found["from"] <= line["date"] <= found["to"]
        assert line["enclosure"] is None or line["enclosure"].replace("-", " ") in {
            i.replace("-", " ") for i in ids
        }
        assert line["source"] and line["status"] in STATUSES
        assert (line["cost"] is None) == (line["currency"] is None)
    for row in found["buy"]:
        assert list(row) == ["what", "quantity", "unit", "packs", "cost", "currency", "enclosures"]
        assert row["quantity"] > 0 and row["enclosures"]
    assert all(list(one) == ["enclosure", "text"] for one in found["unknown"])
    assert (found["from"], found["to"]) == ("2026-12-01", "2027-11-30")
    assert len(found["minutes"]) == 12


def test_the_costs_are_texts_with_two_decimals():
    found = look(SAMPLES / "household.toml")
    priced = [line for line in found["lines"] if line["cost"] is not None]
    # Two lamps at 54.00; seven bottles at 23.49.
    assert [line["cost"] for line in priced if line["kind"] == "lamp"] == ["54.00", "54.00"]
    assert {line["currency"] for line in priced} == {"USD"}
    bottles = [line for line in priced if line["unit"] == "bottle"]
    assert [row["packs"] for row in found["buy"] if row["packs"] and row["unit"] == "L"] == [len(bottles)]
    cents = sum(round(float(line["cost"]) * 100) for line in priced)
    assert found["costs"] == {"USD": f"{cents // 100}.{cents % 100:02}"}


def test_it_is_the_same_on_every_run():
    first, second = (run("outlook", SAMPLES / "rescue.toml", *TODAY, "--format", "json") for _ in range(2))
    assert first == second


SPANS = [
    # today, months, to, months of care, source
    ("2026-12-01", 1, "2026-12-31", 1, "the day before the same day of the month"),
    ("2026-12-15", 1, "2027-01-14", 2, "the same"),
    ("2027-01-31", 1, "2027-02-27", 2, "28 February is the same day of a shorter month"),
    ("2028-02-29", 12, "2029-02-27", 13, "the same"),
    ("2026-12-01", 36, "2029-11-30", 36, "three years"),
    ("2199-12-31", 36, "2199-12-31", 1, "the last day that a description may name"),
]


@pytest.mark.parametrize(("today", "months", "to", "counted", "source"), SPANS)
def test_the_span_is_counted_in_months(today, months, to, counted, source):
    file = SAMPLES / "one-tank.toml"
    code, out, _ = run("outlook", file, "--today", today, "--months", months, "--format", "json")
    found = json.loads(out)
    assert (code, found["from"], found["to"]) == (0, today, to), source
    assert len(found["minutes"]) == counted


def test_one_enclosure_is_addressed_by_the_beginning_of_its_name():
    whole = look(SAMPLES / "household.toml")
    den = look(SAMPLES / "household.toml", "--enclosure", "den")
    assert {line["enclosure"] for line in den["lines"]} == {"den-tank", None}
    assert den["lines"] == [line for line in whole["lines"] if line["enclosure"] in ("den-tank", None)]
    assert run("outlook", SAMPLES / "household.toml", *TODAY, "--enclosure", "Mere")[0] == 2


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["--months", "0"], "--months"),
        (["--months", "37"], "--months"),
        (["--months", "many"], "--months"),
        (["--today", "yesterday"], '"yesterday" is not a date; write it as 2026-12-01'),
        (["--enclosure", "Mere"], 'there is no enclosure "Mere"'),
        (["--enclosure", "\x1b[2J"], "there is no enclosure"),
    ],
)
def test_what_cannot_be_asked_is_refused(args, says):
    code, out, err = run("outlook", SAMPLES / "one-tank.toml", *args)
    assert (code, out) == (2, "")
    assert says in err
    assert "\x1b[2J" not in err


def test_a_wrong_price_is_told_like_any_other_mistake(tmp_path):
    text = (SAMPLES / "one-tank.toml").read_text("utf-8").replace('"8.75 EUR"', '"8,75 EUR"')
    file = tmp_path / "wrong.toml"
    file.write_text(text, "utf-8")
    code, out, err = run("outlook", file)
    assert (code, out) == (2, "")
    assert "enclosure[0].feed.price" in err and 'write "8.75 EUR"' in err
    code, out, err = run("outlook", file, "--format", "json")
    assert (code, err) == (2, "")
    found = json.loads(out)
    assert found["enclosures"] == []
    assert [p["path"] for p in found["problems"]] == ["enclosure[0].feed.price"]


def test_what_the_log_holds_moves_what_is_coming(tmp_path):
    file = tmp_path / "tank.toml"
    file.write_text((SAMPLES / "one-tank.toml").read_text("utf-8"), "utf-8")

    def days(day, job):
        code, out, _ = run("outlook", file, "--today", day, "--format", "json")
        assert code == 0
        return [(line["date"], line["cost"]) for line in json.loads(out)["lines"] if line["job"] == job]

    def did(job, day):
        assert run("did", file, "tejo", job, "--on", day, "--today", day)[0] == 0

    did("daily-look", "2026-12-01")
    assert days("2027-05-20", "supplies")[0] == ("2027-05-27", "8.75")
    # Ordered a week early: the next is that of the pack that is on its way, 388 days after 28 November, less 14.
    did("supplies/food", "2027-05-20")
    assert days("2027-05-21", "supplies") == [("2027-12-07", "8.75")]
    # The lamp broke: its successor lasts from the day on which it was put in, and costs as much.
    did("uv-lamp-replace", "2027-05-22")
    (order,) = days("2027-05-23", "uv-lamp-order")
    assert "2028-04-10" <= order[0] <= "2028-05-08" and order[1] == "31.90"
    # Rinsed on the last of May: the next half 56 days later.
    did("media-rinse", "2027-05-31")
    assert days("2027-06-01", "media-rinse")[0] == ("2027-07-26", None)


HOSTILE = """
[site]
name = "\u202eDitch End"
latitude = 53.3
[[enclosure]]
name = "{0}%s</script> \U0001f422"
length = "100 cm"
width = "50 cm"
water_depth = "40 cm"
set_up = 1950-01-01
[[enclosure.resident]]
name = "=cmd()"
count = 1000
carapace = "9 cm"
[enclosure.feed]
name = "'; DROP TABLE feed; --"
grams = 10000
meals_a_week = 14
pack = "0.1 g"
opened = 1950-01-01
price = "9999999.99 EUR"
[enclosure.conditioner]
treats = "1 L"
opened = 2199-12-31
price = "0 EUR"
[[enclosure.lamp]]
kind = "compact"
installed = 1950-01-01
hours_a_day = 24
price = "9999999.99 EUR"
[enclosure.job.feed]
price = "9999999.99 EUR"
"""


def test_extreme_values_are_reckoned_or_named(tmp_path):
    file = tmp_path / "hostile.toml"
    file.write_text(HOSTILE, "utf-8")
    found = look(file, "--months", "36")
    texts = [one["text"] for one in found["unknown"]]
    assert any("DROP TABLE" in text and "a pack would not last a day" in text for text in texts)
    # Twice a day for three years: 1096 days with the 29th of February 2028.
    meals = [line for line in found["lines"] if line["job"] == "feed"]
    assert len(meals) == 2 * 1096
    lamps = [line for line in found["lines"] if line["job"] == "uv-lamp-order"]
    cents = 999_999_999 * (len(meals) + len(lamps))
    assert found["costs"] == {"EUR": f"{cents // 100}.{cents % 100:02}"}
    code, out, err = run("outlook", file, *TODAY)
    assert (code, err) == (0, "")
    assert "\u202e" not in out
    # The money takes its columns from the text, never the other way round.
    assert max(map(len, out.splitlines())) <= 80
