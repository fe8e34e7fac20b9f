"""Ponds outdoors: getting ready for the cold, the looks in it, what comes after, and who is brought in.

The tool plans no cooling: it says what a pond that gets cold by itself needs, and who may stay in it.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import cautions, contacts, signs
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import ByRule, Job, Notes, On
from scheduler.care.first_aid import NO_FOOD_UNDER_C
from scheduler.care.seasons import (
    AUTUMN_MONTHS,
    COLD,
    cold_months,
    months_of,
    yearly,
)
from scheduler.care.watch.outdoors import cold, come_in, staying
from scheduler.rules import Rule
from scheduler.sources import COMMON_PRACTICE, Source

VET_BEFORE = Source("animals that winter outdoors are seen by a vet that autumn: practice", "from memory")
SLOW = Source("no published rate of warming an animal after the cold was found", "not found")

MOST_SPRING_SHARE = 0.3
"""Share of a pond's water that is changed at most when it is cleaned after the cold. House value."""


def sources(case: Case) -> tuple[Source, ...]:
    """Return where the notes of a pond outdoors are from."""
    return COMMON_PRACTICE, COLD, case.house.source("bring_in")


def before_the_cold(case: Case) -> list[str]:
    """Return what is got ready before the cold outdoors."""
    limit = case.degrees(case.house.bring_in_c)
    inside = join(tuple(r.name for r in come_in(case)))
    steps = [
        f"Read the water every day from now on. Under {limit} nobody is fed.",
        (
            f"Have {contacts.whom(case, 'vet')} look at each animal this autumn. New, thin and sick ones do "
            "not winter outside."
        ),
    ]
    if inside:
        steps.append(
            f"Set up a warm, filtered enclosure indoors for {inside} now, and let its filter work "
            f"before it is needed. Bring in on the first day under {limit}."
        )
    return [
        *steps,
        (
            "Stretch a net over the water for the leaves, high enough for an animal to surface under it, "
            "and without a gap to be caught in. Net out leaves and dead plants."
        ),
        "Change part of the water now, while it is mild: none is drained in the cold.",
        (
            "Filter and pump: service them, and raise the inlet off the bottom, so that the deepest water "
            "is left in peace. What may freeze is taken in, dry."
        ),
        (
            "See that the overflow is open and screened, and that heavy rain can neither lift an animal "
            "over the rim nor wash it out."
        ),
        (
            "Walk along fence and cover: no gap, no hole under it, nothing to climb. Foxes, rats, raccoons, "
            "herons and crows come to a pond where little moves."
        ),
        (
            "Have a pond de-icer or an air pump ready that keeps a hole in the ice, so that gas can go out "
            "and air come in."
        ),
    ]


def winter(case: Case) -> Iterator[Job]:
    """Yield the weekly looks in the cold months, and the check after them."""
    cold_ones = cold_months(case)
    if not cold_ones:
        return
    yield Job(
        enclosure=case.enclosure,
        variant="winter",
        title="winter look at the pond",
        short="Winter: pond",
        cadence=ByRule(rule=Rule(freq="WEEKLY", bymonth=tuple(sorted(cold_ones))), start=case.anchor),
        window=2,
        minutes=15,
        skills=("adult",),
        notes=lambda: _winter_notes(case),
    )
    for month in months_of(case.site.settings.latitude, north=4, south=10):
        yield Job(
            enclosure=case.enclosure,
            variant="spring",
            title="spring check of the pond",
            short="Spring: pond",
            cadence=yearly(case, month),
            window=14,
            minutes=90,
            skills=("adult", "lifting"),
            notes=lambda: _spring_notes(case),
        )


def _winter_notes(case: Case) -> Notes:
    resting = join(tuple(r.name for r in staying(case)))
    inside = join(tuple(r.name for r in come_in(case)))
    limit = case.degrees(case.house.bring_in_c)
    steps = [
        "Never step onto the ice, and do not go to a frozen pond alone. Children stay away from it.",
        (
            "Ice over all of it: see that the de-icer or the air pump works. Else melt a hole with a pan of "
            "hot water that stands on the ice at the rim; hold it by its handle. Never hit or break ice: "
            "the blow harms animals under it. No boiling water into the pond, no salt."
        ),
        "Sweep snow off part of the ice from the rim, so that light comes in.",
        "See that the overflow is free, and fence and cover are whole: look for tracks and digging.",
        "Take leaves out with a net from the rim. Drain nothing, stir up nothing, and feed nobody.",
    ]
    if resting:
        steps.append(
            f"Leave {resting} where they rest: do not lift out, weigh or turn over. One that swims at "
            "the surface day after day, lies on its side or does not draw back: call "
            f"{contacts.whom(case, 'vet')}."
        )
    if inside:
        steps.append(f"{inside}: not in water under {limit}. Still there? Bring in today.")
    return Notes(
        steps=tuple(steps),
        cautions=(cautions.OUTDOOR_POWER, cautions.HOT_WATER, cautions.HANDS, cautions.VET),
        reason=(
            "under closed ice gas from the bottom stays in and air stays out; what rests there cannot get "
            "away."
        ),
        sources=sources(case),
    )


def _spring_notes(case: Case) -> Notes:
    warm = case.degrees(NO_FOOD_UNDER_C)
    return Notes(
        steps=(
            f"Wait until the water is over {warm} for a week, also at night.",
            f"Look at each animal as it comes up: eyes, nose, shell, skin, how it swims. {signs.today(case)}",
            "Net out leaves and sludge, in parts on several days. Never empty the pond.",
            (
                f"Change up to {MOST_SPRING_SHARE * 100:.0f} % of the water, as warm as the pond's, and "
                "treated where the tap carries chlorine or chloramine."
            ),
            (
                "Set filter and pump up again. Look over cords, plugs and the ground-fault device before "
                "anything is plugged in; press its test button."
            ),
            "Test ammonia, nitrite and pH weekly until two tests are clean: the filter starts anew.",
            f"Food from {warm} on: little, twice a week, more as it warms.",
            (
                "Mend fence, cover and overflow. Weigh each animal once it eats, and hold it against the "
                "autumn's weight."
            ),
        ),
        cautions=(cautions.OUTDOOR_POWER, cautions.SIPHON, cautions.NATURE, cautions.HANDS, cautions.VET),
        reason="after months without food an animal is at its weakest, and the filter's bacteria are few.",
        sources=(*sources(case), SLOW),
    )


def before_winter(case: Case) -> Iterator[Job]:
    """Yield the vet's check of the autumn, for animals that winter outdoors."""
    resting = staying(case)
    cold_ones = cold_months(case)
    if not resting or not cold_ones:
        return
    names = join(tuple(r.name for r in resting))

    def notes() -> Notes:
        return Notes(
            steps=(
                (
                    f"Make an appointment with {contacts.whom(case, 'vet')} for {names}: weight, eyes, "
                    "nose, mouth, shell, and droppings tested."
                ),
                (
                    "Ask of each whether it may winter in the cold this year, from when on it is not fed, "
                    "and what to watch. One that is new, thin or sick may not."
                ),
                (
                    "Carry each damp and dark in a box of its own, while the water is still warm enough for "
                    "it to feed."
                ),
                "Record it as a vet check. Who was not seen, or may not, is brought in before the cold.",
            ),
            cautions=(cautions.HANDS, cautions.VET, cautions.LAW),
            reason="what an animal brings into the cold it cannot fight off there.",
            sources=(VET_BEFORE, COLD),
        )

    yield Job(
        enclosure=case.enclosure,
        variant="before-winter",
        title=f"vet check before the cold, {names}",
        short="Autumn: vet",
        cadence=yearly(case, (cold_ones[0] - AUTUMN_MONTHS - 1) % 12 + 1),
        window=28,
        minutes=120,
        skills=("adult",),
        # Any visit of the autumn is this one.
        recorded_as="",
        notes=notes,
    )


def in_the_cold_room(case: Case) -> tuple[str, ...]:
    """Return how those are weighed that winter indoors by their vet's plan."""
    resting = join(tuple(r.name for r in staying(case)))
    if not resting or case.enclosure.outdoors:
        return ()
    return (
        (
            f"While {resting} rest in the cold by the vet's plan: weigh in the cold room, in two minutes, "
            "and set back; do not warm up for it."
        ),
    )


def from_the_cold(case: Case) -> Iterator[Job]:
    """Yield the job that brings animals in from cold water outdoors."""
    found = cold(case)
    if found is None:
        return

    def notes() -> Notes:
        band = case.band(case.water_band) if case.water_band else "the temperature that its species wants"
        said = (
            f"The water outdoors was {case.degrees(found.celsius)} on {case.date(found.day)}; under "
            f"{case.degrees(case.house.bring_in_c)} animals that do not brumate come in."
        )
        return Notes(
            steps=(
                said,
                f"Bring {found.names} in today, each damp and dark in a box of its own, out of the wind.",
                "Indoors start with water as cold as the pond's, no deeper than the animal can stand in, "
                "and let the room warm it. No published rate of warming was found: "
                f"ask {contacts.whom(case, 'vet')}; no hot water and no lamp close by.",
                f"Do not feed before the water has come to {band}.",
                signs.today(case),
            ),
            order=f"Bring {found.names} in today",
            because=said,
            cautions=(cautions.HANDS, cautions.VET),
            reason="too cold to digest and too warm to rest, an animal weakens and falls ill.",
            sources=(case.house.source("bring_in"),),
        )

    yield Job(
        enclosure=case.enclosure,
        variant=f"bring-in-{found.since.isoformat()}",
        title=f"bring {found.names} in from the cold",
        short="Bring in: cold",
        cadence=On(days=(found.since,)),
        window=0,
        minutes=60,
        skills=("adult",),
        recorded_as="",
        fixed=True,
        notes=notes,
    )
