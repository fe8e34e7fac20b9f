"""Whom a note says to call: the people of the description with their numbers, else what they are."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from scheduler.care.engine.case import Case
from scheduler.description.fields import Duty

UNNAMED: Mapping[Duty, str] = {
    "vet": "a vet who knows reptiles",
    "electrician": "a licensed electrician",
    "authority": "your authority",
}
"""Who is called where the description names nobody. A coordinator is told only where there is one."""


def numbers(case: Case, duty: Duty) -> str:
    """Return whom the description names for something, `Dr.

    Osei, 01632 960117 or Pell Vets, 01632 960118`; "" for nobody.
    """
    return " or ".join(f"{c.name}, {c.phone}" for c in case.site.settings.called_for(duty))


def whom(case: Case, duty: Duty) -> str:
    """Return whom to call for something: those of the description with what they are, else what they are
    alone."""
    named = " or ".join(f"{c.name} ({duty}, {c.phone})" for c in case.site.settings.called_for(duty))
    return named or UNNAMED[duty]


def in_brackets(case: Case, duty: Duty) -> str:
    """Return the numbers as they stand behind a word, with the space before them; "" where nobody is
    named."""
    named = numbers(case, duty)
    return f" ({named})" if named else ""


def tell_coordinator(case: Case) -> Iterator[str]:
    """Yield the step that tells the coordinator of an alarm; none where the description names no
    coordinator."""
    named = numbers(case, "coordinator")
    if named:
        yield f"Tell the coordinator: {named}."
