"""The registers of care rules and figures: one decorated function a key, and nothing else to change when one
is added."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import EXTRA, FIGURES, LABELS, Made
from scheduler.care.engine.job import Job

Rule = Callable[[Case], Iterable[Job]]
Maker = Callable[[Case], Made]
RULES: dict[str, Rule] = {}
ROUTINE: set[str] = set()
"""The keys of what is done on most days, whatever its interval is today.

Courses, changes, tests and alarms never are.
"""


WHERE: dict[str, str] = {}
"""Where the jobs of each key are there, in words."""


def job(key: str, *, where: str, routine: bool = False) -> Callable[[Rule], Rule]:
    """Register the function that makes the jobs of a key for an enclosure: none, one, or several variants.

    The order of registration is the order of jobs inside a round. `where` says in words when there are any:
    the guide's page of jobs has it. `routine` are those that a calendar shows together.
    """

    def register(rule: Rule) -> Rule:
        if key in RULES:
            raise ValueError(f"two rules for the job {key}")
        RULES[key], WHERE[key] = rule, where
        if routine:
            ROUTINE.add(key)
        return rule

    return register


def figure(key: str, unit: str, label: str = "", *, extra: bool = False) -> Callable[[Maker], Maker]:
    """Register the function that computes a figure.

    `unit` is SI-based; `label` its name, else the key's words.
    """

    def register(maker: Maker) -> Maker:
        if key in FIGURES:
            raise ValueError(f"two functions for the figure {key}")
        FIGURES[key], LABELS[key] = (maker, unit), label or key.replace("_", " ")
        if extra:
            EXTRA.add(key)
        return maker

    return register
