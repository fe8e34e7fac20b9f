"""The signs of illness that a keeper watches for."""

from __future__ import annotations

from scheduler.care import contacts
from scheduler.care.case import Case
from scheduler.sources import Source

SIGNS = Source("signs of illness: veterinary page; day counts are house values", "house value")


def soon(case: Case) -> str:
    """Return the signs with which an animal is seen by a vet in the next days, with the vet's number."""
    return f"Vet soon{contacts.in_brackets(case, 'vet')}: swollen or shut eyes, nose discharge, soft shell or foul spots, listless, not eating for 7 days (a hatchling 3)."


def today(case: Case) -> str:
    """Return the signs with which it is seen on the same day."""
    return f"Vet today{contacts.in_brackets(case, 'vet')}: open-mouth breathing, gasping, one side high in the water, bleeding or red skin, straining, prolapse, fits, a burn, a cracked shell."
