"""Cautions in short: each written for itself, with the danger and what to do, and none of them lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.samples import EVERY_FILE

from scheduler import care, workflow
from scheduler.care import cautions
from scheduler.care.cautions import Caution
from scheduler.care.house import House

FIXED = [one for one in vars(cautions).values() if isinstance(one, Caution)]
PAILS = [cautions.lift(litres) for litres in (5.0, 7.5, 10.0, 14.0, 25.0)]

SHORT = {
    # danger, then what is done about it; whose advice it is stands at the whole caution
    "HANDS": ("Salmonella", "wash hands with soap", "under 5", "65+", "immune"),  # US CDC
    "SINK": ("Germs", "out of the kitchen"),  # US CDC
    "UNPLUG": ("Current", "unplug", "dry hands", "electrician"),  # practice, from memory; local codes
    "HEATER": ("Heater", "15 to 30 minutes", "under water"),  # makers' advice, from memory
    "HOT_WATER": ("scalds", "cold first", "no children"),  # Moritz & Henriques 1947
    "SIPHON": ("Siphon", "never by mouth"),  # follows from Salmonella
    "FAULT": ("Faults", "out of use", "electrician"),  # local codes and licensed practice
    "LAMP_ON": ("Lamp on", "rod", "never look into a UV lamp"),  # ICNIRP 2004
    "LAMP_OFF": ("Lamps", "off and cool", "never look into a UV lamp"),  # ICNIRP 2004
    "MERCURY": ("Mercury", "out", "air 10 minutes", "no vacuum cleaner"),  # US EPA
    "MONOXIDE": ("Carbon monoxide", "no flame", "grill", "gas stove", "no generator"),  # US CDC, from memory
    "NATURE": ("ponds", "streams", "drains"),  # local law
    "QUARANTINE": ("Quarantine", "last", "own tools", "disinfect", "hands"),  # Tabaka 2003
    "DISINFECTANT": (
        "never mixed",
        "never near an animal",
        "gloves",
        "air",
        "rinse",
        "dry",
        "label",
    ),  # US CDC, restated
    "AMMONIA": ("Ammonia burns", "gloves", "air", "never with bleach", "animal"),  # US CDC, restated
    "OUTDOOR_POWER": ("outdoor-rated", "RCD", "GFCI", "electrician"),  # local codes and licensed practice
    "VET": ("No diagnosis", "a vet who knows reptiles"),
    "LAW": ("Law", "ask your authority"),
}


@pytest.mark.parametrize(("name", "words"), SHORT.items(), ids=list(SHORT))
def test_a_short_caution_names_the_danger_and_what_to_do(name: str, words: tuple[str, ...]) -> None:
    said = getattr(cautions, name).short
    for word in words:
        assert word in said


def test_the_table_above_has_every_caution() -> None:
    assert {name for name, one in vars(cautions).items() if isinstance(one, Caution)} == {*SHORT}


def test_a_caution_with_an_amount_keeps_it_in_short() -> None:
    assert (
        cautions.lift(10.0).short == "Back: pails of at most 10 L (2.6 gal), close, no twisting; else a hose."
    )
    assert (
        cautions.lift(8.0).short == "Back: pails of at most 8 L (2.1 gal), close, no twisting; else a hose."
    )


@pytest.mark.parametrize("caution", [*FIXED, *PAILS], ids=lambda one: one.short[:12])
def test_a_short_caution_is_a_sentence_of_its_own(caution: Caution) -> None:
    assert 20 < len(caution.short) < 80
    assert caution.short[0].isupper() and caution.short.endswith(".")
    # Not cut from the whole: neither its beginning nor a piece of it.
    assert caution.short.rstrip(".").casefold() not in caution.text.casefold()


@pytest.mark.parametrize("sample", EVERY_FILE)
def test_every_caution_of_the_samples_has_one(sample: Path) -> None:
    site = workflow.read_site(sample)
    met = {one for job in care.jobs(site) for one in job.notes().cautions}
    assert met <= {*FIXED, cautions.lift(House(site.settings.house_values).pail_l)}
    assert len({one.short for one in met}) == len(met)
