"""The skills that test kits and UV meters ask for. House values."""

from __future__ import annotations

from scheduler.care.case import Case

METER = ("adult",)
"""What a reading of ultraviolet asks for: eyes and hands are near a UV lamp that burns."""


def kit(case: Case) -> tuple[str, ...]:
    """Return what a test with a kit asks for: its reagents are acids and lye, in glass.

    "testing" where some keeper lists it, so that one who is not grown up may be taught; "adult" where nobody does.
    """
    taught = any("testing" in (keeper.can or ()) for keeper in case.site.keepers)
    return ("testing",) if taught else ("adult",)
