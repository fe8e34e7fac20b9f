"""Until the biofilter works: its ammonia, its tests, and when it has passed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care import asked, cautions, limits, skills
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, ByRule, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.watch.cycling import (
    CYCLE_PASS,
    DOSE,
    FISHLESS_PASS,
    may_dose,
    next_dose,
    starts_on_doses,
)
from scheduler.care.water_change import BEFORE_ANIMALS_SHARE
from scheduler.handbook import ammonia
from scheduler.rules import Rule
from scheduler.sources import Source

START_ALKALINITY_MG_L = 150.0
"""mg/L as CaCO3 that a starting biofilter wants at least: a copy of an extension note on starting
biofilters."""


START_ALKALINITY = Source(
    (
        "a starting biofilter wants 150 mg/L of alkalinity (as CaCO3): extension note on biofilters, read "
        "as a copy"
    ),
    "published",
)
SMALL_MEALS = Source("half a meal at most while a filter starts", "house value")

CYCLE_TIMES = Source("a new biofilter takes 1 to 6 weeks: FAO aquaponics glossary", "published")


@job(
    "cycle-test",
    where="where `set_up` is given and `cycled` is false, or a day: until that day",
    routine=True,
)
def cycle_test(case: Case) -> Iterator[Job]:
    """Test daily until the biofilter works.

    Tests are planned, a date of success is not: nobody could know it.
    """
    e = case.enclosure
    if e.set_up is None or e.cycled is None or e.cycled is True:
        return
    until = e.cycled if isinstance(e.cycled, dt.date) else None

    doses = starts_on_doses(case)

    def notes() -> Notes:
        return Notes(
            steps=(
                "Test ammonia, nitrite, nitrate and pH, and record the values.",
                *(_by_doses(case) if doses else ()),
                *(_by_animals(case) if e.resident or not doses else ()),
                *(
                    ()
                    if doses and e.resident
                    else (f"Alkalinity: the bacteria use it up. {_little_alkalinity(case)}",)
                ),
                (
                    "Recorded tests that pass end these; without a record write cycled = (the date) into "
                    "the description."
                ),
            ),
            cautions=(cautions.HANDS,),
            reason=(
                "a filter removes ammonia only once bacteria have settled in it. How long that takes "
                "differs: 1 to 6 weeks and more."
            ),
            sources=(
                CYCLE_TIMES,
                *((FISHLESS_PASS, case.house.source("ammonia_dose")) if doses else ()),
                *((CYCLE_PASS, SMALL_MEALS, *limits.sources(case.house)) if e.resident or not doses else ()),
                START_ALKALINITY,
            ),
        )

    yield Job(
        enclosure=e,
        title="cycle test",
        short="Cycle test",
        asks=asked.CYCLE_TEST,
        cadence=ByRule(rule=Rule(freq="DAILY"), start=e.set_up + dt.timedelta(days=1), until=until),
        minutes=10,
        skills=skills.kit(case),
        notes=notes,
    )


def _by_animals(case: Case) -> tuple[str, ...]:
    """Return where the ammonia is from with animals in the water, and when the filter has passed."""
    when = "Once animals are in: the" if starts_on_doses(case) else "The"
    return (
        (
            f"{when} filter starts on the ammonia of the animals and their food. Feed small meals, half at "
            "most; once tests stay clean come up to the full meal over a week."
        ),
        limits.said(case.house),
        limits.answer(),
        "Passed when two tests a day or more apart are clean, nitrate rises, and the full ration is fed.",
    )


def _by_doses(case: Case) -> tuple[str, ...]:
    """Return where the ammonia is from without animals, and when the filter has passed."""
    clean = case.numeral(case.house.ammonia_clean)
    if case.arrivals:
        # Read on later days too, when animals are in: it says until when.
        return (
            (
                f"Before the first animal comes ({case.date(min(case.arrivals))}), never later: dose "
                "ammonia by its own note; change no water."
            ),
        )
    return (
        "No animal is in the water: the filter starts on ammonia that you dose. Dose to "
        f"{case.numeral(case.house.ammonia_dose)} mg/L (as N), and again each time a test shows {clean} "
        "mg/L or less. "
        "Its own note says how much.",
        (
            "Change no water and rinse no media while no animal is in: there is nothing to take out, and "
            "the bacteria are in the media."
        ),
        (
            f"Passed when the dose of one day is gone by the test of the next (ammonia up to {clean} mg/L, "
            f"nitrite under {case.numeral(case.house.nitrite_look)} mg/L), twice running, and nitrate rises."
        ),
        f"Then change {BEFORE_ANIMALS_SHARE * 100:.0f} % of the water once, before animals come.",
    )


def _little_alkalinity(case: Case) -> str:
    least, tap = f"{START_ALKALINITY_MG_L:g} mg/L (as CaCO3)", case.site.settings.tap_water.alkalinity
    if tap is None:
        return f"Test it now and then: {least} or more is wanted."
    if tap >= START_ALKALINITY_MG_L:
        return f"The tap brings {case.reading('alkalinity', tap)}; {least} or more is wanted."
    return f"The tap brings {case.reading('alkalinity', tap)}, and {least} or more is wanted: test it weekly."


@job("ammonia-dose", where="where `set_up` is given and a filter starts without animals")
def ammonia_dose(case: Case) -> Iterator[Job]:
    """Dose ammonia where a filter starts without animals: on the day after set-up, and again whenever a dose
    is gone."""
    e = case.enclosure
    if e.set_up is None or not starts_on_doses(case):
        return
    first, again = e.set_up + dt.timedelta(days=1), next_dose(case)

    def notes() -> Notes:
        target, litres = case.house.ammonia_dose, case.water_l
        dosed = f"{case.numeral(target)} mg/L (as N)"
        grams = case.value("ammonia_dose")
        if grams is None or litres is None:
            amounts = (
                f"Dose to {dosed}: each 100 L take "
                f"{case.grams(ammonia.ammonium_chloride_mg(100.0, target) / 1000.0)} of pure ammonium "
                "chloride. Measure the tank for its own amount."
            )
        else:
            ml = case.numeral(round(ammonia.ammonia_water_ml(litres, target), 1))
            amounts = (
                f"For {dosed} in {case.litres(litres)} dissolve {case.grams(grams)} of pure ammonium "
                f"chloride in a jug of tank water; or take {ml} mL of pure, unscented ammonia solution "
                f"of {ammonia.AMMONIA_WATER * 100:.0f} % (of {ammonia.AMMONIA_WATER * 50:.0f} % twice as "
                "much), without soap, dye or scent."
            )
        return Notes(
            steps=(
                "See that no animal is in the water. If one is, stop here: never dose with an animal in it.",
                "See that the filter runs.",
                "Gloves and glasses on, window open, face away from the bottle.",
                amounts,
                "Pour it slowly into the filter's outflow. Close the bottle, label it, and lock it away.",
                (
                    f"Test ammonia an hour later: it should show {case.numeral(target)} mg/L. Record the "
                    "dose. Never dose on top of one that is not gone."
                ),
            ),
            amount=Amount(case.grams(grams), "of ammonium chloride") if grams is not None else None,
            cautions=(cautions.AMMONIA, cautions.HANDS),
            reason=(
                "bacteria settle in a filter only where ammonia feeds them; without it the tests are clean, "
                "and mean nothing."
            ),
            sources=(case.house.source("ammonia_dose"), ammonia.CHLORIDE, FISHLESS_PASS),
            worked=case.known("ammonia_dose"),
        )

    def dose(day: dt.date, variant: str = "") -> Job:
        return Job(
            enclosure=e,
            variant=variant,
            title="ammonia dose, again" if variant else "ammonia dose",
            short="Dose ammonia",
            cadence=On(days=(day,)),
            window=2,
            minutes=15,
            skills=("adult",),
            fixed=bool(variant),
            recorded_as="" if variant else None,
            notes=notes,
        )

    if may_dose(case, first):
        yield dose(first)
    if again is not None and case.done(DOSE):
        yield dose(again, f"again-{again.isoformat()}")
