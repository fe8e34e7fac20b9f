"""Health: the daily look, quarantine, weighing, the vet, and room to grow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care import cautions
from scheduler.care.case import Case
from scheduler.care.heat import LIMITS
from scheduler.care.job import ByRule, Every, Job, Notes, On
from scheduler.care.registry import job
from scheduler.description.site import Resident
from scheduler.quantities import Span
from scheduler.rules import Rule
from scheduler.sources import HOUSE, Source

QUARANTINE_DAYS = 90
"""Length of quarantine. House value, built on the minimum of 30 days under a vet of the AZA standards (2007)."""

LEAST_QUARANTINE_DAYS = 30
"""No entry of the keeper's goes below: AZA accreditation standards 2007, quarantine."""

FAECAL_DAYS = (14, 42, 70)
"""Days of the three faecal tests, 2 to 4 weeks apart and all inside the quarantine. House value."""

QUARANTINE = Source(
    "90 days is a house rule on the 30-day minimum of the AZA standards 2007; all in, all out: it restarts when another animal joins",
    "house value",
)
PRACTICE = Source("separate tools, tended last, vet exam, repeated faecal tests: Tabaka 2003", "published")
SIGNS = Source("signs of illness: veterinary page; day counts are house values", "house value")
SIGNS_SOON = "Vet soon: swollen or shut eyes, nose discharge, soft shell or foul spots, listless, not eating for 7 days (a hatchling 3)."
SIGNS_TODAY = "Vet today: open-mouth breathing, gasping, one side high in the water, bleeding or red skin, straining, prolapse, fits, a burn, a cracked shell."


@job("daily-look")
def daily_look(case: Case) -> Iterator[Job]:
    """Look at temperatures, flow, behaviour and leftovers every day."""

    def notes() -> Notes:
        water = f" (fine: {case.band(case.water_band)})" if case.water_band else ""
        basking = (
            f"; basking surface{f' (fine: {case.band(case.basking_band)})' if case.basking_band else ''}"
            if case.enclosure.lamp
            else ""
        )
        steps = [
            f"Read the water temperature{water}{basking}. Water under 18 °C (64 °F) or over 30 °C (86 °F): act now."
        ]
        if case.enclosure.filter:
            steps.append("See the filter's flow, and listen for air.")
        if case.enclosure.resident:
            steps += [
                "Count the animals; see each move, breathe and look about as usual.",
                "Take leftovers and droppings out with a net.",
                SIGNS_SOON,
                SIGNS_TODAY,
            ]
        steps.append("See that the cover and the lamps sit right.")
        return Notes(
            steps=tuple(steps),
            cautions=(cautions.HANDS, cautions.UNPLUG, cautions.VET),
            reason="most trouble shows a day before it is trouble.",
            sources=(
                LIMITS,
                Source(
                    "leftovers and droppings out daily: New South Wales Department of Education, Animals in Schools",
                    "published",
                ),
                SIGNS,
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="daily look",
        cadence=ByRule(rule=Rule(freq="DAILY"), start=case.anchor),
        minutes=5,
        notes=notes,
    )


# --- Quarantine ---


@dataclass(frozen=True, slots=True)
class Quarantine:
    """First day, day of the last arrival (from which the clock runs) and day of release of an enclosure's quarantine."""

    first: dt.date
    restart: dt.date
    release: dt.date


def quarantine(case: Case) -> Quarantine | None:
    """Return the enclosure's quarantine: it ends so many days after the *last* animal joined, whoever that was."""
    first = [r.arrived for r in case.enclosure.resident if r.quarantine and r.arrived]
    if not first:
        return None
    restart = max(day for day in case.arrivals if day >= min(first))
    return Quarantine(min(first), restart, restart + dt.timedelta(days=_length(case)))


def _length(case: Case) -> int:
    own = case.enclosure.job.get("quarantine-release")
    return own.every.most_days if own is not None and own.every is not None else QUARANTINE_DAYS


@job("quarantine-watch")
def quarantine_watch(case: Case) -> Iterator[Job]:
    """Watch quarantined animals daily, after all others."""
    q = quarantine(case)
    if q is None:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                "Come here last, after every other enclosure. Use this enclosure's own net, tub and cloths.",
                "Look at eyes, nose, breathing, shell, skin and droppings; write down what is new.",
                SIGNS_SOON,
                SIGNS_TODAY,
                "Disinfect the tools, and wash hands and arms before going anywhere else.",
            ),
            cautions=(cautions.HANDS, cautions.VET),
            reason=f"quarantine runs to {q.release.isoformat()}, and starts again when another animal joins.",
            sources=(QUARANTINE, PRACTICE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="quarantine watch",
        cadence=ByRule(rule=Rule(freq="DAILY"), start=q.first + dt.timedelta(days=1), until=q.release),
        part="evening",
        minutes=10,
        skills=("adult",),
        notes=notes,
    )


@job("quarantine-weigh")
def quarantine_weigh(case: Case) -> Iterator[Job]:
    """Weigh quarantined animals on arrival and every week."""
    q = quarantine(case)
    if q is None:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                "Weigh each animal in a dry tub of its own, on the same scale, before feeding. Write the grams down.",
                "More than 10 % under the first weight (a hatchling 5 %): call the vet.",
                "Disinfect scale and tub.",
            ),
            cautions=(cautions.HANDS, cautions.VET),
            reason="weight falls before other signs of illness show.",
            sources=(
                Source(
                    "weekly weights in quarantine; 10 % (hatchling 5 %) as the limit of loss", "house value"
                ),
                PRACTICE,
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="quarantine weighing",
        cadence=ByRule(rule=Rule(freq="WEEKLY"), start=q.first, until=q.release),
        part="evening",
        minutes=10,
        skills=("adult",),
        notes=notes,
    )


@job("faecal-test")
def faecal_test(case: Case) -> Iterator[Job]:
    """Have droppings tested three times, two to four weeks apart."""
    q = quarantine(case)
    if q is None:
        return
    length = (q.release - q.restart).days
    offsets = FAECAL_DAYS if length > FAECAL_DAYS[-1] else tuple(range(14, length, 14))[:3]

    def notes() -> Notes:
        return Notes(
            steps=(
                "Collect fresh droppings in a clean, closed, labelled pot; keep it cool, away from food.",
                "Bring them to the vet the same day, for a direct and a flotation test.",
                "Write the result down. A find is treated first, and the vet says when to test again.",
            ),
            cautions=(cautions.HANDS, cautions.SINK, cautions.VET),
            reason="one test misses parasites: three clean ones are wanted before release.",
            sources=(Source("three tests 2 to 4 weeks apart, days 14, 42 and 70", "house value"), PRACTICE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="faecal test",
        cadence=On(days=tuple(q.restart + dt.timedelta(days=d) for d in offsets)),
        window=3,
        minutes=30,
        skills=("adult",),
        notes=notes,
    )


@job("quarantine-release")
def quarantine_release(case: Case) -> Iterator[Job]:
    """Decide on release at the end of the quarantine."""
    q = quarantine(case)
    if q is None:
        return

    def notes() -> Notes:
        days = (q.release - q.restart).days
        return Notes(
            steps=(
                f"Check the record: {days} days since the last arrival ({q.restart.isoformat()}), weight steady, every faecal test clean.",
                "Have the vet agree.",
                "Anything open: stay in quarantine. All well: write quarantine = false into the description.",
                "Disinfect the enclosure and its tools before they serve others.",
            ),
            cautions=(cautions.HANDS, cautions.VET, cautions.LAW),
            reason="one animal let out too early can infect the whole collection.",
            sources=(QUARANTINE, PRACTICE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="end of quarantine",
        cadence=On(days=(q.release,)),
        window=7,
        minutes=30,
        skills=("adult",),
        notes=notes,
    )


# --- Over the years ---


def _sizes(case: Case, resident: Resident) -> Iterator[str]:
    if resident.mass:
        yield case.grams(resident.mass)
    if resident.carapace:
        yield f"a carapace of {case.cm(resident.carapace)}"


@job("weigh-measure")
def weigh_measure(case: Case) -> Iterator[Job]:
    """Weigh and measure monthly; the weekly weighing of a quarantine comes first."""
    if not case.enclosure.resident:
        return
    q = quarantine(case)
    anchor = q.release if q is not None else case.inhabited_from

    def notes() -> Notes:
        known = [
            f"{r.name} in the description: {' and '.join(_sizes(case, r))}."
            for r in sorted(case.enclosure.resident, key=lambda r: r.id)
            if r.mass or r.carapace
        ]
        return Notes(
            steps=(
                "Hold each animal low over a soft, dry place, with both hands.",
                "Weigh it in a tub before feeding; measure the carapace in a straight line from front to back edge, with calipers or two books.",
                "Write both down, and bring the description up to date: meals and space follow the size.",
                "More than 10 % lighter than its best weight (a hatchling 5 %): call the vet.",
                *known,
            ),
            cautions=(cautions.HANDS, cautions.VET),
            reason="a scale sees illness before the eye does, and growth decides on food and space.",
            sources=(Source("monthly weights; 10 % (hatchling 5 %) as the limit of loss", "house value"),),
        )

    yield Job(
        enclosure=case.enclosure,
        title="weigh and measure",
        cadence=Every(span=Span(28), anchor=anchor),
        window=7,
        minutes=10 + 5 * min(10, sum(r.count for r in case.enclosure.resident)),
        skills=("adult",),
        notes=notes,
    )


@job("vet-check")
def vet_check(case: Case) -> Iterator[Job]:
    """See a reptile vet every year."""
    if not case.enclosure.resident:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                "Make an appointment with a vet who knows reptiles; ask whether to bring droppings.",
                "Take the record of weights, lengths, temperatures and UVI readings along.",
                "Carry each animal damp, dark and warm in a box of its own.",
            ),
            cautions=(cautions.HANDS, cautions.LAW),
            reason="a yearly check with a faecal test finds what a keeper cannot see.",
            sources=(Source("yearly vet check and faecal test: practice", "from memory"),),
        )

    yield Job(
        enclosure=case.enclosure,
        title="vet check",
        cadence=Every(span=Span(364), anchor=case.inhabited_from),
        window=28,
        minutes=120,
        skills=("adult",),
        notes=notes,
    )


@job("space-review")
def space_review(case: Case) -> Iterator[Job]:
    """Hold size of animals and enclosure against the codes, twice a year."""
    if not case.enclosure.resident:
        return

    def notes() -> Notes:
        floor = (
            f"{case.cm(case.floor[0])} x {case.cm(case.floor[1])}"
            if case.floor
            else "not in the description: measure it"
        )
        adults = [
            f"{r.name}: an adult {s.species} reaches about {case.cm(size)}."
            for r in sorted(case.enclosure.resident, key=lambda r: r.id)
            if (s := case.sheet(r)) is not None and (size := s.adult_cm(r.sex)) is not None
        ]
        return Notes(
            steps=(
                "Measure the longest carapace in a straight line.",
                f"Measure the floor ({floor}) and the depth of water.",
                "Hold both against your local code, and write down when the next size is needed.",
                *adults,
            ),
            cautions=(cautions.LAW,),
            reason="a larger enclosure takes months to plan; legal sizes are floors, not goals.",
            sources=(HOUSE,),
        )

    yield Job(
        enclosure=case.enclosure,
        title="space review",
        cadence=Every(span=Span(182), anchor=case.inhabited_from),
        window=28,
        minutes=20,
        notes=notes,
    )
