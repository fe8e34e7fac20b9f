"""Health: the daily look, weighing, the vet, and room to grow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import replace

from scheduler.care import asked, cautions, contacts, lamp_hours, signs, switching
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.figure import NotKnown
from scheduler.care.engine.job import Amount, ByRule, Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.figures.heat import LIMITS, WATER_LIMITS_C
from scheduler.care.figures.space import outgrown_on
from scheduler.care.outdoors import before_winter, in_the_cold_room
from scheduler.care.quarantine import INTAKE, INTAKE_DAYS, PRACTICE, Group, quarantine
from scheduler.care.seasons import outside_the_cold
from scheduler.care.signs import SIGNS, SOON_DAYS
from scheduler.care.watch.illness import Ill, ill, plan_of
from scheduler.care.watch.outdoors import come_in, staying
from scheduler.care.watch.weight import Loss, again_on, losses, weighed_again
from scheduler.description.fields import MOST_SHORT
from scheduler.description.site import Resident
from scheduler.graphemes import cut
from scheduler.quantities import Span
from scheduler.rules import Rule
from scheduler.sources import HOUSE, Source

VET = "Vet: "
"""What a lost weight asks for, before the animal's name."""


@job("daily-look", routine=True)
def daily_look(case: Case) -> Iterator[Job]:
    """Look at temperatures, flow, behaviour and leftovers every day."""

    def notes() -> Notes:
        water = f" (fine: {case.band(case.water_band)})" if case.water_band else ""
        basking = (
            f"; basking surface{f' (fine: {case.band(case.basking_band)})' if case.basking_band else ''}"
            if case.enclosure.lamp
            else ""
        )
        if basking and not lamp_hours.is_on(case, lamp_hours.warm_lamps(case), case.house.warm_up, "morning"):
            basking += f" once its lamp has been on for {case.house.warm_up} minutes"
        steps = (
            [_outdoor_water(case)]
            if case.enclosure.outdoors
            else [
                f"Read the water temperature{water}{basking}. Water under {case.degrees(WATER_LIMITS_C[0])} or over {case.degrees(WATER_LIMITS_C[1])}: act now.",
                ACT_NOW,
            ]
        )
        if case.enclosure.filter:
            steps.append("See the filter's flow, and listen for air.")
        if case.enclosure.resident:
            steps += [
                "Count the animals; see each move, breathe and look about as usual.",
                *(
                    ["Who rests on the bottom in the cold is left there, and not lifted out to be counted."]
                    if case.enclosure.outdoors and staying(case)
                    else []
                ),
                "Take leftovers and droppings out with a net, hands dry.",
                signs.soon(case),
                signs.today(case),
            ]
        steps.append("See that the cover and the lamps sit right.")
        return Notes(
            steps=tuple(steps),
            amount=Amount("", f"water fine: {case.band(case.water_band)}") if case.water_band else None,
            cautions=(cautions.HANDS, cautions.VET),
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
        short="Look in",
        cadence=ByRule(rule=Rule(freq="DAILY"), start=case.anchor),
        minutes=5,
        notes=notes,
    )


def _outdoor_water(case: Case) -> str:
    """Return what is read of water outdoors, which follows the weather: who comes in from the cold, and when it is too warm."""
    names = join(tuple(r.name for r in come_in(case)))
    inside = f" bring {names} in today;" if names else ""
    limit = case.degrees(case.house.bring_in_c)
    return f"Read the water temperature. Under {limit}:{inside} nobody is fed. Over {case.degrees(WATER_LIMITS_C[1])}: shade it now."


ACT_NOW = (
    "Act now: too warm, heater and lamps off at the plug, shade and air; too cold, no food. Record it: its note says how to go on. "
    "A child calls a grown-up instead."
)
"""What helps first where the water is past its limits; the rest stands in the note that such a reading brings."""


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
    animals = sum(r.count for r in case.enclosure.resident)
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
                *switching.unplug(case),
                "Hold each animal low over a soft, dry place, with both hands.",
                "Weigh it in a tub before feeding; measure the carapace in a straight line from front to back edge, with calipers or two books.",
                "Record both, or write them into the description: meals and space follow the size.",
                f"More than {case.numeral(case.house.weight_loss * 100)} % lighter than its best weight (a hatchling {case.numeral(case.house.weight_loss_young * 100)} %): weigh it again within 3 days, and if it is as light call {contacts.whom(case, 'vet')}; at twice that call at once.",
                *known,
                *in_the_cold_room(case),
                *switching.plug_in_again(case),
            ),
            amount=Amount("", f"{animals} animal{'s' if animals != 1 else ''}"),
            cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET),
            reason="a scale sees illness before the eye does, and growth decides on food and space.",
            sources=(
                Source("weights every four weeks", "house value"),
                *dict.fromkeys(case.house.source(name) for name in ("weight_loss", "weight_loss_young")),
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="weigh and measure",
        short="Weigh",
        asks=asked.sizes(case.enclosure),
        # Who winters in a pond is not lifted out of it.
        cadence=outside_the_cold(case, 28, anchor) if staying(case) else Every(span=Span(28), anchor=anchor),
        window=7,
        minutes=10 + 5 * min(10, animals),
        skills=("adult",),
        of_young=any(case.stage_by_size(r) in (0, 1) for r in case.enclosure.resident),
        notes=notes,
    )
    for loss in weighed_again(case):

        def again(loss: Loss = loss) -> Notes:
            return Notes(
                steps=(
                    f"{loss.resident.name} weighed {case.grams(loss.last_g)} on {case.date(loss.last_on)}, {loss.share * 100:.0f} % under its best. Weigh it again, before feeding, on the same scale:",
                    *switching.unplug(case),
                    "Weigh it in a tub, and record the weight. Look at appetite, eyes, nose, shell and droppings.",
                    signs.soon(case),
                    *switching.plug_in_again(case),
                ),
                cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET),
                reason="a loss that goes on is an illness until a vet says otherwise.",
                sources=(case.house.source("weight_loss_young" if loss.young else "weight_loss"),),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=f"again-{loss.resident.id}",
            title=f"weigh {loss.resident.name} again",
            short="Weigh again",
            asks=asked.weight_of(loss.resident.id),
            cadence=On(days=(again_on(loss),)),
            window=1 if loss.is_doubtful else 2,
            minutes=10,
            skills=("adult",),
            recorded_as="",
            fixed=True,
            notes=again,
        )


@job("vet-check")
def vet_check(case: Case) -> Iterator[Job]:
    """See a reptile vet every year."""
    if not case.enclosure.resident:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                f"Make an appointment with {contacts.whom(case, 'vet')}; ask whether to bring droppings.",
                "Take the record of weights, lengths, temperatures and UVI readings along.",
                *switching.unplug(case),
                "Take each animal out, and carry it damp, dark and warm in a box of its own.",
                *switching.plug_in_again(case, lead="Before you leave, plug in again, and see"),
            ),
            cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.LAW),
            reason="a yearly check with a faecal test finds what a keeper cannot see.",
            sources=(Source("yearly vet check and faecal test: practice", "from memory"),),
        )

    yield Job(
        enclosure=case.enclosure,
        title="vet check",
        short="Vet check",
        cadence=Every(span=Span(364), anchor=case.inhabited_from),
        window=28,
        minutes=120,
        skills=("adult",),
        notes=notes,
    )
    yield from _intake(case)
    yield from before_winter(case)
    yield from _ill_animals(case, notes)
    for loss in losses(case):
        if loss.over_since is None:
            continue

        def light(loss: Loss = loss) -> Notes:
            made = notes()
            said = f"{loss.resident.name} weighed {case.grams(loss.last_g)} on {case.date(loss.last_on)}: {loss.share * 100:.0f} % under its best of {case.grams(loss.best_g)} ({case.date(loss.best_on)}); the limit is {case.numeral(loss.limit * 100)} %."
            return replace(
                made,
                steps=(
                    said,
                    f"Call {contacts.whom(case, 'vet')} today; go on weighing every week.",
                    *made.steps,
                ),
                order=f"Call the vet about {loss.resident.name} today",
                because=said,
                reason="weight falls before other signs of illness show.",
                sources=(case.house.source("weight_loss_young" if loss.young else "weight_loss"),),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=f"weight-{loss.resident.id}",
            title=f"vet: {loss.resident.name} has lost weight",
            short=f"{VET}{cut(loss.resident.name, MOST_SHORT - len(VET))}",
            cadence=On(days=(loss.over_since,)),
            window=0,
            minutes=120,
            skills=("adult",),
            recorded_as="",
            fixed=True,
            notes=light,
        )


def _ill_animals(case: Case, plain: Callable[[], Notes]) -> Iterator[Job]:
    """Yield the visit of each animal that shows a sign of illness."""
    for one in ill(case):

        def notes(one: Ill = one) -> Notes:
            made, said = plain(), f"{one.resident.name} showed on {case.date(one.last)}: {one.signs}."
            call = plan_of(case, one)
            return replace(
                made,
                steps=(
                    f"{said} {call}",
                    "Until then keep it quiet, clean and warm as it is used to; give no medicine that the vet has not ordered.",
                    *made.steps,
                ),
                order=f"{'Call the vet at once' if one.at_once else 'Call the vet'} about {one.resident.name}",
                because=said,
                cautions=(*made.cautions, cautions.VET),
                reason="what shows in a turtle has often gone on for long; the vet decides, and not this note.",
                sources=(SIGNS,),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=f"sign-{one.resident.id}",
            title=f"vet: {one.resident.name} shows a sign of illness",
            short=f"{VET}{cut(one.resident.name, MOST_SHORT - len(VET))}",
            cadence=On(days=(one.last if one.at_once else one.since,)),
            window=0 if one.at_once else SOON_DAYS,
            minutes=120,
            skills=("adult",),
            recorded_as="",
            fixed=True,
            notes=notes,
        )


def _ask_about_it(case: Case) -> str:
    named = contacts.numbers(case, "authority")
    return f" (your authority: {named})" if named else ""


def _intake(case: Case) -> Iterator[Job]:
    """Yield the vet's first look at each animal that goes into quarantine."""
    q = quarantine(case)
    for group in q.groups if q is not None else ():

        def notes(group: Group = group) -> Notes:
            return Notes(
                steps=(
                    f"Have {contacts.whom(case, 'vet')} look at {group.names} in the first week: weight, eyes, nose, mouth, breathing, shell, skin.",
                    "Ask which tests are wanted besides the three of droppings, and how long the quarantine should last.",
                    *switching.unplug(case),
                    "Carry each animal damp, dark and warm in a box of its own. Wash and disinfect the box afterwards, rinse and dry it.",
                    *switching.plug_in_again(case, lead="Before you leave, plug in again, and see"),
                    "Write down what was found, and the weight.",
                ),
                cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET, cautions.LAW),
                reason="what a new animal brings is found before it spreads, and its weight now is what later ones are held against.",
                sources=(INTAKE, PRACTICE),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=f"intake-{group.day.isoformat()}",
            title=f"vet check at intake, {group.names}",
            short="Intake: vet",
            cadence=On(days=(group.day + dt.timedelta(days=INTAKE_DAYS),)),
            window=3,
            minutes=120,
            skills=("adult",),
            fixed=True,
            notes=notes,
        )


@job("space-review")
def space_review(case: Case) -> Iterator[Job]:
    """Hold size of animals and enclosure against the codes, twice a year."""
    if not case.enclosure.resident:
        return

    try:
        outgrown: tuple[dt.date, Resident] | None = outgrown_on(case)[::2]
    except NotKnown:
        outgrown = None

    def notes() -> Notes:
        floor = (
            f"{case.cm(case.floor[0])} x {case.cm(case.floor[1])}"
            if case.floor
            else "not in the description: measure it"
        )
        limit = case.value("outgrown_at")
        limits = (
            [f"This enclosure meets the codes that could be read up to a carapace of {case.cm(limit)}."]
            if limit
            else []
        )
        adults = [
            f"{r.name}: an adult {s.species} reaches about {case.cm(size)}{case.either_sex(r)}."
            for r in sorted(case.enclosure.resident, key=lambda r: r.id)
            if (s := case.sheet(r)) is not None and (size := case.adult_cm(r)) is not None
        ]
        by_sheets = case.species_notes("size")
        return Notes(
            steps=(
                "Take the longest carapace from the last measuring, in a straight line.",
                f"Measure the floor ({floor}) from outside, and the depth of water with a wooden stick.",
                f"Hold both against your local code{_ask_about_it(case)}, and write down when the next size is needed.",
                *limits,
                *adults,
                *(f"{species}: {note.words}" for species, note in by_sheets),
            ),
            cautions=(cautions.LAW,),
            reason="a larger enclosure takes months to plan; legal sizes are floors, not goals.",
            sources=(*(f.source for f in case.known("outgrown_at")), *(n.cited for _, n in by_sheets), HOUSE),
            worked=case.known("water_area", "least_water_area", "least_water_depth", "outgrown_at"),
        )

    yield Job(
        enclosure=case.enclosure,
        title="space review",
        short="Space review",
        cadence=Every(span=Span(182), anchor=case.inhabited_from),
        window=28,
        minutes=20,
        notes=notes,
    )
    if outgrown is not None:
        yield Job(
            enclosure=case.enclosure,
            variant="outgrown",
            fixed=True,
            title=f"space review: {outgrown[1].name} may outgrow it",
            short="Space review",
            cadence=On(days=(outgrown[0],)),
            window=28,
            minutes=20,
            notes=notes,
        )
