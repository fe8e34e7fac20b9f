"""Every note followed to the letter: it ends with a warm, filtered, lit animal, unhurt hands, and amounts that were measured.

Fourteen descriptions, with and without readings that raise alarms; see `kept_blind`. The rules are common practice, with no
published source, where no other is named.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from support.care.kept_blind import RECORDS, SITES, jobs

from scheduler.care import Job, Notes
from scheduler.care.cautions import HEATER, HOT_WATER, LAMP_OFF, LAMP_ON, MERCURY, SIPHON, UNPLUG, Caution
from scheduler.description.site import Enclosure, Site
from scheduler.quantities import show_temperature

ALL = [(name, record) for name in SITES for record in RECORDS if name not in {"the sample rescue"}]
# 25 enclosures in one description: without readings, and with those that bring the most notes.
ALL += [
    pytest.param("the sample rescue", record, marks=pytest.mark.slow)
    for record in ("nothing read", "ammonia", "too warm")
]

HANDS_IN_WATER = {
    "basking-review", "filter-check", "fit-out", "heater-check", "media-rinse", "pre-arrival-check", "quarantine-release", "quarantine-weigh",
    "vet-check", "water-change", "weigh-measure", "wipe-down",
}  # fmt: skip
"""Jobs in which hands or tools go into the water, or an animal is taken out of it; a net with a handle and a jug do not count."""

CLOSES = {
    "filter": r"filter flowing",
    "heater": r"heaters? under water, set to",
    "lamp": r"on at (its|their) hours",
}
"""How each thing is checked once it is on again."""

OFF = re.compile(r"\bunplug\b|\b(switch|turn|go|goes)\b[^.;]{0,40}\boff\b", re.I)
ON = re.compile(r"\b(?:plug in|switch on)( again)?\b|\ball of it runs\b", re.I)


def things(enclosure: Enclosure) -> set[str]:
    found = {"filter": enclosure.filter, "heater": enclosure.heater, "lamp": enclosure.lamp}
    return {name for name, has in found.items() if has}


def own_steps(job: Job, notes: Notes) -> tuple[str, ...]:
    """Return the steps without what the keeper added in the description."""
    own = job.enclosure.job.get(job.key)
    return notes.steps[:-1] if own is not None and own.note else notes.steps


def noted(name: str, record: str) -> Iterator[tuple[Site, Job, Notes, tuple[str, ...]]]:
    """Yield the jobs of the program with their notes; what a keeper wrote as an extra job is the keeper's."""
    site = SITES[name]
    for job in jobs(site, record):
        if job.key not in {extra.key for extra in job.enclosure.extra_job}:
            notes = job.notes()
            yield site, job, notes, own_steps(job, notes)


def switched_off(step: str, there: set[str]) -> set[str]:
    """Return what a step takes off its plug: the things that it names, or all for `everything`."""
    off = OFF.search(step)
    if off is None:
        return set()
    named = {thing for thing in there if re.search(rf"\b{thing}s?\b", step[: step.find(". ") + 1] or step)}
    return there if re.search(r"\b(everything|all of it)\b", step) else named


@pytest.mark.parametrize(("name", "record"), ALL)
def test_what_a_note_switches_off_it_switches_on_again_and_checks(name: str, record: str) -> None:
    for site, job, notes, steps in noted(name, record):
        there = things(job.enclosure)
        taken = [(n, off) for n, step in enumerate(steps) if (off := switched_off(step, there))]
        for thing in sorted(set().union(*(off for _, off in taken))):
            last = max(n for n, off in taken if thing in off)
            closing = [
                n for n, step in enumerate(steps) if ON.search(step) and re.search(CLOSES[thing], step)
            ]
            assert closing and closing[-1] >= last, (job.word, thing, notes.brief())
            # As one of the last: what comes after is about the days that follow.
            assert closing[-1] >= len(steps) - 3, (job.word, thing, notes.brief())
        for step in steps:
            if re.search(CLOSES["heater"], step):
                points = {h.set_to for h in job.enclosure.heater if h.set_to is not None}
                for point in points:
                    assert f"{show_temperature(point, site.settings.units)}" in step, step
            if re.search(CLOSES["lamp"], step):
                for lamp in job.enclosure.lamp:
                    hours = lamp.hours_a_day
                    assert f"{lamp.kind} " + (f"{hours:g} h" if isinstance(hours, float) else "") in step


@pytest.mark.parametrize(("name", "record"), ALL)
def test_no_plug_is_pulled_without_a_word_of_its_going_in_again(name: str, record: str) -> None:
    for _, job, notes, steps in noted(name, record):
        if any(OFF.search(step) for step in steps):
            assert any(ON.search(step) for step in steps), (job.word, notes.brief())


@pytest.mark.parametrize(("name", "record"), ALL)
def test_what_a_caution_unplugs_is_unplugged_by_a_step(name: str, record: str) -> None:
    for _, job, notes, steps in noted(name, record):
        there = things(job.enclosure)
        asked = (there if UNPLUG in notes.cautions else set()) | (
            {"lamp"} if LAMP_OFF in notes.cautions else set()
        )
        # Fit-out begins with nothing plugged in.
        done = (
            there
            if job.key == "fit-out"
            else set().union(*(switched_off(step, there) for step in steps), set())
        )
        assert asked <= done, (job.word, asked - done, notes.brief())


@pytest.mark.parametrize(("name", "record"), ALL)
def test_hands_go_into_the_water_with_everything_unplugged_and_only_there_the_note_says_so(
    name: str, record: str
) -> None:
    for _, job, notes, _ in noted(name, record):
        there = things(job.enclosure)
        wanted = bool(there) and job.key in HANDS_IN_WATER | {"cord-check"}
        if job.key == "heater-check" and not job.enclosure.heater:
            # First aid alone: no hand goes in.
            wanted = False
        assert (UNPLUG in notes.cautions) is wanted, job.word
        if LAMP_OFF in notes.cautions:
            assert "lamp" in there, job.word


HAZARDS: list[tuple[Caution, str, str]] = [
    # caution, words of a step that the hazard lies in, source
    (HOT_WATER, r"\b(boil|mix|mixer)\b", "Moritz & Henriques 1947: 60 °C in under 5 seconds"),
    (SIPHON, r"\b(siphon|drain \d|drain \w+ %)", "follows from Salmonella"),
    (LAMP_ON, r"hold the meter|^Read the UVI|^Read the old lamp's UVI|^Measure the UVI", "ICNIRP 2004: never look into a UV lamp"),
]  # fmt: skip


@pytest.mark.parametrize(("caution", "words", "source"), HAZARDS, ids=lambda one: str(one)[:12])
def test_a_hazard_has_its_caution_at_the_job_that_has_it_and_only_there(
    caution: Caution, words: str, source: str
) -> None:
    met = 0
    for name in SITES:
        for _, job, notes, steps in noted(name, "nothing read"):
            if job.key == "fit-out":
                continue
            has = any(re.search(words, step, re.I) for step in steps)
            # What taps cannot warm stands in the room.
            has = (
                has
                or (caution is HOT_WATER and job.key == "water-change")
                or (caution is SIPHON and job.key == "water-change")
            )
            assert (caution in notes.cautions) is has, (job.word, source, notes.brief())
            met += has
    assert met


def test_mercury_and_hot_heaters_are_told_of_where_they_are() -> None:
    for name in SITES:
        for _, job, notes, _ in noted(name, "nothing read"):
            if MERCURY in notes.cautions:
                assert any(lamp.gives_uv for lamp in job.enclosure.lamp) and job.key in {
                    "lamp-clean",
                    "uv-lamp-replace",
                }
            if HEATER in notes.cautions:
                assert job.enclosure.heater and job.key in {
                    "filter-check", "heater-check", "media-rinse", "top-up", "water-change",
                }  # fmt: skip


def place(steps: tuple[str, ...], words: str) -> int:
    """Return where the first step with these words stands, from 0."""
    return next(n for n, step in enumerate(steps) if re.search(words, step))


@pytest.mark.parametrize(("name", "record"), ALL)
def test_water_has_its_place_its_warmth_and_its_dose_before_it_moves(name: str, record: str) -> None:
    for site, job, notes, steps in noted(name, record):
        if job.key != "water-change":
            continue
        told = notes.brief()
        goes, drained = (
            place(steps, "^(Lay the waste hose|Clear the way) to the toilet or the garden"),
            place(steps, r"^(Half the water|Drain)"),
        )
        comes = place(steps, r"^(Pour the new|Tie the hose)")
        warmed = place(steps, "within 2 °C|within 4 °F")
        assert goes < drained < warmed < comes, told
        treats = [
            n
            for n, step in enumerate(steps)
            if "conditioner by its label:" in step or "Put conditioner for" in step
        ]
        assert len(treats) == (site.settings.tap_water.disinfectant != "none"), told
        assert all(drained < n < comes for n in treats), told
        vessel = "pail" if "Pour the new" in steps[comes] else "mixer tap"
        assert vessel in steps[warmed], told


def test_by_hose_the_dose_is_for_the_whole_tank_and_in_it_before_the_water_runs() -> None:
    (change,) = [
        notes
        for _, job, notes, _ in noted("filled again by hose", "nothing read")
        if job.key == "water-change"
    ]
    # 200 cm x 100 cm x 50 cm are 1000 L (1 L is 1,000 cm3 by definition), less what is in the water.
    dose = next(step for step in change.steps if step.startswith("Put conditioner"))
    assert 950 <= float(re.search(r"whole tank, (\d+) L, into it before any water runs", dose)[1]) <= 1000  # type: ignore[index]
    assert (
        change.steps.index(dose)
        < place(change.steps, "^Set the mixer tap")
        < place(change.steps, "^Tie the hose")
    )
    (by_pail,) = [
        notes
        for _, job, notes, _ in noted("a chloramine tap, by pail", "nothing read")
        if job.key == "water-change"
    ]
    assert "Treat it in the pails" in by_pail.brief() and "mixer" not in by_pail.brief()


def test_a_fit_out_has_its_level_its_leak_test_and_its_hours() -> None:
    fitted = 0
    for name in SITES:
        for _, job, notes, steps in noted(name, "nothing read"):
            if job.key == "fit-out":
                filled = place(steps, "^Fill ")
                assert place(steps, "spirit level") == 0 < filled < place(steps, "^Leak test.*after 2 hours")
                if things(job.enclosure):
                    assert place(steps, "^Leak test") < place(steps, "Plug in with dry hands"), notes.brief()
                assert "next morning" in steps[-1]
                fitted += 1
    assert fitted >= 5


NUMBERS = {"an": 1.0, "half an": 0.5, "ten": 10.0}
WAIT = re.compile(r"\b(?:for|after) (half an|an|ten|\d+)(?: to \d+)? (minutes?|hours?)\b")
UNATTENDED = re.compile(r"\bcome back after\b|\bcome once\b", re.I)


@pytest.mark.parametrize(("name", "record"), ALL)
def test_minutes_hold_every_wait_that_somebody_stays_for(name: str, record: str) -> None:
    for _, job, notes, steps in noted(name, record):
        stayed = 0.0
        for step in steps:
            for sentence in re.split(r"(?<=[.:]) ", step):
                if not UNATTENDED.search(sentence):
                    for number, unit in WAIT.findall(sentence):
                        stayed += (NUMBERS.get(number) or float(number)) * (
                            60 if unit.startswith("hour") else 1
                        )
        assert stayed <= job.minutes, (job.word, stayed, notes.brief())


def test_whoever_tests_the_ground_fault_device_looks_again() -> None:
    for name in SITES:
        for _, job, notes, steps in noted(name, "nothing read"):
            if job.key == "rcd-test":
                assert UNPLUG not in notes.cautions
                assert steps[-1].startswith("Come back after 10 minutes")
                for thing in things(job.enclosure):
                    assert re.search(rf"\b{thing}s?\b", steps[-1]), steps[-1]


@pytest.mark.parametrize(("name", "record"), ALL)
def test_nobody_is_told_to_give_or_to_measure_nothing(name: str, record: str) -> None:
    for _, job, notes, _ in noted(name, record):
        assert not re.search(r"(?<![\d.,])0 (g|oz|L|gal|cm|in|mg)\b", notes.text(explain=False)), (
            job.word,
            notes.brief(),
        )


@pytest.mark.parametrize("name", list(SITES))
def test_small_meals_and_small_animals_are_weighed_as_such(name: str) -> None:
    for _, job, notes, _ in noted(name, "nothing read"):
        grams = job.enclosure.feed.grams
        if job.key == "feed" and grams is not None and 0.05 <= grams < 2:
            given = float(re.search(r"[Gg]ive ([\d.]+) g of pellets", notes.brief())[1])  # type: ignore[index]
            assert abs(given - grams) <= 0.025 + 1e-9 and abs(given * 20 - round(given * 20)) < 1e-6
        if job.key == "feed" and grams is not None and grams < 0.05:
            assert "less than 0.05 g of pellets" in notes.brief()
        if job.key == "weigh-measure":
            for one in job.enclosure.resident:
                if one.mass is not None and one.mass < 50:
                    said = re.search(rf"{one.name} in the description: ([\d.]+) g", notes.brief())
                    assert said is not None and abs(float(said[1]) - one.mass) <= 0.05 + 1e-9
