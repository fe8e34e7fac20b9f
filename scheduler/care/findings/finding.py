"""Findings: the lines of the fitting-out review, each a rule held against a number, with what to do about
it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from scheduler.care.engine.case import Case
from scheduler.care.verdicts import Verdict
from scheduler.sources import Source


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the review. `key` is that of the figure or job it is about.

    `needs` are the keys to write into the description. `unknown` marks the line of a figure that is not
    there; without `needs` its `why` says, in a sentence, what there is none for. `gist` says what is to act
    on or to look at in a few words that are true of every enclosure with this finding: no number, date or
    name. `measured` tells that it follows from readings.
    """

    key: str
    verdict: Verdict
    text: str
    source: Source
    needs: tuple[str, ...] = ()
    unknown: bool = False
    why: str = ""
    gist: str = ""
    measured: bool = False


Rule = Callable[[Case], Iterable[Finding]]

DESCRIPTION = Source("the description", "keeper's value")

RULES: list[Rule] = []
"""The rules of the review, in the order of registration; inside a file that of its functions."""


def rule(judge: Rule) -> Rule:
    """Register a rule: a function that yields its findings on an enclosure.

    Where a figure that it rests on is not known it ends with NotKnown: the review names that figure anyway.
    """
    RULES.append(judge)
    return judge
