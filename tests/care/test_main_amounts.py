"""*The* amount of a job: the one that somebody needs who knows the rest; and what an alarm asks for at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.care.watching import case_of
from support.samples import EVERY_SAMPLE

from scheduler import care
from scheduler.care import Notes
from scheduler.care.engine.job import Amount
from scheduler.description import load
from scheduler.species import load_sheets
from scheduler.workflow import read_site

SAMPLES = Path(__file__).parents[2] / "sample_configs"


def notes(lines: list[str]) -> dict[str, Notes]:
    """Return the notes of the jobs of a tank with a record, by key, or key and the first word of the variant where an alarm brought it."""
    found = {}
    for job in care.jobs_of(case_of(lines)):
        made = job.notes()
        found[f"{job.key}/{job.variant.partition('-')[0]}" if made.order else job.key] = made
    return found


def test_the_amount_of_each_job() -> None:
    found = {key: made.amount for key, made in notes([]).items()}
    # 100 cm x 50 cm x 40 cm are 200 L (1 L is 1,000 cm3 by definition); half of them, and little less for what is in the water.
    change = found["water-change"]
    assert change is not None and change.of == "out" and 90 <= float(change.value.removesuffix(" L")) <= 100
    assert found["feed"] == Amount("3 g", "of pellets")
    assert found["heater-check"] == Amount("", "should show 25 °C")
    assert found["weigh-measure"] == Amount("", "1 animal")
    assert found["media-rinse"] == Amount("", "2 of 4 trays")
    # A job that is no amount has none.
    assert found["cold-season-check"] is None


@pytest.mark.parametrize("name", EVERY_SAMPLE)
def test_an_amount_stands_in_a_step_too(name: str) -> None:
    """So that sheet and note never say two things."""
    site = read_site(SAMPLES / f"{name}.toml")
    amounts = 0
    for job in care.jobs(site):
        made = job.notes()
        if made.amount is not None and made.amount.value:
            assert made.amount.value in made.brief(), (job.enclosure.name, job.word)
            amounts += 1
    assert amounts >= len(site.enclosures)


def test_what_an_alarm_asks_for_is_said_verb_first_with_what_was_read() -> None:
    found = notes(["2027-01-31 ammonia 1.0", "2027-01-31 temperature 33"])
    amount = found["water-change/alarm"].amount
    assert amount is not None
    assert {key: made.order for key, made in found.items() if made.order} == {
        "water-change/alarm": f"Change {amount.value} of the water now",
        "water-test/alarm": "Test the water again",
        "heater-check/temperature": "Unplug the heater now",
    }
    assert found["water-change/alarm"].because.startswith("Ammonia was 1 mg/L (as N) on 31 January 2027")
    # A hand, and a test of the thermostat, come after the plug: the first step says so too.
    heater = found["heater-check/temperature"]
    assert "33 °C" in heater.because and "Unplug the heater first" in heater.steps[0]


def test_no_food_is_an_amount_too() -> None:
    assert notes(["2027-01-31 ammonia 1.0"])["feed"].amount == Amount(
        "", "nothing until a test is clean, to 4 February 2027 at most; then a third, and call a vet who knows reptiles"
    )  # fmt: skip


DOSED = """
[site]
name = "Weir End"
time_zone = "Europe/Dublin"
[site.house_values]
hose_from = "{hose_from}"
[site.tap_water]
disinfectant = "chlorine"
disinfectant_level = "1 mg/L"
cold = "12 degC"
hot = "52 degC"
[[enclosure]]
name = "Rill"
length = "100 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
set_up = 2026-06-01
cycled = true
filter = {kind = "canister"}
heater = [{power = "200 W", set_to = "25 degC"}]
"""


@pytest.mark.parametrize(
    ("bottle", "hose_from", "said", "source"),
    [
        # 200 L of the tank by hose: 250 mL x 200 / 1900 = 26.3 mL, up to the next mL.
        ('bottle = "250 mL"\ntreats = "1900 L"', "40 L", "27 mL", "rule of three"),
        # 100 L in pails: 13.2 mL.
        ('bottle = "250 mL"\ntreats = "1900 L"', "150 L", "14 mL", "rule of three"),
        # A strong one: 50 mL x 100 / 4000 = 1.25 mL, up to the next half.
        ('bottle = "50 mL"\ntreats = "4000 L"', "150 L", "1.5 mL", "rule of three"),
        ('treats = "1900 L"', "40 L", "", "not known"),
    ],
)
def test_a_dose_of_conditioner_is_in_ml_where_the_bottle_is_described(bottle, hose_from, said, source):
    text = DOSED.replace("{hose_from}", hose_from) + f"[enclosure.conditioner]\n{bottle}\n"
    site = load(text, load_sheets(), (care.check,))
    (change,) = [j for j in care.jobs(site) if j.key == "water-change"]
    words = change.notes().text()
    assert (f"that is {said}; its label comes first" in words) if said else (" mL;" not in words), source
