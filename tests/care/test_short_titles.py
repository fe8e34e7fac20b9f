"""Short titles, for where there is little room, and what of the work is routine.

What a month's view shows of an entry, and a telephone's list, was measured in calendars' windows: 5 characters, and 20.
The words are the project's own.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations
from pathlib import Path

import pytest
from support.care.watching import IN_US, TANK, case_of
from support.recorded import load

from scheduler import care
from scheduler.care import Every, Job, Notes
from scheduler.quantities import Span

SAMPLES = Path(__file__).parents[2] / "sample_configs"

PLAIN = {
    "treat-driftwood": "Boil driftwood",
    "fit-out": "Fit out",
    "ammonia-dose": "Dose ammonia",
    "cycle-test": "Cycle test",
    "pre-arrival-check": "Get ready",
    "basking-watch": "Watch basking",
    "basking-review": "Basking review",
    "daily-look": "Look in",
    "feed": "Feed",
    "cuttlebone": "Cuttlebone",
    "weigh-measure": "Weigh",
    "vet-check": "Vet check",
    "space-review": "Space review",
    "quarantine-watch": "Quarantine look",
    "quarantine-weigh": "Weigh",
    "faecal-test": "Faecal test",
    "quarantine-release": "End quarantine",
    "water-test": "Test water",
    "water-change": "Water change",
    "top-up": "Top up",
    "wipe-down": "Wipe down",
    "filter-check": "Filter check",
    "media-rinse": "Rinse media",
    "heater-check": "Heater check",
    "cold-season-check": "Cold season",
    "hot-season-check": "Hot season",
    "lamp-clean": "Clean lamps",
    "uvi-reading": "UVI reading",
    "burn-in-baseline": "UVI baseline",
    "uv-lamp-order": "Order lamp",
    "uv-lamp-replace": "Replace lamp",
    "lamp-timer": "Set lamp timer",
    "rcd-test": "RCD test",
    "cord-check": "Cords, hoses",
    "supplies": "Supplies",
}

BROUGHT_ABOUT = {
    ("feed", "adult"): "Feed: see note",
    ("heater-check", "temperature"): "Too cold: heater",
    ("water-change", "alarm"): "Extra change",
    ("water-test", "alarm"): "Retest water",
    ("vet-check", "weight"): "Vet: Wren",
}
"""By key and the first word of the variant: after a nitrite alarm, cold water and a lost weight."""

ALARMS = [
    "2026-12-01 nitrite 3",
    "2026-12-01 ph 7.5",
    "2026-12-01 temperature 12",
    "2026-11-28 temperature 12",
    "2026-12-01 weight.wren 200",
]

SAME_WORK = {frozenset({"Order lamp", "Order food", "Order conditioner"}): "Order"}
"""What begins alike because it is the same work."""


def of_samples() -> list[Job]:
    found: list[Job] = []
    for sample in sorted(SAMPLES.glob("*.toml")):
        found += care.jobs(load(sample.read_text("utf-8")))
    # None of the samples has a filter that is still being started without animals, or a hot room.
    started = (SAMPLES / "household.toml").read_text("utf-8").replace("cycled = 2026-12-10", "cycled = false")
    found += care.jobs(load(started))
    found += care.jobs(load(TANK.replace("[[enclosure]]", 'room_high = "34 degC"\n[[enclosure]]')))
    return found


def test_every_kind_of_job_has_its_short_title() -> None:
    found = defaultdict(set)
    for job in of_samples():
        if job.key in care.KEYS and not job.fixed:
            found[job.key].add(job.short)
    expected = {key: {short} for key, short in PLAIN.items()}
    assert found == expected | {"rcd-test": {"RCD test", "GFCI test"}}  # one of the samples is in the US
    assert set(PLAIN) == set(care.KEYS)


def test_what_an_alarm_brings_has_one_of_its_own() -> None:
    calm = {(job.key, job.variant.partition("-")[0]): job.short for job in care.jobs_of(case_of([]))}
    after = {(job.key, job.variant.partition("-")[0]): job.short for job in care.jobs_of(case_of(ALARMS))}
    brought = {name: short for name, short in after.items() if calm.get(name) != short}
    assert brought == BROUGHT_ABOUT


def test_warm_water_says_so() -> None:
    found = care.jobs_of(case_of(["2026-11-28 temperature 34", "2026-12-01 temperature 34"]))
    assert [job.short for job in found if job.key == "heater-check"] == ["Heater check", "Too warm: heater"]


def test_an_animal_that_is_weighed_again_is_weighed() -> None:
    found = [
        job for job in care.jobs_of(case_of(["2026-12-01 weight.wren 275"])) if job.key == "weigh-measure"
    ]
    assert [(job.title, job.short) for job in found] == [
        ("weigh and measure", "Weigh"),
        ("weigh Wren again", "Weigh again"),
    ]


def test_a_pack_that_ends_is_ordered_by_its_name() -> None:
    packs = (
        TANK.replace("meals_a_week = 3", 'meals_a_week = 3, pack = "500 g", opened = 2026-11-01')
        + 'conditioner = {treats = "2000 L", opened = 2026-11-01}\n'
    )
    found = [job.short for job in care.jobs_of(case_of([], packs)) if job.key == "supplies"]
    assert found == ["Supplies", "Order food", "Order conditioner"]


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Wren", "Vet: Wren"),
        ("Bartholomeus", "Vet: Bartholomeus"),
        ("Bartholomew of the pond", "Vet: Bartholomew"),
        ("Zoë-Noëlle of Fen", "Vet: Zoë-Noëlle o"),
        # Decomposed: the letter does not lose its accent where the name is cut.
        ("Noe\u0308lle-Zoe\u0308lle", "Vet: Noe\u0308lle-Zoe\u0308"),
        ("Noelle-Marie\u0308lle", "Vet: Noelle-Mari"),
        ("ब्रह्मपुत्रवासिनी", "Vet: ब्रह्मपुत्र"),
        ("🐢" * 20, "Vet: " + "🐢" * 12),
    ],
)
def test_the_name_of_an_animal_is_cut_to_fit(name: str, short: str) -> None:
    text = TANK.replace('"Wren"', f'"{name}", id = "wren"')
    (found,) = [job for job in care.jobs_of(case_of(["2026-12-01 weight.wren 200"], text)) if job.fixed]
    assert found.short == short
    assert len(short) <= 17


def test_where_units_are_us_the_tester_has_its_name_there() -> None:
    """Ground-fault circuit interrupter (NFPA 70, National Electrical Code), residual current device (IEC 61008)."""
    for text, short in ((TANK, "RCD test"), (IN_US, "GFCI test")):
        (found,) = [job for job in care.jobs(load(text)) if job.key == "rcd-test"]
        assert (found.title, found.short) == ("ground-fault test", short)


def test_five_characters_tell_the_work() -> None:
    shorts = {
        *PLAIN.values(),
        *BROUGHT_ABOUT.values(),
        "GFCI test",
        "Too warm: heater",
        "Order food",
        "Order conditioner",
    }
    assert max(map(len, shorts)) <= 17
    alike = {
        frozenset(pair)
        for pair in combinations(sorted(shorts), 2)
        if pair[0][:5].strip() == pair[1][:5].strip()
    }
    (together,) = SAME_WORK
    assert alike == {frozenset(pair) for pair in combinations(together, 2)}


# --- the keeper's own duties ---


def own(lines: str) -> Job:
    text = (
        TANK
        + f'[[enclosure.extra_job]]\nkey = "rain-barrel"\ntitle = "Rinse the rain barrel"\nevery = "2 days"\n{lines}\n'
    )
    (found,) = [job for job in care.jobs(load(text)) if job.key == "rain-barrel"]
    return found


def test_an_extra_job_keeps_its_title_or_has_a_short_one() -> None:
    assert own("").short == "Rinse the rain barrel"
    assert own('short = "Rinse barrel"').short == "Rinse barrel"
    assert own('short = "Rinse barrel"').title == "Rinse the rain barrel"


def test_an_extra_job_is_routine_where_the_keeper_says_so() -> None:
    assert not own("").routine
    assert own("routine = true").routine


# --- what is routine ---

ROUTINE = {"daily-look", "feed", "cycle-test", "basking-watch", "quarantine-watch"}


def test_routine_is_a_property_of_the_key() -> None:
    assert care.ROUTINE_KEYS == ROUTINE
    for job in of_samples():
        if job.key in care.KEYS:
            assert job.routine is (job.key in ROUTINE), job.ref


@pytest.mark.parametrize("cadence", ['every = "10 days"', 'rule = "FREQ=MONTHLY"', "on = [2026-12-14]"])
def test_another_interval_makes_it_no_less_routine(cadence: str) -> None:
    """Top ups on most days are none; a feed once in ten days, or on days that the keeper names, is still a feed."""
    text = TANK + f'[enclosure.job.feed]\n{cadence}\n[enclosure.job.top-up]\nevery = "1 day"\n'
    found = {job.key: job for job in care.jobs(load(text))}
    assert found["feed"].routine and not found["feed"].is_frequent
    assert found["top-up"].is_frequent and not found["top-up"].routine


def test_what_an_alarm_brings_is_no_routine() -> None:
    """The feed that waits for a clean test is the same feed: its note says that it waits."""
    after = list(care.jobs_of(case_of(ALARMS)))
    assert [job for job in after if job.fixed and job.routine] == []
    assert [job.short for job in after if job.routine] == ["Watch basking", "Look in", "Feed: see note"]


@pytest.mark.parametrize("fixed", [False, True])
def test_a_job_whose_days_follow_from_what_happened_is_no_routine_whatever_its_key(fixed: bool) -> None:
    (enclosure,) = load(TANK).enclosures
    made = Job(
        enclosure=enclosure,
        title="look",
        short="Look in",
        cadence=Every(span=Span(1)),
        minutes=5,
        fixed=fixed,
        notes=lambda: Notes(steps=("Look.",)),
    )
    assert made.registered("daily-look", 3, routine=True).routine is not fixed
