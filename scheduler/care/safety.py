"""The safety of people: ground-fault protection and cords."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import cautions, contacts, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Every, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.quantities import Span
from scheduler.sources import HOUSE, Source


@job("rcd-test", where="where something has a plug")
def rcd_test(case: Case) -> Iterator[Job]:
    """Press the test button of the ground-fault device monthly."""
    if not switching.is_electric(case):
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                (
                    "Press the test button of the ground-fault device (RCD or GFCI) that feeds the "
                    "enclosure: everything on it must go off."
                ),
                (
                    "It did not trip, or there is none: use nothing on that socket, feed the enclosure "
                    f"from one whose device trips, and call {contacts.whom(case, 'electrician')} today."
                ),
                "Reset it, and see that all starts again.",
                f"Come back after 10 minutes, and see that all of it runs: {switching.running(case)}.",
            ),
            cautions=(cautions.FAULT,),
            reason=(
                "it is what stands between a cracked heater and a hand in the water. Local wiring rules "
                "apply."
            ),
            sources=(
                Source(
                    "trips at 4-6 mA (UL 943) or at most 30 mA (IEC 61008); tested monthly", "from memory"
                ),
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="ground-fault test",
        short="GFCI test" if case.units == "us" else "RCD test",
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=7,
        minutes=5,
        skills=("electrics",),
        notes=notes,
    )


@job("cord-check", where="where something has a plug")
def cord_check(case: Case) -> Iterator[Job]:
    """Look over cords, hoses, seals and the stand every quarter."""
    if not switching.is_electric(case):
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                *switching.unplug(case),
                "Look along each cord for cuts, brittle spots and bite marks; replace, do not tape.",
                (
                    "See that each cord hangs in a drip loop and the power strip sits above the water line, "
                    "to one side."
                ),
                "Feel hoses and seals for damp; look at the silicone seams and under the enclosure.",
                "See that the stand carries the whole footprint and is level and dry.",
                *switching.plug_in_again(case),
            ),
            cautions=(cautions.UNPLUG, cautions.HANDS),
            reason="water finds the way along a cord, and a slow leak finds the floor.",
            sources=(HOUSE,),
        )

    yield Job(
        enclosure=case.enclosure,
        title="cords, hoses and seals",
        short="Cords, hoses",
        cadence=Every(span=Span(91), anchor=case.anchor),
        window=14,
        minutes=20,
        skills=("electrics",),
        notes=notes,
    )
