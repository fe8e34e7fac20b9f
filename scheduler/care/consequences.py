"""All that follows from the readings of an enclosure, worst first."""

from __future__ import annotations

from scheduler.care.engine.case import Case
from scheduler.care.verdicts import VERDICTS
from scheduler.care.watch import (
    acidity,
    alarm_plan,
    cycling,
    food_stop,
    illness,
    nitrate,
    outdoors,
    release,
    sizes,
    ultraviolet,
    warmth,
    weight,
)
from scheduler.care.watch.registry import RULES, Consequence

_FILES = [
    subject.__name__
    for subject in (
        illness,
        alarm_plan,
        food_stop,
        acidity,
        cycling,
        nitrate,
        warmth,
        outdoors,
        sizes,
        weight,
        release,
        ultraviolet,
    )
]
_RULES = sorted(RULES, key=lambda rule: _FILES.index(rule.__module__))


def consequences(case: Case) -> list[Consequence]:
    """Return what follows from the readings, worst first, in the order of the subjects."""
    found = [consequence for rule in _RULES for consequence in rule(case)]
    return sorted(found, key=lambda c: VERDICTS.index(c.verdict))
