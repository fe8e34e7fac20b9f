"""Every note of every sample: whole sentences, amounts in the units of the site, and cautions where work can hurt."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from support.care.reed_house import ALL_KEYS, FULL, jobs
from support.samples import EVERY_FILE

from scheduler import care
from scheduler.description import load
from scheduler.sources import Status
from scheduler.species import load_sheets

STATUSES = set(Status.__args__)  # type: ignore[attr-defined]


@pytest.mark.parametrize("sample", EVERY_FILE)
def test_every_note_is_whole(sample: Path) -> None:
    site = load(sample.read_text("utf-8"), load_sheets(), (care.check,))
    for one in care.jobs(site):
        notes = one.notes()
        assert notes.steps and notes.sources, one.key
        assert {s.status for s in notes.sources} <= STATUSES
        for line in notes.text(explain=True).splitlines():
            assert line == line.strip() and "  " not in line, line
            assert not re.search(r"\b(None|nan|inf)\b|e[-+]\d\d", line), line
        for step in notes.steps:
            assert step.endswith((".", ":", "?", "!")), step


@pytest.mark.parametrize("key", ALL_KEYS)
def test_amounts_are_in_the_units_of_the_site(key: str) -> None:
    us = FULL.replace('time_zone = "Europe/Dublin"', 'time_zone = "America/Chicago"\nunits = "us"')
    for one in jobs(us):
        if one.key == key:
            # What stays metric everywhere: doses, and what is printed in both.
            steps = re.sub(
                r"mg/L|\d+ °C \([\d and-]+ °F\)|in \(10.16 cm\)|about 5 cm \(2 in\)|within 1 °C \(2 °F\)",
                "",
                one.notes().brief(),
            )
            assert not re.search(r"\d (L|cm|kg|°C)\b", steps), steps


CAUTIONS = [
    # danger, jobs, words that have to be there, source
    ("electricity and water", "water-change filter-check media-rinse wipe-down heater-check fit-out cord-check weigh-measure", "unplug", "practice, from memory"),
    ("electricity and water", "water-change rcd-test", "licensed electrician", "local codes and licensed practice"),
    ("hot heater", "water-change heater-check filter-check", "15 to 30 minutes", "maker-type advice, from memory"),
    ("hot water", "water-change treat-driftwood", "scalds", "Moritz & Henriques 1947: 60 °C in under 5 seconds"),
    ("lifting", "water-change fit-out", "without twisting", "HSE, Manual handling at work (INDG143)"),
    ("siphon", "water-change", "never by mouth", "follows from Salmonella"),
    ("lamps", "lamp-clean uvi-reading uv-lamp-replace burn-in-baseline", "never look into a UV lamp", "ICNIRP 2004"),
    ("mercury", "uv-lamp-replace lamp-clean", "no vacuum cleaner", "US EPA, cleaning up a broken lamp"),
    ("Salmonella", "water-change feed daily-look weigh-measure faecal-test water-test", "wash hands", "US CDC"),
    ("Salmonella", "water-change filter-check feed", "kitchen", "US CDC"),
    ("health", "daily-look quarantine-watch faecal-test quarantine-release", "vet", "a reminder, not a diagnosis"),
    ("law", "vet-check quarantine-release space-review pre-arrival-check", "ask your authority", "local law"),
]  # fmt: skip


@pytest.mark.parametrize(("danger", "keys", "words", "source"), CAUTIONS)
def test_work_that_can_hurt_says_so(danger: str, keys: str, words: str, source: str) -> None:
    for key in keys.split():
        for one in jobs(FULL):
            if one.key == key:
                assert words in " ".join(map(str, one.notes().cautions)), f"{key}: {danger} ({source})"
