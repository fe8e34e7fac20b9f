"""Room to grow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import partial

from scheduler.care import cautions, contacts
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.engine.job import Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.figures.space import outgrown_on
from scheduler.description.site import Resident
from scheduler.quantities import Span
from scheduler.sources import HOUSE


def _ask_about_it(case: Case) -> str:
    named = contacts.numbers(case, "authority")
    return f" (your authority: {named})" if named else ""


@job("space-review", where="where animals live; also on the day from which the enclosure may be outgrown")
def space_review(case: Case) -> Iterator[Job]:
    """Hold size of animals and enclosure against the codes, twice a year."""
    if not case.enclosure.resident:
        return

    try:
        outgrown: tuple[dt.date, Resident] | None = outgrown_on(case)[::2]
    except NotKnown:
        outgrown = None

    yield Job(
        enclosure=case.enclosure,
        title="space review",
        short="Space review",
        cadence=Every(span=Span(182), anchor=case.inhabited_from),
        window=28,
        minutes=20,
        notes=partial(_space_notes, case),
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
            notes=partial(_space_notes, case),
        )


def _space_notes(case: Case) -> Notes:
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
            (
                f"Hold both against your local code{_ask_about_it(case)}, and write down when the next size "
                "is needed."
            ),
            *limits,
            *adults,
            *(f"{species}: {note.words}" for species, note in by_sheets),
        ),
        cautions=(cautions.LAW,),
        reason="a larger enclosure takes months to plan; legal sizes are floors, not goals.",
        sources=(*(f.source for f in case.known("outgrown_at")), *(n.cited for _, n in by_sheets), HOUSE),
        worked=case.known("water_area", "least_water_area", "least_water_depth", "outgrown_at"),
    )
