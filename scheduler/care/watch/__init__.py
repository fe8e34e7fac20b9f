"""What readings mean: each rule says what was read, what rule it meets, and what it does to the plan.

Nothing here is stored: consequences follow from the readings every time, so that taking a reading back takes all of
them back.
"""

from __future__ import annotations

from scheduler.care.verdicts import VERDICTS
from scheduler.care.watch.registry import RULES, Consequence

__all__ = ["RULES", "VERDICTS", "Consequence"]
