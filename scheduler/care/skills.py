"""The skills that test kits, UV meters and plugs ask for. House values."""

from __future__ import annotations

from scheduler.care import switching
from scheduler.care.engine.case import Case

METER = ("adult",)
"""What a reading of ultraviolet asks for: eyes and hands are near a UV lamp that burns."""

PLUGS = ("adult",)
"""What a note asks for that has plugs pulled beside water, and pushed in again."""


def plugs(case: Case, *things: switching.Thing) -> tuple[str, ...]:
    """Return what a note asks for that unplugs things of an enclosure, or everything; nothing where there is
    no plug."""
    return PLUGS if switching.named(case, *things) else ()


def kit(case: Case) -> tuple[str, ...]:
    """Return what a test with a kit asks for: its reagents are acids and lye, in glass.

    "testing" where some keeper lists it, so that one who is not grown up may be taught; "adult" where nobody
    does.
    """
    taught = any("testing" in (keeper.can or ()) for keeper in case.site.keepers)
    return ("testing",) if taught else ("adult",)
