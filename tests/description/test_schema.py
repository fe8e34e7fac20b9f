"""The JSON Schema that editors use: samples pass it, and it refuses what the loader refuses.

The judge is the `jsonschema` package, an implementation of JSON Schema 2020-12 by others.
"""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from scheduler import care, workflow
from scheduler.description import load
from scheduler.description.starter import starter_text
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "scheduler" / "description" / "enclosures.schema.json"
SAMPLES = sorted((ROOT / "sample_configs").glob("*.toml"))


def as_json(value: Any) -> Any:
    """Return TOML values as an editor hands them to a schema: dates as ISO strings."""
    if isinstance(value, dict):
        return {key: as_json(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [as_json(inner) for inner in value]
    return value.isoformat() if isinstance(value, dt.date | dt.time) else value


@pytest.fixture(scope="module")
def validator() -> jsonschema.protocols.Validator:
    kind = jsonschema.Draft202012Validator
    return kind(json.loads(SHIPPED.read_text("utf-8")), format_checker=kind.FORMAT_CHECKER)


def test_it_is_a_schema(validator):
    validator.check_schema(validator.schema)


def test_there_are_three_samples_and_each_names_the_schema_in_its_first_line():
    assert [sample.name for sample in SAMPLES] == ["household.toml", "one-tank.toml", "rescue.toml"]
    for sample in SAMPLES:
        first = sample.read_text("utf-8").splitlines()[0]
        assert first.startswith("#:schema ")
        assert (sample.parent / first.removeprefix("#:schema ")).resolve() == SHIPPED


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.stem)
def test_the_samples_pass(validator, sample):
    validator.validate(as_json(tomllib.loads(sample.read_text("utf-8"))))
    workflow.read_site(sample)


def test_a_starter_passes(validator):
    validator.validate(as_json(tomllib.loads(starter_text({"length": "36 in", "set_up": "2026-11-07"}))))


def test_every_job_may_be_overridden_and_no_other(validator):
    jobs = {key: {"off": True} for key in care.KEYS}
    assert validator.is_valid({"site": {"name": "Home"}, "enclosure": [{"name": "Tank", "job": jobs}]})
    jobs["water-chagne"] = {"off": True}
    assert not validator.is_valid({"site": {"name": "Home"}, "enclosure": [{"name": "Tank", "job": jobs}]})


GOOD = """\
[site]
name = "Home"
time_zone = "Europe/Dublin"
units = "metric"

[site.tap_water]
ph = 7.6

[site.house_values]
nitrate_look = "30 mg/L"
nitrogen = "fish"
humidity = 0.6
pail = "8 L"
reference_mass = "15 kg"
lamps_ahead = "6 weeks"

[[keeper]]
name = "Noor"
weekdays = ["Sat", "Sun"]
minutes = 60
away = ["2026-12-20/2026-12-28"]

[[enclosure]]
name = "Tank"
length = "120 cm"
set_up = 2026-11-07

[enclosure.filter]
media_area = "2.5 m2"

[[enclosure.lamp]]
kind = "T5 HO tube"
length = "84 cm"
on_at = "07:00"
hours_a_day = 12

[[enclosure.resident]]
name = "Fern"
count = 1
measured = 2026-11-21

[enclosure.job.water-change]
share = 0.5
every = "14 days"
"""

WRONG = [
    # a line of GOOD, and what stands there instead
    ('length = "120 cm"', "length = 120"),
    ('length = "120 cm"', 'length = "120"'),
    ('length = "120 cm"', 'lenght = "120 cm"'),
    ('units = "metric"', 'units = "imperial"'),
    ('name = "Home"', 'name = ""'),
    ("ph = 7.6", "ph = 76"),
    ('nitrate_look = "30 mg/L"', "nitrate_look = 30"),
    ('nitrogen = "fish"', 'nitrogen = "some"'),
    ("humidity = 0.6", "humidity = 60"),
    ('pail = "8 L"', 'pale = "8 L"'),
    ('lamps_ahead = "6 weeks"', 'lamps_ahead = "soon"'),
    ('media_area = "2.5 m2"', "media_area = 2.5"),
    ("measured = 2026-11-21", 'measured = "today"'),
    ('weekdays = ["Sat", "Sun"]', 'weekdays = ["Caturday"]'),
    ('weekdays = ["Sat", "Sun"]', "weekdays = []"),
    ("minutes = 60", "minutes = 0"),
    ('away = ["2026-12-20/2026-12-28"]', 'away = ["20 to 28 December"]'),
    ("set_up = 2026-11-07", 'set_up = "last autumn"'),
    ('kind = "T5 HO tube"', 'kind = "disco"'),
    ("hours_a_day = 12", "hours_a_day = 25"),
    ("count = 1", "count = 1.5"),
    ("share = 0.5", "share = 50"),
    ('every = "14 days"', 'every = "fortnightly"'),
]


def test_the_base_of_the_wrong_values_is_right(validator):
    validator.validate(as_json(tomllib.loads(GOOD)))
    load(GOOD, load_sheets(), (care.check,))


def test_a_group_needs_no_name_and_one_animal_does(validator):
    group, animal = ([{"count": 3}], [{"species": "painted turtle"}])
    for residents, right in ((group, True), (animal, False), ([{"count": 1}], False)):
        tank = {"name": "Sedge", "resident": residents}
        assert validator.is_valid({"site": {"name": "Fen"}, "enclosure": [tank]}) is right


@pytest.mark.parametrize(("right", "wrong"), WRONG, ids=[wrong for _, wrong in WRONG])
def test_what_the_loader_refuses_the_schema_refuses(validator, right, wrong):
    assert GOOD.count(f"\n{right}\n") == 1
    text = GOOD.replace(f"\n{right}\n", f"\n{wrong}\n")
    with pytest.raises(DescriptionError):
        load(text, load_sheets(), (care.check,))
    assert not validator.is_valid(as_json(tomllib.loads(text)))
