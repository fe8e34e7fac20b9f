"""The signs of illness that a keeper watches for."""

from __future__ import annotations

from scheduler.care import contacts
from scheduler.care.engine.case import Case
from scheduler.readings import SIGNS as LISTED
from scheduler.sources import Source

SIGNS = Source("signs of illness: veterinary page; day counts are house values", "house value")


SOON_DAYS = 3
"""A sign of the first list is seen by a vet within so many days; seen again on another day it is not waited
for. House value."""


def _listed(*, at_once: bool) -> str:
    return ", ".join(label for label, urgent in LISTED.values() if urgent is at_once)


def soon(case: Case) -> str:
    """Return the signs with which an animal is seen by a vet in the next days, with the vet's number."""
    return f"Vet soon{contacts.in_brackets(case, 'vet')}: {_listed(at_once=False)}."


def today(case: Case) -> str:
    """Return the signs with which it is seen on the same day."""
    return f"Vet today{contacts.in_brackets(case, 'vet')}: {_listed(at_once=True)}."
