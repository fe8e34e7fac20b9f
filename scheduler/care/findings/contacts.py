"""Whether somebody can be called."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import contacts
from scheduler.care.engine.case import Case
from scheduler.care.findings.finding import DESCRIPTION, Finding, rule


@rule
def vet(case: Case) -> Iterator[Finding]:
    """Ask for the number of a vet where animals live: notes say to call one, and nobody looks for a number in
    an alarm."""
    if not case.enclosure.resident:
        return
    named = contacts.numbers(case, "vet")
    if named:
        yield Finding("vet-check", "fine", f"The vet to call: {named}.", DESCRIPTION)
        return
    yield Finding(
        "vet-check",
        "look",
        (
            "No vet's number is in the description: find a vet who knows reptiles before you need one, and "
            'write a [[site.contact]] with name, phone and for = "vet". Notes that say to call the vet then '
            "give the number."
        ),
        DESCRIPTION,
        ("site.contact",),
        gist="no vet's number is in the description",
    )
