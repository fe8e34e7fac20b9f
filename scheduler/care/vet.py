"""Visits to the vet: every year, at intake, and where an animal is ill or has lost weight."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from scheduler.care import cautions, contacts, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.outdoors import before_winter
from scheduler.care.quarantine import INTAKE, INTAKE_DAYS, PRACTICE, Group, quarantine
from scheduler.care.signs import SIGNS, SOON_DAYS
from scheduler.care.watch.illness import Ill, ill, plan_of
from scheduler.care.watch.weight import Loss, losses
from scheduler.description.fields import MOST_SHORT
from scheduler.graphemes import cut
from scheduler.quantities import Span
from scheduler.sources import Source

VET = "Vet: "
"""What a lost weight asks for, before the animal's name."""


@job(
    "vet-check",
    where=(
        "where animals live; also at once when weights or a sign of illness say so, and in autumn for those "
        "that winter outdoors"
    ),
)
def vet_check(case: Case) -> Iterator[Job]:
    """See a reptile vet every year."""
    if not case.enclosure.resident:
        return

    yield Job(
        enclosure=case.enclosure,
        title="vet check",
        short="Vet check",
        cadence=Every(span=Span(364), anchor=case.inhabited_from),
        window=28,
        minutes=120,
        skills=("adult",),
        notes=partial(_visit_notes, case),
    )
    yield from _intake(case)
    yield from before_winter(case)
    yield from _ill_animals(case)
    for loss in losses(case):
        if loss.over_since is None:
            continue

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
            notes=partial(_lost_weight_notes, case, loss),
        )


def _lost_weight_notes(case: Case, loss: Loss) -> Notes:
    made = _visit_notes(case)
    said = (
        f"{loss.resident.name} weighed {case.grams(loss.last_g)} on {case.date(loss.last_on)}: "
        f"{loss.share * 100:.0f} % under its best of {case.grams(loss.best_g)} ({case.date(loss.best_on)}); "
        f"the limit is {case.numeral(loss.limit * 100)} %."
    )
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


def _visit_notes(case: Case) -> Notes:
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


def _ill_animals(case: Case) -> Iterator[Job]:
    """Yield the visit of each animal that shows a sign of illness."""
    for one in ill(case):
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
            notes=partial(_illness_notes, case, one),
        )


def _illness_notes(case: Case, one: Ill) -> Notes:
    made, said = _visit_notes(case), f"{one.resident.name} showed on {case.date(one.last)}: {one.signs}."
    call = plan_of(case, one)
    return replace(
        made,
        steps=(
            f"{said} {call}",
            (
                "Until then keep it quiet, clean and warm as it is used to; give no medicine that the vet "
                "has not ordered."
            ),
            *made.steps,
        ),
        order=f"{'Call the vet at once' if one.at_once else 'Call the vet'} about {one.resident.name}",
        because=said,
        cautions=(*made.cautions, cautions.VET),
        reason="what shows in a turtle has often gone on for long; the vet decides, and not this note.",
        sources=(SIGNS,),
    )


def _intake(case: Case) -> Iterator[Job]:
    """Yield the vet's first look at each animal that goes into quarantine."""
    q = quarantine(case)
    for group in q.groups if q is not None else ():
        variant = f"intake-{group.day.isoformat()}"
        if all(
            case.history.done_before(case.enclosure.id, r.id, "vet-check", {variant}) for r in group.residents
        ):
            continue
        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title=f"vet check at intake, {group.names}",
            short="Intake: vet",
            cadence=On(days=(group.day + dt.timedelta(days=INTAKE_DAYS),)),
            window=3,
            minutes=120,
            skills=("adult",),
            fixed=True,
            notes=partial(_intake_notes, case, group),
        )


def _intake_notes(case: Case, group: Group) -> Notes:
    return Notes(
        steps=(
            (
                f"Have {contacts.whom(case, 'vet')} look at {group.names} in the first week: weight, eyes, "
                "nose, mouth, breathing, shell, skin."
            ),
            (
                "Ask which tests are wanted besides the three of droppings, and how long the quarantine "
                "should last."
            ),
            *switching.unplug(case),
            (
                "Carry each animal damp, dark and warm in a box of its own. Wash and disinfect the box "
                "afterwards, rinse and dry it."
            ),
            *switching.plug_in_again(case, lead="Before you leave, plug in again, and see"),
            "Write down what was found, and the weight.",
        ),
        cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET, cautions.LAW),
        reason=(
            "what a new animal brings is found before it spreads, and its weight now is what later ones are "
            "held against."
        ),
        sources=(INTAKE, PRACTICE),
    )
