"""Weighing and measuring the animals."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from scheduler.care import asked, cautions, contacts, signs, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.outdoors import in_the_cold_room
from scheduler.care.quarantine import quarantine
from scheduler.care.seasons import outside_the_cold
from scheduler.care.watch.outdoors import staying
from scheduler.care.watch.weight import Loss, again_on, weighed_again
from scheduler.description.site import Resident
from scheduler.quantities import Span
from scheduler.sources import Source


def _sizes(case: Case, resident: Resident) -> Iterator[str]:
    if resident.mass:
        yield case.grams(resident.mass)
    if resident.carapace:
        yield f"a carapace of {case.cm(resident.carapace)}"


@job("weigh-measure", where="where animals live")
def weigh_measure(case: Case) -> Iterator[Job]:
    """Weigh and measure monthly; the weekly weighing of a quarantine comes first."""
    if not case.enclosure.resident:
        return
    animals = sum(r.count for r in case.enclosure.resident)
    q = quarantine(case)
    anchor = q.release if q is not None else case.inhabited_from

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
        notes=partial(_weighing_notes, case, animals),
    )
    for loss in weighed_again(case):
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
            notes=partial(_again_notes, case, loss),
        )


def _again_notes(case: Case, loss: Loss) -> Notes:
    return Notes(
        steps=(
            (
                f"{loss.resident.name} weighed {case.grams(loss.last_g)} on {case.date(loss.last_on)}, "
                f"{loss.share * 100:.0f} % under its best. Weigh it again, before feeding, on the same "
                "scale:"
            ),
            *switching.unplug(case),
            "Weigh it in a tub, and record the weight. Look at appetite, eyes, nose, shell and droppings.",
            signs.soon(case),
            *switching.plug_in_again(case),
        ),
        cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET),
        reason="a loss that goes on is an illness until a vet says otherwise.",
        sources=(case.house.source("weight_loss_young" if loss.young else "weight_loss"),),
    )


def _weighing_notes(case: Case, animals: int) -> Notes:
    known = [
        f"{r.name} in the description: {' and '.join(_sizes(case, r))}."
        for r in sorted(case.enclosure.resident, key=lambda r: r.id)
        if r.mass or r.carapace
    ]
    return Notes(
        steps=(
            *switching.unplug(case),
            "Hold each animal low over a soft, dry place, with both hands.",
            (
                "Weigh it in a tub before feeding; measure the carapace in a straight line from front to "
                "back edge, with calipers or two books."
            ),
            "Record both, or write them into the description: meals and space follow the size.",
            (
                f"More than {case.numeral(case.house.weight_loss * 100)} % lighter than its best weight (a "
                f"hatchling {case.numeral(case.house.weight_loss_young * 100)} %): weigh it again within 3 "
                f"days, and if it is as light call {contacts.whom(case, 'vet')}; at twice that call at once."
            ),
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
